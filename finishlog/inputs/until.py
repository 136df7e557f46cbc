"""Future times as people say them: `tomorrow`, `Fri`, `next Fri`, `in 2 weeks`, `6/20`, `tomorrow 7a`, `+3h`.

The mirror of `finishlog.inputs.moments`, whose words look back. A day alone begins at the site's midnight.
`Fri` is the next one after today, `this Fri` today or after, `next Fri` that of the next week, which begins on
Monday (ISO 8601; people differ, so the day stands in the echo). `6/20` is month first, the next such day.
"""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, time, timedelta
from datetime import tzinfo as Zone

from finishlog.errors import InputError
from finishlog.inputs.readers import read_time
from finishlog.units import MONTHS, number_from, read_date, shown

DAY_EXAMPLE = "2026-08-14, Aug 14, Fri, next Fri or in 6 months"
EXAMPLE = "tomorrow, tomorrow 7a, Fri, in 2 days, Jun 20 or 2026-06-20"
LONGEST = 60
_SPAN = re.compile(r"(?:in |\+ *)?(.+?) *(h|hr|hrs|hours?|d|days?|weeks?|months?|years?)")
_CLOCK = r"(?:noon|\d{1,2}(?:[:.]\d{2})? ?(?:[ap]m?|[ap]\.m\.)|\d{1,2}[:.]\d{2})"
_DAY_CLOCK = re.compile(rf"(.+?)(?:(?: at | |t)({_CLOCK}))?", re.ASCII)
_ALONE = re.compile(_CLOCK, re.ASCII)
_WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
_WHICH = ("", "this", "next")
_NUMBERS = re.compile(r"(\d{1,2})/(\d{1,2})(?:/(\d{4}))?", re.ASCII)
_DAYS = {"d": 1, "day": 1, "days": 1, "week": 7, "weeks": 7}
_MONTHS = {"month": 1, "months": 1, "year": 12, "years": 12}


def read_until(text: str, now: datetime, zone: Zone) -> datetime:
    """The instant (UTC); a weekday is the next such, a time alone its next occurrence. Raises InputError."""
    tidy = " ".join(text.replace(",", " ").split()).casefold().removeprefix("until ")
    if not tidy or len(text) > LONGEST:
        raise _wrong(text)
    here = now.astimezone(zone)
    try:
        return _read(tidy, text, here).astimezone(UTC)
    except OverflowError:
        raise _wrong(text, "It is outside the calendar.") from None


def read_day(text: str, today: date) -> date:
    """A future day: `2026-08-14`, `Aug 14`, `Fri`, `in 6 months`, `2 years`. Raises InputError.

    A date with its year may be past. Months and years are the calendar's: from Aug 31 in 6 months is Feb 28.
    """
    said = " ".join(text.replace(",", " ").split()).casefold()
    if said and len(text) <= LONGEST:
        span = _SPAN.fullmatch(said)
        number = number_from(span[1].strip()) if span else None
        try:
            if span and number is not None and 0 < number <= 100_000 and not span[2].startswith("h"):
                return _days_on(today, float(number), span[2])
        except OverflowError:
            raise _wrong(text, "It is outside the calendar.", DAY_EXAMPLE) from None
        day = _day(said, today)
        if day is not None:
            return day
    raise _wrong(text, example=DAY_EXAMPLE)


def _read(said: str, text: str, here: datetime) -> datetime:
    if span := _SPAN.fullmatch(said):
        number = number_from(span[1].strip())
        if number is not None and number > 0:
            return _after(float(number), span[2], here)
    if _ALONE.fullmatch(said):
        first = _at(here.date(), said, here)
        return first if first > here else _at(here.date() + timedelta(days=1), said, here)
    parts = _DAY_CLOCK.fullmatch(said)
    day = _day(parts[1], here.date()) if parts else None
    if parts is None or day is None:
        raise _wrong(text)
    return _at(day, parts[2], here) if parts[2] else datetime.combine(day, time(), here.tzinfo)


def _after(number: float, unit: str, here: datetime) -> datetime:
    if number > 100_000:
        raise OverflowError
    if unit.startswith("h"):
        return (here.astimezone(UTC) + timedelta(hours=number)).astimezone(here.tzinfo)
    return datetime.combine(_days_on(here.date(), number, unit), time(), here.tzinfo)


def _days_on(day: date, number: float, unit: str) -> date:
    """So many days, weeks, months or years later; half a month is 15 days. Raises OverflowError."""
    if unit in _DAYS:
        return day + timedelta(days=round(number * _DAYS[unit]))
    from dateutil.relativedelta import relativedelta

    whole, part = divmod(number * _MONTHS[unit], 1)
    try:
        return day + relativedelta(months=int(whole), days=round(part * 30))
    except ValueError:
        raise OverflowError from None


def _at(day: date, clock: str, here: datetime) -> datetime:
    return datetime.combine(day, time(12) if clock == "noon" else read_time(clock), here.tzinfo)


def _day(said: str, today: date) -> date | None:
    if said in ("today", "tomorrow"):
        return today + timedelta(days=said == "tomorrow")
    which, _, rest = said.rpartition(" ")
    for number, name in enumerate(_WEEKDAYS):
        if len(rest) >= 3 and name.startswith(rest) and which in _WHICH:
            return _weekday(number, which, today)
    if numbers := _NUMBERS.fullmatch(said):
        month = int(numbers[1])
        said = f"{MONTHS[month - 1]} {numbers[2]} {numbers[3] or ''}".strip() if 1 <= month <= 12 else said
    for with_year in (said, f"{said} {today.year}", f"{said} {today.year + 1}"):
        try:
            day = read_date(with_year)
        except InputError:
            continue
        if day >= today or with_year == said:
            return day
    return None


def _weekday(number: int, which: str, today: date) -> date:
    if which == "next":
        return today + timedelta(days=7 - today.weekday() + number)
    days = (number - today.weekday()) % 7
    return today + timedelta(days=days if days or which == "this" else 7)


def _wrong(text: str, cause: str = "", example: str = EXAMPLE) -> InputError:
    what = "time" if example == EXAMPLE else "day"
    return InputError(f"“{shown(text)}” is no future {what}.", cause, where="--until", example=example)
