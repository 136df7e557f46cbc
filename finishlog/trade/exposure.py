"""What a slab is exposed to: how it lies, and what wears its sealer. Told here alone, for care and plan.

Common practice, no source: a pool, salt or traffic shorten the years between reseals (settings). Sun and shade
dull and keep a film too, yet no interval for them is common, so how it lies is said and changes no day.
"""

from __future__ import annotations

from finishlog.records.log import Area, Exposure, Job

_WEARS = {"pool": "a pool", "salt": "in salt", "traffic": "in traffic"}
_LIES = {"sun": "in sun", "part shade": "in part shade", "shade": "in shade", "covered": "under cover"}


def lies(job: Job, area: Area | None) -> Exposure:
    """How an area lies, as it was typed of it, else of its site."""
    own: Exposure = "unknown" if area is None else area.exposure
    return job.site.exposure if own == "unknown" else own


def lies_words(job: Job, area: Area | None) -> str:
    """`in part shade`; empty where nobody said."""
    return _LIES.get(lies(job, area), "")


def harsh(job: Job, area: Area | None) -> str:
    """What wears its sealer, by the last visit that says so: `a pool`, `in salt`; empty where nothing is known to."""
    visits = job.of_kind("visit", area=area.uid if area else None)
    said = [str(entry.facts["harsh"]) for entry in visits if "harsh" in entry.facts]
    return _WEARS.get(said[-1] if said else "", "")
