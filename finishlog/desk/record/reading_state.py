"""Asks whether an unlabeled reading was damp or sealed if the log contradicts dry and bare.

Elsewhere a reading counts as dry and bare, and its sentence says so.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from datetime import datetime, timedelta, tzinfo

from finishlog.inputs.asking import Wrong
from finishlog.records.log import Entry, Job
from finishlog.records.writing import NewEntry
from finishlog.units import write_date

DRYING = timedelta(hours=24)
"""So long after a rinse a slab may still be damp: common practice, no source."""


def unsaid(
    new: NewEntry, texts: Mapping[str, str], job: Job, zone: tzinfo, beside: Iterable[NewEntry] = ()
) -> tuple[Wrong, ...]:
    """What of a reading in the field has to be said; nothing of any other entry. `beside`: logged with it."""
    if new.reading is None or new.reading.sample is not None:
        return ()
    said = {key for key in ("damp", "sealed") if texts.get(key, "").strip()}
    return tuple(_unsaid(new, said, job, zone, tuple(beside)))


def coated_before(new: NewEntry, job: Job | None, beside: Iterable[NewEntry] = ()) -> Entry | NewEntry | None:
    """What sealed the area of an entry before it, as far as it was not stripped since."""
    coat = _last(job, new, tuple(beside), "seal", "strip")
    return coat if coat is not None and coat.kind == "seal" else None


def _unsaid(
    new: NewEntry, said: set[str], job: Job, zone: tzinfo, beside: tuple[NewEntry, ...]
) -> Iterator[Wrong]:
    rinse = _last(job, new, beside, "rinse")
    if "damp" not in said and rinse is not None and new.happened - rinse.happened < DRYING:
        yield Wrong(
            "damp", f"It was rinsed on {_day(rinse.happened, zone)}: was the slab damp or dry?", "yes"
        )
    coat = coated_before(new, job, beside)
    if "sealed" not in said and coat is not None:
        yield Wrong(
            "sealed", f"It was sealed on {_day(coat.happened, zone)}: was it read over the sealer?", "yes"
        )


def _last(
    job: Job | None, new: NewEntry, beside: tuple[NewEntry, ...], *kinds: str
) -> Entry | NewEntry | None:
    """The last of these before the reading, on its area or on all."""
    told = [one for one in beside if one.kind in kinds and (one.area is None or one.area == new.area)]
    known: list[Entry | NewEntry] = [*told]
    if job is not None:
        uid = next((area.uid for area in job.areas if area.name == new.area), None)
        known += job.of_kind(*kinds, area=uid)
    before = [entry for entry in known if entry.happened <= new.happened]
    return max(before, key=lambda entry: entry.happened, default=None)


def _day(instant: datetime, zone: tzinfo) -> str:
    return write_date(instant.astimezone(zone).date())
