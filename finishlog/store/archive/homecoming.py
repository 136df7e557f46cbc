"""Rows of a damaged log brought into an empty one, so that every row names rows that are there.

A row that must name one that is gone gets a stand-in, named as rescued; what may be unknown becomes unknown.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from graphlib import CycleError, TopologicalSorter
from itertools import groupby
from typing import Any

from sqlalchemy import inspect, text
from sqlalchemy.engine import Connection
from sqlalchemy.exc import DBAPIError

from finishlog.store.archive.export import Table
from finishlog.store.schema.fold import key, slug

_OF_NO_ENTRY = "SELECT sha256 FROM file WHERE sha256 NOT IN (SELECT sha256 FROM entry_file) ORDER BY sha256"
Row = dict[str, Any]
Read = Callable[[str], Iterator[Row]]
AT_ONCE = 500
SHARED = "Rescued facts"
"""The job of all that no longer tells its own."""
DETAILS = {
    "load": "load", "coat": "seal", "reading": "reading", "sample": "sample", "approval": "approval",
    "claim": "claim", "material_use": "material", "entry_file": "note",
}  # fmt: skip
"""Tables of an entry's facts, with the kind of entry that stands in where theirs is gone."""


@dataclass(frozen=True, slots=True)
class Named:
    """What rows of a table name: columns, and the table and columns they point at; which of them may be unknown."""

    columns: tuple[str, ...]
    parent: str
    parent_columns: tuple[str, ...]
    optional: tuple[str, ...]


