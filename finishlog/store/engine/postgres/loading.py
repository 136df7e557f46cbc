"""Fills a whole log on a server at once: rows by COPY, no trigger meanwhile but the one that keeps the words.

That one runs once for a statement, after all its rows, and takes no longer than the words would without it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import closing, contextmanager
from typing import Any

from sqlalchemy.engine import Connection

from finishlog.store.engine.postgres import server
from finishlog.store.engine.postgres.address import Address
from finishlog.store.engine.postgres.columns import COUNTED
from finishlog.store.engine.protocol import Rows

_TRIGGERED = (
    "SELECT DISTINCT r.relname FROM pg_trigger t JOIN pg_class r ON r.oid = t.tgrelid "
    "WHERE r.relnamespace = to_regnamespace(current_schema()) AND NOT t.tgisinternal AND r.relname <> 'job_text' "
    "ORDER BY r.relname"
)
_TABLES = "SELECT tablename FROM pg_tables WHERE schemaname = %s ORDER BY 1"
_COUNTER = (
    f"SELECT setval(pg_get_serial_sequence('{COUNTED}', 'id'), max(id)) FROM {COUNTED} HAVING count(*) > 0"
)


def load(raw: Any, table: str, columns: Sequence[str], rows: Iterator[Rows]) -> int:
    """Insert rows by COPY; how many. Raises the driver's error."""
    names, count = ", ".join(f'"{name}"' for name in columns), 0
    with raw.cursor() as cursor, cursor.copy(f'COPY "{table}" ({names}) FROM STDIN') as copy:
        for some in rows:
            for row in some:
                copy.write_row(row)
            count += len(some)
    return count


def counted(where: Address, schema: str) -> None:
    """Has the server look at all tables: how many rows they have, which values, and that all are there to stay.

    Its own look comes by and by, and plans made before it take far longer (a search reads the table for its index).
    """
    with closing(server.connect(where, schema)) as raw:
        tables = ", ".join(f'"{table}"' for (table,) in raw.execute(_TABLES, (schema,)))
        raw.execute(f"VACUUM (ANALYZE) {tables}")


@contextmanager
def quietly(connection: Connection) -> Iterator[None]:
    """No trigger of ours but that of the words runs in the block; at its end every row names rows that are there."""
    tables = connection.exec_driver_sql(_TRIGGERED).scalars().all()
    for table in tables:
        connection.exec_driver_sql(f'ALTER TABLE "{table}" DISABLE TRIGGER USER')
    yield
    for statement in (_COUNTER, "SET CONSTRAINTS ALL IMMEDIATE"):
        connection.exec_driver_sql(statement)
    for table in tables:
        connection.exec_driver_sql(f'ALTER TABLE "{table}" ENABLE TRIGGER USER')
