"""The sample of the new lot and cement: named in the plan, or poured under the planned job that shall match."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from finishlog.desk.match_gate import Gated
from finishlog.errors import InputError
from finishlog.records.log import Entry, Job
from finishlog.records.plan import Plan, PlanRequest

if TYPE_CHECKING:
    from finishlog.desk.services import Services
    from finishlog.records.answers import LearningRow
    from finishlog.store import Reader

EXAMPLE = "--sample 12"


@dataclass(frozen=True, slots=True)
class Poured:
    """A sample of a job, with its readings of any spot."""

    entry: Entry
    rows: tuple[LearningRow, ...]

    @property
    def number(self) -> int:
        assert self.entry.sample is not None
        return self.entry.sample.number


def with_sample(services: Services, plan: Plan, gated: Gated) -> Gated:
    """The gate with the sample that may open it. Raises InputError for a named one that cannot."""
    with services.log().reading() as log:
        rows = [row for row in log.learning_rows() if row.reading.sample is not None]
        found = _named(log, rows, plan.request) if plan.request.sample else _planned(log, rows, plan)
    if found is None:
        return gated
    against = _against(found.entry, plan.request)
    if against:
        return replace(gated, notes=(*gated.notes, against))
    return replace(gated, sample=found.number, sample_rows=found.rows, notes=(*gated.notes, *_notes(found)))


def _named(log: Reader, rows: Sequence[LearningRow], request: PlanRequest) -> Poured:
    number = request.sample
    jobs = dict.fromkeys(row.job for row in rows if row.reading.sample == number)
    for handle in jobs:
        if (entry := _entry(log.job(handle), number)) is not None:
            if entry.sample is not None and entry.sample.load is not None:
                raise InputError(
                    f"Sample {number} was poured with a load of {handle}.",
                    "Only one of the new lot and cement tells of the new slab.",
                    where="--sample", example=EXAMPLE,
                )  # fmt: skip
            return Poured(entry, tuple(row for row in rows if row.reading.sample == number))
    raise InputError(
        f"No reading of a sample {number} was logged.", "Read it first, dry and bare.",
        where="--sample", example=EXAMPLE,
    )  # fmt: skip


def _planned(log: Reader, rows: Sequence[LearningRow], plan: Plan) -> Poured | None:
    """The newest sample, poured apart and read, of a planned job that is to match this one."""
    for handle in dict.fromkeys(row.job for row in reversed(rows) if row.apart):
        job = log.job(handle)
        if job.state == "planned" and job.reference == plan.reference_job.handle:
            numbers = [row.reading.sample for row in rows if row.job == handle and row.apart]
            newest = max(number for number in numbers if number is not None)
            if (entry := _entry(job, newest)) is not None:
                return Poured(entry, tuple(row for row in rows if row.reading.sample == newest))
    return None


def _entry(job: Job, number: int | None) -> Entry | None:
    return next((e for e in job.of_kind("sample") if e.sample and e.sample.number == number), None)


def _against(entry: Entry, request: PlanRequest) -> str:
    """Why the sample is not of the concrete that the plan states; empty where nothing says so."""
    sample = entry.sample
    assert sample is not None
    name = f"Sample {sample.number}"
    if request.cement_kind and sample.cement and sample.cement.casefold() != request.cement_kind.casefold():
        return f"{name} is of {sample.cement}, the plan of {request.cement_kind}: it tells nothing of the new slab."
    lots = {use.lot.casefold() for use in entry.materials if use.lot}
    if lots and request.lots and not lots & {lot.casefold() for lot in request.lots}:
        return f"{name} is of lot {', '.join(sorted(lots))}, not of the plan's: it tells nothing of the new slab."
    return ""


def _notes(found: Poured) -> tuple[str, ...]:
    sample = found.entry.sample
    assert sample is not None
    notes = [f"Sample {found.number} stands for the new slab: what comes must be of its lot and cement."]
    if sample.doses:
        doses = " + ".join(f"{percent:g} % {product.name}" for product, percent in sample.doses)
        notes.append(f"It was poured with {doses} of cementitious: the odds are of that dose, so weigh that.")
    return tuple(notes)
