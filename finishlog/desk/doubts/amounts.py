"""Amounts far from usual, more likely a typo than a fact: asked, and allowed.

How far is far is common practice, no source; what is usual say the shop's settings, or its own log where that has
enough.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from finishlog.desk.placed import shares
from finishlog.records.log import Area, Job
from finishlog.records.shop import Shop
from finishlog.trade.dose import lb_per_yd3, odd_content
from finishlog.trade.events import DOSE
from finishlog.trade.stages import KINDS
from finishlog.units import GALLONS_IN, POUNDS_IN, exact, write, write_number

if TYPE_CHECKING:
    from finishlog.records.writing import NewEntry

WITH_USUAL = {kind.key: kind.rate for kind in KINDS if kind.rate is not None and kind.rate.usual}
"""The rates that the shop's settings know, by kind of stage."""
FAR = 10
"""Times the usual amount of a powder, a pigment or a liquid release."""
APART = Fraction(3, 100)
"""Share of a dose by which pounds and pounds to the yard may differ by rounding (common practice, no source)."""
FAR_COAT = 5
"""Times the usual coverage of a coat, or that part of it."""
FAR_OWN = 4
"""Times what this shop itself mostly does, where its own log says that."""

OFF_PLANNED_PERCENT = 25
"""A load's dose so far off the planned one is no rounding of bags (ours)."""


@dataclass(frozen=True, slots=True)
class Usual:
    """The usual rate: from the shop's settings, or the median of `own` slabs."""

    low: Fraction
    high: Fraction
    quantity: str
    own: int = 0

    def said(self, system: str = "us") -> str:
        """`usually it is 3.5 lb/100 ft²`, and whose usual where it is the log's."""
        low, high = write_rate(self.low, self.quantity, system), write_rate(self.high, self.quantity, system)
        told = high if low == high else f"{low.partition(' ')[0]} to {high}"
        return f"usually {told}" + (f" on {self.own} slabs of yours" if self.own else "")


Own = Mapping[str, tuple[Fraction, int]]
"""By kind of entry the middle of what the shop's own log says, and of how many slabs."""


def usual(kind: str, shop: Shop, own: Own) -> Usual:
    """The usual rate for this kind of entry: the shop's own median if its log has one, else its settings."""
    rate = WITH_USUAL[kind]
    if kind in own:
        middle, slabs = own[kind]
        return Usual(middle, middle, rate.quantity, slabs)
    settings = [getattr(shop, key) for key in rate.usual]
    return Usual(min(settings), max(settings), rate.quantity)


def is_far(kind: str, rate: Fraction, of: Usual, *, thin: bool = True) -> bool:
    """Whether a rate is far from usual: too much of anything, or too `thin` a coat.

    The one rule for both entries and plans.
    """
    times = FAR_OWN if of.own else FAR_COAT if kind == "seal" else FAR
    if of.quantity == "spread":
        return rate > of.high * times
    return rate < of.low / times or (kind == "seal" and thin and rate > of.high * times)


def doubts(new: NewEntry, job: Job, shop: Shop, own: Own | None = None) -> Iterator[str]:
    """What is far from usual of a coat, a powder, a liquid release or the pigment of a load, in sentences."""
    if new.kind == "load":
        yield from _content(new)
        yield from _pigment(new, shop)
    elif (rate := WITH_USUAL.get(new.kind)) is not None:
        of = usual(new.kind, shop, own or {})
        yield from (_spread if rate.quantity == "spread" else _liquid)(new, job, rate.product, of)


def _liquid(new: NewEntry, job: Job, name: str, of: Usual) -> Iterator[str]:
    gallons = _used(new, name, GALLONS_IN)
    told = exact(new.coat.area_ft2) if new.coat and new.coat.area_ft2 else None
    surface = told or _surface(job, new)
    thin = told is not None  # a touch-up seldom says its surface
    if gallons and surface and is_far(new.kind, surface / gallons, of, thin=thin):
        yield f"{_n(gallons)} gal of {name} on {_n(surface)} ft²: {of.said()}."


def _spread(new: NewEntry, job: Job, name: str, of: Usual) -> Iterator[str]:
    rate, pounds = new.facts.get("lb_per_100ft2"), _used(new, name, POUNDS_IN)
    surface = _surface(job, new)
    if pounds and surface and is_far(new.kind, pounds / surface * 100, of):
        yield f"{_n(pounds)} lb of {name} on {_n(surface)} ft²: {of.said()}."
    elif isinstance(rate, int | float) and is_far(new.kind, exact(rate), of):
        yield f"{write_number(rate)} lb/100 ft² of {name}: {of.said()}."


