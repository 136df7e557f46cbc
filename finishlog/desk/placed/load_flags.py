"""Flags loads over the pigment limit or off the other loads; they are kept as logged."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import replace
from zoneinfo import ZoneInfo

from finishlog.desk.placed import placed as placing
from finishlog.records.log import Job
from finishlog.records.placed import AsPlaced, OffLoad
from finishlog.records.shop import Shop

OVER = "The pigment is over 10 % of the cement, or the maker's limit (ASTM C979/C979M §1.4)."


def of_load(job: Job, zone: ZoneInfo, shop: Shop, number: int) -> tuple[str, ...]:
    """What the load of that entry makes of the pour so far."""
    areas = placing.areas(job, zone, shop.off_dose_percent)
    place = [entry.number for entry in job.of_kind("load")].index(number) + 1
    over = [OVER] if any(area.over_limit for area in areas) else []
    return (*over, *_off(areas, place))


def of_sheet(job: Job, zone: ZoneInfo, shop: Shop, numbers: Collection[int]) -> Iterator[tuple[int, str]]:
    """By the numbers of their entries, what the standing ones of these loads make of the whole pour."""
    loads = job.of_kind("load")
    areas = placing.areas(job, zone, shop.off_dose_percent)
    over = {e.number for e in loads if e.number in numbers} if any(a.over_limit for a in areas) else set()
    alone = {e.number for e in loads if e.number in over and _over_alone(replace(job, entries=(e,)), zone)}
    for place, entry in enumerate(loads, start=1):
        if entry.number in (alone or over):
            yield entry.number, OVER
        if entry.number in numbers:
            yield from ((entry.number, what) for what in _off(areas, place))


def _over_alone(job: Job, zone: ZoneInfo) -> bool:
    return any(area.over_limit for area in placing.areas(job, zone))


def _off(areas: Collection[AsPlaced], place: int) -> tuple[str, ...]:
    """How far the load in that place of the job's loads ran off the others of its areas."""
    return tuple(dict.fromkeys(_words(off) for area in areas for off in area.off_loads if off.load == place))


def _words(off: OffLoad) -> str:
    side = "heavy" if off.off_percent > 0 else "light"
    return f"This load ran {abs(float(off.off_percent)):.0f} % {side} in pigment."
