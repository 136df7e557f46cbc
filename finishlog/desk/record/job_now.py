"""A job's current state, ready to log or correct an entry."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime, tzinfo
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from finishlog.desk.meanwhile import Meanwhile
from finishlog.errors import InputError
from finishlog.inputs import moments
from finishlog.inputs.entry.entries import Context
from finishlog.records.log import Entry, Job
from finishlog.records.when import zone_of

if TYPE_CHECKING:
    from finishlog.desk.services import Services
    from finishlog.store import Reader


@dataclass(frozen=True, slots=True)
class Stand:
    """A job as it stands, ready for entries: what reading and looking need."""

    job: Job
    zone: ZoneInfo
    context: Context
    names: Mapping[str, str]
    """Areas' names by uid."""


def stand(log: Reader, services: Services, handle: str) -> Stand:
    """The job of that handle, or of that beginning of one. Raises InputError."""
    return stand_of(services, log.job(log.resolve(handle)))


def stand_of(services: Services, job: Job) -> Stand:
    """A job that was read, ready for entries."""
    zone = zone_of(job)
    areas = tuple(area.name for area in job.areas)
    context = Context(services.clock(), zone, areas, load_numbers(job), home=services.zone)
    return Stand(job, zone, context, {area.uid: area.name for area in job.areas})


def load_numbers(job: Job) -> tuple[int, ...]:
    """Numbers of the entries of the standing loads, in order of happening."""
    return tuple(entry.number for entry in job.of_kind("load"))


def of_entry(old: Entry, now: Stand) -> Context:
    """The context of a correction: a time without a day is of the entry's own day."""
    return replace(now.context, whole_job=True, day=old.happened.astimezone(now.zone).date())


def as_meant(text: str, since: datetime, zone: tzinfo) -> str:
    """A time as it was meant when it was typed: yesterday's `2h ago` is not `2h ago` now. What is none stays."""
    if not text.strip():
        return text
    try:
        meant = moments.read_moment(text, since, zone)
    except InputError:
        return text
    return moments.text_of(meant.instant, meant.exactness, zone)


def standing(job: Job, number: int) -> Entry:
    """The entry of that number, if it may be corrected. Raises InputError that says why not."""
    found = next((entry for entry in job.history if entry.number == number), None)
    if found is None:
        has = f"It has entries 1 to {len(job.history)}." if job.history else "It has none yet."
        raise InputError(f"{job.handle} has no entry {number}.", has, where="ENTRY",
                         example=f"the number from finishlog show {job.handle}")  # fmt: skip
    by = next((entry.number for entry in job.history if entry.replaces == number), None)
    if by is not None:
        raise Meanwhile(f"Entry {number} was already replaced by entry {by}.", where="ENTRY", example=str(by))
    if found.withdrawn:
        raise InputError(f"Entry {number} only undid another.", "Log it again.", where="ENTRY")
    return found
