"""The projections as they are stored: read, compared with what they should be, and written where they differ.

What is kept of a job is a list of rows of values, each with the number of its table in PARTS before them; of them
its hash is taken.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import dataclass
from functools import cache, cached_property
from typing import Any

from sqlalchemy.engine import Connection, Dialect

from finishlog.store.schema.base import Base
from finishlog.store.schema.rows import RANGE, positional, read, read_all, spans, table
from finishlog.store.schema.tables_view import TEXT_COLUMNS, CareRow, DueRow, JobFacetRow, JobLineRow
from finishlog.store.search import dialects
from finishlog.store.search.find import LINE_FIELDS

Rows = list[list[Any]]


@dataclass(frozen=True)
class _Part:
    """A table with rows of jobs; its first column is the job, and `order` what sorts those of one."""

    name: str
    columns: tuple[str, ...]
    order: tuple[str, ...] = ()
    replaces: bool = False
    """Whether a row of a job takes the place of the one before: triggers then see only what differs."""

    @cached_property
    def select(self) -> str:
        order = ", ".join((self.columns[0], *self.order))
        within = f"WHERE {self.columns[0]} {RANGE} ORDER BY {order}"
        return f"SELECT {', '.join(self.columns)} FROM {self.name} {within}"

    @cached_property
    def delete(self) -> str:
        return f"DELETE FROM {self.name} WHERE {self.columns[0]} = :job"

    @cached_property
    def insert(self) -> str:
        marks = ", ".join(f":{name}" for name in self.columns)
        said = f"INSERT INTO {self.name} ({', '.join(self.columns)}) VALUES ({marks})"
        if not self.replaces:
            return said
        key, *rest = self.columns
        return (
            f"{said} ON CONFLICT ({key}) DO UPDATE SET {', '.join(f'{one} = excluded.{one}' for one in rest)}"
        )


def _all(row: type[Base]) -> tuple[str, ...]:
    return tuple(column.name for column in table(row).columns)


LINE, FACET, TEXT, DUE, CARE = range(5)
PARTS = (
    _Part("job_line", ("job_id", "sort_on", *LINE_FIELDS)),
    _Part("job_facet", ("job_id", "facet", "value_key", "value"), ("facet", "value_key")),
    _Part("job_text", ("job_id", *TEXT_COLUMNS), replaces=True),
    _Part("due", _all(DueRow), ("position",)),
    _Part("care", _all(CareRow)),
)
_SQLITES_TEXT = _Part("job_text", ("rowid", *TEXT_COLUMNS))
_ROWS: dict[int, type[Base]] = {LINE: JobLineRow, FACET: JobFacetRow, DUE: DueRow, CARE: CareRow}


def _part(connection: Connection, number: int) -> _Part:
    if number == TEXT and dialects.texts(connection).job_id == "rowid":
        return _SQLITES_TEXT
    return PARTS[number]


def rows_of(connection: Connection, number: int, first: int, last: int) -> list[tuple[Any, ...]]:
    """What is stored in one table of the jobs with ids in this range; their ids come first."""
    return read(connection, _part(connection, number).select, {"first": first, "last": last})


def kept(connection: Connection, first: int, last: int) -> Iterator[tuple[int, Rows]]:
    """What is stored of the jobs with ids in this range, as it is stored: line, facets, text, due lines, the book."""
    found: dict[int, Rows] = {}
    queries = [_part(connection, number).select for number in range(len(PARTS))]
    for number, rows in enumerate(read_all(connection, queries, {"first": first, "last": last})):
        for row in rows:
            found.setdefault(row[0], []).append([number, *row[1:]])
    yield from sorted(found.items())


def form(connection: Connection, part: int, values: Mapping[str, Any]) -> list[Any]:
    """A row of a part as it is stored and kept: of it the hash is taken, without reading it again."""
    writers = _writers(part, connection.dialect)
    made = (values[name] if write is None else write(values[name]) for name, write in writers)
    return [part, *(0.0 if value == 0.0 and isinstance(value, float) else value for value in made)]


@cache
def _writers(part: int, dialect: Dialect) -> list[tuple[str, Callable[[Any], Any] | None]]:
    columns = table(_ROWS[part]).c
    kinds = ((name, columns[name].type.dialect_impl(dialect)) for name in PARTS[part].columns[1:])
    return [(name, kind.bind_processor(dialect)) for name, kind in kinds]


def write(connection: Connection, made: Mapping[int, Rows], parts: Collection[int]) -> None:
    """Rewrite those of these parts of the jobs that are not as they should be; most writes change one or two."""
    held: dict[int, Rows] = {}
    for first, last in spans(sorted(made)):
        held.update(kept(connection, first, last))
    for number in parts:
        old, new = _of(held, number), _of(made, number)
        moved = [job for job in made if old[job] != new[job]]
        part = _part(connection, number)
        gone = [(job,) for job in moved if old[job] and not (part.replaces and new[job])]
        come = [(job, *row[1:]) for job in moved for row in new[job]]
        if gone:
            _run(connection, part.delete, gone)
        if come:
            _run(connection, part.insert, come)


def _run(connection: Connection, statement: str, rows: list[tuple[Any, ...]]) -> None:
    """Once for each row of values, which stand in the order in which the statement names them."""
    connection.exec_driver_sql(positional(statement, connection.dialect)[0], rows)


def _of(rows: Mapping[int, Rows], part: int) -> dict[int, Rows]:
    """The rows of one part, by job."""
    found: dict[int, Rows] = defaultdict(list)
    for job, some in rows.items():
        found[job] = [row for row in some if row[0] == part]
    return found
