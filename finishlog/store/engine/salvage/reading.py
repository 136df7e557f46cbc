"""Which table each readable page of a damaged log belongs to, and its rows.

A page that its table's inner pages still lead to is that table's. Any other leaf is tried: rows that only one
table's constraints take are that table's; where several would, an index that names them decides, then the rows
of other tables that name them, then where the table begins in an empty log, if all others begin there too.
"""

from __future__ import annotations

import sqlite3
from collections import defaultdict
from collections.abc import Iterator
from contextlib import closing, suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import TypeGuard

from finishlog.store.engine.salvage.pages import INNER, LEAF, Cells, DamagedError, Pages, Value

Row = dict[str, Value]
TRIED = 12
"""Rows of a stray page that are tried on each table."""


_OBJECTS = ("table", "index", "trigger", "view")


def _rooted(record: tuple[Value, ...]) -> TypeGuard[tuple[str, str, str, int, str]]:
    return isinstance(record[3], int) and record[3] > 0 and str(record[4] or "CREATE").startswith("CREATE")


@dataclass(frozen=True, slots=True)
class _Table:
    """A table as an empty log has it: columns with what stands for a column added later; the key that is the rowid;
    the columns of text, which never hold a number."""

    name: str
    columns: tuple[str, ...]
    usual: tuple[Value, ...]
    rowid: int | None
    parents: tuple[tuple[str, str], ...]
    texts: tuple[int, ...]
    root: int

    def values(self, rowid: int, record: tuple[Value, ...]) -> tuple[Value, ...]:
        """A row's values. Raises DamagedError where it has more than the table."""
        if len(record) > len(self.columns):
            raise DamagedError
        values = [*record, *self.usual[len(record) :]]
        if self.rowid is not None:
            values[self.rowid] = rowid
        return tuple(values)


