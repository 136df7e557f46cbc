"""Days: read only when they can mean one day, written as people say them."""

from __future__ import annotations

import re
from datetime import date

from finishlog.errors import InputError
from finishlog.units.reading import LONGEST_TEXT, shown

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_MONTH_NAMES = (
    *("january", "february", "march", "april", "may", "june"),
    *("july", "august", "september", "october", "november", "december"),
)


def read_date(text: str) -> date:
    """A day from 1900 to 2199: 2025-06-16, `Jun 16 2025` or `16 June 2025`.

    Slashes and two-digit years can mean two days and are refused. Raises InputError.
    """
    tidy = " ".join(text.replace(",", " ").split())
    parts = None if len(text) > LONGEST_TEXT else _date_parts(tidy)
    if parts is None:
        title = f"“{shown(text)}” is not a day that can be read for certain."
        raise InputError(title, _doubt(tidy), example="2025-06-16 or Jun 16 2025")
    year, month, number = parts
    if not 1900 <= year <= 2199:
        cause = "Years run from 1900 to 2199."
        raise InputError(f"“{shown(text)}” is out of range.", cause, example="2025-06-16")
    try:
        return date(year, month, number)
    except ValueError:
        known = 1 <= month <= 12
        cause = f"{MONTHS[month - 1]} {year} has no day {number}." if known else f"There is no month {month}."
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
        return "Day and month can be mistaken for each other: write the year first."
    two_digits = r"\d{1,2}[.-]\d{1,2}[.-]\d{2}|[A-Za-z]+\.? \d{1,2} '?\d{2}|\d{1,2} [A-Za-z]+\.? '?\d{2}"
    if re.fullmatch(two_digits, tidy, re.ASCII):
        return "The year needs four digits."
    if re.fullmatch(r"[A-Za-z]+\.? \d{1,2}|\d{1,2} [A-Za-z]+\.?", tidy, re.ASCII):
        return "The year is missing."
    return ""


def write_date(day: date) -> str:
    """`Jun 16 2025`."""
    return f"{MONTHS[day.month - 1]} {day.day} {day.year}"


def write_weekday(day: date, today: date | None = None) -> str:
    """`Mon Jun 16`, for days near enough to need no year; told `today`, with the year where it is another."""
    year = "" if today is None or day.year == today.year else f" {day.year}"
    return f"{WEEKDAYS[day.weekday()]} {MONTHS[day.month - 1]} {day.day}{year}"


def read_months(text: str) -> tuple[int, ...]:
    """Months of the year as numbers, in order: `4-10`, `Apr to Oct`, `10-3` over the new year, `4, 5, 9`.

    No month at all is refused. Raises InputError.
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
        raise InputError("A season needs a month at least.", example="4-10 or Apr to Oct")
    return tuple(sorted(found))


def _month_number(text: str) -> int:
    if re.fullmatch(r"\d{1,2}", text, re.ASCII):
        return int(text) if 1 <= int(text) <= 12 else 0
    return _month(text) if len(text) >= 3 else 0
