"""The saved logs of released schemas on a server: the schema as the migrations of then made it, with the same rows."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from functools import cache
from pathlib import Path
from typing import Any

from finishlog.store.engine.postgres import server
from finishlog.store.engine.postgres.address import parsed
from finishlog.store.engine.postgres.in_postgres import Postgres
from tests import pg

RELEASED = Path(__file__).parent / "released"
_NOT_ROWS = ("sqlite_", "job_text_", "job_word", "alembic_version")


def released(revision: str) -> str:
    """The address of a new database with the saved log of a revision."""
    return pg.copied(_made(revision))


@cache
def _made(revision: str) -> str:
    address = pg.bare()
    engine = Postgres(parsed(address))
    engine.migrate(revision)
    engine.close()
    with closing(sqlite3.connect(":memory:")) as saved, closing(server.connect(parsed(address))) as raw:
        saved.executescript((RELEASED / f"{revision}.sql").read_text())
        names = [row[0] for row in saved.execute("SELECT name FROM sqlite_schema WHERE type = 'table'")]
        for table in names:
            if not table.startswith(_NOT_ROWS):
                _copy(saved, raw, table)
    return address


def _copy(saved: sqlite3.Connection, raw: Any, table: str) -> None:
    """Words of the search are made by a trigger; every other row is there as it was, whatever it names."""
    text = table == "job_text"
    raw.execute(f"SET session_replication_role = {'origin' if text else 'replica'}")
    raw.execute(f"DELETE FROM {table}")
    found = saved.execute(f"SELECT {'rowid AS job_id, ' if text else ''}* FROM {table}")
    columns = [f'"{column[0]}"' for column in found.description]
    marks = ", ".join("%s" for _ in columns)
    with raw.cursor() as cursor:
        cursor.executemany(f"INSERT INTO {table} ({', '.join(columns)}) VALUES ({marks})", found.fetchall())