@dataclass(slots=True)
class Salvage:
    """A damaged log read page by page. `unplaced` counts rows that may belong to several tables."""

    where: Path
    lost_pages: int = 0
    unplaced: int = 0
    _pages: Pages = field(init=False)
    _schema: list[tuple[str, str, str, int]] = field(default_factory=list)
    _schema_leaves: set[int] = field(default_factory=set)
    _leaves: dict[str, list[int]] = field(default_factory=dict)
    _tables: dict[str, _Table] = field(default_factory=dict)
    _ids: dict[str, set[int]] = field(default_factory=dict)
    _indexed: dict[str, dict[Value, list[list[Value]]]] = field(default_factory=dict)
    _names: dict[str, set[Value]] = field(default_factory=dict)
    _hurt: set[str] = field(default_factory=set)
    """Tables of which a page is damaged, or where they begin is not known."""

    def __post_init__(self) -> None:
        self._pages = Pages(self.where)
        for leaf in range(
            1, self._pages.count + 1
        ):  # what leads to the tables is itself found without being led to
            found = [record for _, record in self._rows(leaf, 5) if record[0] in _OBJECTS]
            if found:
                self._schema_leaves.add(leaf)
                self._schema += [
                    (str(one[0]), str(one[1]), str(one[2]), one[3]) for one in found if _rooted(one)
                ]

    def _rows(self, leaf: int, width: int) -> Iterator[tuple[int, tuple[Value, ...]]]:
        return (row for row in self._pages.rows(leaf) if len(row[1]) == width)

    def revision(self, known: tuple[str, ...]) -> str | None:
        """The log's revision, None where it cannot be read."""
        roots = [root for kind, name, _, root in self._schema if (kind, name) == ("table", "alembic_version")]
        for leaf in roots or range(1, self._pages.count + 1):
            found = [str(record[0]) for _, record in self._rows(leaf, 1) if record[0] in known]
            if found:
                return found[0]
        return None

    def place(self, empty: Path) -> None:
        """Find each table's pages, by the tables of an empty log of the same revision."""
        with closing(sqlite3.connect(empty)) as model:
            self._tables = {table.name: table for table in _tables(model)}
            probe = _Probe(model)
        seen: set[int] = {1, *self._schema_leaves}
        self._leaves = {name: [] for name in self._tables}
        self._hurt = set(self._tables)
        for kind, name, _, root in self._schema:
            if kind == "table":
                lost = self.lost_pages
                self._leaves.get(name, []).extend(self._walk(root, seen))
                if lost == self.lost_pages:
                    self._hurt.discard(name)
            else:
                seen.add(root)
        with closing(probe.memory):
            for group in self._strays(seen):
                self._place_stray(group, probe)

    def rows(self, table: str) -> Iterator[Row]:
        """The table's readable rows, each once."""
        held = self._tables[table]
        done: set[int] = set()
        for leaf in self._leaves[table]:
            for rowid, record in self._pages.rows(leaf):
                with suppress(DamagedError):
                    values = held.values(rowid, record)
                    if rowid not in done:
                        done.add(rowid)
                        yield dict(zip(held.columns, values, strict=True))

    def _walk(self, root: int, seen: set[int]) -> Iterator[int]:
        """The readable leaves below a page; damaged ones are counted."""
        waiting = [root]
        while waiting:
            number = waiting.pop()
            if number in seen and number != 1:
                continue
            seen.add(number)
            try:
                cells = self._pages.cells(number)
                below = self._pages.children(number, cells) if cells.kind == INNER else []
            except DamagedError:
                self.lost_pages += 1
                continue
            if cells.kind == LEAF:
                yield number
            waiting += reversed(below)

    def _strays(self, seen: set[int]) -> Iterator[list[int]]:
        """Leaves that nothing leads to, those of one inner page together."""
        free = self._pages.free()
        strays: dict[int, Cells] = {}
        for number in range(2, self._pages.count + 1):
            if number not in seen and number not in free:
                with suppress(DamagedError):
                    cells = self._pages.cells(number)
                    if cells.kind in (LEAF, INNER):
                        strays[number] = cells
        inner = [number for number, cells in strays.items() if cells.kind == INNER]
        below = {child for number in inner for child in self._pages.children(number, strays[number])}
        for number in sorted(inner, key=lambda each: each in below):
            if found := [leaf for leaf in self._walk(number, seen) if leaf in strays]:
                yield found
        yield from ([number] for number, cells in strays.items() if cells.kind == LEAF and number not in seen)

    def _place_stray(self, group: list[int], probe: _Probe) -> None:
        rows = [row for leaf in group for row in self._pages.rows(leaf)]
        width = max((len(record) for _, record in rows), default=0)
        fitting = [self._tables[name] for name in sorted(self._hurt) if probe.takes(self._tables[name], rows)]
        whole = [table for table in fitting if len(table.columns) == width]
        fitting = whole or fitting  # rows are shorter than their table only where a column was added since
        if len(fitting) > 1:
            scores = {table.name: self._score(table, rows) for table in fitting}
            best = max(scores.values())
            equal = [table for table in fitting if scores[table.name] == best]
            fitting = [table for table in equal if best >= (0, 0) and table.root in group and self._as_made()]
            fitting = fitting or [table for table in equal if best > (0, 0)]
            self.unplaced += len(rows) if len(fitting) != 1 else 0
        if len(fitting) == 1:
            self._leaves[fitting[0].name] += group
            if fitting[0].name in self._ids:
                self._ids[fitting[0].name] |= {rowid for rowid, _ in rows}

    def _as_made(self) -> bool:
        """Whether every table of which it is known begins where it does in an empty log."""
        known = [(name, root) for kind, name, _, root in self._schema if kind == "table"]
        return all(self._tables[name].root == root for name, root in known if name in self._tables)

    def _score(self, table: _Table, rows: list[tuple[int, tuple[Value, ...]]]) -> tuple[int, int]:
        """How many of the rows an index of the table names, then how many rows of others do; none if one is there."""
        ids = {rowid for rowid, _ in rows}
        if ids & self._rowids(table.name):
            return (-1, 0)
        keys = self._keys(table.name)
        indexed = sum(
            any(set(map(repr, key)) <= set(map(repr, record)) for key in keys.get(rowid, ()))
            for rowid, record in rows
        )
        return indexed, len(ids & self._named(table.name))

    def _rowids(self, table: str) -> set[int]:
        if table not in self._ids:
            self._ids[table] = {rowid for leaf in self._leaves[table] for rowid, _ in self._pages.rows(leaf)}
        return self._ids[table]

    def _keys(self, table: str) -> dict[Value, list[list[Value]]]:
        """What the table's indexes still say of its rows, by rowid."""
        if table not in self._indexed:
            found = self._indexed[table] = defaultdict(list)
            for kind, _, of, root in self._schema:
                for *key, rowid in self._index(root) if kind == "index" and of == table else ():
                    found[rowid].append(key)
        return self._indexed[table]

    def _index(self, root: int) -> Iterator[tuple[Value, ...]]:
        """The records of an index whose columns are all known."""
        waiting, seen = [root], set[int]()
        while waiting:
            number = waiting.pop()
            if number in seen:
                continue
            seen.add(number)
            with suppress(DamagedError):
                cells = self._pages.cells(number)
                waiting += self._pages.children(number, cells) if cells.right else []
                yield from (key for key in self._pages.keys(number) if None not in key[:-1])

    def _named(self, table: str) -> set[Value]:
        """What the rows that were found first name of this table."""
        if table not in self._names:
            self._names[table] = {
                row[column]
                for other in self._tables.values()
                for column, parent in other.parents
                if parent == table
                for row in self.rows(other.name)
            }
        return self._names[table]


