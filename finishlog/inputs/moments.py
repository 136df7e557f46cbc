"""When something happened, as people say it: `7:10a`, `about 7:30`, `Jun 4 7:10a`, `yesterday`, `-2h`.

A time is the site's own clock. When the clocks go forward an hour does not exist and is refused; when they go
back an hour comes twice, and the first (summer time) is taken and said. `-2h` counts real hours, and a time
with an offset (`2026-11-01T01:30-06:00`) is never in doubt.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from datetime import tzinfo as Zone

from finishlog.errors import InputError
from finishlog.inputs.readers import read_time
from finishlog.records.exactness import ROUGH
from finishlog.records.log import Exactness
from finishlog.units import MONTHS, WEEKDAYS, number_from, read_date, read_rough, shown, write_rough

NOON = time(12)
EXAMPLE = "7:10a, about 7:30, Jun 4 7:10a, 2026-06-04 07:10, yesterday 2p, -2h, 8/2024 or spring 2023"
LONGEST = 60
AHEAD_DAYS = 31

_CLOCK = r"noon|\d{1,2}(?:[:.]\d{2})? ?(?:[ap]m?|[ap]\.m\.)|\d{1,2}[:.]\d{2}"
_ABOUT = re.compile(r"(?:about|abt\.?|around|~) *(.+)", re.ASCII)
_SPAN = r"(.+?) *(h|hr|hrs|hours?|min|mins|minutes?|d|days?)"
_AGO = re.compile(rf"[-\u2212] *{_SPAN}|{_SPAN} ago")
_TIME_ALONE = re.compile(_CLOCK, re.ASCII)
_DAY_AND_CLOCK = re.compile(rf"(.+?)(?:(?: at | |t)({_CLOCK}))?", re.ASCII)
_WITH_OFFSET = re.compile(r"\d{4}-\d\d-\d\d[t ]\d\d:\d\d(?:z|[+-]\d\d:\d\d)", re.ASCII)
_NO_YEAR = re.compile(
    r"([a-z]{3,9})\.? (\d{1,2})(?:st|nd|rd|th)?|(\d{1,2})(?:st|nd|rd|th)? ([a-z]{3,9})\.?", re.ASCII
)


@dataclass(frozen=True, slots=True)
class Moment:
    """An instant in UTC, how exactly it is known (a `day` stands at the site's noon), and what was understood."""

    instant: datetime
    exactness: Exactness
    echo: str


@dataclass(frozen=True, slots=True)
class _Local:
    when: datetime
    exactness: Exactness = "exact"
    note: str = ""


def read_moment(text: str, now: datetime, zone: Zone, *, day: date | None = None) -> Moment:
    """When it happened. `now` is aware; `day` is the day of a time said without one (None: today at the site).

    A day without a year is the last such day, or one in the coming month. Raises InputError for what can
    mean two times, or none.
    """
    tidy = " ".join(text.replace(",", " ").split()).casefold()
    if not tidy or len(text) > LONGEST:
        raise _wrong(text)
    here = now.astimezone(zone)
    about = _ABOUT.fullmatch(tidy)
    try:
        local = _read(about[1] if about else tidy, text, here, day or here.date())
        return _moment(local, here, about=about is not None)
    except OverflowError:
        raise _wrong(text, "It lies outside the calendar.") from None


def of_day(day: date, now: datetime, zone: Zone) -> Moment:
    """A day of which no hour is known: the site's noon stands for it."""
    here = now.astimezone(zone)
    return _moment(_noon(day, here), here)


def text_of(instant: datetime, exactness: Exactness, zone: Zone) -> str:
    """The text that `read_moment` reads as this moment again, to the minute."""
    local = instant.astimezone(zone)
    if exactness in ROUGH:
        return write_rough(local.date(), exactness)
    if exactness == "day":
        return local.date().isoformat()
    about = "about " if exactness == "about" else ""
    offset = local.isoformat()[-6:] if local.fold else ""
    return f"{about}{local:%Y-%m-%d}T{local:%H:%M}{offset}" if offset else f"{about}{local:%Y-%m-%d %H:%M}"


def write_moment(local: datetime, exactness: Exactness, here: datetime) -> str:
    """`Tue Jun 9, 8:50 in the morning`; the year where it is not this one; the day alone where that is all."""
    if exactness in ROUGH:
        return write_rough(local.date(), exactness)
    year = f" {local.year}" if local.year != here.year else ""
    named = f"{WEEKDAYS[local.weekday()]} {MONTHS[local.month - 1]} {local.day}{year}"
    if exactness == "day":
        return named
    return f"{named}, {'about ' if exactness == 'about' else ''}{_clock(local.time())}"


def _moment(local: _Local, here: datetime, *, about: bool = False) -> Moment:
    exactness: Exactness = "about" if about and local.exactness == "exact" else local.exactness
    echo = write_moment(local.when, exactness, here) + local.note
    return Moment(local.when.astimezone(UTC), exactness, echo)


def _clock(at: time) -> str:
    if at == NOON:
        return "12:00 noon"
    parts = ((4, "at night"), (12, "in the morning"), (18, "in the afternoon"), (21, "in the evening"))
    part = next((words for until, words in parts if at.hour < until), "at night")
    return f"{at.hour % 12 or 12}:{at.minute:02d} {part}"


def _read(said: str, text: str, here: datetime, day: date) -> _Local:
    if said == "now":
        return _Local(_whole_minute(here))
    if ago := _AGO.fullmatch(said):
        return _ago(ago[1] or ago[3], ago[2] or ago[4], text, here)
    if _WITH_OFFSET.fullmatch(said):
        return _offset(said, text, here)
    if _TIME_ALONE.fullmatch(said):
        return _at(day, said, text, here)
    parts = _DAY_AND_CLOCK.fullmatch(said)
    if parts is None:
        raise _wrong(text)
    if parts[2] is None and (rough := read_rough(parts[1])):
        noon = datetime.combine(rough, NOON, here.tzinfo)
        return _Local(noon, rough.exactness)
    on = _day(parts[1], text, here)
    return _noon(on, here) if parts[2] is None else _at(on, parts[2], text, here)


def _whole_minute(local: datetime) -> datetime:
    return local.replace(second=0, microsecond=0)


def _noon(day: date, here: datetime) -> _Local:
    return _Local(datetime.combine(day, NOON, here.tzinfo), "day")


def _ago(count: str, unit: str, text: str, here: datetime) -> _Local:
    number = number_from(count)
    if number is None or number > 100_000:
        raise _wrong(text)
    if unit.startswith("d"):
        if number.denominator != 1:
            raise _wrong(text, "Days are whole.")
        return _noon(here.date() - timedelta(days=int(number)), here)
    ago = timedelta(minutes=float(number * (60 if unit.startswith("h") else 1)))
    return _Local(_whole_minute((here.astimezone(UTC) - ago).astimezone(here.tzinfo)))


def _offset(said: str, text: str, here: datetime) -> _Local:
    try:
        return _Local(datetime.fromisoformat(said.upper()).astimezone(here.tzinfo))
    except ValueError:
        raise _wrong(text) from None


def _at(day: date, clock: str, text: str, here: datetime) -> _Local:
    at = NOON if clock == "noon" else read_time(clock)
    first = datetime.combine(day, at, here.tzinfo)
    second = first.replace(fold=1)
    if first.utcoffset() == second.utcoffset():
        return _Local(first)
    back = first.astimezone(UTC).astimezone(here.tzinfo)
    if back.replace(tzinfo=None, fold=0) != first.replace(tzinfo=None):
        raise _wrong(text, f"The clocks went forward that day: {at:%H:%M} did not exist.", f"{back:%H:%M}")
    return _Local(first, note=", the first of the two: the clocks went back that day")


def _day(said: str, text: str, here: datetime) -> date:
    today = here.date()
    if said in ("today", "yesterday"):
        return today - timedelta(days=said == "yesterday")
    if (weekday := _weekday(said)) is not None:
        return today - timedelta(days=(today.weekday() - weekday) % 7)
    if _NO_YEAR.fullmatch(said):
        return _last_such(said, text, today)
    try:
        return read_date(said)
    except InputError as wrong:
        raise _wrong(text, wrong.cause) from None


def _weekday(said: str) -> int | None:
    """Monday is 0. `tue`, `tues`, `tuesday`; three letters at least."""
    names = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
    return next((i for i, name in enumerate(names) if len(said) >= 3 and name.startswith(said)), None)


def _last_such(said: str, text: str, today: date) -> date:
    """The last such day (a leap day may lie years back); one in the next month is taken for a slip ahead."""
    latest = today + timedelta(days=AHEAD_DAYS)
    failure = None
    for year in range(latest.year, today.year - 9, -1):
        try:
            day = read_date(f"{said} {year}")
        except InputError as wrong:
            failure = failure or wrong
            continue
        if day <= latest:
            return day
    raise _wrong(text, failure.cause if failure else "")


def _wrong(text: str, cause: str = "", example: str = EXAMPLE) -> InputError:
    return InputError(f"“{shown(text)}” is no time that can be read for certain.", cause, example=example)
