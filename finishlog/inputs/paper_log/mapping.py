"""Maps a foreign sheet's columns to ours; given once, remembered by the sheet's headers.

`--map yards="Cu Yds"` names their header for our column, `--unit dose=lb/yd3` the unit of bare numbers (or the
order of a date), `--ignore "Office use"` a column to leave out.
"""

from __future__ import annotations

import difflib
import hashlib
import json
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

from finishlog.errors import InputError
from finishlog.inputs.asking import Field
from finishlog.inputs.fields import Input, read
from finishlog.units import number_from, shown

DATE_ORDERS = ("m/d/y", "d/m/y", "y/m/d")
_SETTING = "import columns "
_DATE = re.compile(r"(\d{1,4})[/.-](\d{1,2})[/.-](\d{1,4})", re.ASCII)
_MAP_EXAMPLE = '--map yards="Cu Yds"'
_UNIT_EXAMPLE = "--unit dose=lb/yd3, --unit poured_on=m/d/y"


@dataclass(frozen=True, slots=True)
class ColumnMap:
    """`headers` and `units` of bare cells go by our key; `ignored` and `noted` (kept as notes) are headers.

    `dates` is the order of all the sheet's days.
    """

    headers: Mapping[str, str] = field(default_factory=dict)
    units: Mapping[str, str] = field(default_factory=dict)
    ignored: tuple[str, ...] = ()
    noted: tuple[str, ...] = ()
    dates: str = ""

    def __bool__(self) -> bool:
        return bool(self.headers or self.units or self.ignored or self.noted or self.dates)

    def over(self, older: ColumnMap) -> ColumnMap:
        """This mapping, with gaps filled from an older one."""
        told = {header_key(header) for header in (*self.headers.values(), *self.ignored, *self.noted)}
        headers = {key: header for key, header in older.headers.items() if header_key(header) not in told}
        ignored = (header for header in older.ignored if header_key(header) not in told)
        noted = (header for header in older.noted if header_key(header) not in told)
        return ColumnMap(
            {**headers, **self.headers},
            {**older.units, **self.units},
            tuple(dict.fromkeys((*ignored, *self.ignored))),
            tuple(dict.fromkeys((*noted, *self.noted))),
            self.dates or older.dates,
        )

    def key_of(self, header: str) -> str | None:
        """Our key for their header; None where it is not mapped."""
        wanted = header_key(header)
        return next((key for key, name in self.headers.items() if header_key(name) == wanted), None)

    def leaves_out(self, header: str) -> bool:
        """Whether a column is ignored."""
        return header_key(header) in {header_key(name) for name in self.ignored}

    def notes(self, header: str) -> bool:
        """Whether a column is kept as a note."""
        return header_key(header) in {header_key(name) for name in self.noted}

    def tells(self, header: str) -> bool:
        """Whether it mentions their header."""
        return self.key_of(header) is not None or self.leaves_out(header) or self.notes(header)

    def cell(self, key: str, text: str) -> str:
        """The cell as our column reads it: a bare number with its unit, a date year first."""
        unit = self.units.get(key)
        if unit is None:
            return text
        if unit in DATE_ORDERS:
            return _year_first(text, unit)
        return f"{text.strip()} {unit}" if number_from(text.strip()) is not None else text

    def to_json(self) -> str:
        """The mapping as stored in the log."""
        told = {"map": dict(self.headers), "units": dict(self.units), "ignore": list(self.ignored)}
        return json.dumps({**told, "note": list(self.noted), "dates": self.dates})

    @classmethod
    def from_json(cls, text: str) -> ColumnMap:
        """The mapping from `to_json`; an empty one for any other text."""
        try:
            value = json.loads(text)
            told = (dict(value["map"]), dict(value["units"]), tuple(value["ignore"]))
            return cls(*told, tuple(value.get("note", ())), str(value.get("dates", "")))
        except (ValueError, KeyError, TypeError):
            return cls()


NO_MAPPING = ColumnMap()


def header_key(name: str) -> str:
    """A header normalized for comparison, without case, spaces, hyphens and underscores."""
    return "_".join(name.casefold().replace("-", " ").replace("_", " ").split())


def setting_key(headers: Iterable[str]) -> str:
    """Settings key of the mapping for these headers, in any order."""
    keys = sorted({header_key(header) for header in headers} - {""})
    return _SETTING + hashlib.sha256("\n".join(keys).encode(errors="surrogatepass")).hexdigest()[:16]


def is_setting(key: str) -> bool:
    """Whether a setting of the log is a remembered mapping."""
    return key.startswith(_SETTING)


