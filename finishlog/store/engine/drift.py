"""Checks that the migrations produce the mapped tables: python -m finishlog.store.engine.drift [ADDRESS]

With the address of an empty database they are compared there too.

Alembic's own comparison sees neither CHECKs, STRICT, expression indexes, triggers nor the
search tables, so the two schemas are read back from two databases and compared in full.
"""

from __future__ import annotations

import re
import sqlite3
import sys
import tempfile
from collections.abc import Sequence
from contextlib import closing
from pathlib import Path

from sqlalchemy import create_engine

from finishlog.store.engine import ddl, sqlite, upgrade

Schema = dict[str, frozenset[str]]
_SHADOW = re.compile(r"job_text_\w+|alembic_version|sqlite_\w+")


def schema_of(raw: sqlite3.Connection) -> Schema:
    """The schema of a database by name of table, index or trigger."""
    rows = raw.execute("SELECT name, sql FROM sqlite_schema WHERE sql IS NOT NULL")
    return {name: frozenset(_clauses(sql)) for name, sql in rows if not _SHADOW.fullmatch(name)}


def _clauses(sql: str) -> list[str]:
    """The parts of a CREATE statement, regardless of order."""
    flat = re.sub(r"\s+", " ", sql).replace('"', "").strip()
    head, _, body = flat.partition("(")
    if not head.startswith("CREATE TABLE"):
        return [flat]
    inside, _, tail = body.rpartition(")")
    return [head.strip(), tail.strip(), *(clause.strip() for clause in _split(inside))]


def _split(text: str) -> list[str]:
    """Split at commas outside parentheses and quotes."""
    parts, depth, quoted, start = [], 0, False, 0
    for place, mark in enumerate(text):
        quoted ^= mark == "'"
        depth += 0 if quoted else (mark == "(") - (mark == ")")
        if mark == "," and not depth and not quoted:
            parts.append(text[start:place])
            start = place + 1
    return [*parts, text[start:]]


def mapped() -> Schema:
    """The schema of the mapped tables."""
    with closing(sqlite3.connect(":memory:", check_same_thread=False)) as raw:
        engine = create_engine("sqlite://", creator=lambda: raw)
        ddl.create(engine)
        return schema_of(raw)


def migrated() -> Schema:
    """The schema the migrations produce."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "log")
        path.touch()
        upgrade.make(path)
        with closing(sqlite.open_raw(path, "ro")) as raw:
            return schema_of(raw)


def differences(said: Schema, made: Schema) -> list[str]:
    """One line per item that only one schema has."""
    found = []
    for name in sorted({*said, *made}):
        for words, one, other in (("only in the tables", said, made), ("only in the migrations", made, said)):
            extra = one.get(name, frozenset()) - other.get(name, frozenset())
            found += [f"{name}: {words}: {clause}" for clause in sorted(extra)]
    return found


def on_server(address: str) -> list[str]:
    """The differences in an empty database on a server."""
    from finishlog.store.engine.postgres.address import parsed
    from finishlog.store.engine.postgres.whole import catalog

    return differences(*catalog.both(parsed(address)))


def main(addresses: Sequence[str] = ()) -> int:
    """Print the differences; 0 if there are none."""
    found = differences(mapped(), migrated())
    for address in addresses:
        found += on_server(address)
    for line in found:
        print(line, file=sys.stderr)
    print(f"{len(found)} differences between the tables and the migrations")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
