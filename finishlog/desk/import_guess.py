"""Which of our columns a foreign sheet's may be, by their headers and by what stands in them.

Only a proposal: it is shown as the command to use and never applied by itself.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cache

from finishlog.errors import InputError
from finishlog.inputs import fields, mapping
from finishlog.inputs.mapping import DATE_ORDERS, ColumnMap, header_key
from finishlog.inputs.pour import PourRow
from finishlog.records.exchange import Match, Proposal
from finishlog.units import number_from

LIKE_ENOUGH = 74.0
"""Of 100; below it two names share letters, not a meaning. Set by trial on invented sheets, no source."""
READS_ENOUGH = 0.6
"""Share of a column's cells that must read as ours: some of any log is scribble."""

ALSO = {
    "customer": ("client", "owner", "homeowner", "name", "customer name", "client name", "bill to"),
    "job": ("project", "job name", "job description", "work", "project name"),
    "street": ("address", "site", "site address", "job address", "street address", "location"),
    "town": ("city", "village"),
    "phone": ("telephone", "tel", "mobile", "cell"),
    "email": ("e mail", "mail"),
    "poured_on": ("date", "pour date", "date poured", "day", "poured", "placed", "date placed"),
    "area_ft2": ("square feet", "sq ft", "sqft", "sf", "area", "size", "square footage"),
    "area": ("section", "surface", "part"),
    "depth": ("thickness", "thick", "slab thickness"),
    "crew": ("foreman", "finisher", "by", "lead"),
    "yards": ("cu yds", "cubic yards", "yardage", "cy", "yds", "yards delivered", "qty yds", "volume"),
    "returned": ("leftover", "yards returned", "sent back"),
    "balance_yards": ("short load", "extra yards", "balance load", "second order"),
    "ticket": ("ticket no", "ticket number", "truck ticket", "delivery ticket", "load ticket"),
    "plant": ("supplier", "ready mix", "batch plant", "producer"),
    "mix": ("mix number", "mix design", "mix no", "mix id"),
    "cement": ("cement content", "cementitious"),
    "base": ("color", "base color name", "pigment", "integral color", "color name", "shade"),
    "base_maker": ("color brand", "pigment maker", "pigment brand"),
    "base_lot": ("lot", "lot number", "color lot", "bag lot", "pigment lot"),
    "dose": ("lb yd", "lbs per yard", "lb per yard", "dosage", "color rate", "pigment rate", "load rate", "pigment %",
             "color %"),
    "base_lb": ("pounds of color", "color lbs", "pigment lbs", "lbs of color", "pigment weight"),
    "release": ("release color", "powder release", "antique release", "release shade"),
    "release_lb": ("release lbs", "pounds of release", "lbs of release"),
    "pattern": ("stamp", "stamp pattern", "texture", "mat", "mats"),
    "rinsed_on": ("washed", "wash date", "rinse date", "power washed", "date washed"),
    "rinse_age": ("hours to rinse", "wash after", "hours to wash"),
    "rinse_psi": ("psi", "pressure", "washer pressure"),
    "sealer": ("seal", "sealer used", "sealer name", "sealer product"),
    "sealed_on": ("date sealed", "seal date"),
    "resealed_on": ("reseal date", "last reseal"),
    "slump": ("slump in", "slump inches"),
    "weather": ("conditions", "weather notes"),
    "joints": ("joint method", "saw cuts", "control joints"),
    "cure": ("curing", "cured with"),
    "sample": ("sample no", "sample number", "sample id"),
    "claim": ("complaint", "callback", "call back", "warranty"),
    "note": ("notes", "comment", "comments", "remarks", "memo"),
}  # fmt: skip
"""What else a column may be called."""

_UNIT_OF_NAME = re.compile(r"[(\[]([^)\]]+)[)\]]|,\s*([^,]+)$")
_WORDS = re.compile(r"[^\W_]+|%")
_SHOWN = 3


@dataclass(frozen=True, slots=True)
class _Theirs:
    header: str
    cells: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Fit:
    score: float
    unit: str | None = None
    doubt: str = ""


def propose(
    headers: Sequence[str], rows: Sequence[Sequence[str]], told: ColumnMap, needed: Sequence[str]
) -> Proposal:
    """The likeliest mapping of a sheet, given what the person told of it already."""
    columns = [column for column in fields.columns(PourRow) if column.key not in told.headers]
    own = {header_key(name): column.key for column in columns for name in (column.title, column.key)}
    sheet = [_Theirs(header, _cells(rows, place)) for place, header in enumerate(headers) if header.strip()]
    is_ours = {theirs.header: _is_ours(theirs, own) for theirs in sheet}
    open_ = [
        theirs
        for theirs in sheet
        if told.key_of(theirs.header) is None
        and not told.leaves_out(theirs.header)
        and not is_ours[theirs.header]
    ]
    ours = tuple(header for header, yes in is_ours.items() if yes)
    taken = {own[header_key(header)] for header in ours}
    found = _pairs([column for column in columns if column.key not in taken], open_)
    matches = (*_told(told, sheet), *found)
    there = {match.header for match in matches}
    left = tuple(theirs.header for theirs in open_ if theirs.header not in there)
    keys = {match.column for match in matches} | taken
    missing = tuple(key for key in needed if key not in keys)
    return Proposal(matches, (*told.ignored, *left), missing, ours)


def _is_ours(theirs: _Theirs, own: Mapping[str, str]) -> bool:
    """Whether the header is our own and what stands under it reads as that column."""
    key = own.get(header_key(theirs.header))
    return key is not None and _share(key, theirs.cells, None) >= READS_ENOUGH


