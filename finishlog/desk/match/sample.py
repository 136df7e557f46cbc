"""The sample of the new lot and cement: named in the plan, or poured under the planned matching job."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from finishlog.color.aging import cure, promise
from finishlog.desk.color import learned as learning
from finishlog.desk.match.gate import Gated
from finishlog.errors import InputError
from finishlog.records.log import Entry, Job
from finishlog.records.plan import DoseBySample, PlanRequest

if TYPE_CHECKING:
    from finishlog.color.aging.cure import Floats
    from finishlog.desk.color.learned import Sorted, State
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
        """Counted over the whole shop, not within the job."""
        assert self.entry.sample is not None
        return self.entry.sample.number


def with_sample(
    services: Services, request: PlanRequest, reference: str, dosed: DoseBySample | None, gated: Gated
) -> Gated:
    """The gate with the sample that may open it. Raises InputError for a named one that cannot."""
    found = of_request(services, request, reference)
    if found is None:
        return gated
    against = _against(found.entry, request)
    if against:
        return replace(gated, notes=(*gated.notes, against))
    shift = dosed.shift_lab if dosed else None
    notes = (*gated.notes, *_notes(found, told=shift is not None))
    return replace(gated, sample=found.number, sample_rows=found.rows, shift=shift, notes=notes)


def of_request(services: Services, request: PlanRequest, reference: str) -> Poured | None:
    """The sample named, or the newest of the job planned to match the reference. Raises InputError."""
    with services.log().reading() as log:
        rows = list(log.sample_rows())
        return _named(log, rows, request) if request.sample else _planned(log, rows, reference)


def usable(services: Services, request: PlanRequest, reference: str) -> Poured | None:
    """That sample where nothing says that it is of other concrete."""
    found = of_request(services, request, reference)
    return None if found is None or _against(found.entry, request) else found


def color(
    state: State, recipe: str | None, number: int | None, rows: Sequence[LearningRow], spot: str
) -> tuple[Floats, Floats] | None:
    """The settled color (3,) and covariance (3, 3) of a sample; None where it was not read there, dry and bare."""
    own = [
        replace(row, apart=False, reading=replace(row.reading, sample=None))
        for row in rows
        if row.reading.spot == spot
    ]
    return settled(state, recipe, f"sample {number}", learning.sort(own))


def settled(state: State, recipe: str | None, key: str, held: Sorted) -> tuple[Floats, Floats] | None:
    """What dry, bare readings of a slab tell of its settled color, with covariance; None where there are none."""
    if held.curve:
        return promise.settled(state.learned, recipe, key, held.track())
    if held.late:
        _, lab, variance = held.late_arrays()
        return lab.mean(axis=0), np.diag(variance.mean(axis=0) / len(lab) + cure.CURVE_SD**2)
    return None


def _named(log: Reader, rows: Sequence[LearningRow], request: PlanRequest) -> Poured:
    number = request.sample
    jobs = dict.fromkeys(row.job for row in rows if row.reading.sample == number)
    for handle in jobs:
        if (entry := _entry(log.job(handle), number)) is not None:
            if entry.sample is not None and entry.sample.load is not None:
                raise InputError(
                    f"Sample {number} was poured with a load of {handle}.",
                    "Use a sample of the new lot and cement.",
                    where="--sample", example=EXAMPLE,
                )  # fmt: skip
            return Poured(entry, tuple(row for row in rows if row.reading.sample == number))
    raise InputError(
        f"No reading of a sample {number} is logged.", "Read it first, dry and bare.",
        where="--sample", example=EXAMPLE,
    )  # fmt: skip


def _planned(log: Reader, rows: Sequence[LearningRow], reference: str) -> Poured | None:
    """The newest sample, poured apart and read, of a planned job that is to match this one."""
    for handle in dict.fromkeys(row.job for row in reversed(rows) if row.apart):
        job = log.job(handle)
        if job.state == "planned" and job.reference == reference:
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
        return (
            f"{name} has {sample.cement}, the plan {request.cement_kind}: it says nothing about the new slab."
        )
    lots = {use.lot.casefold() for use in entry.materials if use.lot}
    if lots and request.lots and not lots & {lot.casefold() for lot in request.lots}:
        return f"{name} is lot {', '.join(sorted(lots))}, not the plan's: it says nothing about the new slab."
    return ""


def _notes(found: Poured, *, told: bool) -> tuple[str, ...]:
    sample = found.entry.sample
    assert sample is not None
    notes = [f"Sample {found.number} stands in for the new slab: deliver the same lot and cement."]
    if sample.doses:
        doses = " + ".join(f"{percent:g} % {product.name}" for product, percent in sample.doses)
        tail = "the odds are for the plan's dose" if told else "the odds are for that dose, so weigh that"
        notes.append(f"It was poured with {doses} of cementitious: {tail}.")
    return tuple(notes)
