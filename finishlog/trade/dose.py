"""Pigment: one dose in every unit, the limit, and each load's weight to the ounce.

Percent is of cementitious mass; the limit is on cement alone: ASTM C979/C979M §1.4, at most 10 % by mass of
cement, a blend at most the smallest maximum of its components. Everything is compared as Fractions.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from fractions import Fraction

from finishlog import units
from finishlog.errors import InputError, LimitError
from finishlog.records.quantities.dose import DoseRates, PigmentLoad, PigmentPlan
from finishlog.units.tables import QUANTITIES

LIMIT_PERCENT = Fraction(10)
USUAL_CONTENT = (Fraction(200), Fraction(1200))
"""Cementitious of slabs in lb/yd3, with room on both sides (common practice, no source)."""
_LB_PER_YD3_PER_KG_PER_M3 = QUANTITIES["content_lb_per_yd3"].factors["kg/m3"]


def lb_per_yd3(value: Fraction, unit: str, cement: Fraction, scm: Fraction = Fraction(0)) -> Fraction:
    """A dose as written, in lb per yd3 of concrete. `cement` and `scm` are lb/yd3, beside each other."""
    if unit == "lb/yd3":
        return value
    if unit == "kg/m3":
        return value * _LB_PER_YD3_PER_KG_PER_M3
    if unit == "lb/sack":
        return value * (cement + scm) / units.LB_PER_SACK
    if unit == "%":
        return value * (cement + scm) / 100
    raise InputError(f"No dose in “{units.shown(unit)}”.", example=QUANTITIES["dose"].example)


def odd_content(cement: Fraction, scm: Fraction = Fraction(0)) -> str:
    """What to ask of a content no mix has, as a typo or a total makes it: `1.350` for 1,350; blank for a usual one."""
    low, high = USUAL_CONTENT
    if low <= cement + scm <= high:
        return ""
    both = units.plain(cement + scm)
    usual = f"a mix has {units.plain(low)} to {units.write_number(high)}"
    return f"{both} lb/yd³ of cement: {usual}. Is it per cubic yard, in pounds?"


def rates(dose_lb_per_yd3: Fraction, cement: Fraction, scm: Fraction = Fraction(0)) -> DoseRates:
    """A dose in lb/yd3, kg/m3, lb per 94-lb sack of cementitious, % of cementitious and % of cement."""
    if cement <= 0:
        raise InputError("The cement content must be more than zero.", example="--cement 564")
    both = cement + scm
    return DoseRates(
        dose_lb_per_yd3,
        dose_lb_per_yd3 / _LB_PER_YD3_PER_KG_PER_M3,
        dose_lb_per_yd3 * units.LB_PER_SACK / both,
        dose_lb_per_yd3 * 100 / both,
        dose_lb_per_yd3 * 100 / cement,
    )


def limit_percent(maxima_percent: Iterable[Fraction] = ()) -> Fraction:
    """The most pigment in percent of cement: 10, or the smallest maximum of a blend's components."""
    return min((LIMIT_PERCENT, *maxima_percent))


def over_limit(total_lb_per_yd3: Fraction, cement: Fraction, maxima_percent: Iterable[Fraction] = ()) -> bool:
    """Whether all pigments together exceed the limit; exactly at it does not. A flag for past facts."""
    return total_lb_per_yd3 * 100 > limit_percent(maxima_percent) * cement


def settled(dose_lb_per_yd3: Fraction, cement: Fraction, maxima_percent: Iterable[Fraction] = ()) -> Fraction:
    """A logged dose, snapped to the limit if only float rounding separates them."""
    limit = limit_percent(maxima_percent) * cement / 100
    return limit if units.alike(dose_lb_per_yd3, limit) else dose_lb_per_yd3


