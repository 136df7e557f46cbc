"""What is asked together is answered as one by one, on both engines; to a server it goes in one trip."""

from __future__ import annotations

from typing import Any

import pytest
from sqlalchemy import select
from sqlalchemy.exc import DBAPIError

from finishlog.records.writing import NewCustomer, NewJob, NewSite
from finishlog.store import Log
from finishlog.store.schema import rows
from finishlog.store.schema.tables import CustomerRow

NAMES = ("Ines Quagmire", "Ottoline Quillfeather", "Bo Vantongeren")
QUERIES = ("SELECT name FROM customer WHERE id >= :least ORDER BY id", "SELECT count(*) FROM job WHERE id >= :least",
           "SELECT handle FROM job WHERE id = :least")  # fmt: skip


@pytest.fixture
def shop(log: Log) -> Log:
    with log.writing() as writer:
        for name in NAMES:
            writer.add_job(NewJob("patio", NewCustomer(name), NewSite(f"1 {name} Way")))
    return log


def test_answers_come_in_the_order_of_what_is_asked(shop: Log) -> None:
    with shop._connection(write=False) as connection:
        found = rows.read_all(connection, QUERIES, {"least": 2})
        assert found == [rows.read(connection, query, {"least": 2}) for query in QUERIES]
        assert [row[0] for row in found[0]] == list(NAMES[1:])
        assert rows.fetched_all(connection, []) == []


def test_what_was_asked_together_is_not_asked_again(shop: Log, monkeypatch: pytest.MonkeyPatch) -> None:
    by_id = select(CustomerRow.id, CustomerRow.name).where(CustomerRow.id.in_(rows.IDS))
    asked: list[Any] = []
    real = rows.fetched_all

    def noted(connection: Any, statements: Any) -> Any:
        asked.append(list(statements))
        return real(connection, statements)

    monkeypatch.setattr(rows, "fetched_all", noted)
    with shop._connection(write=False) as connection:
        plain = [tuple(row) for row in rows.by_ids(connection, by_id, [1, 3])]
        with rows.at_once(connection, (by_id, [1, 3]), (QUERIES[0], {"least": 2})):
            assert len(asked[-1]) == 2
            connection.exec_driver_sql("SELECT 1")
            with rows.at_once(connection, (by_id, [1, 3])):
                assert asked[-1] == [], "it is there already"
            assert [tuple(row) for row in rows.by_ids(connection, by_id, [1, 3])] == plain
            assert len(rows.read(connection, QUERIES[0], {"least": 2})) == 2
        assert not connection.info[rows.AHEAD]
    assert [name for _, name in plain] == [NAMES[0], NAMES[2]]


def test_one_that_fails_is_a_failure_of_all_and_the_connection_goes_on(shop: Log) -> None:
    with shop._connection(write=True) as connection:
        with (
            pytest.raises(DBAPIError),
            connection.begin_nested(),
        ):
            rows.read_all(connection, (QUERIES[0], "SELECT nothing FROM customer"), {"least": 1})
        assert len(rows.read(connection, QUERIES[0], {"least": 1})) == len(NAMES)
