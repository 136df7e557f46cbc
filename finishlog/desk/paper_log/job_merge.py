"""A further row of a job: what it adds to job and areas, and where it differs."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import fields, replace
from typing import TypeVar

from finishlog.records.log import Area, Buried, Job
from finishlog.records.writing import NewArea, NewBuried, NewCustomer, NewJob, NewSite
from finishlog.store.schema.fold import key as fold
from finishlog.units import shown

Part = TypeVar("Part", NewCustomer, NewSite, NewArea)
_UNSAID = (None, "unknown")


def otherwise(job: NewJob, new: NewJob) -> tuple[str, str] | None:
    """The first column in which a row tells another job than an earlier row, with the earlier value."""
    pairs = (
        ("phone", job.customer.phone, new.customer.phone),
        ("email", job.customer.email, new.customer.email),
        ("town", job.site.town, new.site.town),
    )
    return next(((column, shown(a)) for column, a, b in pairs if a and b and fold(a) != fold(b)), None)


def not_taken(job: Job, new: NewJob) -> Iterator[tuple[str, str]]:
    """What a row tells of a job of the log that an import does not change there."""
    pairs = (
        ("phone", job.customer.phone, new.customer.phone),
        ("email", job.customer.email, new.customer.email),
        ("town", job.site.town, new.site.town),
    )
    for column, there, told in pairs:
        if told and fold(told) != fold(there or ""):
            yield (
                column,
                f"Not taken: the log has {shown(there) if there else 'none'} for this job; change it there.",
            )


def merged(job: NewJob, new: NewJob) -> NewJob:
    """The job with what a further row adds; its areas are not touched."""
    return replace(
        job,
        customer=_filled(job.customer, new.customer),
        site=_filled(job.site, new.site),
        buried=(*job.buried, *further_buried(job.buried, new.buried)),
    )


def further_buried(there: Sequence[Buried | NewBuried], new: Iterable[NewBuried]) -> list[NewBuried]:
    """The buried items that are not there yet."""
    known = {(fold(item.what), fold(item.where or ""), item.depth_in) for item in there}
    return [item for item in new if (fold(item.what), fold(item.where or ""), item.depth_in) not in known]


def other_area(there: Area | NewArea, new: NewArea) -> str:
    """The column in which a row contradicts the area it names, or ""."""
    pairs = (
        ("area_ft2", there.area_ft2, new.area_ft2),
        ("depth", there.depth_in, new.depth_in),
        ("edge_yd3", there.edge_yd3, new.edge_yd3),
    )
    return next((column for column, a, b in pairs if a is not None and b is not None and a != b), "")


def with_area(areas: Sequence[NewArea], new: NewArea) -> tuple[NewArea, ...]:
    """The areas with a further one; one of the same name is only filled in."""
    if any(fold(area.name) == fold(new.name) for area in areas):
        return tuple(_filled(area, new) if fold(area.name) == fold(new.name) else area for area in areas)
    return (*areas, new)


def _filled(part: Part, new: Part) -> Part:
    """The first, with what it does not say taken from the second."""
    unsaid = [f.name for f in fields(part) if getattr(part, f.name) in _UNSAID]
    return replace(part, **{name: getattr(new, name) for name in unsaid})
