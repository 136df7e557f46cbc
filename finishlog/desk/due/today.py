"""Today: due work of all jobs, to log in one go, put off or drop.

Slipped work leaves the list after `let_go_days` (a setting), so that a past season's misses do not nag; a reseal
never does. A missed photo leaves once the next one is due.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from finishlog.desk import time_left as say
from finishlog.desk.doubts import bookings
from finishlog.desk.due import ahead as looking_ahead
from finishlog.desk.due import head
from finishlog.desk.due.head import LIFT, NOUN
from finishlog.desk.forms import offers
from finishlog.desk.forms.offers import Offer
from finishlog.desk.record import record
from finishlog.desk.record.record import Recorded
from finishlog.desk.words import old
from finishlog.errors import InputError
from finishlog.records.due import DueState, Place, Today, TodayLine
from finishlog.records.log import Fact, Job
from finishlog.records.when import zone_named
from finishlog.records.writing import NewEntry
from finishlog.retrying import anew
from finishlog.trade.cautions import cautions
from finishlog.trade.due import DueLine
from finishlog.trade.due_slab import midnight
from finishlog.trade.events import ALL_DUE
from finishlog.trade.stages.base import LAST_YEAR
from finishlog.trade.upkeep.due_rules import BOOKED
from finishlog.trade.upkeep.season import put_into_season

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

    from finishlog.desk.services import Services
    from finishlog.records.shop import Shop
    from finishlog.store import Reader

HORIZON_DAYS = 21
MOST = {"open": 100, "slipped": 60, "opens": 40}
"""Lines of each state at the most: what is beyond is far from acting."""
READ_MOST = 150
PARTS = (1, 8, 64)
DAY = timedelta(days=1)

KIND = {due.key: kind for due, kind in ALL_DUE}
"""The kind of entry that logs what falls due."""
LATER = ("reseal",)
"""Lines that never leave the list."""

Found = tuple[str, DueLine]


def today(
    services: Services, now: datetime | None = None, *, horizon_days: int = HORIZON_DAYS,
    until: datetime | None = None, all: bool = False, pours: bool = True,
    each: int | None = None,
) -> Today:  # fmt: skip
    """Everything due at `now` (None: the clock's), and what opens within the horizon, or before `until`.

    With `all` also what slipped long ago; without `pours` nothing is looked ahead at. Of each state the first so
    many as `each` and what is the most pressing of all; the rest is counted.
    """
    at = now or services.clock()
    ends = until or at + timedelta(days=horizon_days)
    with services.log().reading() as log:
        shop = log.shop()
        found = _found(log, at, shop, services.zone, ends, all)
        first = found if each is None else _first_of_each(found, at, each)
        places = log.places(handle for handle, _ in first)
        jobs = log.jobs(dict.fromkeys(handle for handle, line in first if line.key in LATER))
        lines = tuple(_line(places[handle], jobs.get(handle), line, at, shop) for handle, line in first)
    more = Counter(state(line, at) for _, line in found) - Counter(line.state for line in lines)
    soon = pours and any(line.key == "pour" for _, line in found)
    there = looking_ahead.pours(services, at) if soon else ()
    return Today(head.sentence(lines, at, more), lines, there, more)


def _first_of_each(found: Sequence[Found], at: datetime, most: int) -> tuple[Found, ...]:
    """So many of each state, and what is the most pressing, in their order."""
    seen: Counter[DueState] = Counter()
    first, acting = set(), []
    for place, (_, line) in enumerate(found):
        is_in = state(line, at)
        seen[is_in] += 1
        if seen[is_in] <= most:
            first.add(place)
        if is_in != "slipped":
            acting.append(place)
    if acting:
        first.add(min(acting, key=lambda place: _rank(found[place][1], at)))
    return tuple(found[place] for place in sorted(first))


def _rank(line: DueLine, at: datetime) -> head.Rank:
    return head.rank(line.key, line.title, state(line, at), line.opens, line.closes, at)


def _found(
    log: Reader, at: datetime, shop: Shop, zone: ZoneInfo, ends: datetime, all: bool
) -> tuple[Found, ...]:
    """The lines in the order of acting."""

    def seasoned(lines: Iterable[Found]) -> list[Found]:
        return [(handle, _in_season(line, at, shop, zone)) for handle, line in lines]

    opened = seasoned(log.due(at, since=at, limit=MOST["open"]))
    missed = seasoned([*_missed(log, at, shop, all), *log.due(at, keys=LATER, limit=MOST["slipped"])])
    slipped = [each for each in missed if each[1].closes < at and not _is_moot(each[1], at, shop)]
    slipped.sort(key=lambda each: (each[1].key in LATER, -each[1].closes.timestamp()))
    put_on = dict.fromkeys(each for each in (*opened, *missed) if at < each[1].opens <= ends)
    coming = sorted((*_coming(log, at, ends), *put_on), key=lambda each: (each[1].opens, each[0]))
    return (*(each for each in opened if each[1].opens <= at), *slipped[: MOST["slipped"]],
            *coming[: MOST["opens"]])  # fmt: skip


def has_work(services: Services, handle: str, *, horizon_days: int = HORIZON_DAYS) -> bool:
    """Whether Today has a line of the job, however many of others it has."""
    at = services.clock()
    ends = at + timedelta(days=horizon_days)
    with services.log().reading() as log:
        shop = log.shop()
        lines = [_in_season(line, at, shop, services.zone) for line in log.due_of(handle)]
    gone = at - timedelta(days=shop.let_go_days)
    return any(
        not _is_moot(line, at, shop) and (line.key in LATER or line.closes >= gone)
        if line.closes < at
        else line.opens <= ends
        for line in lines
    )


def _in_season(line: DueLine, at: datetime, shop: Shop, zone: ZoneInfo) -> DueLine:
    """A reseal that is open or slipped off season waits for the season, as in the book of care; a booked one
    stays on its day."""
    today = at.astimezone(zone).date()
    if line.key not in LATER or line.title == BOOKED or line.opens > at or today.month in shop.care_months:
        return line
    opens, closes = put_into_season(today, line.closes.astimezone(zone).date() - DAY, shop.care_months)
    start, end = midnight(opens, zone), midnight(closes, zone, 1)
    return replace(line, opens=start, usual_from=start, usual_to=end, closes=end)


def _missed(log: Reader, at: datetime, shop: Shop, all: bool) -> tuple[Found, ...]:
    """What slipped lately. The log gives the first to close first, so a shorter time is asked where it has many."""

    def read(back: timedelta) -> tuple[Found, ...]:
        return tuple(
            each for each in log.due(at, since=at - back, keys=_KEYS, limit=READ_MOST) if each[1].closes < at
        )

    if all:
        return tuple(each for each in log.due(at, keys=_KEYS, limit=READ_MOST) if each[1].closes < at)
    return _widened(read, timedelta(days=shop.let_go_days))


def _coming(log: Reader, at: datetime, ends: datetime) -> tuple[Found, ...]:
    """What opens by then, or sooner where that is much."""

    def read(keys: tuple[str, ...], on: timedelta) -> tuple[Found, ...]:
        return log.due(at + on, since=at, after=at, keys=keys, limit=READ_MOST)

    horizon = max(ends - at, timedelta(0))
    return (
        *_widened(lambda on: read(_KEYS, on), horizon),
        *_widened(lambda on: read(LATER, on), horizon),
    )


def _widened(read: Callable[[timedelta], tuple[Found, ...]], length: timedelta) -> tuple[Found, ...]:
    """What is read over a length of time; over the largest part of it that READ_MOST does not cut."""
    found: tuple[Found, ...] = ()
    for part in PARTS:
        found = read(length / part)
        if len(found) < READ_MOST:
            break
    return found


_KEYS = tuple(key for key in NOUN if key not in LATER)


def _is_moot(line: DueLine, at: datetime, shop: Shop) -> bool:
    """Whether a missed photo's next one has come."""
    if line.age_days is None:
        return False
    after = min((age for age in shop.photo_ages if age > line.age_days), default=None)
    return after is not None and at >= line.opens + timedelta(days=after - line.age_days)


def state(line: DueLine, at: datetime) -> DueState:
    """Both ends of the window count as open."""
    if at < line.opens:
        return "opens"
    return "open" if at <= line.closes else "slipped"


def _line(place: Place, job: Job | None, line: DueLine, at: datetime, shop: Shop) -> TodayLine:
    """A line; the job is needed for those that never leave the list."""
    zone, preparing = zone_named(place.zone), ("", "")
    if job is not None and line.key in LATER:
        preparing = bookings.first_of(job, line.area, shop, zone)
    now, opens, closes = (each.astimezone(zone) for each in (at, line.opens, line.closes))
    first, last = line.usual_from.astimezone(zone), line.usual_to.astimezone(zone)
    is_in = state(line, at)
    return TodayLine(
        job=place.handle,
        customer=place.customer,
        piece=place.piece,
        area=dict(place.areas).get(line.area or ""),
        what=line.key,
        age_days=line.age_days,
        title=line.title,
        kind=KIND.get(line.key, line.key),
        state=is_in,
        said=say.said(is_in, opens, closes, now, "lift" if line.title == LIFT else ""),
        opens_at=opens,
        closes_at=closes,
        usual=say.usual(first, last),
        why=f"{_age(line, at)}{line.why}",
        cautions=tuple(each.text for each in cautions(line.caution)) if line.caution else (),
        one_of=len(place.areas),
        before=preparing[0],
        first=preparing[1],
    )


def _age(line: DueLine, at: datetime) -> str:
    if line.key in ("pour", "reseal") or line.title == LIFT or at < line.anchor:
        return ""
    since = " since the coat" if line.key == "second_coat" else " old"
    return f"{old((at - line.anchor).total_seconds() / 3600).removesuffix(' old')}{since}. "


def retold(found: Today, at: datetime) -> Today:
    """The same lines in the same order and groups, their times as they stand at `at`: nothing is read."""
    lines = tuple(replace(line, said=_said(line, at)) for line in found.lines)
    return replace(found, sentence=head.sentence(lines, at, found.more), lines=lines)


def _said(line: TodayLine, at: datetime) -> str:
    now, opens, closes = at.astimezone(line.opens_at.tzinfo), line.opens_at, line.closes_at
    is_in: DueState = "opens" if now < opens else "open" if now <= closes else "slipped"
    return say.said(is_in, opens, closes, now, "lift" if line.title == LIFT else "")


# acting on a line


def line(services: Services, handle: str, what: str, area: str | None = None, age_days: int | None = None,
         now: datetime | None = None) -> TodayLine:  # fmt: skip
    """The line of a job that is due or to come, whenever. Raises InputError that lists what there is."""
    at = now or services.clock()
    with services.log().reading() as log:
        job = log.job(log.resolve(handle))
        shop = log.shop()
        place = log.places((job.handle,))[job.handle]
        lines = [_line(place, job, each, at, shop) for each in log.due_of(job.handle)]
    key, age = _named(what, age_days)
    of_key = [each for each in lines if each.what == key and age in (None, each.age_days)]
    _one_age(job.handle, of_key)
    found = [each for each in of_key if area is None or (each.area or "").casefold() == area.casefold()]
    if len({each.area for each in found}) > 1:
        some = ", ".join(each.area or "the whole job" for each in found)
        raise InputError(
            f"{_title(what)} is due on {some}.", where="--area", example=f"--area {found[0].area}"
        )
    if not found:
        raise _not_due(job.handle, what, lines)
    return found[0]


def _one_age(handle: str, lines: Sequence[TodayLine]) -> None:
    """Raises InputError where photos of several days are meant."""
    keys = tuple(dict.fromkeys(_key(line) for line in lines))
    if len(keys) > 1:
        raise InputError(
            f"More than one photo is due on {handle}.",
            f"There is {', '.join(keys)}.",
            where="WHAT",
            example=keys[0],
        )


def _named(what: str, age_days: int | None) -> tuple[str, int | None]:
    """`photo 7` and `photo, day 7` are the photo of that age; spaces and dashes are underscores."""
    words = what.casefold().replace(",", " ").replace("-", " ").replace("_", " ").split()
    if words and words[0] == "photo" and words[-1].isascii() and words[-1].isdigit() and len(words[-1]) < 6:
        return "photo", int(words[-1])
    return "_".join(words), age_days


def _title(what: str) -> str:
    from finishlog.units import shown

    return f"“{shown(what)}”"


def _not_due(handle: str, what: str, lines: Iterable[TodayLine]) -> InputError:
    there = tuple(dict.fromkeys(_key(line) for line in lines))
    cause = f"There is {', '.join(there)}." if there else "Nothing comes due on it."
    return InputError(
        f"{_title(what)} is not due on {handle}.", cause, where="WHAT", example=there[0] if there else ""
    )


def _key(line: TodayLine) -> str:
    return line.what if line.age_days is None else f"{line.what} {line.age_days}"


def offer(services: Services, line: TodayLine) -> Offer:
    """The entry that logs a line, filled in: now, the usual values, the last person. Raises InputError."""
    made = offers.offer(services, line.job, line.kind, line.area)
    return replace(made, values={**made.values, **begun(line.what), "at": "now"})


def begun(what: str) -> dict[str, str]:
    """What the entry that logs it says beside what is usual."""
    return {"reseal": "yes", "number": "1"} if what == "reseal" else {}


def log(services: Services, line: TodayLine, texts: Mapping[str, str] | None = None, *,
        because: str | None = None) -> Recorded:  # fmt: skip
    """Log a line as its offer has it, `texts` laid over it. `taking_back.undo` takes it back. Raises as `record`."""
    values = {**offer(services, line).values, **(texts or {})}
    return record.record(services, line.job, line.kind, values, because=because)


def put_off(services: Services, line: TodayLine, until: datetime, person: str | None = None) -> Recorded:
    """Put a line off until then. `taking_back.undo` brings it back. Raises InputError for a time that is past."""
    if until <= services.clock():
        raise InputError("You cannot put it off into the past.", where="--until", example="tomorrow 7a")
    if until.year > LAST_YEAR:
        raise InputError(f"Years run to {LAST_YEAR}.", where="--until", example="tomorrow 7a")
    return _said_no(services, line, {"until": until.astimezone(line.opens_at.tzinfo).isoformat(timespec="minutes")},
                    person)  # fmt: skip


def not_for_this_job(services: Services, line: TodayLine, person: str | None = None) -> Recorded:
    """Take a line off this job's list. `taking_back.undo` brings it back."""
    return _said_no(services, line, {}, person)


@anew
def _said_no(services: Services, line: TodayLine, more: dict[str, Fact], person: str | None) -> Recorded:
    facts: dict[str, Fact] = {"what": line.what, **more}
    if line.age_days is not None:
        facts["age_days"] = line.age_days
    with services.log().writing() as log:
        entry = log.add_entry(
            line.job, NewEntry("put_off", services.clock(), area=line.area, person=person, facts=facts)
        )
        return Recorded(line.job, entry, _sentence_of(line, more, services.clock().year))


def _sentence_of(line: TodayLine, more: Mapping[str, Fact], year: int) -> str:
    if not more:
        return f"{line.title}: not for this job."
    until = datetime.fromisoformat(str(more["until"]))
    other = "" if until.year == year else f", {until.year}"
    return f"{line.title}: put off until {say.usual(until, until)}{other}."


def groups(lines: Iterable[TodayLine]) -> Iterator[tuple[str, tuple[TodayLine, ...]]]:
    """Titles of the groups that have lines, with them."""
    some = tuple(lines)
    for key, title in (("open", "Open"), ("slipped", "Slipped"), ("opens", "Opens next")):
        if of := tuple(line for line in some if line.state == key):
            yield title, of
