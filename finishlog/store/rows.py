"""Small steps every query shares: asking by many ids, writing one row."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from itertools import islice
from typing import Any, cast

from sqlalchemy import Row, Select, Table, insert
from sqlalchemy.engine import Connection
from sqlalchemy.orm import InstrumentedAttribute

from finishlog.store.base import Base

Query = Select[*tuple[Any, ...]]
Found = Row[*tuple[Any, ...]]

AT_ONCE = 500
"""Ids in one IN list; SQLite allows 32,766."""


def table(row: type[Base]) -> Table:
    """The table of a mapped class."""
    return cast(Table, row.__table__)


def put(connection: Connection, row: type[Base], **values: Any) -> int:
    """Insert one row; its id (0 where the key is no number)."""
    made = connection.execute(insert(table(row)), values).inserted_primary_key
    return made[0] if made is not None and isinstance(made[0], int) else 0


def by_ids(
    connection: Connection, query: Query, column: InstrumentedAttribute[Any], ids: Collection[int]
) -> Iterator[Found]:
    """The rows whose `column` is one of `ids`, asked for in portions."""
    rest = iter(sorted(ids))
    while portion := list(islice(rest, AT_ONCE)):
        yield from connection.execute(query.where(column.in_(portion)))