def read_mapping(
    maps: Sequence[str],
    units: Sequence[str],
    ignored: Sequence[str],
    model: type[Input],
    columns: Sequence[Field],
    *,
    noted: Sequence[str] = (),
    dates: str = "",
) -> ColumnMap:
    """The mapping that `--map`, `--unit`, `--ignore`, `--note` and `--dates` tell. Raises InputError."""
    told = (_pairs(maps, columns), _units(units, model, columns), tuple(ignored), tuple(noted))
    return ColumnMap(*told, need_order(dates) if dates else "")


def need_order(text: str) -> str:
    """`mdy`, `m/d/y`, `d.m.y`… as one of `DATE_ORDERS`. Raises InputError."""
    order = "/".join(re.findall(r"[a-z]", text.casefold()))
    if order not in DATE_ORDERS:
        raise InputError(f"“{shown(text)}” is no date order.", where="--dates", example="--dates mdy")
    return order


def _pairs(texts: Sequence[str], columns: Sequence[Field]) -> dict[str, str]:
    found: dict[str, str] = {}
    for text in texts:
        key, header = _pair(text, columns, "--map", _MAP_EXAMPLE)
        if key in found:
            raise InputError(f"The column {key} is mapped twice.", where="--map", example=_MAP_EXAMPLE)
        if header_key(header) in map(header_key, found.values()):
            title = f"“{shown(header)}” is mapped to two columns."
            raise InputError(title, where="--map", example=_MAP_EXAMPLE)
        found[key] = header
    return found


def _units(texts: Sequence[str], model: type[Input], columns: Sequence[Field]) -> dict[str, str]:
    found: dict[str, str] = {}
    for text in texts:
        key, unit = _pair(text, columns, "--unit", _UNIT_EXAMPLE)
        found[key] = need_unit(key, unit, model)
    return found


def _pair(text: str, columns: Sequence[Field], option: str, example: str) -> tuple[str, str]:
    named, equals, rest = text.partition("=")
    if not equals or not named.strip() or not rest.strip():
        title = f"“{shown(text)}” is not OURS=YOURS."
        raise InputError(title, where=option, example=example)
    keys = {header_key(name): column.key for column in columns for name in (column.title, column.key)}
    key = keys.get(header_key(named))
    if key is None:
        near = difflib.get_close_matches(header_key(named)[:60], list(keys), n=1)
        hint = f"Did you mean {keys[near[0]]}?" if near else "finishlog import --template lists the columns."
        raise InputError(f"We have no column “{shown(named)}”.", hint, where=option, example=example)
    return key, rest.strip()


def need_unit(key: str, unit: str, model: type[Input]) -> str:
    """The unit to append to a column's bare cells. Raises InputError if it does not fit."""
    order = unit.casefold().replace("-", "/").replace(".", "/")
    order = "/".join(order) if len(order) == 3 and "/" not in order else order
    if order in DATE_ORDERS and isinstance(_value(key, "2025-06-16", model), date):
        return order
    for spelled in (unit, f"{unit}3"):  # the trade says pounds per yard and means the cubic yard
        value = _value(key, f"1 {spelled}", model)
        if value is not None and not isinstance(value, str | date):
            return spelled
    title = f"“{shown(unit)}” does not fit {key}."
    raise InputError(title, where="--unit", example=_UNIT_EXAMPLE)


def _value(key: str, text: str, model: type[Input]) -> object:
    found, _ = read(model, {key: text})
    return None if found is None else getattr(found, key)


def _year_first(text: str, order: str) -> str:
    """`6/16/2025` as 2025-06-16; any other text as it is. The year needs four digits."""
    match = _DATE.fullmatch(text.strip())
    if match is None:
        return text
    parts = dict(zip(order.split("/"), match.groups(), strict=True))
    if len(parts["y"]) != 4 or max(len(parts["m"]), len(parts["d"])) > 2:
        return text
    return f"{parts['y']}-{parts['m']:0>2}-{parts['d']:0>2}"


def require_headers(mapping: ColumnMap, headers: Sequence[str]) -> None:
    """Requires every typed header in the sheet. Raises InputError naming the nearest."""
    there = {header_key(header): header for header in headers}
    named = [("--map", header) for header in mapping.headers.values()]
    left = (("--ignore", mapping.ignored), ("--note", mapping.noted))
    for option, header in (*named, *((option, header) for option, some in left for header in some)):
        if header_key(header) not in there:
            near = difflib.get_close_matches(header_key(header)[:60], list(there), n=1)
            has = f"Did you mean “{shown(there[near[0]])}”?" if near else f"It has {_listed(headers)}."
            raise InputError(f"The sheet has no column “{shown(header)}”.", has, where=option)


def _listed(headers: Sequence[str], most: int = 12) -> str:
    named = [f"“{shown(header)}”" for header in headers if header.strip()]
    return ", ".join(named[:most]) + (f" and {len(named) - most} more" if len(named) > most else "")
