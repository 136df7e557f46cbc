"""When something happened: how well it is known, and on which day at its site.

Of a month or a season its middle stands in order, and has no age in days.
"""

from __future__ import annotations

from datetime import date
from functools import lru_cache
from zoneinfo import ZoneInfo

from finishlog.records.log import Entry, Exactness, Job

ROUGH: tuple[Exactness, ...] = ("month", "season")
NO_HOUR: tuple[Exactness, ...] = ("day", *ROUGH)
NO_DAY = "Poured, date unknown"
"""So begins the note of a job that was poured on a day nobody wrote down."""


def poured_once(job: Job) -> bool:
    """Whether the job was poured, be it on a day that is not known."""
    return bool(job.of_kind("pour", "load")) or (job.note or "").startswith(NO_DAY)


def has_hours(*known: str) -> bool:
    """Whether all of these moments have an hour, so that hours may be counted between them."""
    return not any(exactness in NO_HOUR for exactness in known)


def has_days(*known: str) -> bool:
    """Whether all of these moments have a day, so that days may be counted between them."""
    return not any(exactness in ROUGH for exactness in known)


def zone_of(job: Job) -> ZoneInfo:
    """The zone of the job's site; UTC for a name that this machine does not know."""
    return zone_named(job.site.zone)


@lru_cache(maxsize=256)
def zone_named(name: str) -> ZoneInfo:
    """The zone of that name; UTC where this machine does not know it."""
    try:
        return ZoneInfo(name)
    except (LookupError, ValueError, OSError):
        return ZoneInfo("UTC")


def day_of(job: Job, entry: Entry) -> date:
    """The day at the site on which an entry happened."""
    return entry.happened.astimezone(zone_of(job)).date()
