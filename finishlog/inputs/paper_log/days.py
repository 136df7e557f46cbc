"""Days in a paper log: `3/14/24`, `14.3.24`, `Mar 14`, `8/2024`, `spring 2023`, `next day`, `+2d`.

Day or month first is decided by the whole column, or once for the file, never by one cell. A two-digit year
is in this century unless that lies ahead.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from datetime import date, timedelta
from typing import Literal

from finishlog.units import RoughDay, read_month, read_rough

Order = Literal["m/d/y", "d/m/y", "y/m/d"]
ORDERS: tuple[Order, ...] = ("m/d/y", "d/m/y", "y/m/d")
OLDEST = 1960  # a two-digit year before it is a slip, not a slab
LONGEST = 40

_NUMBERS = re.compile(r"(\d{1,4})([/.-])(\d{1,2})\2(\d{4}|\d{2})\.?", re.ASCII)
_YEAR_FIRST = re.compile(r"\d{4}\b", re.ASCII)
_SHORT = re.compile(r"(\d{1,2})([/.-])(\d{1,2})\.?", re.ASCII)
_NAMED = re.compile(r"([a-z]{3,9})\.? (\d{1,2})(?:st|nd|rd|th)?(?:[ -]+'?(\d{4}|\d{2}))?", re.ASCII)
_DAY_FIRST = re.compile(r"(\d{1,2})(?:st|nd|rd|th)?[ -]([a-z]{3,9})\.?(?:[ -]+'?(\d{4}|\d{2}))?", re.ASCII)
_WEEKDAY = re.compile(r"(?:mon|tue|tues|wed|thu|thur|thurs|fri|sat|sun)(?:day|sday|nesday|rsday|urday)?\.? ")
_CLOCK = re.compile(r"[ t]\d{1,2}:\d\d(?::\d\d(?:\.\d+)?)?(?: ?[ap]m?)?(?:z| ?[+-]\d\d:?\d\d)?$")
_LATER = re.compile(r"(?:\+ *)?(\d{1,2}) ?(d|days?|wks?|weeks?)(?: later| after)?", re.ASCII)
_WORDS = {
    "same day": 0, "next day": 1, "next morning": 1, "next am": 1, "the next day": 1, "day after": 1,
    "following day": 1, "the next morning": 1, "next a.m.": 1, "day later": 1, "2nd day": 2, "second day": 2,
    "third day": 3, "3rd day": 3,
}  # fmt: skip


def is_relative(text: str) -> bool:
    """Whether it is relative to the day of the pour."""
    tidy = _tidy(text)
    return tidy in _WORDS or (_LATER.fullmatch(tidy) is not None and not tidy.isdigit())


def after(text: str, day: date) -> date | None:
    """`next day`, `+2d`, `3 days later`, after a day. None of a day known by its month alone, or for other text."""
    tidy = _tidy(text)
    if isinstance(day, RoughDay):
        return None
    if tidy in _WORDS:
        return day + timedelta(days=_WORDS[tidy])
    if not (match := _LATER.fullmatch(tidy)):
        return None
    return day + timedelta(days=int(match[1]) * (7 if match[2].startswith("w") else 1))


def looks_like_day(text: str) -> bool:
    """Whether any date order reads it, or it is relative to the pour."""
    return is_relative(text) or bool(_pairs(_tidy(text), "")) or bool(readings(text, date.max))


def readings(text: str, today: date, order: str = "") -> dict[date, set[str]]:
    """Every possible day up to today, with the date orders that yield it."""
    tidy = _tidy(text)
    if not tidy or len(text) > LONGEST:
        return {}
    if match := _NUMBERS.fullmatch(tidy):
        return _of_numbers(match, today, order)
    day = read_rough(tidy) or _of_names(tidy, today)
    return {} if day is None or day.year > today.year else {day: set(ORDERS)}


def read(
    text: str, today: date, order: str = "", year: int | None = None, since: date | None = None
) -> date | None:
    """The day a text means; None if unreadable or ambiguous.

    `year` applies to a day without one; `since` is the day it must follow.
    """
    tidy = _tidy(text)
    if since is not None and is_relative(tidy):
        return after(tidy, since)
    found = readings(tidy, today, order)
    if len(found) == 1:
        return next(iter(found))
    return None if found else _without_year(tidy, today, order, year, since)


def order_of(cells: Iterable[str], today: date) -> tuple[str, tuple[str, ...]]:
    """The date order of a column, "" if ambiguous; and the ambiguous cells.

    A cell readable in one order only decides; two conflicting cells leave it open.
    """
    sure: set[str] = set()
    open_: list[str] = []
    for cell in cells:
        found = readings(cell, today)
        if short := _SHORT.fullmatch(_tidy(cell)):
            sure |= {"m/d/y"} if int(short[3]) > 12 else {"d/m/y"} if int(short[1]) > 12 else set()
        elif len(found) > 1:
            open_.append(cell)
        elif found and not _YEAR_FIRST.match(cell.strip()) and len(orders := next(iter(found.values()))) == 1:
            sure |= orders
    return (next(iter(sure)) if len(sure) == 1 else ""), tuple(open_)


def _tidy(text: str) -> str:
    tidy = " ".join(text.replace(",", " ").split()).casefold().strip(" .")
    tidy = re.sub(r"\bnxt\b", "next", tidy)
    return _CLOCK.sub("", _WEEKDAY.sub("", tidy, count=1)).strip()


def _of_numbers(match: re.Match[str], today: date, order: str) -> dict[date, set[str]]:
    first, mark, second, third = match.groups()
    found: dict[date, set[str]] = {}
    for each in ORDERS if not order else dict.fromkeys((order, "y/m/d")):
        parts = dict(zip(each.split("/"), (first, second, third), strict=True))
        if max(len(parts["m"]), len(parts["d"])) > 2 or (
            each == "y/m/d" and not _may_lead(first, mark, order)
        ):
            continue
        day = _day(parts["y"], int(parts["m"]), int(parts["d"]), today)
        if day is not None:
            found.setdefault(day, set()).add(each)
    return found


def _may_lead(year: str, mark: str, order: str) -> bool:
    """Whether a first number may be the year: of four digits, or of two between hyphens, or as told."""
    return len(year) == 4 or (len(year) == 2 and (mark == "-" or order == "y/m/d"))


def _day(year: str, month: int, number: int, today: date) -> date | None:
    whole = int(year)
    if len(year) == 2:
        whole += 2000 if 2000 + whole <= today.year else 1900
        if whole < OLDEST:
            return None
    elif not 1900 <= whole <= 2199:
        return None
    try:
        day = date(whole, month, number)
    except ValueError:
        return None
    return day if day <= today else None


def _of_names(tidy: str, today: date) -> date | None:
    if (match := _NAMED.fullmatch(tidy)) and match[3] and (month := read_month(match[1])):
        return _day(match[3], month, int(match[2]), today)
    if (match := _DAY_FIRST.fullmatch(tidy)) and match[3] and (month := read_month(match[2])):
        return _day(match[3], month, int(match[1]), today)
    return None


def _without_year(tidy: str, today: date, order: str, year: int | None, since: date | None) -> date | None:
    """`3/16` or `Mar 16`: of the year told, or the first such day since the day it follows."""
    if isinstance(since, RoughDay) or (year is None and since is None):
        return None
    pairs = _pairs(tidy, order)
    years: Sequence[int] = (since.year, since.year + 1) if since is not None else (year or 0,)
    days = {day for month, number in pairs
            if (day := next((d for y in years if (d := _day(f"{y:04}", month, number, today))
                             and (since is None or d >= since)), None))}  # fmt: skip
    return next(iter(days)) if len(days) == 1 else None


def _pairs(tidy: str, order: str) -> list[tuple[int, int]]:
    """Month and day, in every way that the order leaves."""
    if match := _SHORT.fullmatch(tidy):
        first, second = int(match[1]), int(match[3])
        pairs = {"m/d/y": [(first, second)], "d/m/y": [(second, first)], "y/m/d": [(first, second)]}
        return pairs.get(order, [(first, second), (second, first)])
    if (match := _NAMED.fullmatch(tidy)) and (month := read_month(match[1])):
        return [(month, int(match[2]))]
    if (match := _DAY_FIRST.fullmatch(tidy)) and (month := read_month(match[2])):
        return [(month, int(match[1]))]
    return []