def _content(new: NewEntry) -> Iterator[str]:
    mix = new.load.mix if new.load else None
    if mix and mix.cement_lb_per_yd3 is not None:
        odd = odd_content(exact(mix.cement_lb_per_yd3), exact(mix.scm_lb_per_yd3 or 0))
        yield from (odd,) if odd else ()


def _pigment(new: NewEntry, shop: Shop) -> Iterator[str]:
    """Of a load whose yards are not known it is asked what a full truck would hold."""
    pounds = _used(new, "pigment", POUNDS_IN)
    yards = exact(new.load.yards) if new.load and new.load.yards else None
    usual = usual_dose(shop)
    yield from _two_doses(new, pounds, yards)
    if pounds > usual * FAR * (yards or shop.truck_yd3):
        where = f"in {_n(yards)} yd³" if yards else "in a load"
        yield f"{_n(pounds)} lb of pigment {where}: usually about {_n(usual)} lb/yd³."


def off_planned(new: NewEntry, job: Job, shop: Shop) -> Iterator[str]:
    """A load whose pigment is far off what the recipe of its areas plans."""
    yards = exact(new.load.yards) if new.load and new.load.yards else None
    pounds = _used(new, "pigment", POUNDS_IN)
    if new.kind != "load" or not yards or not pounds or new.load is None:
        return
    names = {name for name, _ in new.load.areas} or ({new.area} if new.area else set())
    mix = new.load.mix
    told = (
        exact(mix.cement_lb_per_yd3) + exact(mix.scm_lb_per_yd3 or 0)
        if mix and mix.cement_lb_per_yd3
        else None
    )
    planned = {
        dose for area in job.areas if not names or area.name in names
        if (dose := _planned_dose(area, told or shop.cementitious_lb_per_yd3)) is not None
    }  # fmt: skip
    dose = pounds / yards
    if planned and all(abs(dose / each - 1) * 100 > OFF_PLANNED_PERCENT for each in planned):
        near = min(planned, key=lambda each: abs(dose / each - 1))
        percent = (dose / near - 1) * 100
        off = f"{write_number(abs(percent), 0)} % {'over' if percent > 0 else 'under'}"
        yield (f"{_n(pounds)} lb of pigment in {_n(yards)} yd³ is {write_number(dose, 1)} lb/yd³, "
               f"{off} the {write_number(near, 1)} lb/yd³ planned.")  # fmt: skip


def _planned_dose(area: Area, cementitious: Fraction) -> Fraction | None:
    """The pigments that the area's recipe plans, together, in lb/yd³; None where a rate is not said."""
    stage = area.recipe.stage("integral_color") if area.recipe else None
    rates = [None if m.rate is None or m.unit is None else lb_per_yd3(exact(m.rate), m.unit, cementitious)
             for m in (stage.materials if stage else ()) if m.product.kind == "pigment"]  # fmt: skip
    known = [rate for rate in rates if rate is not None]
    total = sum(known, Fraction(0))
    return total if total and len(known) == len(rates) else None


def usual_dose(shop: Shop) -> Fraction:
    """Pounds of pigment to the yard at the shop's usual percent of its usual cementitious."""
    return shop.cementitious_lb_per_yd3 * shop.color_percent / 100


def _two_doses(new: NewEntry, pounds: Fraction, yards: Fraction | None) -> Iterator[str]:
    """Pounds to the yard and pounds that do not fit each other: one of them is a slip."""
    told = new.facts.get(DOSE)
    if not isinstance(told, int | float) or not pounds or not yards:
        return
    dose = pounds / yards
    if abs(dose - exact(told)) > exact(told) * APART:
        yield (f"{_n(pounds)} lb of pigment in {_n(yards)} yd³ are {write_number(dose, 2)} lb/yd³, and "
               f"{write_number(exact(told), 2)} lb/yd³ is entered too.")  # fmt: skip


def _used(new: NewEntry, kind: str, units: dict[str, Fraction]) -> Fraction:
    """What is told in these units of the products of that kind; 0 where none is."""
    uses = (use for use in new.materials if use.product.kind == kind and use.unit in units)
    return sum((exact(use.amount) * units[use.unit] for use in uses if use.amount), Fraction(0))


def _surface(job: Job, new: NewEntry) -> Fraction | None:
    """Square feet that it went on; None where a part of it is not known."""
    area = next((each.uid for each in job.areas if each.name == new.area), None)
    return shares.surface(job, new.kind, area)


def write_rate(value: Fraction, quantity: str, system: str) -> str:
    """`3.5 lb/100 ft²`, `225 ft²/gal`; metric as the rest."""
    if system == "metric":
        return write(quantity, value, system)
    return f"{write_number(value)} {'lb/100 ft²' if quantity == 'spread' else 'ft²/gal'}"


def _n(value: Fraction) -> str:
    return write_number(value, 1 if value < 100 else 0)
