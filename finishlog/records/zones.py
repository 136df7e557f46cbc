"""The zone of a site: the one place where its name becomes a zone, and an instant a day at the site."""

from __future__ import annotations

from datetime import date
from functools import lru_cache
from zoneinfo import ZoneInfo

from finishlog.records.log import Entry, Job


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