@dataclass(slots=True)
class _Probe:
    """The tables of an empty log in memory, without triggers or keys to others, to try rows on."""

    model: sqlite3.Connection
    memory: sqlite3.Connection = field(init=False)

    def __post_init__(self) -> None:
        self.memory = sqlite3.connect(":memory:", isolation_level=None)
        for (statement,) in self.model.execute(_OWN_TABLES.format("sql")):
            self.memory.execute(statement)

    def takes(self, table: _Table, rows: list[tuple[int, tuple[Value, ...]]]) -> bool:
        """Whether the table's constraints take all of these rows (the first of them)."""
        if not rows or any(len(record) > len(table.columns) for _, record in rows):
            return False
        self.memory.execute("BEGIN")
        marks = ", ".join("?" * len(table.columns))
        try:
            for rowid, record in rows[:: max(1, len(rows) // TRIED)]:
                if table.rowid is not None and record[table.rowid] is not None:
                    return False  # the key that is the rowid is kept as nothing
                if any(
                    isinstance(record[place], int | float) for place in table.texts if place < len(record)
                ):
                    return False  # it would be taken, and kept as text
                self.memory.execute(
                    f'INSERT INTO "{table.name}" VALUES ({marks})', table.values(rowid, record)
                )
        except (sqlite3.Error, OverflowError, IndexError):
            return False
        finally:
            self.memory.execute("ROLLBACK")
        return True


_OWN_TABLES = (
    "SELECT {} FROM sqlite_schema WHERE type = 'table' AND rootpage > 0 AND name NOT LIKE 'job\\_text%' ESCAPE '\\' "
    "AND name NOT LIKE 'sqlite%'"
)


def _tables(model: sqlite3.Connection) -> Iterator[_Table]:
    for name, root in model.execute(_OWN_TABLES.format("name, rootpage")).fetchall():
        columns = model.execute(f'PRAGMA table_info("{name}")').fetchall()
        keys = [place for place, column in enumerate(columns) if column[5]]
        alone = keys[0] if len(keys) == 1 and columns[keys[0]][2] == "INTEGER" else None
        parents = model.execute(f'PRAGMA foreign_key_list("{name}")').fetchall()
        yield _Table(
            name,
            tuple(column[1] for column in columns),
            tuple(_usual(model, column[4]) for column in columns),
            alone,
            tuple((row[3], row[2]) for row in parents if row[4] in ("id", "entry_id", "sha256", None)),
            tuple(place for place, column in enumerate(columns) if _is_text(column[2])),
            root,
        )


def _is_text(kind: str) -> bool:
    """Whether the database turns a number that is put into a column of this kind into text."""
    return "INT" not in kind and any(word in kind for word in ("CHAR", "CLOB", "TEXT"))


def _usual(model: sqlite3.Connection, expression: str | None) -> Value:
    value: Value = model.execute(f"SELECT {expression}").fetchone()[0] if expression is not None else None
    return int(value) if isinstance(value, str) and value.isdecimal() else value
