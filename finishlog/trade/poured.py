"""When and where concrete was placed. Every age counts from the end of the pour, defined only here.

The end of an area's pour is the last `pour` logged for it or for the whole job (`ends`); without one, ages
count from its last load or bag (`zero`), but color forecasts need a logged end. An area poured in sections is
as old as the last of them, a job as its main area. An entry follows the last end it may have come after, else
the first (`followed`). `exactness` says whether hours or days can be counted from an entry.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, datetime, timedelta
from typing import Protocol, TypeVar
from zoneinfo import ZoneInfo

from finishlog.records.log import Area, Entry, Exactness, Job, main_first
from finishlog.records.when import day_of, has_days, has_hours, zone_of
from finishlog.units import rough_span

END = "pour"
PLACED = ("load", "bag_mix")
ABOUT = timedelta(hours=1)
"""Possible error of a moment logged as "about" (ours)."""
ONE_POUR = timedelta(hours=14)
"""Loads closer than this belong to one day's pour (ours)."""


class Moment(Protocol):
    """Anything with a time and its exactness."""

    @property
    def happened(self) -> datetime:
        """Aware, in UTC."""

    @property
    def exactness(self) -> Exactness:
        """How well `happened` is known."""


M = TypeVar("M", bound=Moment)


def ends(job: Job, area: str | None = None) -> tuple[Entry, ...]:
    """Logged pour ends of an area (by uid; None: of all), in order."""
    return job.of_kind(END, area=area)


def placed(job: Job, area: str | None = None) -> tuple[Entry, ...]:
    """Loads and bags placed in an area (by uid; None: any), in order."""
    return tuple(
        entry for entry in job.of_kind(*PLACED)
        if area is None or (area in load_uids(job, entry) if entry.kind == "load" else entry.area in (None, area))
    )  # fmt: skip


def zero(job: Job, area: str | None = None) -> Entry | None:
    """Start of an area's age (by uid; None: any): its last end, else its last load or bag."""
    return next(iter(reversed(ends(job, area) or placed(job, area))), None)


def zero_of_job(job: Job) -> Entry | None:
    """Start of a job's age: the zero of its field or largest area; of any area if that was not poured."""
    main = next(iter(main_first(job.areas)), None)
    return zero(job, main.uid if main else None) or zero(job)


def standing(job: Job, until: datetime, without: int | None = None) -> Job:
    """The job as of `until`, ignoring entry number `without`."""
    return replace(job, entries=tuple(e for e in job.entries if e.happened <= until and e.number != without))


def followed(found: Sequence[M], moment: Moment, zone: ZoneInfo) -> M | None:
    """The item (in time order) that a moment follows: the last it may have come after, else the first."""
    before = [each for each in found if not is_before(moment, each, zone)]
    return before[-1] if before else next(iter(found), None)


def ended(job: Job, area: str | None = None) -> Entry | None:
    """The last logged end with a known day."""
    return next(iter(reversed(_known(job, area))), None)


def end_before(job: Job, entry: Entry) -> Entry | None:
    """The logged end with a known day that an entry follows."""
    return followed(_known(job, entry.area), entry, zone_of(job))


def day_before(job: Job, entry: Entry) -> date | None:
    """The site's day of the pour an entry belongs to: its own or the last before it, else the first.

    None if either day is unknown. Without a logged end, loads and bags give the day.
    """
    of_pours = _known(job, entry.area) or [e for e in placed(job, entry.area) if has_days(e.exactness)]
    days = [day_of(job, each) for each in of_pours] if has_days(entry.exactness) else []
    before = [day for day in days if day <= day_of(job, entry)]
    return before[-1] if before else next(iter(days), None)


def _known(job: Job, area: str | None) -> list[Entry]:
    return [end for end in ends(job, area) if has_days(end.exactness)]


def is_before(moment: Moment, other: Moment, zone: ZoneInfo) -> bool:
    """Whether it certainly came before the other; compares days if either has no hour."""
    if not has_hours(moment.exactness, other.exactness):
        last = rough_span(moment.happened.astimezone(zone).date(), moment.exactness)[1]
        return last < rough_span(other.happened.astimezone(zone).date(), other.exactness)[0]
    slack = ABOUT if "about" in (moment.exactness, other.exactness) else timedelta(0)
    return moment.happened < other.happened - slack


# where a load went


def load_areas(job: Job, entry: Entry) -> tuple[Area, ...]:
    """Areas a load served: those it names, else every area trucks filled that day."""
    named = _named(entry)
    if named:
        return tuple(area for area in job.areas if area.uid in named)
    bags = {each.area for each in job.of_kind("bag_mix")}
    of_trucks = [area for area in job.areas if area.kind != "overlay" and area.uid not in bags]
    elsewhere = _of_other_days(job, entry)
    today = [area for area in of_trucks if area.uid not in elsewhere]
    return tuple(today or of_trucks or job.areas)


def load_uids(job: Job, entry: Entry) -> frozenset[str]:
    """Like `load_areas`, as uids."""
    return frozenset(area.uid for area in load_areas(job, entry))


def _named(entry: Entry) -> set[str]:
    split = {uid for uid, _ in entry.load.areas} if entry.load else set()
    return split or ({entry.area} if entry.area else set())


def _of_other_days(job: Job, entry: Entry) -> set[str]:
    """Areas named only by loads of another day."""
    near: set[str] = set()
    far: set[str] = set()
    for other in job.of_kind("load"):
        (near if abs(other.happened - entry.happened) < ONE_POUR else far).update(_named(other))
    return far - near
