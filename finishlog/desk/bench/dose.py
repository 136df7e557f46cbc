"""`dose`: pigment by load. Needs no log; what a request leaves open is the shop's setting."""

from __future__ import annotations

from fractions import Fraction

from finishlog.desk.bench import small_loads
from finishlog.errors import InputError
from finishlog.records.quantities.cautions import Caution
from finishlog.records.quantities.dose import DoseAnswer, DoseRequest
from finishlog.records.shop import Shop
from finishlog.trade import dose as doses
from finishlog.trade import sources
from finishlog.trade.cautions import cautions
from finishlog.trade.pour import loads


def dose(request: DoseRequest, shop: Shop, system: str = "us") -> DoseAnswer:
    """Pigment by load and the dose in every way it is said. Raises InputError; LimitError over the limit.

    `system` (us or metric) is only for the words of the cautions.
    """
    cement, assumed = _cement(request, shop)
    rate = doses.lb_per_yd3(request.dose_value, request.dose_unit, cement, request.scm_lb_per_yd3)
    doses.check_limit(rate, cement)
    truck = request.truck_yd3 or shop.truck_yd3
    minimum = shop.minimum_yd3 if request.minimum_yd3 is None else request.minimum_yd3
    small_truck = _small_truck(truck, minimum, system) if request.minimum_yd3 is None else ()
    if small_truck:
        minimum = truck
    split = loads.split(request.yards, truck, minimum, shop.smallest_colored_load_yd3)
    solids = request.solids_percent
    weighed = rate if solids is None else doses.liquid_lb(rate, solids)
    return DoseAnswer(
        rates=doses.rates(rate, cement, request.scm_lb_per_yd3),
        cement_lb_per_yd3=cement,
        scm_lb_per_yd3=request.scm_lb_per_yd3,
        cement_assumed=assumed,
        limit_percent_of_cement=doses.LIMIT_PERCENT,
        pigment_lb=rate * request.yards,
        solids_percent=solids,
        plan=doses.plan_pigment("pigment", weighed, split.loads_yd3, request.pack_lb),
        loads=split,
        truck_yd3=truck,
        minimum_yd3=minimum,
        cautions=_content(cement, request.scm_lb_per_yd3)
        + small_truck
        + small_loads.cautions(split, minimum, shop, system)
        + cautions("integral_color"),
        sources=(sources.PIGMENT_LIMIT, sources.SACK),
    )


def _content(cement: Fraction, scm: Fraction) -> tuple[Caution, ...]:
    odd = doses.odd_content(cement, scm)
    return (Caution("mix", odd),) if odd else ()


def _small_truck(truck_yd3: Fraction, minimum_yd3: Fraction, system: str) -> tuple[Caution, ...]:
    """A truck that was named and cannot carry the plant's usual minimum: does the plant send it?"""
    if minimum_yd3 <= truck_yd3:
        return ()
    truck, minimum = small_loads.volume(truck_yd3, system), small_loads.volume(minimum_yd3, system)
    text = f"A truck of {truck} is under the plant's minimum of {minimum}: ask if the plant will send one."
    return (Caution("load", text),)


def _cement(request: DoseRequest, shop: Shop) -> tuple[Fraction, bool]:
    """The cement content and whether it is only the shop's usual one."""
    if request.cement_lb_per_yd3 is not None:
        return request.cement_lb_per_yd3, False
    if request.scm_lb_per_yd3:
        cause = "Other cementitious adds to the cement; give both."
        raise InputError(
            "The cement content is missing.", cause, where="--cement", example="--cement 480 --scm 84"
        )
    return shop.cementitious_lb_per_yd3, True
