"""SQLite DDL of the mapped tables, with triggers and the search index."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from sqlalchemy import Double
from sqlalchemy.engine import Engine
from sqlalchemy.ext.compiler import compiles

from finishlog.store.schema import tables, tables_entry, tables_seal, tables_view
from finishlog.store.schema.base import Base
from finishlog.store.schema.tables_entry import APPEND_ONLY

MAPPED = (tables, tables_entry, tables_seal, tables_view)
"""Importing these fills `Base.metadata`."""
_TEXT = (
    f"CREATE VIRTUAL TABLE job_text USING fts5({', '.join(tables_view.TEXT_COLUMNS)}, "
    "tokenize = 'unicode61 remove_diacritics 0', prefix = '1 2 3')",
    "CREATE VIRTUAL TABLE job_word USING fts5vocab(job_text, row)",
)


@compiles(Double, "sqlite")
def _real(_kind: Double[float], _compiler: Any, **_: Any) -> str:
    """A STRICT table knows an 8-byte float as REAL, and no DOUBLE."""
    return "REAL"


def create(engine: Engine) -> None:
    """Create all tables in an empty database, STRICT, with triggers and the search index."""
    for table in Base.metadata.tables.values():
        table.dialect_kwargs["sqlite_strict"] = True
    Base.metadata.tables["seal"].dialect_kwargs["sqlite_with_rowid"] = False
    Base.metadata.create_all(engine)
    with engine.begin() as connection:
        append_only = (one for name in (*APPEND_ONLY, "chain") for one in _append_only(name))
        for statement in (*append_only, *_marking(), *_TEXT):
            connection.exec_driver_sql(statement)


def _append_only(table: str) -> tuple[str, str]:
    """The two triggers that make a table append-only."""
    body = f"ON {table} BEGIN SELECT RAISE(ABORT, '{table} is append-only: log a correction'); END"
    return (
        f"CREATE TRIGGER {table}_no_update BEFORE UPDATE {body}",
        f"CREATE TRIGGER {table}_no_delete BEFORE DELETE {body}",
    )


def _marking() -> Iterator[str]:
    """The triggers that note every changed row, so that it is hashed before the commit."""
    for table, (what, row) in tables_seal.MARKED.items():
        for change in ("INSERT", "UPDATE", *(("DELETE",) if table in tables_seal.DELETABLE else ())):
            row_id = row.format(row="OLD" if change == "DELETE" else "NEW")
            yield (
                f"CREATE TRIGGER {table}_unseals_{change.lower()} AFTER {change} ON {table} "
                f"BEGIN INSERT INTO unsealed (what, row_id) VALUES ({what}, {row_id}); END"
            )
