"""When something happened: how exactly that is known, and the day at its site.

A month or season sorts by its middle and has no age in days.
"""

from __future__ import annotations

from datetime import date
from functools import lru_cache
from zoneinfo import ZoneInfo

from finishlog.records.log import Entry, Exactness, Job

ROUGH: tuple[Exactness, ...] = ("month", "season")
NO_HOUR: tuple[Exactness, ...] = ("day", *ROUGH)
NO_DAY = "Poured, date unknown"
"""Opening words of the note on a job poured on an unrecorded day."""


def poured_once(job: Job) -> bool:
    """Whether the job was poured, even on an unknown day."""
    return bool(job.of_kind("pour", "load")) or (job.note or "").startswith(NO_DAY)


def has_hours(*known: str) -> bool:
    """Whether all these moments have an hour, so that hours between them can be counted."""
    return not any(exactness in NO_HOUR for exactness in known)


def has_days(*known: str) -> bool:
    """Whether all these moments have a day, so that days between them can be counted."""
    return not any(exactness in ROUGH for exactness in known)


def zone_of(job: Job) -> ZoneInfo:
    """The time zone of the job's site; UTC if this machine does not know its name."""
    return zone_named(job.site.zone)


def zone_named(name: str) -> ZoneInfo:
    """The time zone of that name; UTC if this machine does not know it."""
    return _zone(name) or ZoneInfo("UTC")


def is_known(name: str) -> bool:
    """Whether this machine has the time zone of that name."""
    return _zone(name) is not None


@lru_cache(maxsize=256)
def _zone(name: str) -> ZoneInfo | None:
    try:
        return ZoneInfo(name)
    except (LookupError, ValueError, OSError):
        return None


def day_of(job: Job, entry: Entry) -> date:
    """The day at the site on which an entry happened."""
    return entry.happened.astimezone(zone_of(job)).date()
