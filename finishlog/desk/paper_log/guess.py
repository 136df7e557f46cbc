"""Guesses a foreign sheet's columns by header and contents.

Sure guesses are applied; the rest are shown, their cells kept as notes until the user decides.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import lru_cache

from finishlog.errors import InputError
from finishlog.inputs import asking, fields
from finishlog.inputs.paper_log import cells as paper_cells
from finishlog.inputs.paper_log import column_names, column_vetoes, day_columns, days, mapping
from finishlog.inputs.paper_log.mapping import ColumnMap, header_key
from finishlog.inputs.paper_log.pour import PourRow
from finishlog.records.exchange import ColumnGuess, Match, Proposal
from finishlog.units import Dose, number_from

LIKE_ENOUGH = 74.0
"""Of 100; below it two names share letters, not a meaning. Set by trial on invented sheets, no source."""
READS_ENOUGH = 0.6
"""Share of a column's cells that must read as ours: some of any log is scribble."""
NAMED_ENOUGH = 0.3
"""The same of a column that is called so: the rest of its cells are notes."""
SURE = 0.8
"""From here a guess is applied without being asked. Set by trial on invented sheets, no source."""
SLIP = 90.0
"""Of 100: from here two names differ by a slip of the pen."""
BY_LOOK = 0.85
"""How sure a guess is that what stands in a column alone can bear out."""
_SHOWN = 3
_FEW_LETTERS = 3
_LOOKS = (
    ("email", re.compile(r"[^\s@]+@[^\s@]+\.[a-z]{2,}", re.IGNORECASE)),
    ("phone", re.compile(r"(?:\(?\d{3}\)?[ .-]?)?\d{3}[ .-]\d{4}", re.ASCII)),
    ("dose", re.compile(r"[\d./ ]+ *(?:#|lbs?|lb) *(?:/|per|a) *(?:yds?|yard|cy|yd3)\.?", re.IGNORECASE)),
    ("rinse_psi", re.compile(r"\d[\d,]* *psi", re.IGNORECASE)),
    ("street", re.compile(r"\d+ [A-Za-z][\w .'-]+", re.ASCII)),
)
"""Looks that are one column's alone: at least two cells, and all of them."""


@dataclass(frozen=True, slots=True)
class Theirs:
    """One column of the foreign sheet."""

    header: str
    cells: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Fit:
    score: float
    unit: str | None = None
    doubt: str = ""
    why: str = "its name"
    likeness: float = 0.0


def propose(
    headers: Sequence[str],
    rows: Sequence[Sequence[str]],
    told: ColumnMap,
    needed: Sequence[str],
    today: date,
    before: ColumnMap = mapping.NO_MAPPING,
) -> Proposal:
    """The likeliest mapping of a sheet, given what the person told of it, and what was given `before`."""
    names = told.over(before)
    columns = [column for column in fields.columns(PourRow) if column.key not in names.headers]
    own = {header_key(name): column.key for column in columns for name in (column.title, column.key)}
    sheet = [
        Theirs(header.strip(), _cells(rows, place)) for place, header in enumerate(headers) if header.strip()
    ]
    is_ours = {theirs.header: _is_ours(theirs, own, headers) for theirs in sheet}
    open_ = [theirs for theirs in sheet if not (names.tells(theirs.header) or is_ours[theirs.header])]
    ours = tuple(header for header, yes in is_ours.items() if yes and not names.tells(header))
    taken = {own[header_key(header)] for header in ours}
    rest = [column for column in columns if column.key not in taken]
    found, fits = _pairs(rest, open_, headers, today)
    matches = (*_told(names, sheet), *found.values())
    left = tuple(theirs.header for theirs in open_ if theirs.header not in found)
    keys = {match.column for match in matches} | taken
    missing = tuple(key for key in needed if key not in keys)
    guesses = tuple(
        _guess(theirs, names, before, own if theirs.header in ours else {}, found, fits) for theirs in sheet
    )
    return Proposal(matches, (*names.ignored, *left), missing, ours, guesses)


def _is_ours(theirs: Theirs, own: Mapping[str, str], headers: Sequence[str]) -> bool:
    """Whether the header is our own and what stands under it reads as that column."""
    key = own.get(header_key(theirs.header))
    if key is None or (key == "dose" and any(map(_says_no_unit, theirs.cells))):
        return False
    if key == "bags" and not {own.get(header_key(header)) for header in headers} & {
        "bag_product",
        "bag_water",
    }:
        return False  # of a foreign log as likely bags of color
    return share(key, theirs.cells, None) >= READS_ENOUGH


def _says_no_unit(cell: str) -> bool:
    return paper_cells.is_pounds(cell) or number_from(cell) is not None


def _cells(rows: Sequence[Sequence[str]], place: int) -> tuple[str, ...]:
    return tuple(row[place].strip() for row in rows if row[place].strip())


def _told(told: ColumnMap, sheet: Sequence[Theirs]) -> list[Match]:
    cells = {header_key(theirs.header): theirs.cells for theirs in sheet}
    return [
        Match(key, header, told.units.get(key), cells.get(header_key(header), ())[:_SHOWN])
        for key, header in told.headers.items()
    ]


