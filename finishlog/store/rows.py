"""Small steps every query shares: asking by many ids, writing one row."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from functools import cache
from itertools import islice
from typing import Any, cast

from sqlalchemy import BindParameter, Insert, Row, Select, Table, bindparam, insert
from sqlalchemy.engine import Connection

from finishlog.store.base import Base

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
    """Insert one row; its id (0 where the key is no number)."""
    made = connection.execute(_insert(row), values).inserted_primary_key
    return made[0] if made is not None and isinstance(made[0], int) else 0


@cache
def _insert(row: type[Base]) -> Insert:
    return insert(table(row))


def by_ids(connection: Connection, query: Query, ids: Collection[int]) -> Iterator[Found]:
    """The rows of a query that asks for IDS, in portions.

    Build the query once, in a cached function: building it costs more than asking.
    """
    rest = iter(sorted(ids))
    while portion := list(islice(rest, AT_ONCE)):
        yield from connection.execute(query, {"ids": portion})
