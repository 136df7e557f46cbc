"""The readings of a slab, and the one that stands for it: told here alone, for list, page, sheet and plan."""

from __future__ import annotations

from finishlog.records.log import Entry, Job, Reading


def of_slab(job: Job, spot: str, area: str | None = None) -> tuple[tuple[Entry, Reading], ...]:
    """The readings of a spot of an area (its uid; None: of all), in order; a test slab poured apart is another."""
    apart = job.samples_apart()
    found = ((entry, entry.reading) for entry in job.of_kind("reading", area=area))
    return tuple((e, read) for e, read in found if read and read.spot == spot and read.sample not in apart)


def dry_bare(job: Job, spot: str, area: str | None = None) -> tuple[tuple[Entry, Reading], ...]:
    """Those of them that were dry and bare: wet or sealed, a slab shows another color."""
    return tuple((e, read) for e, read in of_slab(job, spot, area) if not read.damp and not read.sealed)


def stands(job: Job, spot: str, area: str | None = None) -> Entry | None:
    """The newest reading of the spot, a dry and bare one before any other."""
    found = dry_bare(job, spot, area) or of_slab(job, spot, area)
    return found[-1][0] if found else None
