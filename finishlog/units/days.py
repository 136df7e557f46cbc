"""Days: read only if unambiguous, written as people say them."""

from __future__ import annotations

import re
from datetime import date, timedelta
from typing import Literal, Self

from finishlog.errors import InputError
from finishlog.units.reading import LONGEST_TEXT, shown

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_MONTH_NAMES = (
    *("january", "february", "march", "april", "may", "june"),
    *("july", "august", "september", "october", "november", "december"),
)


_SEASONS = {"spring": 4, "summer": 7, "fall": 10, "autumn": 10}
"""The middle month of each; a winter spans two years and needs both (meteorological, common practice)."""
_SEASON_NAMES = {4: "spring", 7: "summer", 10: "fall", 1: "winter"}
_ROUGH_SPAN = (1900, 2199)


class RoughDay(date):
    """A month or season with no known day. Its middle is for sorting only, never for arithmetic."""

    exactness: Literal["month", "season"]

    @classmethod
    def of(cls, year: int, month: int, exactness: Literal["month", "season"]) -> Self:
        """The middle of a month or season, marked as inexact."""
        day = cls(year, month, 15)
        day.exactness = exactness
        return day

    @property
    def first(self) -> date:
        """The first day of the month or season."""
        return rough_span(self, self.exactness)[0]


def rough_span(day: date, exactness: str) -> tuple[date, date]:
    """The first and last day that a day of this exactness may be; an exact day is both."""
    if exactness not in ("month", "season"):
        return day, day
    reach = 1 if exactness == "season" else 0
    first, after = (divmod(day.year * 12 + day.month - 1 + step, 12) for step in (-reach, reach + 1))
    return date(first[0], first[1] + 1, 1), date(after[0], after[1] + 1, 1) - timedelta(days=1)


def write_rough(day: date, exactness: str) -> str:
    """`Aug 2024`, `spring 2023`, `winter 2023-24`."""
    if exactness == "month":
        return f"{MONTHS[day.month - 1]} {day.year}"
    season = _SEASON_NAMES.get(day.month, MONTHS[day.month - 1])
    return f"winter {day.year - 1}-{day.year % 100:02}" if season == "winter" else f"{season} {day.year}"


def read_rough(text: str) -> RoughDay | None:
    """`8/2024`, `2024-08`, `Aug 2024`, `spring 2023`, `winter 2023-24`; None for anything else."""
    tidy = " ".join(text.casefold().replace(",", " ").replace("'", " ").split())
    if match := re.fullmatch(r"(spring|summer|fall|autumn) (?:of )?(\d{4})", tidy, re.ASCII):
        return _rough(int(match[2]), _SEASONS[match[1]], "season")
    if match := re.fullmatch(r"winter (?:of )?(\d{4}) ?[-/] ?(?:\d\d)?(\d\d)", tidy, re.ASCII):
        year = int(match[1]) + 1
        return _rough(year, 1, "season") if year % 100 == int(match[2]) else None
    if match := re.fullmatch(r"(\d{1,2}) ?[/.-] ?(\d{4})", tidy, re.ASCII):
        return _rough(int(match[2]), int(match[1]), "month")
    if match := re.fullmatch(r"(\d{4}) ?[/.-] ?(\d{1,2})", tidy, re.ASCII):
        return _rough(int(match[1]), int(match[2]), "month")
    if match := re.fullmatch(r"([a-z]{3,9})\.? (\d{4})", tidy, re.ASCII):
        return _rough(int(match[2]), _month(match[1]), "month")
    return None


def _rough(year: int, month: int, exactness: Literal["month", "season"]) -> RoughDay | None:
    known = _ROUGH_SPAN[0] <= year <= _ROUGH_SPAN[1] and 1 <= month <= 12
    return RoughDay.of(year, month, exactness) if known else None


def read_month(word: str) -> int:
    """The number of a month from its name or its first letters (three at least); 0 if it is none."""
    return _month(word) if len(word) >= 3 else 0


def read_date(text: str) -> date:
    """A day from 1900 to 2199: 2025-06-16, `Jun 16 2025` or `16 June 2025`.

    Slashes and two-digit years are ambiguous: InputError.
    """
    tidy = " ".join(text.replace(",", " ").split())
    parts = None if len(text) > LONGEST_TEXT else _date_parts(tidy)
    if parts is None:
        title = f"“{shown(text)}” is not a clear date."
        raise InputError(title, _doubt(tidy), example="2025-06-16 or Jun 16 2025")
    year, month, number = parts
    if not 1900 <= year <= 2199:
        cause = "Years run from 1900 to 2199."
        raise InputError(f"“{shown(text)}” is out of range.", cause, example="2025-06-16")
    try:
        return date(year, month, number)
    except ValueError:
        known = 1 <= month <= 12
        cause = f"{MONTHS[month - 1]} {year} has no day {number}." if known else f"No month {month}."
        raise InputError(f"“{shown(text)}” is no day.", cause, example="2025-06-16") from None