@dataclass(slots=True)
class Homecoming:
    """Brings the tables home in order. `now` is what a stand-in was logged at; `size_of` a file's bytes on disk."""

    connection: Connection
    tables: dict[str, Table]
    read: Read
    now: str
    size_of: Callable[[str], int]
    stood_in: dict[str, list[Any]] = field(default_factory=lambda: defaultdict(list))
    """Keys of the stand-ins by table."""
    lost: Counter[str] = field(default_factory=Counter)
    """Rows by table that could not come home."""
    unnamed: Counter[tuple[str, str]] = field(default_factory=Counter)
    """By table and the table it named: rows that no longer do."""
    _names: dict[str, tuple[Named, ...]] = field(default_factory=dict)
    _known: dict[tuple[str, tuple[str, ...]], set[Any]] = field(default_factory=lambda: defaultdict(set))
    _areas: dict[int, int] = field(default_factory=dict)
    _entries: dict[int, tuple[int, str, str]] = field(default_factory=dict)
    _last: dict[int, int] = field(default_factory=lambda: defaultdict(int))
    _ids: dict[tuple[str, str], int] = field(default_factory=dict)
    """Customers and sites by their key; 0 where several share it."""
    _shared_job: int = 0
    _shared_recipe: int = 0
    _highest: dict[str, int] = field(default_factory=dict)
    _wait: list[tuple[str, Row]] = field(default_factory=list)
    _lines: dict[int, Row] = field(default_factory=dict)

    def bring(self) -> None:
        """Insert every readable row and what must stand in for those that are gone."""
        seen = inspect(self.connection)
        self._names = {name: tuple(_named(seen, name)) for name in self.tables}
        self._lines = {int(row["job_id"]): row for row in self.read("job_line")}
        self._highest = self._highest_ids()
        for name in self._order():
            own = [one for one in self._names[name] if one.parent == name]
            for row in self.read(name) if own else ():
                for one in own:
                    self._known[name, one.parent_columns].add(_values(row, one.parent_columns))
            for row in self.read(name):
                self._take(name, row)
            self._flush()
        there = {number for (number,) in self._known["job", ("id",)]}
        for number in sorted(self._lines.keys() - there):
            self._stand_in("job", (number,), {})  # of which only the line in the list is left
        self._flush()
        if "entry_file" in self.tables:
            for sha256 in self.connection.scalars(text(_OF_NO_ENTRY)).all():
                self._adopt(sha256)
            self._flush()

    def _adopt(self, sha256: str) -> None:
        """A file that no entry names any more gets one, where it can be looked at."""
        entry = self._fresh("entry")
        self._stand_in("entry", (entry,), {"of": "entry_file"})
        self._take(
            "entry_file",
            {"entry_id": entry, "position": 1, "sha256": sha256, "name": f"rescued-{sha256[:8]}"},
        )

    def _order(self) -> list[str]:
        parents = {
            name: {one.parent for one in named if one.parent != name} for name, named in self._names.items()
        }
        try:
            return list(TopologicalSorter(parents).static_order())
        except CycleError:  # pragma: no cover - no tables of ours name each other
            return sorted(parents)

    def _highest_ids(self) -> dict[str, int]:
        """By table, the highest id that a row has or names: new ones are above it."""
        highest: dict[str, int] = defaultdict(int)
        for name, named in self._names.items():
            to = [("id", name), *((column, one.parent) for one in named for column in one.columns)]
            for row in self.read(name):
                for column, table in to:
                    if isinstance(number := row.get(column), int):
                        highest[table] = max(highest[table], number)
        return highest

    def _take(self, name: str, row: Row) -> None:
        """A row with what it names made sure of, or lost."""
        for one in self._names[name]:
            wanted = _values(row, one.columns)
            if None in wanted or wanted in self._known[one.parent, one.parent_columns]:
                continue
            if one.optional:
                row = row | dict.fromkeys(one.optional)
                self.unnamed[name, one.parent] += 1
            elif not self._stand_in(one.parent, wanted, {"of": name} | row):
                self.lost[name] += 1
                return
        if row.get("withdrawn") and row.get("replaces_id") is None:
            self.lost[name] += 1  # it took back what is gone
            return
        self._keep(name, row)

    def _keep(self, name: str, row: Row) -> None:
        self._wait.append((name, row))
        for one in {
            one.parent_columns for named in self._names.values() for one in named if one.parent == name
        }:
            self._known[name, one].add(_values(row, one))
        if name == "area":
            self._areas[row["id"]] = row["job_id"]
        if name in ("customer", "site"):
            named = (name, str(row.get("name_key") or row.get("street_key")))
            self._ids[named] = 0 if named in self._ids else row["id"]
        if name == "entry":
            self._entries[row["id"]] = (row["job_id"], row["happened"], row["logged"])
            self._last[row["job_id"]] = max(self._last[row["job_id"]], row["number"])
        if len(self._wait) >= AT_ONCE:
            self._flush()

    def _flush(self) -> None:
        waiting, self._wait = self._wait, []
        try:
            with self.connection.begin_nested():
                for name, rows in groupby(waiting, key=lambda each: each[0]):
                    self._insert(name, [row for _, row in rows])
            return
        except (DBAPIError, OverflowError):
            pass
        for name, row in waiting:
            try:
                with self.connection.begin_nested():
                    self._insert(name, [row])
            except (DBAPIError, OverflowError):
                self.lost[name] += 1

    def _insert(self, name: str, rows: list[Row]) -> None:
        columns = self.tables[name].columns
        listed = ", ".join(f'"{column}"' for column in columns)
        marks = ", ".join(f":{column}" for column in columns)
        self.connection.execute(text(f'INSERT INTO "{name}" ({listed}) VALUES ({marks})'), rows)

    # stand-ins

    def _stand_in(self, name: str, wanted: tuple[Any, ...], of: Row) -> bool:
        """A row in place of one that is gone, for the row `of`; False where there can be none."""
        make = _STAND_INS.get(name)
        made = make(self, wanted, of) if make else None
        if made is None:
            return False
        columns = dict.fromkeys(self.tables[name].columns)
        self._take(name, columns | _usual(self.tables[name], wanted[0]) | made)
        self.stood_in[name].append(wanted[0])
        return True

    def _fresh(self, name: str) -> int:
        self._highest[name] += 1
        return self._highest[name]

    def _shared(self) -> int:
        """The one job for all that no longer tells its own."""
        if not self._shared_job:
            self._shared_job = self._fresh("job")
            self._stand_in("job", (self._shared_job,), {"title": SHARED})
        return self._shared_job

    def _by_name(self, name: str, title: str | None) -> int:
        """The only one of that name that came home, else a stand-in."""
        found = self._ids.get((name, key(title or "")), 0)
        if not found:
            found = self._fresh(name)
            self._stand_in(name, (found,), {"title": title})
        return found

    def job(self, wanted: tuple[Any, ...], of: Row) -> Row:
        """A job by what the list still says of it."""
        number = wanted[0]
        line = self._lines.get(number, {})
        customer, site = (
            self._by_name("customer", line.get("customer")),
            self._by_name("site", line.get("street")),
        )
        name = of.get("title") or line.get("name") or f"Rescued job {number}"
        state = line.get("state") if line.get("state") in ("planned", "poured", "archived") else "poured"
        return {
            "handle": line.get("handle") or slug(name), "name": name, "name_key": key(name),
            "customer_id": customer, "site_id": site, "state": state, "logged": self.now,
            "note": "Rescued: the job's own record is gone.", "planned_on": line.get("planned_on"),
        } | ({"archived_from": "poured"} if state == "archived" else {})  # fmt: skip

    def entry(self, wanted: tuple[Any, ...], of: Row) -> Row:
        """An entry for facts whose own is gone: of the job of its area where it names one."""
        number = wanted[-1]
        job = self._areas.get(of.get("area_id", 0)) or self._shared()
        _, happened, logged = self._entries.get(self._near(number), (0, self.now, self.now))
        return {
            "id": number, "job_id": job, "number": self._last[job] + 1, "kind": DETAILS.get(of.get("of", ""), "note"),
            "happened": happened, "logged": logged, "exactness": "season",
            "note": "Rescued: its entry is gone; its day and job are not known for sure.",
        }  # fmt: skip

    def _near(self, number: int) -> int:
        """The entry that was logged last before this one."""
        return next(
            (each for each in range(number - 1, max(0, number - 1000), -1) if each in self._entries), 0
        )

    def area(self, wanted: tuple[Any, ...], of: Row) -> Row:
        """An area of the entry's job; of the shared one where no entry tells."""
        number = wanted[-1]
        job = self._entries.get(of.get("entry_id", 0), (0, "", ""))[0] or self._shared()
        name = f"Rescued area {number}"
        return {"id": number, "job_id": job, "position": 1000 + number, "name": name, "name_key": key(name)}

    def stage(self, wanted: tuple[Any, ...], of: Row) -> Row:
        """A stage of which only a material is left, under one recipe for all such; its unit tells what it was."""
        if not self._shared_recipe:
            self._shared_recipe = self._fresh("recipe")
            self._stand_in("recipe", (self._shared_recipe,), {"title": "Rescued stages"})
        kind = _STAGES.get(of.get("unit") or "", "seal")
        return {"id": wanted[0], "recipe_id": self._shared_recipe, "position": wanted[0], "kind": kind}

    def load(self, wanted: tuple[Any, ...], of: Row) -> Row:
        """A load of which is left where it went."""
        if wanted not in self._known["entry", ("id",)]:
            self._stand_in("entry", wanted, of | {"of": "load"})
        return {"entry_id": wanted[0]}

    def sample(self, wanted: tuple[Any, ...], of: Row) -> Row:
        """A sample of which only a dose is left."""
        return {"entry_id": wanted[0], "number": 1}

    def file(self, wanted: tuple[Any, ...], of: Row) -> Row | None:
        """A file that stands beside the log, though its row is gone."""
        size = self.size_of(str(wanted[0]))
        return {"sha256": wanted[0], "size": size, "added": self.now} if size else None


