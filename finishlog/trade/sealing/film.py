"""The dry film on a slab, from its coats since the last strip: an estimate (MIL-HDBK-1110 §9.6.8)."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, tzinfo
from fractions import Fraction

from finishlog.records.care import FilmNow
from finishlog.records.log import Area, Entry, Job, MaterialUse
from finishlog.records.shop import Shop
from finishlog.trade.sealing.chemistry import of_coat
from finishlog.trade.sealing.sealer import dry_mil
from finishlog.units import GALLONS_IN, exact


@dataclass
class _Count:
    mil: Fraction = Fraction(0)
    coats: int = 0
    unknown: int = 0
    at_least: bool = False
    since: date | None = None


def film_now(job: Job, area: Area | None, shop: Shop, zone: tzinfo) -> FilmNow:
    """The film on an area (or a job without areas) from its entries. A bare slab has 0 mil."""
    count = _Count()
    for entry in job.of_kind("seal", "strip", "visit", "care", area=area.uid if area else None):
        _counted(count, entry, job, area, entry.happened.astimezone(zone).date())
    known = count.mil if count.mil or not count.unknown else None
    at_least = count.at_least or count.unknown > 0
    over = known is not None and known > shop.film_alarm_mil
    return FilmNow(known, at_least, count.coats, count.unknown, count.since, over)


def _counted(count: _Count, entry: Entry, job: Job, area: Area | None, day: date) -> None:
    if entry.kind == "seal" or entry.facts.get("state") == "done":
        mil = coat_mil(entry, job, area)
        count.coats += 1
        count.mil += mil or 0
        count.unknown += mil is None
    elif entry.kind == "strip" and entry.facts.get("extent") != "small_patch":
        if entry.facts.get("how") != "washed":
            stripped = entry.facts.get("how") == "stripped"
            _begin(count, day, Fraction(0), at_least=not stripped)
    elif entry.kind == "visit" and isinstance(measured := entry.facts.get("film_mil"), int | float):
        _begin(count, day, exact(measured), at_least=False)


def _begin(count: _Count, day: date, mil: Fraction, *, at_least: bool) -> None:
    count.mil, count.coats, count.unknown, count.at_least, count.since = mil, 0, 0, at_least, day


def coat_mil(entry: Entry, job: Job, area: Area | None) -> Fraction | None:
    """Dry film of one coat in mil; None if gallons, surface or solids are unknown.

    A penetrating sealer leaves none.
    """
    sealers = [use for use in entry.materials if use.product.kind == "sealer"]
    if of_coat(entry, sealers) == "penetrating":
        return Fraction(0)
    gallons, surface, solids = _gallons(sealers), _surface(entry, job, area), _solids(entry, sealers)
    if not (gallons and surface and solids):
        return None
    return dry_mil(surface / gallons, solids)


def _gallons(sealers: list[MaterialUse]) -> Fraction | None:
    amounts = [
        exact(use.amount) * GALLONS_IN[use.unit] for use in sealers if use.amount and use.unit in GALLONS_IN
    ]
    return sum(amounts, Fraction(0)) if amounts and len(amounts) == len(sealers) else None


def _surface(entry: Entry, job: Job, area: Area | None) -> Fraction | None:
    """The coat's own surface, else that of its area or of all areas together."""
    if entry.coat is not None and entry.coat.area_ft2:
        return exact(entry.coat.area_ft2)
    areas = [each for each in job.areas if entry.area in (None, each.uid)]
    sizes = [each.area_ft2 for each in areas] or ([area.area_ft2] if area else [])
    return sum((exact(size) for size in sizes if size), Fraction(0)) if sizes and all(sizes) else None


def _solids(entry: Entry, sealers: list[MaterialUse]) -> Fraction | None:
    told = list(_told_solids(entry, sealers))
    return told[0] if told else None


def _told_solids(entry: Entry, sealers: list[MaterialUse]) -> Iterator[Fraction]:
    fact = entry.facts.get("solids_percent")
    if isinstance(fact, int | float):
        yield exact(fact)
    for use in sealers:
        if use.product.solids_percent is not None:
            yield exact(use.product.solids_percent)
