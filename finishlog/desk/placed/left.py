"""Release left on an area: measured at the final color, else judged by eye at the rinse."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta

from finishlog.color.priors import figures
from finishlog.records.log import Area, Entry, Job
from finishlog.records.when import has_days

SETTLED_DAY = 28
"""Days from which a reading tells how a slab turned out, where the shop's `first_comparable_day` is not at hand."""
BY_EYE_SD_PERCENT = 100 * figures.BY_EYE.one_sd
"""How far off release left is where it was judged by eye: assumed, from memory."""
LEAST_SD_PERCENT = 100 * figures.LEFT_MODEL.one_sd
"""No photo is surer: the model's own error, as of `color.release.rinse`."""


def sure(told_sd: float | None) -> float:
    """The sd of a measured share in percent: never under the model's own error; untold, as judged by eye."""
    return BY_EYE_SD_PERCENT if told_sd is None else max(float(told_sd), LEAST_SD_PERCENT)


def left(
    job: Job, area: Area, end: Entry | None, rinse: Entry | None, settled_day: int
) -> tuple[float | None, bool]:
    """Percent, and whether it was measured: by the surest dry reading of the settled field, surer than the eye.

    `end` is the entry that ended the pour. A kept sample is not the slab: nobody rinses it as the field was rinsed.
    """
    told = (
        list(_told(job, area, end.happened + timedelta(days=settled_day)))
        if end and has_days(end.exactness)
        else []
    )
    if told:
        return min(told, key=lambda each: each[0])[1], True
    judged = rinse.facts.get("release_left_percent") if rinse else None
    return (float(judged), False) if isinstance(judged, int | float) else (None, False)


def _told(job: Job, area: Area, settled: datetime) -> Iterator[tuple[float, float]]:
    """Sd and percent of every such reading, the newest first."""
    for entry in reversed(job.of_kind("reading", area=area.uid)):
        read, left = entry.reading, entry.facts.get("release_left_percent")
        sd = entry.facts.get("release_left_sd_percent")
        if read is None or read.spot != "field" or read.damp or read.sample is not None:
            continue
        if entry.happened < settled or not isinstance(left, int | float) or not isinstance(sd, int | float):
            continue
        if sure(sd) < BY_EYE_SD_PERCENT:
            yield sure(sd), float(left)
