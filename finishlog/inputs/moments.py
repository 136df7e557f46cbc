"""Past times in everyday notation: `7:10a`, `about 7:30`, `Jun 4 7:10a`, `7:30 yesterday`, `-90m`.

Times are on the site's clock. An hour skipped in spring is refused; of a repeated hour in fall the first
(summer time) is taken, and the echo says so. `-2h` counts elapsed hours, and a time with an offset
(`2026-11-01T01:30-06:00`, ISO 8601) is unambiguous.

Ambiguities are resolved by common practice (no source) and shown in the echo: `6/14` is month first and the
latest such day; `friday` is today or earlier, `last friday` before today; `midnight` is the start of today
and refused with a day; `this morning` alone is the day. The echo reads back as the same moment.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time, timedelta
from datetime import tzinfo as Zone

from finishlog.errors import InputError
from finishlog.inputs.readers import read_time
from finishlog.records.log import Exactness
from finishlog.records.when import ROUGH
from finishlog.units import (
    MONTHS,
    WEEKDAYS,
    number_from,
    read_date,
    read_rough,
    shown,
    write_date,
    write_rough,
)

NOON = time(12)
EXAMPLE = "7:10a, about 7:30, Jun 4 7:10a, 2026-06-04 07:10, yesterday 2p, -2h, 8/2024 or spring 2023"
LONGEST = 120
AHEAD_DAYS = 31
PARTS = {"morning": (0, 12), "afternoon": (12, 18), "evening": (17, 24)}
"""The hours of each part of a day."""

_WORDS = r"in the (?:morning|afternoon|evening)|at night"
_CLOCK = (
    rf"(?:12 |12:00 )?noon|\d{{1,2}}(?:[:.]\d{{2}})? (?:{_WORDS})"
    r"|\d{1,2}(?:[:.]\d{2})? ?(?:[ap]m?|[ap]\.m\.)|\d{1,2}[:.]\d{2}"
)
_WORDED = re.compile(rf"(\d{{1,2}})(?:[:.](\d{{2}}))? ({_WORDS})", re.ASCII)
_NO_HALF = re.compile(r"\d{1,2}[:.]\d{2}", re.ASCII)
_ABOUT = re.compile(r"(?:^|(?<= ))(?:about|abt\.?|around|~) *(?=.)", re.ASCII)
_IN_ZONE = re.compile(r"(.+?) ?\(([^ )]+)[^)]*\)", re.ASCII)
_PART = re.compile(r"(this|today|yesterday) (morning|afternoon|evening)|tonight", re.ASCII)
_SPAN = r"(.+?) *(h|hr|hrs|hours?|m|min|mins|minutes?|d|days?|w|wk|wks|weeks?)"
_COUNTS = {"a": "1", "an": "1", "half an": "1/2"}
_AGO = re.compile(rf"[-\u2212] *{_SPAN}|{_SPAN} ago")
_TIME_ALONE = re.compile(_CLOCK, re.ASCII)
_DAY_AND_CLOCK = re.compile(rf"(.+?)(?:(?: at | |t)({_CLOCK}))?", re.ASCII)
_CLOCK_AND_DAY = re.compile(rf"({_CLOCK})(?: on)? (.+)", re.ASCII)
_WITH_OFFSET = re.compile(r"\d{4}-\d\d-\d\d[t ]\d\d:\d\d(?:z|[+-]\d\d:\d\d)", re.ASCII)
_NUMBERS = re.compile(r"(\d{1,2})/(\d{1,2})(?:/(\d{4}))?", re.ASCII)
_NO_YEAR = re.compile(
    r"([a-z]{3,9})\.? (\d{1,2})(?:st|nd|rd|th)?|(\d{1,2})(?:st|nd|rd|th)? ([a-z]{3,9})\.?", re.ASCII
)


@dataclass(frozen=True, slots=True)
class Moment:
    """An instant in UTC, its exactness (a `day` is stored as the site's noon), and the echo."""

    instant: datetime
    exactness: Exactness
    echo: str


@dataclass(frozen=True, slots=True)
class _Local:
    when: datetime
    exactness: Exactness = "exact"
    note: str = ""


def read_moment(
    text: str, now: datetime, zone: Zone, *, day: date | None = None, home: Zone | None = None
) -> Moment:
    """When it happened. `now` is aware; `day` is the day of a time said without one (None: today at the site).

    A day without a year is the latest such day, or one in the coming month. If the shop's clock (`home`)
    differs from the site's, the echo names the zone. Raises InputError for ambiguous or unreadable text.
    """
    tidy = " ".join(text.partition(";")[0].replace(",", " ").split()).casefold()
    if not tidy or len(text) > LONGEST:
        raise _wrong(text)
    here = now.astimezone(zone)
    in_zone = _IN_ZONE.fullmatch(tidy)
    said, about = _ABOUT.subn("", in_zone[1] if in_zone else tidy, count=1)
    try:
        local = _read(said, text, here, day or here.date())
        if in_zone:
            local = _on_clock(local, in_zone[2], text)
        return _moment(local, here, home, about=bool(about))
    except OverflowError:
        raise _wrong(text, "It is outside the calendar.") from None


def _on_clock(local: _Local, name: str, text: str) -> _Local:
    """Which turn of a repeated hour has this zone name. Raises InputError if neither does."""
    for fold in (0, 1):
        turn = local.when.replace(fold=fold)
        if (turn.tzname() or "").casefold() == name:
            return replace(local, when=turn)
    raise _wrong(text, f"The site is on {local.when.tzname()} time then.")


def of_day(day: date, now: datetime, zone: Zone) -> Moment:
    """A day without an hour, stored as the site's noon."""
    here = now.astimezone(zone)
    return _moment(_noon(day, here), here)


def text_of(instant: datetime, exactness: Exactness, zone: Zone) -> str:
    """Text that `read_moment` reads back as this moment, to the minute."""
    local = instant.astimezone(zone)
    if exactness in ROUGH:
        return write_rough(local.date(), exactness)
    if exactness == "day":
        return local.date().isoformat()
    about = "about " if exactness == "about" else ""
    offset = local.isoformat()[-6:] if local.fold else ""
    return f"{about}{local:%Y-%m-%d}T{local:%H:%M}{offset}" if offset else f"{about}{local:%Y-%m-%d %H:%M}"


def write_moment(local: datetime, exactness: Exactness, here: datetime) -> str:
    """`Tue Jun 9, 8:50 in the morning`; the year where it would be read as another; the day where that is all."""
    if exactness in ROUGH:
        return write_rough(local.date(), exactness)
    near = local.year == here.year and local.date() <= here.date() + timedelta(days=AHEAD_DAYS)
    year = "" if near else f" {local.year}"
    named = f"{WEEKDAYS[local.weekday()]} {MONTHS[local.month - 1]} {local.day}{year}"
    if exactness == "day":
        return named
    return f"{named}, {'about ' if exactness == 'about' else ''}{_clock(local.time())}"


def _moment(local: _Local, here: datetime, home: Zone | None = None, *, about: bool = False) -> Moment:
    exactness: Exactness = "about" if about and local.exactness == "exact" else local.exactness
    echo = write_moment(local.when, exactness, here) + _zone_of(local, home)
    return Moment(local.when.astimezone(UTC), exactness, f"{echo}; {local.note}" if local.note else echo)


def _zone_of(local: _Local, home: Zone | None) -> str:
    """The zone's name, if the hour repeats or the shop's clock differs."""
    if local.exactness != "exact":
        return ""
    when = local.when
    first, second = when.replace(fold=0), when.replace(fold=1)
    if first.utcoffset() != second.utcoffset():
        turn = "second" if when.fold else "first"
        return f" ({when.tzname()}, the {turn} of two: clocks went back that day)"
    apart = home is not None and when.astimezone(home).utcoffset() != when.utcoffset()
    return f" ({when.tzname()})" if apart else ""


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
    if said == "midnight":
        return _at(day, "0:00", text, here)
    if "midnight" in said:
        raise _wrong(text, "Midnight can be either end of a day.", "Jun 4 12a or Jun 4 11:59p")
    on, clock = _split(said, text)
    if clock is None and (rough := read_rough(on)):
        noon = datetime.combine(rough, NOON, here.tzinfo)
        return _Local(noon, rough.exactness)
    return _on_day(on, clock, text, here)


def _split(said: str, text: str) -> tuple[str, str | None]:
    """Day and clock, whichever came first; None for no clock."""
    parts = _DAY_AND_CLOCK.fullmatch(said)
    turned = _CLOCK_AND_DAY.fullmatch(said) if parts and parts[2] is None else None
    if turned:
        return turned[2], turned[1]
    if parts is None:
        raise _wrong(text)
    return parts[1], parts[2]


def _on_day(on: str, clock: str | None, text: str, here: datetime) -> _Local:
    part = _PART.fullmatch(on)
    if part is None:
        day, note = _day(on, text, here)
        local = _noon(day, here) if clock is None else _at(day, clock, text, here)
        return replace(local, note=note)
    day = here.date() - timedelta(days=part[1] == "yesterday")
    named = part[2] or "evening"
    if clock is None:
        return replace(_noon(day, here), note="hour not given")
    local = _at(day, f"{clock} in the {named}" if _NO_HALF.fullmatch(clock) else clock, text, here)
    first, after = PARTS[named]
    if not first <= local.when.hour < after:
        raise _wrong(
            text, f"That hour is not in the {named}.", f"{part[0]} {'7:30a' if after == 12 else '5:30p'}"
        )
    return local


def _whole_minute(local: datetime) -> datetime:
    return local.replace(second=0, microsecond=0)


def _noon(day: date, here: datetime) -> _Local:
    return _Local(datetime.combine(day, NOON, here.tzinfo), "day")


def _ago(count: str, unit: str, text: str, here: datetime) -> _Local:
    number = number_from(_COUNTS.get(count, count))
    if number is None or number > 100_000:
        raise _wrong(text)
    if unit.startswith(("d", "w")):
        days = number * (7 if unit.startswith("w") else 1)
        if days.denominator != 1:
            raise _wrong(text, "Days are whole.")
        return _noon(here.date() - timedelta(days=int(days)), here)
    ago = timedelta(minutes=float(number * (60 if unit.startswith("h") else 1)))
    return _Local(_whole_minute((here.astimezone(UTC) - ago).astimezone(here.tzinfo)))


def _offset(said: str, text: str, here: datetime) -> _Local:
    try:
        return _Local(datetime.fromisoformat(said.upper()).astimezone(here.tzinfo))
    except ValueError:
        raise _wrong(text) from None


def _at(day: date, clock: str, text: str, here: datetime) -> _Local:
    at = _read_clock(clock)
    first = datetime.combine(day, at, here.tzinfo)
    second = first.replace(fold=1)
    if first.utcoffset() == second.utcoffset():
        return _Local(first)
    back = first.astimezone(UTC).astimezone(here.tzinfo)
    if back.replace(tzinfo=None, fold=0) != first.replace(tzinfo=None):
        raise _wrong(text, f"Clocks went forward that day: {at:%H:%M} did not exist.", f"{back:%H:%M}")
    return _Local(first)


def _read_clock(clock: str) -> time:
    """`7:10a`, `14:30`, `noon`, and as the echo has it: `2:30 in the afternoon`, `11:30 at night`."""
    if clock.endswith("noon") and not clock.endswith("afternoon"):
        return NOON
    worded = _WORDED.fullmatch(clock)
    if worded is None:
        return read_time(clock)
    hour, minute = int(worded[1]), worded[2] or "00"
    early = worded[3].endswith("morning") or (worded[3] == "at night" and hour % 12 < 5)
    return read_time(f"{hour}:{minute}{'' if hour > 12 else 'a' if early else 'p'}")


def _day(said: str, text: str, here: datetime) -> tuple[date, str]:
    """The day, and a note on how it was understood."""
    today = here.date()
    if said in ("today", "yesterday"):
        return today - timedelta(days=said == "yesterday"), ""
    if (weekday := _weekday(said)) is not None:
        return today - timedelta(days=(today.weekday() - weekday) % 7), ""
    first, _, rest = said.partition(" ")
    if first == "last" and (weekday := _weekday(rest)) is not None:
        return today - timedelta(days=(today.weekday() - weekday - 1) % 7 + 1), ""
    if rest and (weekday := _weekday(first.removesuffix("."))) is not None:
        return _checked(weekday, _day(rest, text, here), text)
    if numbers := _NUMBERS.fullmatch(said):
        return _by_numbers(numbers, text, today)
    if _NO_YEAR.fullmatch(said):
        return _last_such(said, text, today, today + timedelta(days=AHEAD_DAYS)), ""
    return _date(said, text), ""


def _date(said: str, text: str) -> date:
    try:
        return read_date(said)
    except InputError as wrong:
        raise _wrong(text, wrong.cause) from None


def _checked(weekday: int, found: tuple[date, str], text: str) -> tuple[date, str]:
    """A date beside its weekday must fall on it. Raises InputError."""
    if found[0].weekday() != weekday:
        raise _wrong(text, f"{write_date(found[0])} is a {_NAMES[found[0].weekday()].capitalize()}.")
    return found


def _by_numbers(said: re.Match[str], text: str, today: date) -> tuple[date, str]:
    """Month and day as they are written here; without a year the last such day. Raises InputError."""
    month, number, year = int(said[1]), int(said[2]), said[3]
    if not 1 <= month <= 12:
        raise _wrong(text, f"There is no month {month}: the month comes first.", "6/14 or 2026-06-14")
    named = f"{MONTHS[month - 1]} {number}"
    if year:
        return _date(f"{named} {year}", text), ""
    day = _last_such(named, text, today, today)
    ahead = day.year < today.year and (day.month, day.day) != (2, 29)
    return day, f"last year's: {said[0]} is still to come" if ahead else ""


def _weekday(said: str) -> int | None:
    """Monday is 0. `tue`, `tues`, `tuesday`; three letters at least."""
    return next((i for i, name in enumerate(_NAMES) if len(said) >= 3 and name.startswith(said)), None)


_NAMES = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")


def _last_such(said: str, text: str, today: date, latest: date) -> date:
    """The last such day up to `latest`; a leap day may be years back."""
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
    return InputError(f"“{shown(text)}” is not a clear time.", cause, example=example)
