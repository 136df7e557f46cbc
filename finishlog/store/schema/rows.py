"""Query helpers: a class's table, selecting by many ids."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from contextlib import contextmanager, nullcontext
from dataclasses import dataclass
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
Statement = tuple[str, tuple[Any, ...]]
"""A statement as the driver gets it, and its values."""
Asked = list[tuple[str, tuple[Any, ...], list[tuple[Any, ...]]]]
"""Statements as the driver gets them, their values, and what each found."""

IDS: BindParameter[int] = bindparam("ids", expanding=True)
"""Placeholder for one batch of ids in a `by_ids` query."""

AT_ONCE = 500
"""Ids per IN list, far below any engine's limit (SQLite 32,766)."""
FEW = 4
"""Ids named one by one on a server too: it takes a list of unknown length for ten, and plans it anew each time."""
RANGE = "BETWEEN :first AND :last"
"""Rows next to each other, for `read`. Of one row it is said that it is one: any range is planned as a wide one."""
ASKED = "asked"
"""What a connection's `info` may name: a list in which `by_ids` notes what it asks, unless the answer lasts."""
AHEAD = "ahead"
"""What a connection's `info` may name: the answers that `at_once` has, by statement."""
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
    for portion in _batches(ids):
        ready = _compiled(query, connection.dialect, _padded(len(portion), connection.dialect))
        if ready is None:
            yield from connection.execute(query, {"ids": portion})
            continue
        values = ready.values(portion)
        found = fetched(connection, ready.statement, values)
        asked: Asked | None = connection.info.get(ASKED)
        if asked is not None and told_by is not None:
            list(by_ids(connection, told_by, portion))
        elif asked is not None and not ready.lasts:
            asked.append((ready.statement, values, found))
        yield from map(ready.make, found)


@contextmanager
def at_once(
    connection: Connection, *asked: tuple[Query, Collection[int]] | tuple[str, Mapping[str, Any]]
) -> Iterator[None]:
    """Within the block `by_ids` and `read` have the answers to these: they were asked together, if the driver can.

    Nothing may be written meanwhile. What is there already is not asked again, what cannot be asked so as ever.
    """
    before = connection.info.get(AHEAD, {})
    wanted = (one for query, of in asked for one in _statements(connection, query, of))
    new = [one for one in dict.fromkeys(wanted) if one not in before]
    connection.info[AHEAD] = before | dict(zip(new, fetched_all(connection, new), strict=True))
    try:
        yield
    finally:
        connection.info[AHEAD] = before


def _statements(
    connection: Connection, query: Query | str, of: Collection[int] | Mapping[str, Any]
) -> Iterator[Statement]:
    if isinstance(query, str) and isinstance(of, Mapping):
        yield _said(connection, query, of)
    elif not isinstance(query, str):
        for portion in _batches(of):
            ready = _compiled(query, connection.dialect, _padded(len(portion), connection.dialect))
            if ready is not None:
                yield ready.statement, ready.values(portion)


def _batches(ids: Collection[int] | Collection[str]) -> Iterator[list[Any]]:
    rest: Iterator[Any] = iter(sorted(ids))
    while portion := list(islice(rest, AT_ONCE)):
        yield portion


def fetched(connection: Connection, statement: str, values: tuple[Any, ...]) -> list[tuple[Any, ...]]:
    """The rows of a statement of the driver's own, as they are stored. Raises DBAPIError."""
    ahead = connection.info.get(AHEAD)
    found = ahead.get((statement, values)) if ahead else None
    return fetched_all(connection, [(statement, values)])[0] if found is None else found


def fetched_all(connection: Connection, asked: Sequence[Statement]) -> list[list[tuple[Any, ...]]]:
    """The rows of each of several statements, sent in one go where the driver can: to a server each way costs."""
    if not asked:
        return []
    alone = len(asked) == 1
    together = nullcontext if alone else getattr(connection.connection, "pipeline", nullcontext)
    cursors, statement = [connection.connection.cursor() for _ in asked], asked[0][0]
    try:
        with together():
            for cursor, (statement, values) in zip(cursors, asked, strict=True):
                cursor.execute(statement, values)
        return [list(cursor.fetchall()) for cursor in cursors]
    except connection.dialect.loaded_dbapi.Error as error:
        raise DBAPIError(statement, None, error) from error
    finally:
        for cursor in cursors:
            cursor.close()


