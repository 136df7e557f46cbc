"""What every value of an imported log must be: an export may be edited by anyone, and the log trusts its own rows.

The tables check numbers and choices themselves; here are handles, zones, hashes, days, instants, facts and text.
"""

from __future__ import annotations

import json
import math
import re
from collections.abc import Callable, Iterator
from datetime import date
from typing import Any

from sqlalchemy import Table, text
from sqlalchemy.engine import Connection

from finishlog.plain import has_ink, visible
from finishlog.records.when import is_known
from finishlog.store.engine.protocol import of
from finishlog.store.entering.handles import is_handle
from finishlog.store.schema import tables, tables_entry
from finishlog.store.schema.base import Base
from finishlog.store.schema.types import Day, Facts, Instant, read_instant, write_instant

Look = Callable[[str], bool]
YEARS = range(1900, 2200)
LONGEST = 1_000_000
"""Characters of one text: a saved plan is the longest there is."""
_SHA256 = re.compile(r"[0-9a-f]{64}")
AT_ONCE = 1000
"""Rows; what several of them say is looked at once."""
_ZONE = re.compile(r"[A-Za-z0-9_+-]+(?:/[A-Za-z0-9_+-]+)*")
_LONGEST_ZONE = 64
_INK = ("name", "handle", "street", "code", "what", "signed_by", "complaint")
"""Columns by which a person finds the row again: they must show something."""
_KEPT = (tables, tables_entry)
"""The modules that declare what is exported; projections are made here."""
_ANYTHING = ("setting", "draft", "advice")
"""Tables that may hold any text: whoever reads them takes it as none where it says nothing."""


def wrong(connection: Connection) -> Iterator[str]:
    """A sentence for each value that this program would not have kept itself. Any text may be in it."""
    mine = {row.__tablename__ for row in Base.__subclasses__() if _declared(row)}
    for table in Base.metadata.sorted_tables:
        if table.name in mine and (looks := _looks(table)):
            yield from _in_table(connection, table.name, looks)


def unknown_zones(connection: Connection) -> list[str]:
    """Zones of sites that this machine has not; their times are shown in UTC."""
    zones = connection.scalars(text("SELECT DISTINCT zone FROM site ORDER BY zone"))
    return [zone for zone in zones if not is_known(zone)]


def _declared(row: type[Any]) -> bool:
    return row.__module__ in {module.__name__ for module in _KEPT}


def _in_table(connection: Connection, name: str, looks: dict[str, Look]) -> Iterator[str]:
    columns = ", ".join(f'"{column}"' for column in looks)
    before = 0
    for rows in of(connection).stream(connection, f'SELECT {columns} FROM "{name}"', AT_ONCE):
        for (column, look), values in zip(looks.items(), zip(*rows, strict=True), strict=True):
            odd = {value for value in set(values) if isinstance(value, str) and not _holds(look, value)}
            for number, value in enumerate(values if odd else (), before + 1):
                if value in odd:
                    yield f"The {column} in row {number} of {name} cannot be “{visible(value[:40])}”."
        before += len(rows)


def _holds(look: Look, value: str) -> bool:
    try:
        return look(value)
    except (ValueError, OverflowError, RecursionError):
        return False


def _looks(table: Table) -> dict[str, Look]:
    looks: dict[str, Look] = {}
    for column in table.columns:
        kind = type(column.type)
        named = _BY_NAME.get(f"{table.name}.{column.name}") or _BY_NAME.get(column.name)
        by_type = _BY_TYPE.get(kind)
        if named or by_type:
            looks[column.name] = named or by_type or _is_text
        elif column.type.python_type is str and table.name not in _ANYTHING:
            looks[column.name] = _is_named if column.name in _INK else _is_text
    return looks


def _is_text(value: str) -> bool:
    return "\0" not in value and len(value) <= LONGEST


def _is_named(value: str) -> bool:
    return _is_text(value) and has_ink(value)


def _is_zone(value: str) -> bool:
    return len(value) <= _LONGEST_ZONE and _ZONE.fullmatch(value) is not None


def _is_sha256(value: str) -> bool:
    return _SHA256.fullmatch(value) is not None


def _is_day(value: str) -> bool:
    day = date.fromisoformat(value)
    return day.year in YEARS and day.isoformat() == value


def _is_instant(value: str) -> bool:
    instant = read_instant(value)
    return instant.year in YEARS and write_instant(instant) == value


def _is_facts(value: str) -> bool:
    facts = json.loads(value)
    return isinstance(facts, dict) and all(map(_is_fact, facts.values()))


def _is_fact(value: object) -> bool:
    if isinstance(value, str):
        return _is_text(value)
    return isinstance(value, bool | int) or (isinstance(value, float) and math.isfinite(value))


_BY_TYPE: dict[type, Look] = {Day: _is_day, Instant: _is_instant, Facts: _is_facts}
_BY_NAME: dict[str, Look] = {
    "job.handle": is_handle, "site.zone": _is_zone, "sha256": _is_sha256, "reading.photo": _is_sha256,
}  # fmt: skip
