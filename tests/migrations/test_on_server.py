"""An older log on a server: its rows are copied, then it is upgraded, in one transaction or not at all."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime
from itertools import count

import pytest

from finishlog.errors import LogError
from finishlog.store import Log
from finishlog.store.schema import revisions
from tests import pg, raw
from tests.migrations import on_server

Future = Callable[[str], None]
_UIDS = count()
_ANEW = ("job_text", "job_word", "due", "shelf", "log_state", "seal", "alembic_version")
"""Tables that an upgrade makes anew."""
SCHEMAS = "SELECT nspname FROM pg_namespace WHERE nspname LIKE 'finishlog%' ORDER BY 1"
LATEST = revisions.known()[-2]


def opened(address: str, **how: bool) -> Log:
    return Log.open(
        address, clock=lambda: datetime(2026, 6, 16, tzinfo=UTC), new_uid=lambda: f"new-{next(_UIDS)}", **how
    )


@pytest.fixture
def old(request: pytest.FixtureRequest) -> Iterator[str]:
    """A log of an older revision."""
    made = on_server.released(getattr(request, "param", LATEST))
    yield made
    pg.drop(made)


def tables(address: str, schema: str) -> dict[str, list[str]]:
    """Tables that an upgrade keeps, with their columns."""
    query = (
        "SELECT table_name, column_name FROM information_schema.columns "
        f"WHERE table_schema = '{schema}' ORDER BY ordinal_position"
    )
    found: dict[str, list[str]] = {}
    for table, column in raw.rows(address, query):
        if not table.startswith(_ANEW):
            found.setdefault(table, []).append(column)
    return found


def kept(address: str, schema: str, columns: dict[str, list[str]]) -> dict[str, list[tuple[object, ...]]]:
    """The rows of these columns of a schema's tables."""
    return {
        table: raw.rows(address, f"SELECT {', '.join(names)} FROM {schema}.{table} ORDER BY 1, 2")
        for table, names in columns.items()
    }


OLD = [
    pytest.param(one, marks=() if one in ("0001", LATEST) else pytest.mark.long)
    for one in revisions.known()[:-1]
]


@pytest.mark.parametrize("old", OLD, indirect=True)
def test_an_upgrade_keeps_every_row_and_a_copy(old: str) -> None:
    columns = tables(old, "finishlog")
    before = kept(old, "finishlog", columns)
    [(was,)] = raw.rows(old, "SELECT version_num FROM alembic_version")
    assert sum(len(some) for some in before.values()) > 40
    log = opened(old)
    copy = f"finishlog_before_{was}"
    assert log.upgraded_from == copy
    assert copy in log.notices[0]
    columns.pop("file_piece", None)  # no files here; and of files no copy is made
    before.pop("file_piece", None)
    assert kept(old, "finishlog", columns) == before == kept(old, copy, columns)
    assert not [line for line in log.check().problems if "The file" not in line]  # the saved log has no files
    log.close()
    again = opened(old)
    assert (again.upgraded_from, again.notices) == (None, ())
    again.close()


def test_an_upgrade_that_fails_leaves_the_log_as_it_was(old: str, future: Future) -> None:
    future("op.add_column('person', sa.Column('phone', sa.Text()))\n1 / 0")
    with pytest.raises(LogError, match="Could not upgrade") as error:
        opened(old)
    assert "The log is unchanged" in error.value.cause
    assert_as_before(old)


def test_a_server_that_dies_in_mid_upgrade_leaves_the_log_as_it_was(old: str, future: Future) -> None:
    add = "op.add_column('person', sa.Column('phone', sa.Text()))"
    future(f"{add}\nop.execute('SELECT pg_terminate_backend(pg_backend_pid())')")
    with pytest.raises(LogError, match="cannot be reached"):
        opened(old)
    assert_as_before(old)


def assert_as_before(address: str) -> None:
    assert raw.rows(address, SCHEMAS) == [("finishlog",)]
    assert raw.rows(address, "SELECT version_num FROM alembic_version") == [(LATEST,)]
    query = "SELECT 1 FROM information_schema.columns WHERE column_name = 'phone' AND table_name = 'person'"
    assert raw.rows(address, query) == []


def test_a_migration_that_breaks_a_reference_is_refused(old: str, future: Future) -> None:
    future("op.execute('SET session_replication_role = replica')\nop.execute('DELETE FROM customer')")
    with pytest.raises(LogError, match="Could not upgrade") as error:
        opened(old)
    assert "would point nowhere; nothing was changed" in error.value.cause
    assert_as_before(old)


def test_of_two_programs_one_upgrades(old: str, future: Future) -> None:
    future("op.execute('SELECT pg_sleep(0.4)')")
    with ThreadPoolExecutor(2) as pool:
        logs = list(pool.map(lambda _: opened(old), range(2)))
    assert sorted(str(log.upgraded_from) for log in logs) == ["None", f"finishlog_before_{LATEST}"]
    for log in logs:
        with log.reading() as reader:
            assert reader.lines()
        log.close()


def test_an_older_log_may_be_left_alone(old: str) -> None:
    with pytest.raises(LogError, match="older than this program"):
        opened(old, upgrade=False)
    assert_as_before(old)
