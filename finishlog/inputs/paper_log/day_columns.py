"""Joins a date split over Year, Month and perhaps Day columns into one.

The sheet keeps its width: the first of the columns holds the date, the others become empty.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from datetime import date
from typing import Literal

from finishlog.inputs.paper_log import cells as paper_cells
from finishlog.inputs.paper_log import column_names
from finishlog.units import MONTHS, read_month

Part = Literal["year", "month", "day"]
PARTS: Mapping[str, Part] = {
    "year": "year", "yr": "year", "yyyy": "year", "yy": "year", "season": "year",
    "month": "month", "mo": "month", "mon": "month", "mth": "month", "mnth": "month", "mm": "month",
    "day": "day", "dy": "day", "dd": "day", "date": "day",
}  # fmt: skip
"""Names of date-part columns in the trade's notebooks, from memory."""
MARK = " + "
READS_ENOUGH = 0.6
"""Least share of cells that must be such a part: every log has some scribble."""

_YEAR = re.compile(r"'?(\d\d)|((?:19|20)\d\d)", re.ASCII)
_DAY = re.compile(r"(0?[1-9]|[12]\d|3[01])(?:st|nd|rd|th)?\.?", re.ASCII)
_SEASONS = frozenset(("spring", "summer", "fall", "autumn"))
Together = dict[Part, int]
"""Positions of a date's parts, in sheet order."""


def names_of(headers: Sequence[str]) -> tuple[str, ...]:
    """Possible names of the joined date columns."""
    found = []
    for parts in _together(headers).values():
        less = ({part: place for part, place in parts.items() if part != other} for other in parts)
        found += [_name(headers, places) for places in (parts, *filter(_is_date, less))]
    return tuple(found)


def spoken(header: str) -> str:
    """`Seal Yr + Seal Mo` as the name of a column of days, `seal date`; any other header as it is."""
    parts = header.split(MARK)
    places = _together(parts)
    if len(parts) < 2 or [len(each) for each in places.values()] != [len(parts)]:
        return header
    return f"{next(iter(places))} date".strip()


def join(
    headers: Sequence[str],
    rows: Sequence[list[str]],
    today: date,
    is_told: Callable[[str], bool],
    *,
    has_day: Callable[[str, Sequence[str]], bool],
) -> tuple[tuple[str, ...], list[list[str]]]:
    """Headers and rows with each split date joined into one column.

    A column the user mapped stays as is; so do parts if `has_day` finds the whole date elsewhere.
    """
    found, cells = list(headers), [list(row) for row in rows]
    columns = [
        [row[place].strip() if place < len(row) else "" for row in rows] for place in range(len(headers))
    ]
    for of, parts in _together(headers).items():
        places = {part: place for part, place in parts.items() if _is_part(part, columns[place])}
        at = list(places.values())
        others = (place for place in range(len(headers)) if place not in at)
        if (
            not _is_date(places)
            or any(is_told(headers[place]) for place in at)
            or (not of and any(has_day(headers[place], columns[place]) for place in others))
        ):
            continue
        days = _days(
            [{part: columns[place][line] for part, place in places.items()} for line in range(len(rows))],
            today,
        )
        for place in at[1:]:
            found[place] = ""
            for row in cells:
                row[place : place + 1] = [""] * (place < len(row))
        found[at[0]] = _name(headers, places)
        for row, day in zip(cells, days, strict=True):
            row[at[0] : at[0] + 1] = [day] * (at[0] < len(row))
    return tuple(found), cells


def _name(headers: Sequence[str], places: Together) -> str:
    return MARK.join(headers[place].strip() for place in places.values())


def _together(headers: Sequence[str]) -> dict[str, Together]:
    """The parts of each date, by what else their headers say: a year and a month, a month and a day, or all three."""
    found: dict[str, Together] = {}
    for place, header in enumerate(headers):
        if (part := _part(header)) is not None:
            found.setdefault(part[1], {}).setdefault(part[0], place)
    return {of: places for of, places in found.items() if _is_date(places)}


def _is_date(places: Together) -> bool:
    return len(places) > 1 and "month" in places


def _part(header: str) -> tuple[Part, str] | None:
    """Which part of a date a header names, and of what."""
    words = [word for word in column_names.plain(header).split() if word != "of"]
    for place in (-1, 0):
        if words and words[place] in PARTS and len(words) <= 2:
            part = PARTS[words.pop(place)]
            return part, " ".join(words)
    return None


def _is_part(part: Part, cells: Sequence[str]) -> bool:
    told = [cell for cell in cells if cell and not paper_cells.is_ditto(cell)]
    reads = {"year": _year, "month": _month, "day": _day}[part]
    return bool(told) and sum(bool(reads(cell)) for cell in told) / len(told) >= READS_ENOUGH


def _year(cell: str) -> str:
    return cell if _YEAR.fullmatch(cell) else ""


def _month(cell: str) -> str:
    """`6`, `June` or `Jun.` as the month's number, a season as its word."""
    tidy = cell.casefold().strip(" .")
    if tidy in _SEASONS:
        return tidy
    number = int(tidy) if re.fullmatch(r"\d{1,2}", tidy, re.ASCII) else read_month(tidy)
    return str(number) if 1 <= number <= 12 else ""


def _day(cell: str) -> str:
    match = _DAY.fullmatch(cell.casefold())
    return match[1] if match else ""


def _days(rows: Sequence[dict[Part, str]], today: date) -> list[str]:
    """Each row's date in one cell; a year or month that is merged or a ditto mark is that of the row above."""
    above: dict[Part, str] = {}
    found = []
    for row in rows:
        told = {part: "" if paper_cells.says_nothing(cell) else cell for part, cell in row.items()}
        for part in row:
            if above.get(part) and paper_cells.is_ditto(row[part]):
                told[part] = above[part]
        if not told.get("year") and above.get("year") and _goes_on(above.get("month", ""), told["month"]):
            told["year"] = above["year"]
        found.append(_text(told, today))
        above |= {part: cell for part, cell in told.items() if cell}
    return found


def _goes_on(before: str, month: str) -> bool:
    """Whether a month may belong to the year above; one before the last month may be of the next year."""
    last, this = _month(before), _month(month)
    return this != "" and not (last.isdigit() and this.isdigit() and int(this) < int(last))


def _text(told: Mapping[Part, str], today: date) -> str:
    """`2023-06-14`, `2023-06`, `spring 2023`, `Jun 14`; text that is no date stays as written."""
    month, day = _month(told["month"]), _day(told.get("day", ""))
    year = _whole(told.get("year", ""), today)
    written = " ".join(cell for cell in told.values() if cell)
    if not month or (told.get("day") and not day) or (not year and "year" in told):
        return written
    if not month.isdigit():
        return f"{month} {year}" if year and not day else written
    if not year:
        return f"{MONTHS[int(month) - 1]} {day}" if day else written
    return f"{year}-{int(month):02}" + (f"-{int(day):02}" if day else "")


def _whole(year: str, today: date) -> str:
    """The year in four digits: one of two digits is of this century unless that lies ahead."""
    match = _YEAR.fullmatch(year)
    if match is None or match[2]:
        return year if match else ""
    century = 2000 if 2000 + int(match[1]) <= today.year else 1900
    return str(century + int(match[1]))