def _date_parts(tidy: str) -> tuple[int, int, int] | None:
    if iso := re.fullmatch(r"(\d{4})-(\d{1,2})-(\d{1,2})", tidy, re.ASCII):
        return int(iso[1]), int(iso[2]), int(iso[3])
    month_first = re.fullmatch(r"([A-Za-z]{3,9})\.? (\d{1,2})(?:st|nd|rd|th)? (\d{4})", tidy, re.ASCII)
    if month_first and (month := _month(month_first[1])):
        return int(month_first[3]), month, int(month_first[2])
    day_first = re.fullmatch(r"(\d{1,2})(?:st|nd|rd|th)? ([A-Za-z]{3,9})\.? (\d{4})", tidy, re.ASCII)
    if day_first and (month := _month(day_first[2])):
        return int(day_first[3]), month, int(day_first[1])
    return None


def _month(word: str) -> int:
    """The number of a month from its name or its first letters (three at least); 0 if it is none."""
    low = word.lower()
    return next((number for number, name in enumerate(_MONTH_NAMES, 1) if name.startswith(low)), 0)


def _doubt(tidy: str) -> str:
    """Why a text was no certain day, as far as it can be told."""
    if re.fullmatch(r"\d{1,4}/\d{1,2}/\d{1,4}|\d{1,2}[.-]\d{1,2}[.-]\d{4}", tidy, re.ASCII):
        return "Day and month could be swapped: write the year first."
    two_digits = r"\d{1,2}[.-]\d{1,2}[.-]\d{2}|[A-Za-z]+\.? \d{1,2} '?\d{2}|\d{1,2} [A-Za-z]+\.? '?\d{2}"
    if re.fullmatch(two_digits, tidy, re.ASCII):
        return "The year needs four digits."
    if re.fullmatch(r"[A-Za-z]+\.? \d{1,2}|\d{1,2} [A-Za-z]+\.?", tidy, re.ASCII):
        return "The year is missing."
    return ""


def write_date(day: date) -> str:
    """`Jun 16 2025`; `Jun 2025` or `summer 2025` of a rough day."""
    if isinstance(day, RoughDay):
        return write_rough(day, day.exactness)
    return f"{MONTHS[day.month - 1]} {day.day} {day.year}"


def write_weekday(day: date, today: date | None = None) -> str:
    """`Mon Jun 16`, for days near enough to need no year; given `today`, with the year if it differs."""
    year = "" if today is None or day.year == today.year else f" {day.year}"
    return f"{WEEKDAYS[day.weekday()]} {MONTHS[day.month - 1]} {day.day}{year}"


def read_months(text: str) -> tuple[int, ...]:
    """Months of the year as numbers, in order: `4-10`, `Apr to Oct`, `10-3` over the new year, `4, 5, 9`.

    Raises InputError if there is no month.
    """
    tidy = re.sub(r"\s*(?:\bto\b|[-–])\s*", "-", text.replace(",", " ").strip().lower())
    found: set[int] = set()
    for part in tidy.split()[:12]:
        first, _, last = part.partition("-")
        low, high = _month_number(first), _month_number(last or first)
        if not (low and high):
            raise InputError(f"“{shown(text)}” names no months.", example="4-10 or Apr to Oct")
        found |= {(low - 1 + step) % 12 + 1 for step in range((high - low) % 12 + 1)}
    if not found:
        raise InputError("A season needs at least one month.", example="4-10 or Apr to Oct")
    return tuple(sorted(found))


def _month_number(text: str) -> int:
    if re.fullmatch(r"\d{1,2}", text, re.ASCII):
        return int(text) if 1 <= int(text) <= 12 else 0
    return _month(text) if len(text) >= 3 else 0


def read_days_off(text: str) -> tuple[int, ...]:
    """Days as numbers in order: `12-25` or `Dec 25` of every year is 1225, `2026-11-27` is 20261127.

    Separated by commas. Raises InputError.
    """
    parts = [" ".join(part.split()) for part in re.split(r"[,;\n]", text)]
    return tuple(sorted({_day_off(part) for part in parts if part}))


def _day_off(part: str) -> int:
    numbers = re.fullmatch(r"(\d{1,2})[-/](\d{1,2})", part, re.ASCII)
    named = re.fullmatch(r"([A-Za-z]{3,9})\.? (\d{1,2})", part, re.ASCII)
    found = numbers or named
    if found is None:
        try:
            day = read_date(part)
        except InputError as wrong:
            raise InputError(wrong.title, wrong.cause, example="12-25, Jul 4, 2026-11-27") from None
        return day.year * 10_000 + day.month * 100 + day.day
    month = _month_number(found[1])
    try:
        return month * 100 + date(2024, month, int(found[2])).day  # a leap year has every day
    except ValueError:
        raise InputError(
            f"“{shown(part)}” is not a day of the year.", example="12-25, Jul 4, 2026-11-27"
        ) from None


def write_days_off(days: tuple[int, ...]) -> str:
    """`Dec 25, Nov 27 2026`; `none` where there are none."""
    parts = []
    for number in days:
        year, rest = divmod(number, 10_000)
        month, day = divmod(rest, 100)
        known = 1 <= month <= 12
        parts.append(f"{MONTHS[month - 1] if known else month} {day}" + (f" {year}" if year else ""))
    return ", ".join(parts) or "none"