_STAGES = {"%": "integral_color", "lb/yd3": "integral_color", "lb/100 ft2": "powder_release"}
_DEFAULTS: Row = {
    "version": 1, "state": "poured", "exposure": "unknown", "form": "powder", "kind": "field", "withdrawn": 0,
    "leave_alone": 0, "facts": "{}", "facts_version": 1, "is_balance": 0,
    "params": "{}", "params_version": 1,
}  # fmt: skip


def _usual(table: Table, number: Any) -> Row:
    """What a stand-in has by its table's defaults, and a name of its own."""
    row = {column: value for column, value in _DEFAULTS.items() if column in table.columns}
    if "id" in table.columns:
        row["id"] = number
    if "uid" in table.columns:
        row["uid"] = f"rescued-{table.name}-{number}"
    return row


def _by_name(name: str, column: str, **further: Any) -> Callable[[Homecoming, tuple[Any, ...], Row], Row]:
    def make(_: Homecoming, wanted: tuple[Any, ...], of: Row) -> Row:
        title = of.get("title") or f"Rescued {name} {wanted[0]}"
        return {"id": wanted[0], column: title, f"{column}_key": key(title), **further}

    return make


_STAND_INS: dict[str, Callable[[Homecoming, tuple[Any, ...], Row], Row | None]] = {
    "customer": _by_name("customer", "name"), "site": _by_name("site", "street", zone="UTC"),
    "product": _by_name("product", "name", kind="unknown"), "recipe": _by_name("recipe", "name"),
    "job": Homecoming.job, "entry": Homecoming.entry, "area": Homecoming.area, "file": Homecoming.file,
    "load": Homecoming.load, "stage": Homecoming.stage, "sample": Homecoming.sample,
}  # fmt: skip


def _values(row: Row, columns: tuple[str, ...]) -> tuple[Any, ...]:
    return tuple(row[column] for column in columns)


def _named(seen: Any, table: str) -> Iterator[Named]:
    keys = set(seen.get_pk_constraint(table)["constrained_columns"])
    loose = {column["name"] for column in seen.get_columns(table) if column["nullable"]} - keys
    for one in seen.get_foreign_keys(table):
        columns = tuple(one["constrained_columns"])
        optional = tuple(column for column in columns if column in loose)
        yield Named(columns, one["referred_table"], tuple(one["referred_columns"]), optional)
