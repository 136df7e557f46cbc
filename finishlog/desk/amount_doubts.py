"""Amounts that are far from anything usual: a slip of the key more likely than a fact. Asked, and allowed.

How far is far is common practice, no source; what is usual are the shop's settings.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from finishlog.records.log import Area, Job
from finishlog.records.shop import Shop
from finishlog.records.writing import NewEntry
from finishlog.trade.events import DOSE
from finishlog.units import GALLONS_IN, POUNDS_IN, exact, write_number

FAR = 10
"""Times the usual amount of a powder, a pigment or a liquid release."""
APART = Fraction(3, 100)
"""Share of a dose by which pounds and pounds to the yard may differ: rounding on a ticket."""
FAR_COAT = 5
"""Times the usual coverage of a coat, or that part of it."""


def doubts(new: NewEntry, job: Job, shop: Shop) -> Iterator[str]:
    """What is far from usual of a coat, a powder, a liquid release or the pigment of a load, in sentences."""
    if new.kind == "seal":
        yield from _coat(new, job, shop)
    elif new.kind == "powder_release":
        yield from _spread(new, job, "powder release", shop.release_lb_per_100ft2)
    elif new.kind == "color_hardener":
        yield from _spread(new, job, "color hardener", shop.hardener_lb_per_100ft2)
    elif new.kind == "liquid_release":
        yield from _liquid(new, job, shop)
    elif new.kind == "load":
        yield from _pigment(new, shop)


def _coat(new: NewEntry, job: Job, shop: Shop) -> Iterator[str]:
    gallons = _used(new, "sealer", GALLONS_IN)
    told = exact(new.coat.area_ft2) if new.coat and new.coat.area_ft2 else None
    surface = told or _surface(job, new.area)
    if not gallons or not surface:
        return
    coverage, low, high = surface / gallons, *sorted((shop.coat_1_ft2_per_gal, shop.coat_2_ft2_per_gal))
    thin = told is not None and coverage > high * FAR_COAT  # a touch-up seldom says its surface
    if coverage < low / FAR_COAT or thin:
        usual = f"{write_number(low)} to {write_number(high)} ft²/gal"
        yield f"{_n(gallons)} gal of sealer on {_n(surface)} ft²: a coat usually is {usual}."


def _spread(new: NewEntry, job: Job, kind: str, usual: Fraction) -> Iterator[str]:
    rate, pounds = new.facts.get("lb_per_100ft2"), _used(new, kind, POUNDS_IN)
    surface = _surface(job, new.area)
    said = f"usually it is {write_number(usual)} lb/100 ft²."
    if pounds and surface and pounds / surface * 100 > usual * FAR:
        yield f"{_n(pounds)} lb of {kind} on {_n(surface)} ft²: {said}"
    elif isinstance(rate, int | float) and exact(rate) > usual * FAR:
        yield f"{write_number(rate)} lb/100 ft² of {kind}: {said}"


def _liquid(new: NewEntry, job: Job, shop: Shop) -> Iterator[str]:
    gallons, surface = _used(new, "liquid release", GALLONS_IN), _surface(job, new.area)
    usual = shop.liquid_release_ft2_per_gal
    if gallons and surface and surface / gallons < usual / FAR:
        said = f"usually it is {write_number(usual)} ft²/gal."
        yield f"{_n(gallons)} gal of liquid release on {_n(surface)} ft²: {said}"


def _pigment(new: NewEntry, shop: Shop) -> Iterator[str]:
    """Of a load whose yards are not known it is asked what a full truck would hold."""
    pounds = _used(new, "pigment", POUNDS_IN)
    yards = exact(new.load.yards) if new.load and new.load.yards else None
    usual = shop.cementitious_lb_per_yd3 * shop.color_percent / 100
    yield from _two_doses(new, pounds, yards)
    if pounds > usual * FAR * (yards or shop.truck_yd3):
        where = f"in {_n(yards)} yd³" if yards else "in a load"
        yield f"{_n(pounds)} lb of pigment {where}: usually it is about {_n(usual)} lb/yd³."


def _two_doses(new: NewEntry, pounds: Fraction, yards: Fraction | None) -> Iterator[str]:
    """Pounds to the yard and pounds that do not fit each other: one of them is a slip."""
    told = new.facts.get(DOSE)
    if not isinstance(told, int | float) or not pounds or not yards:
        return
    dose = pounds / yards
    if abs(dose - exact(told)) > exact(told) * APART:
        yield (f"{_n(pounds)} lb of pigment in {_n(yards)} yd³ are {write_number(dose, 2)} lb/yd³, and "
               f"{write_number(exact(told), 2)} lb/yd³ is told too.")  # fmt: skip


def _used(new: NewEntry, kind: str, units: dict[str, Fraction]) -> Fraction:
    """What is told in these units of the products of that kind; 0 where none is."""
    uses = (use for use in new.materials if use.product.kind == kind and use.unit in units)
    return sum((exact(use.amount) * units[use.unit] for use in uses if use.amount), Fraction(0))


def _surface(job: Job, area: str | None) -> Fraction | None:
    """Square feet of the area, or of the whole job; None where a part of it is not known."""
    some: list[Area] = [each for each in job.areas if area in (None, each.name)]
    sizes = [exact(each.area_ft2) for each in some if each.area_ft2]
    return sum(sizes, Fraction(0)) if sizes and len(sizes) == len(some) else None


def _n(value: Fraction) -> str:
    return write_number(value, 1 if value < 100 else 0)
