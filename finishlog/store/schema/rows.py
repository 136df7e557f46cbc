"""Small steps every query shares: asking by many ids, writing one row."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator
from functools import cache
from itertools import islice
from typing import Any, cast

from sqlalchemy import BindParameter, Row, Select, Table, bindparam, insert
from sqlalchemy.engine import Connection, Dialect

from finishlog.store.schema.base import Base

Query = Select[*tuple[Any, ...]]
Found = Row[*tuple[Any, ...]]

IDS: BindParameter[int] = bindparam("ids", expanding=True)
"""In a query for `by_ids`: the ids of one portion."""

AT_ONCE = 500
"""Ids in one IN list; SQLite allows 32,766."""


def table(row: type[Base]) -> Table:
    """The table of a mapped class."""
    return cast(Table, row.__table__)


def put(connection: Connection, row: type[Base], **values: Any) -> int:
    """Insert one row; its id (of no use where the key is no number).

    A sheet of 3,000 pours is 80,000 rows: the statement is made once, and handed to the driver as it is.
    """
    statement, writers = _insert(row, tuple(values), connection.dialect)
    bound = tuple([values[name] if write is None else write(values[name]) for name, write in writers])
    return int(connection.exec_driver_sql(statement, bound).lastrowid)


Write = Callable[[Any], Any]


@cache
def _insert(
    row: type[Base], columns: tuple[str, ...], dialect: Dialect
) -> tuple[str, list[tuple[str, Write | None]]]:
    """The statement with these columns, and in its order what makes a value fit for the driver."""
    target = table(row)
    made = insert(target).compile(dialect=dialect, column_keys=columns)
    types = {name: target.c[name].type.dialect_impl(dialect) for name in made.positiontup or ()}
    return str(made), [(name, kind.bind_processor(dialect)) for name, kind in types.items()]


def by_ids(connection: Connection, query: Query, ids: Collection[int]) -> Iterator[Found]:
    """The rows of a query that asks for IDS, in portions.

    Build the query once, in a cached function: building it costs more than asking.
    """
    rest = iter(sorted(ids))
    while portion := list(islice(rest, AT_ONCE)):
        yield from connection.execute(query, {"ids": portion})
