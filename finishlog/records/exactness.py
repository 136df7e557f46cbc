"""How well a moment is known. Of a month or a season its middle stands in order, and has no age in days."""

from __future__ import annotations

from finishlog.records.log import Exactness, Job

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
