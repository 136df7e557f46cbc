"""The day a customer asked for in the note of a call: `Aug 14`, `8/14`, `in September`, `a Friday`.

If in doubt, no day: a note only suggests; a person books.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, timedelta

from finishlog.units import MONTHS

_MONTH = "|".join(rf"{name.casefold()}[a-z]*" for name in MONTHS)
_DAY = r"(\d{1,2})(?:st|nd|rd|th)?"
_ISO = re.compile(r"\b(\d{4})-(\d{1,2})-(\d{1,2})\b")
_NAMED = re.compile(rf"\b({_MONTH})\.? {_DAY}\b(?:,? (\d{{4}})\b)?")
_TURNED = re.compile(rf"\b{_DAY} (?:of )?({_MONTH})\b")
_SLASHED = re.compile(r"(?<![\d/])(\d{1,2})/(\d{1,2})(?:/(\d{4}))?(?![\d/])")
_FRACTIONS = {(1, 2), (1, 3), (2, 3), (1, 4), (3, 4), (1, 8), (3, 8), (5, 8), (7, 8)}
"""More likely a fraction than a month and day."""
_MONTH_ALONE = re.compile(rf"\b(in|from|after|early|mid|late|end of)[ -](?:in )?({_MONTH})\b(?! ?\d)")
_WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
_WEEKDAY = re.compile(r"\b(?:(mon|tues?|wed(?:nes)?|thu(?:rs)?|fri|satur|sun)days?|(tue|wed|thu|fri))\b")
_AGAINST = re.compile(
    r"(?:\bnot(?: on| in)?|\bno|n't(?: on| in)?|\bbefore|\bby|\bbut|\bexcept) (?:the |a )?$"
)
_FROM_THEN_ON = re.compile(r"\bnot (?:before|until) $")
_IN_MONTH = {"mid": 15, "late": 20, "end of": 25}
"""Day of the month each word means (ours)."""


@dataclass(frozen=True, slots=True)
class Asked:
    """The requested day or weekday (Monday is 0); None: neither."""

    day: date | None = None
    weekday: int | None = None


def asked(note: str | None, said_on: date) -> Asked:
    """The first day in a note that is not ruled out."""
    text = " ".join((note or "").casefold().split())
    found = [(at, day) for at, day in _days(text, said_on) if not _against(text[:at])]
    if found:
        return Asked(min(found)[1])
    for match in _WEEKDAY.finditer(text):
        if not _against(text[: match.start()]):
            return Asked(weekday=_WEEKDAYS.index((match[1] or match[2])[:3]))
    return Asked()


def _against(before: str) -> bool:
    return bool(_AGAINST.search(before)) and not _FROM_THEN_ON.search(before)


def _days(text: str, said_on: date) -> list[tuple[int, date]]:
    parts: list[tuple[int, int | None, int, int]] = []
    parts += [(m.start(), int(m[1]), int(m[2]), int(m[3])) for m in _ISO.finditer(text)]
    parts += [
        (m.start(), int(m[3]) if m[3] else None, _month(m[1]), int(m[2])) for m in _NAMED.finditer(text)
    ]
    parts += [(m.start(), None, _month(m[2]), int(m[1])) for m in _TURNED.finditer(text)]
    parts += [
        (m.start(), int(m[3]) if m[3] else None, int(m[1]), int(m[2]))
        for m in _SLASHED.finditer(text)
        if m[3] or (int(m[1]), int(m[2])) not in _FRACTIONS
    ]
    parts += [(m.start(), None, _month(m[2]), _IN_MONTH.get(m[1], 1)) for m in _MONTH_ALONE.finditer(text)]
    found = ((at, _next(year, month, day, said_on)) for at, year, month, day in parts)
    return [(at, day) for at, day in found if day is not None]


def _month(name: str) -> int:
    return [each.casefold() for each in MONTHS].index(name[:3]) + 1


def _next(year: int | None, month: int, day: int, said_on: date) -> date | None:
    """That day of its year, or the next one; None if there is no such day."""
    for each in (year,) if year else (said_on.year, said_on.year + 1):
        try:
            found = date(each, month, day)
        except ValueError:
            return None
        if year or found >= said_on:
            return found
    return None


def on_weekday(day: date, weekday: int) -> date:
    """The first such weekday on or after a day."""
    return day + timedelta(days=(weekday - day.weekday()) % 7)
