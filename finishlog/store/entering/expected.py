"""The entry that a new one will be, told before it is written, so that what follows from it is made beforehand."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

from finishlog.records.log import Entry
from finishlog.store.entering.held import with_entry
from finishlog.store.schema import typed
from finishlog.store.schema.fold import key
from finishlog.store.schema.kinds import current_params, version_of

if TYPE_CHECKING:
    from finishlog.records.log import Job
    from finishlog.records.shop import Shop
    from finishlog.records.writing import NewEntry

_OF_OTHERS = ("materials", "load", "sample", "files")
"""Details that name more than the entry itself: what they will be is known once they are written."""


@dataclass(frozen=True, slots=True)
class Expected:
    """A job as it will be with a new entry, and what will be kept of it for the list, the search and Today."""

    number: int
    job: Job
    shop: Shop
    rows: list[list[Any]]


def with_new(job: Job, new: NewEntry) -> Job | None:
    """The job with a new entry, but for its uid and when it is logged; None where that cannot be told."""
    if any(getattr(new, part) for part in _OF_OTHERS):
        return None
    areas = {key(area.name): area.uid for area in job.areas}
    if new.area is not None and key(new.area) not in areas:
        return None
    facts, version = current_params(new.kind, typed.facts(new.facts), version_of(new.kind))
    entry = Entry(
        number=1 + max((entry.number for entry in job.history), default=0),
        uid="",
        kind=new.kind,
        happened=new.happened,
        logged=datetime.min.replace(tzinfo=UTC),
        exactness=new.exactness,
        area=None if new.area is None else areas[key(new.area)],
        person=typed.maybe(new.person, "person"),
        note=typed.note(new.note),
        replaces=new.replaces,
        withdrawn=new.withdrawn,
        facts=facts,
        facts_version=version,
        coat=new.coat,
        reading=new.reading,
        approval=new.approval,
        claim=new.claim,
    )
    return with_entry(job, entry)


def is_as_told(job: Job, told: Job) -> bool:
    """Whether a job came to be what `with_new` told."""
    if len(job.history) != len(told.history) or not job.history:
        return False
    last, new = job.history[-1], told.history[-1]
    if replace(last, uid=new.uid, logged=new.logged) != new:
        return False
    entries = tuple(new if entry is last else entry for entry in job.entries)
    return replace(job, history=(*job.history[:-1], new), entries=entries) == told