def _guess(
    theirs: Theirs,
    names: ColumnMap,
    before: ColumnMap,
    own: Mapping[str, str],
    found: Mapping[str, Match],
    fits: Mapping[str, list[tuple[str, _Fit]]],
) -> ColumnGuess:
    """What is said of one column of the sheet."""
    samples, header = theirs.cells[:2], theirs.header
    likely = [(key, fit) for key, fit in fits.get(header, ()) if fit.score > 0]
    others = tuple(key for key, _ in likely)[:_SHOWN]
    why = "same as last time" if before.tells(header) else "as given"
    if (key := names.key_of(header)) is not None:
        return ColumnGuess(header, samples, key, 1.0, why, others, names.units.get(key))
    if names.leaves_out(header) or names.notes(header):
        return ColumnGuess(header, samples, None, 1.0, why, others, left_out=names.leaves_out(header))
    if own:
        return ColumnGuess(header, samples, own[header_key(header)], 1.0, "our own word")
    match = found.get(header)
    if match is None:
        return ColumnGuess(header, samples, None, 0.0, "like none of our columns", others)
    fit = next(fit for key, fit in likely if key == match.column)
    sure = _sure(match.column, fit)
    others = tuple(key for key in others if key != match.column)
    if sure < SURE:
        return ColumnGuess(header, samples, None, sure, f"perhaps {match.column}", (match.column, *others))
    return ColumnGuess(
        header, samples, match.column, sure, fit.why, others, match.unit, question=_asked(match)
    )


def _sure(key: str, fit: _Fit) -> float:
    """A day beside the pour's is sure by its name alone: every column of days reads as any other."""
    if key in paper_cells.DAYS - {"poured_on"} and fit.likeness < SLIP:
        return min(fit.score / 100, SURE - 0.05)
    return min(1.0, fit.score / 100)


def _asked(match: Match) -> str:
    return match.doubt if match.column == "dose" else ""


def _pairs(
    columns: Sequence[asking.Field], sheet: Sequence[Theirs], headers: Sequence[str], today: date
) -> tuple[dict[str, Match], dict[str, list[tuple[str, _Fit]]]]:
    """Each of theirs with one of ours, the likeliest first, in the order of the sheet; and all that fitted."""
    fits = [
        (fit.score, -place, number, column.key, fit)
        for number, theirs in enumerate(sheet)
        for place, column in enumerate(columns)
        if not column_vetoes.is_not(column.key, theirs.header, theirs.cells, headers)
        and (fit := _fit(column, theirs, today)) is not None
    ]
    ordered = sorted(fits, key=lambda each: (-each[0], -each[1], each[2]))
    found: dict[int, Match] = {}
    used: set[str] = set()
    for _, _, number, key, fit in ordered:
        if number not in found and key not in used:
            theirs = sheet[number]
            like = tuple(dict.fromkeys(theirs.cells))[:_SHOWN]
            found[number] = Match(key, theirs.header, fit.unit, like, fit.doubt)
            used.add(key)
    every: dict[str, list[tuple[str, _Fit]]] = {}
    for _, _, number, key, fit in ordered:
        every.setdefault(sheet[number].header, []).append((key, fit))
    return {sheet[number].header: found[number] for number in sorted(found)}, every


def _fit(column: asking.Field, theirs: Theirs, today: date) -> _Fit | None:
    """How well one of theirs fits one of ours, or None."""
    likeness = max(
        column_names.likeness(day_columns.spoken(theirs.header), name) for name in column_names.names(column)
    )
    if column_names.shortened(theirs.header) == {column.key} and _may_be_short(column.key, theirs.header):
        likeness = max(likeness, SLIP)
    if column_names.is_a_yard(theirs.header) and not _may_be_a_yard(column.key, theirs.header):
        return None
    if column.key == "dose" and column_names.is_per_yard(theirs.header):
        likeness = max(likeness, column_names.QUALIFIED)
    looks = _looks_like(column.key, theirs.cells)
    if likeness < BY_LOOK * 100 and looks:
        return _Fit(BY_LOOK * 100, None, "", "its cells")
    if likeness < LIKE_ENOUGH or ("%" in theirs.header and _reads(column.key, "1 %") is None):
        return None
    unit, doubt = _unit(column.key, theirs, today)
    if unit is None and doubt:
        return _Fit(likeness, None, doubt, likeness=likeness)
    read = share(column.key, theirs.cells, unit)
    if read < (NAMED_ENOUGH if likeness == 100 else READS_ENOUGH):
        return None
    typed = not paper_cells.is_free(column.key)
    why = "its name and cells" if typed and theirs.cells else "its name"
    return _Fit(likeness + (read * 10 if typed and theirs.cells else 0), unit, doubt, why, likeness)


def _may_be_a_yard(key: str, header: str) -> bool:
    """What is told per yard is no amount of a whole pour, and of another material no dose of color."""
    if key in ("dose", "dose_2"):
        return not column_names.is_of_another(header)
    return key in ("cement", "scm") or paper_cells.is_free(key)


