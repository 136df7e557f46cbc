"""Small steps every query shares: the table of a mapped class, asking by many ids."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from itertools import islice
from typing import Any, cast

from sqlalchemy import BindParameter, Row, Select, Table, bindparam
from sqlalchemy.engine import Connection

from finishlog.store.schema.base import Base

Query = Select[*tuple[Any, ...]]
Found = Row[*tuple[Any, ...]]

IDS: BindParameter[int] = bindparam("ids", expanding=True)
"""In a query for `by_ids`: the ids of one portion."""

AT_ONCE = 500
"""Ids in one IN list, far below what any engine allows (SQLite 32,766)."""


def table(row: type[Base]) -> Table:
    """The table of a mapped class."""
    return cast(Table, row.__table__)


def by_ids(connection: Connection, query: Query, ids: Collection[int]) -> Iterator[Found]:
    """The rows of a query that asks for IDS, in portions.

    Build the query once, in a cached function: building it costs more than asking.
    """
    rest = iter(sorted(ids))
    while portion := list(islice(rest, AT_ONCE)):
        yield from connection.execute(query, {"ids": portion})
