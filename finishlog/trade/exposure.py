"""A slab's exposure and what wears its sealer; the one source for care and plan.

Common practice, no source: a pool, salt or traffic shorten the years between reseals (settings). Sun and shade
affect a film too, but no interval for them is common, so exposure is shown and changes no date.
"""

from __future__ import annotations

from finishlog.records.log import Area, Exposure, Job

_WEARS = {"pool": "a pool", "salt": "in salt", "traffic": "in traffic"}
_LIES = {"sun": "in sun", "part shade": "in part shade", "shade": "in shade", "covered": "under cover"}


def lies(job: Job, area: Area | None) -> Exposure:
    """The area's exposure, else its site's."""
    own: Exposure = "unknown" if area is None else area.exposure
    return job.site.exposure if own == "unknown" else own


def lies_words(job: Job, area: Area | None) -> str:
    """`in part shade`; empty if not stated."""
    return _LIES.get(lies(job, area), "")


def harsh(job: Job, area: Area | None) -> str:
    """What wears its sealer, per the last visit that noted it: `a pool`, `in salt`; empty if unknown."""
    visits = job.of_kind("visit", area=area.uid if area else None)
    said = [str(entry.facts["harsh"]) for entry in visits if "harsh" in entry.facts]
    return _WEARS.get(said[-1] if said else "", "")