def check_limit(
    total_lb_per_yd3: Fraction, cement: Fraction, maxima_percent: Iterable[Fraction] = ()
) -> None:
    """Raises LimitError for a plan over the limit."""
    limits = tuple(maxima_percent)
    if not over_limit(total_lb_per_yd3, cement, limits):
        return
    limit = limit_percent(limits)
    found, most = units.plain(total_lb_per_yd3 * 100 / cement), units.plain(limit * cement / 100)
    if found == units.plain(limit):
        found = f"A hair more than {found}"
    whose = "" if limit == LIMIT_PERCENT else ", the smallest maximum in this blend"
    title = f"{found} % of cement is over the limit of {units.plain(limit)} %{whose} (ASTM C979/C979M §1.4)."
    raise LimitError(title, f"At {units.plain(cement)} lb/yd³ of cement the most is {most} lb/yd³.")


def liquid_lb(pigment_lb: Fraction, solids_percent: Fraction) -> Fraction:
    """Pounds of liquid that hold `pigment_lb` of pigment, at `solids_percent` (0 to 100) solids by weight."""
    if not 0 < solids_percent <= 100:
        raise InputError("Solids run from above 0 to 100 %.", example="60 %")
    return pigment_lb * 100 / solids_percent


def pigment_in(weighed: Fraction, solids_percent: float | Fraction | None) -> Fraction:
    """Pigment in the weighed product: all of a powder, the solids of a liquid. The limit is on pigment."""
    return weighed if solids_percent is None else weighed * units.exact(solids_percent) / 100


def kept_dose(
    dose_then: Fraction, cementitious_then: Fraction | None, cementitious_now: Fraction | None
) -> tuple[Fraction, Fraction | None]:
    """The dose of a match, and the other rule's result if it differs, both lb/yd3.

    The ratio of pigment to cementitious sets the color, so it is kept if both contents are known
    (common practice, no source); else the lb/yd3.
    """
    if not cementitious_then or not cementitious_now or units.alike(cementitious_then, cementitious_now):
        return dose_then, None
    return dose_then * cementitious_now / cementitious_then, dose_then


def share_ounces(exact_lb: Sequence[Fraction], total_oz: int | None = None) -> tuple[int, ...]:
    """Pounds to whole ounces by largest remainder, ties to the first; they sum to the total's nearest ounce.

    `total_oz` overrides that sum; it must not be below the sum of the whole ounces.
    """
    exact = [pounds * 16 for pounds in exact_lb]
    whole = [math.floor(amount) for amount in exact]
    total = units.ounces(sum(exact_lb, Fraction(0))) if total_oz is None else total_oz
    left = total - sum(whole)
    order = sorted(range(len(exact)), key=lambda index: whole[index] - exact[index])
    for index in order[: max(left, 0)]:
        whole[index] += 1
    return tuple(whole)


def plan_pigment(
    name: str, dose_lb_per_yd3: Fraction, loads_yd3: Sequence[Fraction], pack_lb: Fraction | None = None
) -> PigmentPlan:
    """What to weigh into each load of one pigment. `dose_lb_per_yd3` is of the product as weighed."""
    exact = [dose_lb_per_yd3 * yards for yards in loads_yd3]
    weighed = [Fraction(ounces, 16) for ounces in share_ounces(exact)]
    loads = tuple(
        pigment_load(yards, pounds, need, pack_lb)
        for yards, pounds, need in zip(loads_yd3, weighed, exact, strict=True)
    )
    total = sum(exact, Fraction(0))
    return PigmentPlan(name, dose_lb_per_yd3, total, sum(weighed, Fraction(0)), pack_lb, loads)


def pigment_load(yards: Fraction, pounds: Fraction, need: Fraction, pack_lb: Fraction | None) -> PigmentLoad:
    """A load of `pounds` (rounded from the exact `need`) in whole packs and a remainder."""
    if pack_lb is None:
        return PigmentLoad(yards, pounds, None, None, None)
    packs, remainder = divmod(pounds, pack_lb)
    nearest = math.floor(need / pack_lb + Fraction(1, 2)) * pack_lb
    return PigmentLoad(
        yards, pounds, int(packs), remainder, (nearest / need - 1) * 100 if need else Fraction(0)
    )