def _cells(rows: Sequence[Sequence[str]], place: int) -> tuple[str, ...]:
    return tuple(row[place].strip() for row in rows if row[place].strip())


def _told(told: ColumnMap, sheet: Sequence[_Theirs]) -> list[Match]:
    cells = {header_key(theirs.header): theirs.cells for theirs in sheet}
    return [
        Match(key, header, told.units.get(key), cells.get(header_key(header), ())[:_SHOWN])
        for key, header in told.headers.items()
    ]


def _pairs(columns: Sequence[fields.Column], sheet: Sequence[_Theirs]) -> list[Match]:
    """Each of theirs with one of ours, the likeliest first, in the order of the sheet."""
    fits = [
        (fit.score, -place, number, column.key, fit)
        for number, theirs in enumerate(sheet)
        for place, column in enumerate(columns)
        if (fit := _fit(column, theirs)) is not None
    ]
    found: dict[int, Match] = {}
    used: set[str] = set()
    for _, _, number, key, fit in sorted(fits, key=lambda each: (-each[0], -each[1], each[2])):
        if number not in found and key not in used:
            theirs = sheet[number]
            found[number] = Match(
                key, theirs.header, fit.unit, tuple(dict.fromkeys(theirs.cells))[:_SHOWN], fit.doubt
            )
            used.add(key)
    return [found[number] for number in sorted(found)]


def _fit(column: fields.Column, theirs: _Theirs) -> _Fit | None:
    """How well one of theirs fits one of ours, or None."""
    likeness = max(_likeness(theirs.header, name) for name in _names(column))
    if likeness < LIKE_ENOUGH or ("%" in theirs.header and _reads(column.key, "1 %") is None):
        return None
    unit, doubt = _unit(column.key, theirs)
    if unit is None and doubt:
        return _Fit(likeness, None, doubt)
    share = _share(column.key, theirs.cells, unit)
    if share < READS_ENOUGH:
        return None
    return _Fit(likeness + (share * 10 if _takes_only_its_own(column.key) else 0), unit, doubt)


def _names(column: fields.Column) -> tuple[str, ...]:
    return (column.title, column.key, *ALSO.get(column.key, ()))


def _likeness(header: str, name: str) -> float:
    from rapidfuzz import fuzz

    theirs, ours = _plain(header), _plain(name)
    bare = _plain(_UNIT_OF_NAME.sub(" ", header)) or theirs
    return max(
        fuzz.ratio(theirs, ours),
        fuzz.token_sort_ratio(theirs, ours),
        fuzz.ratio(bare, ours),
        fuzz.token_sort_ratio(bare, ours),
        0.85 * fuzz.token_set_ratio(bare, ours),
    )


def _plain(name: str) -> str:
    return " ".join(_WORDS.findall(name.casefold().replace("_", " ")))


@cache
def _takes_only_its_own(key: str) -> bool:
    """Whether the column's reader refuses what is not meant for it: names and notes take anything."""
    return _reads(key, "zzz?") is None


def _reads(key: str, text: str) -> object:
    found, _ = fields.read(PourRow, {key: text})
    return None if found is None else getattr(found, key)


def _share(key: str, cells: Sequence[str], unit: str | None) -> float:
    if not cells:
        return 1.0
    names = ColumnMap(units={key: unit} if unit else {})
    return sum(_reads(key, names.cell(key, cell)) is not None for cell in cells) / len(cells)


def _unit(key: str, theirs: _Theirs) -> tuple[str | None, str]:
    """The unit or date order that bare cells need, and what is doubtful about it."""
    if isinstance(_reads(key, "2025-06-16"), date):
        return _date_order(key, theirs.cells)
    if not any(number_from(cell) is not None for cell in theirs.cells) or not _takes_only_its_own(key):
        return None, ""
    for text in _units_in(theirs.header):
        unit = _fitting(key, text)
        if unit and _reads(key, f"1 {unit}") != _reads(key, "1"):
            return unit, ""
        if unit:
            return None, ""
    if _reads(key, "1") is None and _reads(key, "1 %") is not None and _reads(key, "1 lb/yd3") is not None:
        return None, f"Its unit is needed: --unit {key}=lb/yd3 or --unit {key}=%."
    return None, ""


def _date_order(key: str, cells: Sequence[str]) -> tuple[str | None, str]:
    if not cells or _share(key, cells, None) >= READS_ENOUGH:
        return None, ""
    fits = {order: _share(key, cells, order) for order in DATE_ORDERS}
    best = max(fits.values())
    if best < READS_ENOUGH:
        return None, ""
    orders = [order for order, share in fits.items() if share == best]
    first = cells[0]
    if len(orders) == 1:
        return orders[0], ""
    return orders[
        0
    ], f"{first} may be read in two ways: {' or '.join(f'--unit {key}={order}' for order in orders)}."


def _units_in(header: str) -> list[str]:
    """Parts of a header that may be a unit: what stands in brackets, then the whole."""
    marked = [part for match in _UNIT_OF_NAME.findall(header) for part in match if part]
    words = header.split()
    return [*marked, header, *(" ".join(words[-count:]) for count in (1, 2, 3) if count < len(words))]


def _fitting(key: str, text: str) -> str | None:
    tidy = re.sub(r"\s+", " ", text.casefold().strip())
    try:
        return mapping.need_unit(key, tidy, PourRow)
    except InputError:
        return None
