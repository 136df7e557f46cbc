"""Query helpers: a mapped class's table, selecting by many ids."""

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
"""Placeholder for one batch of ids in a `by_ids` query."""

AT_ONCE = 500
"""Ids per IN list, far below any engine's limit (SQLite 32,766)."""


def table(row: type[Base]) -> Table:
    """The table of a mapped class."""
    return cast(Table, row.__table__)


def by_ids(connection: Connection, query: Query, ids: Collection[Any]) -> Iterator[Found]:
    """The rows of a query with IDS, in batches.

    Build the query once, in a cached function: building costs more than running it.
    """
    rest = iter(sorted(ids))
    while portion := list(islice(rest, AT_ONCE)):
        yield from connection.execute(query, {"ids": portion})
