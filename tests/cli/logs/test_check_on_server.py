"""`check` of a log on a server finds what is damaged there, and mends what can be made anew."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import closing
from typing import Any

import psycopg
import pytest

from finishlog.store.engine.postgres import secured
from tests import pg
from tests.conftest import Ran
from tests.store.conftest import Ticking, ticking  # noqa: F401  (a fixture)

Run = Callable[..., Ran]
JOBS = (("Ines Quagmire", "patio"), ("Ottoline Quillfeather", "walk"))
WORDS = ("INSERT INTO job_word_at VALUES (1, 4, 99, 'wren', NULL)", "DELETE FROM job_word_at WHERE term = 'patio'",
         "UPDATE job_word_at SET spot = spot + 7 WHERE job_id = 1", "DELETE FROM job_word WHERE term = 'walk'",
         "UPDATE job_word_tally SET words = words + 900", "DELETE FROM job_word_tally",
         "UPDATE job_line SET customer = 'Somebody'", "INSERT INTO job_text (job_id, who) VALUES (99, 'nobody')",
         "INSERT INTO job_word_at VALUES (98, 4, 99, 'wren', NULL)")  # fmt: skip


@pytest.fixture(scope="module")
def log() -> Iterator[str]:
    """The address of a log of two jobs."""
    from finishlog.__main__ import main

    made = pg.database()
    for customer, job in JOBS:
        assert (
            main(
                ["--log", made, "job", "new", "--customer", customer, "--job", job, "--areas", "field 24x18"]
            )
            == 0
        )
    yield made
    pg.drop(made)


def damage(address: str, *statements: str) -> None:
    """As a failing disk, or a person who knows better, would do it: past every trigger and key."""
    with closing(psycopg.connect(address, autocommit=True)) as raw:
        raw.execute("SET search_path = finishlog")
        raw.execute("SET session_replication_role = replica")
        for statement in statements:
            raw.execute(statement)


@pytest.mark.parametrize("some", [WORDS[:3], pytest.param(WORDS[3:], marks=pytest.mark.long)])
def test_a_damaged_search_is_found_and_made_anew(
    log: str,
    ticking: Ticking,  # noqa: F811
    some: tuple[str, ...],
) -> None:
    opened = ticking.open(log)
    for statement in some:
        damage(log, statement)
        found = opened.check()
        assert (found.mendable, len(found.problems)) == (True, 1), (statement, found.problems)
        opened.mend(opened.mendable())
        assert opened.check().ok, statement
        with opened.reading() as reader:
            assert [[one.customer for one in reader.lines(words=job)] for _, job in JOBS] == [
                [customer] for customer, _ in JOBS
            ]


def test_rows_that_point_nowhere_are_named_and_nothing_is_mended(log: str, finishlog: Run) -> None:
    damage(log, "UPDATE job SET customer_id = 77 WHERE id = 1")
    found = finishlog("--log", log, "check")
    assert (found.status, "A row of job names a row of customer that is not there." in found.out) == (3, True)
    mended = finishlog("--log", log, "check", "--mend", "--yes")
    assert (mended.status, "Nothing was mended: the log has other problems" in mended.out) == (3, True)
    damage(log, "UPDATE job SET customer_id = 1 WHERE id = 1")
    assert finishlog("--log", log, "check").status == 0


def test_how_the_connection_is_secured_is_said(log: str, finishlog: Run) -> None:
    """A socket here; what is said of TLS is tried where a server has it (`test_login.py`)."""
    assert "The connection to the server stays on this machine." in finishlog("--log", log, "check").out


def test_a_connection_over_a_network_without_tls_is_warned_of(log: str) -> None:
    class Info:
        hostaddr, host = "192.0.2.7", "db.example.com"

    class Raw:
        info = Info

        class pgconn:
            ssl_in_use = False

    raw: Any = Raw
    (said,) = secured.words(raw)
    assert "not encrypted" in said
    assert "sslmode=verify-full" in said