def read(connection: Connection, query: str, values: Mapping[str, Any]) -> list[tuple[Any, ...]]:
    """The rows of a query as they are stored; its values by name."""
    statement, names = positional(narrow(query, values), connection.dialect)
    if names is None:
        return [tuple(row) for row in connection.execute(text(query), values)]
    return fetched(connection, statement, tuple([values[name] for name in names]))


def read_all(
    connection: Connection, queries: Sequence[str], values: Mapping[str, Any]
) -> list[list[tuple[Any, ...]]]:
    """Like `read` of each of several queries, asked together where the driver can."""
    return fetched_all(connection, [_said(connection, query, values) for query in queries])


def _said(connection: Connection, query: str, values: Mapping[str, Any]) -> Statement:
    statement, names = positional(narrow(query, values), connection.dialect)
    return statement, tuple([values[name] for name in names or ()])


def narrow(query: str, values: Mapping[str, Any]) -> str:
    """A query as it is best said of these values: see RANGE."""
    one = "last" in values and values["last"] == values["first"]
    return query.replace(RANGE, "= :first") if one else query


@lru_cache(maxsize=1024)
def positional(query: str, dialect: Dialect) -> tuple[str, list[str] | None]:
    """A text with `:names` as the driver takes it, and the names of its values in order; None where they are named."""
    made = text(query).compile(dialect=dialect)
    return str(made), made.positiontup if dialect.positional else None


def _padded(length: int, dialect: Dialect) -> int:
    """Few lengths, so few statements: the next power of two; 0 of more than a few where a list is a single value."""
    named = min(1 << (length - 1).bit_length(), AT_ONCE)
    return 0 if named > FEW and _takes_lists(dialect) else named


def _takes_lists(dialect: Dialect) -> bool:
    return getattr(dialect.statement_compiler, "takes_lists", False)


@dataclass(frozen=True)
class _Ready:
    """A query as the driver gets it, for so many ids (0: for a list of any length)."""

    statement: str
    length: int
    make: Callable[[Any], Found]
    lasts: bool
    """Whether the same ids always find the same."""

    def values(self, portion: list[Any]) -> tuple[Any, ...]:
        if not self.length:  # the driver would look at each of a list
            return (f"{{{','.join(map(_element, portion))}}}",)
        return (*portion, *([portion[-1]] * (self.length - len(portion))))


@lru_cache(maxsize=512)
def _compiled(query: Query, dialect: Dialect, length: int) -> _Ready | None:
    """The statement for so many ids; None of a query with other values, or another driver."""
    asked = query.params(ids=[0] * max(length, 1)).compile(
        dialect=dialect, compile_kwargs={"render_postcompile": True, "ids_named": bool(length)}
    )
    columns = list(query.selected_columns)
    if len(asked.positiontup or ()) != max(length, 1) or len({one.key for one in columns}) != len(columns):
        return None
    readers: list[Any] = [_reader(column.type, dialect) for column in columns]
    names = SimpleResultMetaData([str(column.key) for column in columns])
    index: dict[Any, int] = {str(column.key): place for place, column in enumerate(columns)}
    lasts = {source.name for source in find_tables(query, include_aliases=True)} <= LASTING
    return _Ready(str(asked), length, lambda row: Row(names, readers, index, row), lasts)


def _reader(kind: TypeEngine[Any], dialect: Dialect) -> Callable[[Any], Any] | None:
    """What makes a value of what the driver gives; every driver gives floats as they are."""
    return None if isinstance(kind, Double) else kind.dialect_impl(dialect).result_processor(dialect, None)


def _element(one: int | str) -> str:
    """A value of a list as the server reads it."""
    return str(one) if isinstance(one, int) else '"' + one.replace("\\", "\\\\").replace('"', '\\"') + '"'


def spans(ids: list[int]) -> Iterator[tuple[int, int]]:
    """Ranges of neighboring ids."""
    start = 0
    for place, one in enumerate(ids):
        if place + 1 == len(ids) or ids[place + 1] != one + 1 or place - start >= AT_ONCE:
            yield ids[start], one
            start = place + 1
