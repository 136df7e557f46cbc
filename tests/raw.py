"""A log's database read and changed past the program, on either engine."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from typing import Any

from finishlog.store.engine.postgres.address import Address, is_address, parsed


@contextmanager
def _opened(where: Any, *, unguarded: bool = False) -> Iterator[Any]:
    if is_address(where):
        from finishlog.store.engine.postgres import server

        with closing(server.connect(where if isinstance(where, Address) else parsed(str(where)))) as raw:
            if unguarded:  # no trigger, and no foreign key
                raw.execute("SET session_replication_role = replica")
            yield raw
        return
    with closing(sqlite3.connect(where, isolation_level=None)) as raw:
        triggers = raw.execute("SELECT name, sql FROM sqlite_schema WHERE type = 'trigger'").fetchall()
        for name, _ in triggers if unguarded else ():
            raw.execute(f"DROP TRIGGER {name}")
        yield raw
        for _, sql in triggers if unguarded else ():
            raw.execute(sql)


def rows(where: Any, query: str) -> list[tuple[Any, ...]]:
    """What a query finds in the log there."""
    with _opened(where) as raw:
        return [tuple(row) for row in raw.execute(query).fetchall()]


def run(where: Any, *statements: str) -> None:
    """Run statements in the log there, with its triggers: a program that is not ours wrote."""
    with _opened(where) as raw:
        for statement in statements:
            raw.execute(statement)


def damage(where: Any, *statements: str) -> None:
    """Run statements past triggers and foreign keys, as no program does: a fault of the disk."""
    with _opened(where, unguarded=True) as raw:
        for statement in statements:
            raw.execute(statement)
