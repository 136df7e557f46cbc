"""The coats of sealer of an area as they went on, each with its spread."""

from __future__ import annotations

from datetime import date
from fractions import Fraction
from zoneinfo import ZoneInfo

from finishlog.desk import placed_shares
from finishlog.records.log import Area, Entry, Job
from finishlog.records.plan import PlacedCoat
from finishlog.units import GALLONS_IN, exact


def coats(job: Job, area: Area, poured: date | None, zone: ZoneInfo) -> tuple[PlacedCoat, ...]:
    """In order; `poured` is the day the pour ended."""
    return tuple(_coat(job, area, entry, poured, zone) for entry in job.of_kind("seal", area=area.uid))


def _coat(job: Job, area: Area, entry: Entry, poured: date | None, zone: ZoneInfo) -> PlacedCoat:
    product = entry.materials[0].product if entry.materials else None
    chemistry = entry.facts.get("chemistry")
    on = entry.happened.astimezone(zone).date()
    gallons = _gallons(entry)
    told = exact(entry.coat.area_ft2) if entry.coat and entry.coat.area_ft2 else None
    covered = told or placed_shares.surface_of(job, entry)
    share = placed_shares.share_of(area, placed_shares.surface_areas(job, entry), placed_shares.surface_ft2)
    return PlacedCoat(
        number=entry.coat.number if entry.coat else None,
        on=on,
        product=product.name if product else None,
        maker=product.maker if product else None,
        chemistry=(product.chemistry if product else None) or (None if chemistry is None else str(chemistry)),
        reseal=entry.coat.reseal if entry.coat else False,
        age_days=(on - poured).days if poured else None,
        ft2_per_gal=float(covered / gallons) if covered and gallons else None,
        solids_percent=product.solids_percent if product else None,
        gal=float(gallons * share) if gallons and share is not None else None,
    )


def _gallons(entry: Entry) -> Fraction | None:
    """Gallons of sealer together; None where one part of it was not measured, or none was."""
    uses = [use for use in entry.materials if use.product.kind == "sealer"] or list(entry.materials[:1])
    amounts = [
        exact(use.amount) * GALLONS_IN[use.unit] for use in uses if use.amount and use.unit in GALLONS_IN
    ]
    return sum(amounts, Fraction(0)) if amounts and len(amounts) == len(uses) else None
