"""The contents that are hashed, read as they are stored, a range of ids at a time."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cache
from itertools import groupby
from typing import Any

from sqlalchemy import TextClause, text
from sqlalchemy.engine import Connection

from finishlog.store.schema import rows as schema
from finishlog.store.sealing import form
from finishlog.store.sealing.form import Content, known

Found = Iterator[tuple[int, Content]]
_WITHIN = schema.RANGE


def read(connection: Connection, query: str, **values: Any) -> list[tuple[Any, ...]]:
    """The rows of a query as they are stored; its values by name.

    Straight from the driver: a check reads every row of the log, and plain tuples take half the time.
    """
    return schema.read(connection, query, values)


def one(connection: Connection, query: str, **values: Any) -> Any:
    """The first value of the first row; None if there is none."""
    return connection.execute(_text(query), values).scalar()


@cache
def _text(query: str) -> TextClause:
    return text(query)


def entries(connection: Connection, first: int, last: int) -> Found:
    """The entries with ids in this range, in order, with all that is told of each."""
    query = f"SELECT {', '.join(form.ENTRY)} FROM entry WHERE id {_WITHIN} ORDER BY id"
    rows, told = schema.read_all(connection, (query, _telling()), {"first": first, "last": last})
    details: dict[int, list[tuple[str, list[Content]]]] = {}
    for (name,) in told if rows else ():  # most entries have one or two kinds of detail
        found = read(connection, _detail_query(name), first=first, last=last)
        for entry, some in groupby(found, key=_first):
            details.setdefault(entry, []).append((name, [known(row[1:]) for row in some]))
    for row in rows:
        yield row[0], form.entry(row, details.get(row[0], ()))


def _first(row: Sequence[Any]) -> Any:
    return row[0]


@cache
def _telling() -> str:
    """The tables that tell anything of the entries of a range, in their order."""
    return " UNION ALL ".join(
        f"SELECT '{name}' WHERE EXISTS (SELECT 1 FROM {name} WHERE entry_id {_WITHIN})"
        for name in form.DETAILS
    )


@cache
def _detail_query(name: str) -> str:
    columns = form.DETAILS[name]
    listed, source = _of("n", columns), f"{name} AS n"
    if name == "entry_file":
        listed += f", {_of('f', form.FILE)}"
        source += " LEFT JOIN file AS f ON f.sha256 = n.sha256"
    within = f"n.entry_id {_WITHIN} ORDER BY n.entry_id, n.{columns[0]}"
    return f"SELECT n.entry_id, {listed} FROM {source} WHERE {within}"


def _of(name: str, columns: Sequence[str]) -> str:
    return ", ".join(f"{name}.{column}" for column in columns)


def plain(connection: Connection, table: str, first: int, last: int) -> Found:
    """The rows of a table of `form.PLAIN` with ids in this range; a recipe and an area with their parts."""
    _, columns = form.PLAIN[table]
    listed = ", ".join(columns)
    query = f"SELECT {listed} FROM {table} WHERE id {_WITHIN} ORDER BY id"
    rows = read(connection, query, first=first, last=last)
    parts: dict[int, list[Content]] = {}
    if table == "recipe":
        parts = _stages(connection, first, last)
    elif table == "area":
        query = _parts("shape", form.SHAPE, f"area_id {_WITHIN}")
        parts = _by_first(read(connection, query, first=first, last=last))
    for row in rows:
        yield row[0], [*known(row), *parts.get(row[0], ())] if parts else known(row)


def _parts(table: str, columns: Sequence[str], where: str) -> str:
    return f"SELECT {', '.join(columns)} FROM {table} WHERE {where} ORDER BY {columns[0]}, {columns[1]}"


def _by_first(rows: Sequence[Any]) -> dict[int, list[Content]]:
    return {key: [known(row[1:]) for row in some] for key, some in groupby(rows, key=_first)}


def _stages(connection: Connection, first: int, last: int) -> dict[int, list[Content]]:
    within = f"recipe_id {_WITHIN}"
    of_these = f"stage_id IN (SELECT id FROM stage WHERE {within})"
    query = _parts("stage_material", form.STAGE_MATERIAL, of_these)
    materials = _by_first(read(connection, query, first=first, last=last))
    found: dict[int, list[Content]] = {}
    for row in read(connection, _parts("stage", form.STAGE, within), first=first, last=last):
        found.setdefault(row[0], []).append([*known(row[1:]), *materials.get(row[1], ())])
    return found


def whole(connection: Connection, table: str) -> Content:
    """All rows of a table of `form.WHOLE`."""
    _, columns = form.WHOLE[table]
    return [known(row) for row in read(connection, f"SELECT {', '.join(columns)} FROM {table} ORDER BY key")]


def photos(connection: Connection, where: str = "", **values: Any) -> Found:
    """What is known of photos, in order of their hash."""
    query = f"SELECT {', '.join(form.PHOTO)} FROM photo {where} ORDER BY sha256"
    for row in read(connection, query, **values):
        yield form.photo_id(row[0]), known(row)


def photos_of(connection: Connection, first: int, last: int) -> Found:
    """The photos that entries with ids in this range name."""
    named = f"SELECT sha256 FROM entry_file WHERE entry_id {_WITHIN}"
    yield from photos(connection, f"WHERE sha256 IN ({named})", first=first, last=last)


def last_id(connection: Connection, table: str, column: str = "id") -> int:
    """The highest id of a table; 0 if it is empty."""
    return int(one(connection, f"SELECT max({column}) FROM {table}") or 0)
