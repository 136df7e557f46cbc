"""Today: what is due over all jobs, logged in one go, put off, or let be.

Slipped work leaves the list after `let_go_days` (a setting), so that a past season's misses do not nag; a reseal
never does. A photo that was missed goes when the next one's day has come.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from finishlog.desk import ahead as looking_ahead
from finishlog.desk import offers, record
from finishlog.desk import today_words as say
from finishlog.desk.offers import Offer
from finishlog.desk.record import Recorded
from finishlog.desk.words import old
from finishlog.errors import InputError
from finishlog.records.due import DueState, Today, TodayLine
from finishlog.records.log import Fact, Job
from finishlog.records.writing import NewEntry
from finishlog.trade.cautions import cautions
from finishlog.trade.due import DueLine
from finishlog.trade.due_slab import zone_of
from finishlog.trade.stages.base import LAST_YEAR

if TYPE_CHECKING:
    from finishlog.desk.services import Services
    from finishlog.records.shop import Shop
    from finishlog.store import Reader

HORIZON_DAYS = 21
MOST = {"open": 100, "slipped": 60, "opens": 40}
"""Lines of each state at the most: what is beyond is far from acting."""
READ_MOST = 150
PARTS = (64, 8, 1)
LIFT = "Lift the sheet"

KIND = {"pour_end": "pour", "second_coat": "seal", "reseal": "seal", "judge_color": "reading"}
"""The kind of entry that logs what falls due, where it is not of the same name."""
LATER = ("reseal",)
"""What never leaves the list."""

_NOUN = {
    "joint": ("The joints", "close"), "sweep": ("The sweep", "closes"), "rinse": ("The rinse", "closes"),
    "photo": ("The photo", "closes"), "dryness_test": ("The dryness test", "closes"),
    "seal": ("The sealing", "closes"), "second_coat": ("The second coat", "closes"),
    "judge_color": ("Judging the color", "closes"), "reseal": ("The reseal", "closes"), "pour": ("The pour", "closes"),
}  # fmt: skip

Found = tuple[str, DueLine]


def today(
    services: Services, now: datetime | None = None, *, horizon_days: int = HORIZON_DAYS,
    until: datetime | None = None, all: bool = False,
) -> Today:  # fmt: skip
    """Everything due at `now` (None: the clock's), and what opens within the horizon, or before `until`.

    With `all` also what slipped long ago.
    """
    at = now or services.clock()
    ends = until or at + timedelta(days=horizon_days)
    with services.log().reading() as log:
        shop = log.shop()
        found = _found(log, at, shop, ends, all)
        jobs = log.jobs(dict.fromkeys(handle for handle, _ in found))
        lines = tuple(_line(jobs[handle], line, at) for handle, line in found)
    there = looking_ahead.pours(services, at) if any(line.what == "pour" for line in lines) else ()
    return Today(_sentence(lines, at), lines, there)


def _found(log: Reader, at: datetime, shop: Shop, ends: datetime, all: bool) -> tuple[Found, ...]:
    """The lines in the order of acting."""
    opened = log.due(at, since=at, limit=MOST["open"])
    missed = [*_missed(log, at, shop, all), *log.due(at, keys=LATER, limit=MOST["slipped"])]
    slipped = [each for each in missed if each[1].closes < at and not _is_moot(each[1], at, shop)]
    slipped.sort(key=lambda each: (each[1].key in LATER, -each[1].closes.timestamp()))
    coming = sorted(_coming(log, at, shop, ends), key=lambda each: (each[1].opens, each[0]))
    return (*opened, *slipped[: MOST["slipped"]], *coming[: MOST["opens"]])


def _missed(log: Reader, at: datetime, shop: Shop, all: bool) -> tuple[Found, ...]:
    """What slipped lately. The log gives the first to close first, so a shorter time is asked where it has many."""

    def read(back: timedelta) -> tuple[Found, ...]:
        return tuple(
            each for each in log.due(at, since=at - back, keys=_KEYS, limit=READ_MOST) if each[1].closes < at
        )

    if all:
        return tuple(each for each in log.due(at, keys=_KEYS, limit=READ_MOST) if each[1].closes < at)
    return _widened(read, timedelta(days=shop.let_go_days))


def _coming(log: Reader, at: datetime, shop: Shop, ends: datetime) -> tuple[Found, ...]:
    """What opens by then, or sooner where that is much."""
    years = min(
        shop.reseal_to_years - shop.reseal_from_years,
        shop.reseal_harsh_to_years - shop.reseal_harsh_from_years,
    )
    shortest = timedelta(days=365 * max(years, 0))  # so that reseals that opened long ago are not looked at

    def read(keys: tuple[str, ...], since: datetime, on: timedelta) -> tuple[Found, ...]:
        return log.due(at + on, since=since, after=at, keys=keys, limit=READ_MOST)

    horizon = max(ends - at, timedelta(0))
    return (
        *_widened(lambda on: read(_KEYS, at, on), horizon),
        *_widened(lambda on: read(LATER, at + shortest, on), horizon),
    )


def _widened(read: Callable[[timedelta], tuple[Found, ...]], length: timedelta) -> tuple[Found, ...]:
    """What is read over a length of time; over a part of it where the whole would be cut at READ_MOST."""
    found: tuple[Found, ...] = ()
    for part in PARTS:
        wider = read(length / part)
        if len(wider) >= READ_MOST:
            return found or wider
        found = wider
    return found


_KEYS = tuple(key for key in _NOUN if key not in LATER)


def _is_moot(line: DueLine, at: datetime, shop: Shop) -> bool:
    """Whether a missed photo's next one has come."""
    if line.age_days is None:
        return False
    after = min((age for age in shop.photo_ages if age > line.age_days), default=None)
    return after is not None and at >= line.opens + timedelta(days=after - line.age_days)


def state(line: DueLine, at: datetime) -> DueState:
    if at < line.opens:
        return "opens"
    return "open" if at <= line.closes else "slipped"


def _line(job: Job, line: DueLine, at: datetime) -> TodayLine:
    zone = zone_of(job)
    now, opens, closes = (each.astimezone(zone) for each in (at, line.opens, line.closes))
    first, last = line.usual_from.astimezone(zone), line.usual_to.astimezone(zone)
    is_in = state(line, at)
    return TodayLine(
        job=job.handle,
        customer=job.customer.name,
        piece=job.name,
        area=next((area.name for area in job.areas if area.uid == line.area), None),
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
        one_of=len(job.areas),
    )


def _age(line: DueLine, at: datetime) -> str:
    if line.key in ("pour", "reseal") or line.title == LIFT or at < line.anchor:
        return ""
    since = " since the coat" if line.key == "second_coat" else " old"
    return f"{old((at - line.anchor).total_seconds() / 3600).removesuffix(' old')}{since}. "


def _sentence(lines: tuple[TodayLine, ...], at: datetime) -> str:
    """The nearest closing window, and how many there are."""
    opened, slipped = ([line for line in lines if line.state == each] for each in ("open", "slipped"))
    counts = ", ".join(
        f"{len(some)} {word}" for some, word in ((opened, "open"), (slipped, "slipped")) if some
    )
    if opened:
        return f"{_closing(opened[0], at)} {counts}."
    coming = next((line for line in lines if line.state == "opens"), None)
    after = f"Next: {coming.title.lower()}, {coming.who}, {coming.said}." if coming else "Nothing comes soon."
    return f"Nothing is open. {counts}. {after}" if slipped else f"Nothing is due. {after}"


def retold(found: Today, at: datetime) -> Today:
    """The same lines in the same order and groups, their times as they stand at `at`: nothing is read."""
    lines = tuple(replace(line, said=_said(line, at)) for line in found.lines)
    return replace(found, sentence=_sentence(lines, at), lines=lines)


def _said(line: TodayLine, at: datetime) -> str:
    now, opens, closes = at.astimezone(line.opens_at.tzinfo), line.opens_at, line.closes_at
    is_in: DueState = "opens" if now < opens else "open" if now <= closes else "slipped"
    return say.said(is_in, opens, closes, now, "lift" if line.title == LIFT else "")


def _closing(line: TodayLine, at: datetime) -> str:
    noun, verb = _NOUN.get(line.what, (line.title, "closes"))
    rest = line.closes_at - at
    if line.what == "pour_end":
        return "The end of the pour is not logged yet."
    if line.said.startswith("lift"):
        return f"{LIFT[:1]}{line.said[1:]}."
    if line.said == "open all day":
        return f"{line.title} is open all day." if line.what != "joint" else "The joints are open all day."
    if rest < say.DAY:
        return f"{noun} {verb} in {say.span(rest)}."
    return f"{noun} {verb} {say.left(line.closes_at, at.astimezone(line.closes_at.tzinfo)).removeprefix('until ')}."


# acting on a line


def line(services: Services, handle: str, what: str, area: str | None = None, age_days: int | None = None,
         now: datetime | None = None) -> TodayLine:  # fmt: skip
    """The line of a job that is due or to come, whenever. Raises InputError that lists what there is."""
    at = now or services.clock()
    with services.log().reading() as log:
        job = log.job(log.resolve(handle))
        lines = [_line(job, each, at) for each in log.due_of(job.handle)]
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
    cause = f"There is {', '.join(there)}." if there else "Nothing falls due on it."
    return InputError(
        f"{_title(what)} is not due on {handle}.", cause, where="WHAT", example=there[0] if there else ""
    )


def _key(line: TodayLine) -> str:
    return line.what if line.age_days is None else f"{line.what} {line.age_days}"


def offer(services: Services, line: TodayLine) -> Offer:
    """The entry that logs a line, filled in: now, the usual values, the last person. Raises InputError."""
    made = offers.offer(services, line.job, line.kind, line.area)
    return replace(made, values={**made.values, **_of_line(line), "at": "now"})


def _of_line(line: TodayLine) -> dict[str, str]:
    return {"reseal": "yes", "number": "1"} if line.what == "reseal" else {}


def log(services: Services, line: TodayLine, texts: Mapping[str, str] | None = None, *,
        because: str | None = None) -> Recorded:  # fmt: skip
    """Log a line as its offer has it, `texts` laid over it. `record.undo` takes it back. Raises as `record`."""
    values = {**offer(services, line).values, **(texts or {})}
    return record.record(services, line.job, line.kind, values, because=because)


def put_off(services: Services, line: TodayLine, until: datetime, person: str | None = None) -> Recorded:
    """Let a line rest until then. `record.undo` brings it back. Raises InputError for a time that is past."""
    if until <= services.clock():
        raise InputError("It cannot be put off into the past.", where="--until", example="tomorrow 7a")
    if until.year > LAST_YEAR:
        raise InputError(f"Years run to {LAST_YEAR}.", where="--until", example="tomorrow 7a")
    return _said_no(services, line, {"until": until.astimezone(line.opens_at.tzinfo).isoformat(timespec="minutes")},
                    person)  # fmt: skip


def not_for_this_job(services: Services, line: TodayLine, person: str | None = None) -> Recorded:
    """Take a line off this job's list. `record.undo` brings it back."""
    return _said_no(services, line, {}, person)


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
