"""Query helpers: a class's table, selecting by many ids."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping
from functools import lru_cache
from itertools import islice
from typing import TYPE_CHECKING, Any

from sqlalchemy import (
    BindParameter,
    ColumnElement,
    Double,
    Row,
    Select,
    Table,
    bindparam,
    func,
    literal,
    text,
)
from sqlalchemy.engine import Connection, Dialect
from sqlalchemy.engine.result import SimpleResultMetaData
from sqlalchemy.exc import DBAPIError
from sqlalchemy.sql.util import find_tables
from sqlalchemy.types import TypeEngine

if TYPE_CHECKING:
    from finishlog.store.schema.base import Base

Query = Select[*tuple[Any, ...]]
Found = Row[*tuple[Any, ...]]
Asked = list[tuple[str, tuple[Any, ...], list[tuple[Any, ...]]]]
"""Statements as the driver gets them, their values, and what each found."""

IDS: BindParameter[int] = bindparam("ids", expanding=True)
"""Placeholder for one batch of ids in a `by_ids` query."""

AT_ONCE = 500
"""Ids per IN list, far below any engine's limit (SQLite 32,766)."""
ASKED = "asked"
"""What a connection's `info` may name: a list in which `by_ids` notes what it asks, unless the answer lasts."""
LASTING = frozenset(
    ("load", "coat", "reading", "sample", "sample_dose", "approval", "claim", "entry_file", "file", "photo")
)
"""Details of entries: written with their entry and never changed (the schema refuses it)."""


def table(row: type[Base]) -> Table:
    """The table of a class."""
    return row.__table__


def looked_at(column: Any) -> ColumnElement[str]:
    """The column for a condition that no index answers.

    Of a few jobs' entries the job finds them; by the index of kinds all of the log would be read.
    """
    return func.coalesce(column, literal("", literal_execute=True))


def by_ids(
    connection: Connection,
    query: Query,
    ids: Collection[int] | Collection[str],
    told_by: Query | None = None,
) -> Iterator[Found]:
    """The rows of a query with IDS, in batches.

    Where it is noted what is asked, `told_by` stands for the query: it reads less, and while it finds the same
    so does the query.

    Build the query once, in a cached function: building costs more than running it. The statement is compiled
    once and goes straight to the driver: a job is 20 small queries, and SQLAlchemy takes 200 µs for each.
    """
    rest: Iterator[Any] = iter(sorted(ids))
    while portion := list(islice(rest, AT_ONCE)):
        ready = _compiled(query, connection.dialect, _padded(len(portion)))
        if ready is None:
            yield from connection.execute(query, {"ids": portion})
            continue
        statement, length, make, lasts = ready
        values = (*portion, *([portion[-1]] * (length - len(portion))))
        found = fetched(connection, statement, values)
        asked: Asked | None = connection.info.get(ASKED)
        if asked is not None and told_by is not None:
            list(by_ids(connection, told_by, portion))
        elif asked is not None and not lasts:
            asked.append((statement, values, found))
        yield from map(make, found)


def fetched(connection: Connection, statement: str, values: tuple[Any, ...]) -> list[tuple[Any, ...]]:
    """The rows of a statement of the driver's own, as they are stored. Raises DBAPIError."""
    cursor = connection.connection.cursor()
    try:
        cursor.execute(statement, values)
        return list(cursor.fetchall())
    except connection.dialect.loaded_dbapi.Error as error:
        raise DBAPIError(statement, None, error) from error
    finally:
        cursor.close()


def read(connection: Connection, query: str, values: Mapping[str, Any]) -> list[tuple[Any, ...]]:
    """The rows of a query as they are stored; its values by name."""
    statement, names = positional(query, connection.dialect)
    if names is None:
        return [tuple(row) for row in connection.execute(text(query), values)]
    return fetched(connection, statement, tuple([values[name] for name in names]))


@lru_cache(maxsize=1024)
def positional(query: str, dialect: Dialect) -> tuple[str, list[str] | None]:
    """A text with `:names` as the driver takes it, and the names of its values in order; None where they are named."""
    made = text(query).compile(dialect=dialect)
    return str(made), made.positiontup if dialect.positional else None


def _padded(length: int) -> int:
    """Few lengths, so few statements: the next power of two."""
    return min(1 << (length - 1).bit_length(), AT_ONCE)


@lru_cache(maxsize=512)
def _compiled(
    query: Query, dialect: Dialect, length: int
) -> tuple[str, int, Callable[[Any], Found], bool] | None:
    """The statement for so many ids, what makes a row, whether the same ids always find the same.

    None of a query with other values, or another driver.
    """
    asked = query.params(ids=[0] * length).compile(
        dialect=dialect, compile_kwargs={"render_postcompile": True}
    )
    columns = list(query.selected_columns)
    if len(asked.positiontup or ()) != length or len({column.key for column in columns}) != len(columns):
        return None
    readers: list[Any] = [_reader(column.type, dialect) for column in columns]
    names = SimpleResultMetaData([str(column.key) for column in columns])
    index: dict[Any, int] = {str(column.key): place for place, column in enumerate(columns)}
    lasts = {source.name for source in find_tables(query, include_aliases=True)} <= LASTING
    return str(asked), length, lambda row: Row(names, readers, index, row), lasts


def _reader(kind: TypeEngine[Any], dialect: Dialect) -> Callable[[Any], Any] | None:
    """What makes a value of what the driver gives; every driver gives floats as they are."""
    return None if isinstance(kind, Double) else kind.dialect_impl(dialect).result_processor(dialect, None)


def spans(ids: list[int]) -> Iterator[tuple[int, int]]:
    """Ranges of neighboring ids."""
    start = 0
    for place, one in enumerate(ids):
        if place + 1 == len(ids) or ids[place + 1] != one + 1 or place - start >= AT_ONCE:
            yield ids[start], one
            start = place + 1
