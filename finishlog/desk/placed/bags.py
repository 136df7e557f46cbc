"""Overlays and repairs as placed: bags, their water, and the pigment to the bag."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction

from finishlog.records.log import Area, Entry, Job, MaterialUse
from finishlog.records.placed import BagMix, BagPigment
from finishlog.units import POUNDS_IN, exact

MIXES = ("overlay mix", "repair mix")


def pounds_of(use: MaterialUse) -> Fraction | None:
    """What was used, in pounds; None where it was not weighed."""
    factor = POUNDS_IN.get(use.unit)
    return None if use.amount is None or factor is None else exact(use.amount) * factor


def bag_mix(job: Job, area: Area) -> BagMix | None:
    """All bags that were mixed for an area together; None where none was logged."""
    entries = job.of_kind("bag_mix", area=area.uid)
    if not entries:
        return None
    bags = _whole(_bags(entry) for entry in entries)
    uses = [use for entry in entries for use in entry.materials]
    mixes = [use for use in uses if use.product.kind in MIXES]
    waters = {entry.facts.get("water_per_bag_gal") for entry in entries}
    water = waters.pop() if len(waters) == 1 else None
    return BagMix(
        bags=bags,
        product=" + ".join(dict.fromkeys(use.product.name for use in mixes)) or None,
        maker=_only(use.product.maker for use in mixes),
        lots=lots_of(mixes),
        water_per_bag_gal=float(water) if isinstance(water, int | float) else None,
        pigments=tuple(_pigments([use for use in uses if use.product.kind == "pigment"], bags)),
    )


def _bags(entry: Entry) -> Fraction | None:
    """The number of bags that an entry says, else that its mix was counted in."""
    told = entry.facts.get("bags")
    if isinstance(told, int | float):
        return exact(told)
    return _whole(
        exact(use.amount) if use.amount is not None and use.unit == "bag" else None
        for use in entry.materials
        if use.product.kind in MIXES
    )


def _pigments(uses: list[MaterialUse], bags: Fraction | None) -> Iterable[BagPigment]:
    for uid in dict.fromkeys(use.product.uid for use in uses):
        own = [use for use in uses if use.product.uid == uid]
        pounds = _whole(pounds_of(use) for use in own)
        per_bag = pounds / bags if pounds is not None and bags else None
        yield BagPigment(own[0].product.name, own[0].product.maker, lots_of(own), pounds, per_bag)


def _whole(parts: Iterable[Fraction | None]) -> Fraction | None:
    """The sum; unknown where a part is, or where there is none."""
    some = list(parts)
    known = [part for part in some if part is not None]
    return sum(known, Fraction(0)) if known and len(known) == len(some) else None


def _only(names: Iterable[str | None]) -> str | None:
    some = set(names)
    return some.pop() if len(some) == 1 else None


def lots_of(uses: Iterable[MaterialUse]) -> tuple[str, ...]:
    """Each lot once, in the order used."""
    return tuple(dict.fromkeys(use.lot for use in uses if use.lot))
