"""The coats of sealer of an area as they went on, each with its spread."""

from __future__ import annotations

from datetime import date
from zoneinfo import ZoneInfo

from finishlog.desk.placed import shares
from finishlog.records.log import Area, Entry, Job
from finishlog.records.placed import PlacedCoat
from finishlog.records.when import ROUGH, has_days
from finishlog.units import RoughDay


def coats(job: Job, area: Area, poured: date | None, zone: ZoneInfo) -> tuple[PlacedCoat, ...]:
    """In order; `poured` is the day the pour ended."""
    return tuple(_coat(job, area, entry, poured, zone) for entry in job.of_kind("seal", area=area.uid))


def _coat(job: Job, area: Area, entry: Entry, poured: date | None, zone: ZoneInfo) -> PlacedCoat:
    product = entry.materials[0].product if entry.materials else None
    chemistry = entry.facts.get("chemistry")
    on = entry.happened.astimezone(zone).date()
    if entry.exactness in ROUGH:
        on = RoughDay.of(on.year, on.month, "month" if entry.exactness == "month" else "season")
    gallons, coverage = shares.used_gal(entry), shares.rate(job, entry)
    there = shares.surface_areas(job, entry.kind, entry.area)
    share = shares.share_of(area, there, shares.surface_ft2)
    return PlacedCoat(
        number=entry.coat.number if entry.coat else None,
        on=on,
        product=product.name if product else None,
        maker=product.maker if product else None,
        chemistry=(product.chemistry if product else None) or (None if chemistry is None else str(chemistry)),
        reseal=entry.coat.reseal if entry.coat else False,
        age_days=(on - poured).days if poured and has_days(entry.exactness) else None,
        ft2_per_gal=None if coverage is None else float(coverage),
        solids_percent=product.solids_percent if product else None,
        gal=float(gallons * share) if gallons and share is not None else None,
    )
