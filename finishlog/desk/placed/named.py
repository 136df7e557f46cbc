"""An area of a job by its name."""

from __future__ import annotations

from finishlog.errors import InputError
from finishlog.records.log import Area, Job


def area_of(job: Job, name: str | None) -> Area | None:
    """The area of that name; None: all of them. Raises InputError that lists the job's areas."""
    if name is None:
        return job.areas[0] if len(job.areas) == 1 else None
    wanted = _folded(name)
    found = next((area for area in job.areas if _folded(area.name) == wanted), None)
    if found is None:
        has = f"It has {', '.join(area.name for area in job.areas)}." if job.areas else "It has no area yet."
        raise InputError(f"The job has no area “{name[:40]}”.", has, where="--area",
                         example=job.areas[0].name if job.areas else "")  # fmt: skip
    return found


def _folded(name: str) -> str:
    return " ".join(name.casefold().split())
