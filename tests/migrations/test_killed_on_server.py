"""A program that is killed while it upgrades a log on a server: the old log or the new one is there, whole."""

from __future__ import annotations

import os
import signal
import time
from collections.abc import Callable
from typing import Any

import psycopg
import pytest

from finishlog.store.schema import revisions
from tests import pg, raw
from tests.migrations import on_server
from tests.migrations.test_on_server import SCHEMAS, kept, opened, tables

OLDEST, MIDDLE = revisions.known()[0], "0006"
SPREAD = 12
"""Moments between the first statement and the commit."""
OTHERS = "SELECT pid FROM pg_stat_activity WHERE datname = current_database() AND pid <> pg_backend_pid()"


def upgraded_by_child(address: str, dies: Callable[[str, int], bool]) -> tuple[int, int]:
    """A process that opens the log; it kills itself where `dies` says so. Its end, and how many statements it asked."""
    read, write = os.pipe()
    child = os.fork()
    if not child:  # pragma: no cover
        count = 0

        def counted(kind: str, real: Callable[..., Any]) -> Callable[..., Any]:
            def asked(*args: Any, **named: Any) -> Any:
                nonlocal count
                count += kind == "before"
                if dies(kind, count):
                    os.kill(os.getpid(), signal.SIGKILL)
                found = real(*args, **named)
                if kind == "commit" and dies("after commit", count):
                    os.kill(os.getpid(), signal.SIGKILL)
                return found

            return asked

        psycopg.Cursor.execute = counted("before", psycopg.Cursor.execute)  # type: ignore[method-assign]
        psycopg.Connection.commit = counted("commit", psycopg.Connection.commit)  # type: ignore[method-assign]
        try:
            opened(address).close()
            os.write(write, str(count).encode())
            os._exit(0)
        finally:
            os._exit(3)
    os.close(write)
    ended = os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
    with os.fdopen(read) as said:
        return ended, int(said.read() or 0)


def left_alone(address: str) -> None:
    """The server has noticed that nobody is there any more."""
    end = time.monotonic() + 30
    while raw.rows(address, OTHERS):
        assert time.monotonic() < end
        time.sleep(0.01)


def assert_whole(address: str, was: str, columns: dict[str, list[str]], rows: dict[str, Any]) -> bool:
    """Old or new with its copy, and every row; whether it is new. Another upgrade ends well."""
    left_alone(address)
    [(found,)] = raw.rows(address, "SELECT version_num FROM alembic_version")
    new = found == revisions.head()
    assert found in (was, revisions.head())
    assert raw.rows(address, SCHEMAS) == [("finishlog",), *[(f"finishlog_before_{was}",)] * new]
    assert kept(address, "finishlog", columns) == rows
    log = opened(address)
    assert log.upgraded_from == (None if new else f"finishlog_before_{was}")
    assert not [line for line in log.check().problems if "The file" not in line]
    log.close()
    assert kept(address, "finishlog", columns) == rows == kept(address, f"finishlog_before_{was}", columns)
    assert [name for (name,) in raw.rows(address, SCHEMAS)] == ["finishlog", f"finishlog_before_{was}"]
    return new


@pytest.mark.long
@pytest.mark.parametrize("was", [OLDEST, MIDDLE])
def test_killed_at_any_moment_of_an_upgrade(was: str) -> None:
    first = on_server.released(was)
    columns = tables(first, "finishlog")
    columns.pop("file_piece", None)
    rows = kept(first, "finishlog", columns)
    assert sum(map(len, rows.values())) > 40
    ended, statements = upgraded_by_child(first, lambda _kind, _count: False)
    assert (ended, assert_whole(first, was, columns, rows)) == (0, True)
    pg.drop(first)
    assert statements > SPREAD * 2

    def at(number: int) -> Callable[[str, int], bool]:
        return lambda kind, count: kind == "before" and count == number

    moments = [at(1 + number * (statements - 1) // SPREAD) for number in range(SPREAD + 1)]
    ends = [lambda kind, _count: kind == "commit", lambda kind, _count: kind == "after commit"]
    new = []
    for dies in (*moments, *ends):
        address = on_server.released(was)
        assert upgraded_by_child(address, dies)[0] == -signal.SIGKILL
        new.append(assert_whole(address, was, columns, rows))
        pg.drop(address)
    assert new[-1]
    assert not any(new[:SPREAD])