def _may_be_short(key: str, header: str) -> bool:
    """Of an amount three letters are too few: `Ret` may be returned, or retained."""
    return (
        paper_cells.is_free(key) or key in paper_cells.DAYS or len(column_names.plain(header)) > _FEW_LETTERS
    )


def _looks_like(key: str, cells: Sequence[str]) -> bool:
    look = next((look for name, look in _LOOKS if name == key), None)
    return look is not None and len(cells) >= 2 and all(look.fullmatch(cell) for cell in cells)


@lru_cache(maxsize=4096)
def _reads(key: str, text: str) -> object:
    found, _ = fields.read(PourRow, {key: text})
    return None if found is None else getattr(found, key)


def share(key: str, cells: Sequence[str], unit: str | None) -> float:
    """The share of the cells that the column reads."""
    if not cells:
        return 1.0
    if key in paper_cells.DAYS:
        return sum(_is_day(key, cell) for cell in cells) / len(cells)
    names = ColumnMap(units={key: unit} if unit else {})
    told = [cell for cell in cells if not (paper_cells.says_none(cell) or paper_cells.is_ditto(cell))]
    if not told:
        return 1.0 if key in paper_cells.MATERIALS or paper_cells.is_free(key) else 0.0
    commas = paper_cells.decimal_commas(told)
    tidied = (
        paper_cells.with_unit(key, paper_cells.tidy(key, cell, commas=commas).text, unit) for cell in told
    )
    found = (_reads(key, names.cell(key, cell)) for cell in tidied)
    known = sum(each is not None for each in found) / len(told)
    return known * _not_another(key, told)


def _is_day(key: str, cell: str) -> bool:
    if paper_cells.is_ditto(cell):
        return True
    if key == "rinsed_on" and _reads("rinse_age", cell) is not None:
        return True
    return days.looks_like_day(cell) and (key != "poured_on" or not days.is_relative(cell))


def is_day_of_pour(header: str, cells: Sequence[str]) -> bool:
    """Whether a column is called the day of the pour, and days stand in it."""
    columns = (column for column in fields.columns(PourRow) if column.key == "poured_on")
    names = (name for column in columns for name in column_names.names(column))
    told = [cell for cell in cells if cell]
    named = any(column_names.likeness(header, name) == 100 for name in names)
    return named and bool(told) and share("poured_on", told, None) >= READS_ENOUGH


def _not_another(key: str, cells: Sequence[str]) -> float:
    """A name is no day and no bare number: a column of such is none of names."""
    if key in paper_cells.MATERIALS or key in ("customer", "job", "pattern", "area", "crew", "plant"):
        odd = sum(days.looks_like_day(cell) or number_from(cell) is not None for cell in cells)
        return 1.0 - odd / len(cells)
    return 1.0


def _unit(key: str, theirs: Theirs, today: date) -> tuple[str | None, str]:
    """The unit or date order that bare cells need, and what is doubtful about it."""
    if key in paper_cells.DAYS:
        return _date_order(key, theirs.cells, today)
    commas = paper_cells.decimal_commas(theirs.cells)
    bare = [
        cell
        for cell in theirs.cells
        if number_from(paper_cells.tidy(key, cell, commas=commas).text) is not None
    ]
    if (not bare and key != "dose") or paper_cells.is_free(key):
        return None, ""
    for text in column_names.units_in(theirs.header):
        unit = _fitting(key, text)
        if unit and _reads(key, f"1 {unit}") != _reads(key, "1"):
            return unit, ""
        if unit:
            return None, ""
    if key == "dose":
        return _dose_unit(theirs, bare)
    return None, ""


def _dose_unit(theirs: Theirs, bare: Sequence[str]) -> tuple[str | None, str]:
    """The unit of a dose's bare cells and of `11#`: the one that the column's other cells say; else asked."""
    read = (_reads("dose", paper_cells.tidy("dose", cell).text) for cell in theirs.cells)
    units = {dose.unit for dose in read if isinstance(dose, Dose)}
    pounds = [cell for cell in theirs.cells if paper_cells.is_pounds(cell)]
    if not bare and not pounds:
        return None, ""
    if units == {"lb/yd3"} or (not units and pounds and not bare):
        return "lb/yd3", ""
    if bare and units == {"%"} and not pounds:
        return "%", ""
    return None, "Give its unit: --unit dose=lb/yd3 or --unit dose=%."


def _date_order(key: str, cells: Sequence[str], today: date) -> tuple[str | None, str]:
    order, open_ = days.order_of(cells, today)
    if order or not open_:
        return order or None, ""
    either = " or ".join(f"--unit {key}={each}" for each in ("m/d/y", "d/m/y"))
    return "m/d/y", f"{open_[0]} can be read two ways: {either}."


def _fitting(key: str, text: str) -> str | None:
    tidy = re.sub(r"\s+", " ", text.casefold().strip())
    if key == "dose" and column_names.is_per_yard(tidy):
        return "lb/yd3"
    try:
        return mapping.need_unit(key, tidy, PourRow)
    except InputError:
        return None
