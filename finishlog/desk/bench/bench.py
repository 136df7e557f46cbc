"""The bench: yards, dose and film for command line and screens.

Combines `trade` functions; needs no log. Open fields use the shop's settings.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from finishlog.errors import InputError
from finishlog.records.quantities.cautions import Caution
from finishlog.records.quantities.dose import DoseAnswer, DoseRequest
from finishlog.records.quantities.film import FilmAnswer, FilmRequest
from finishlog.records.quantities.loads import LoadPlan
from finishlog.records.quantities.order import YardsAnswer, YardsRequest
from finishlog.records.shop import Shop
from finishlog.trade import dose as doses
from finishlog.trade import sources
from finishlog.trade.cautions import cautions
from finishlog.trade.pour import loads, order, takeoff
from finishlog.trade.sealing import sealer
from finishlog.units import plain, write

LIKELY_SHORT = 0.2
"""Chance of running short that triggers a warning (ours)."""


def yards(
    request: YardsRequest,
    shop: Shop,
    past_errors: Sequence[float | Fraction] = (),
    system: str = "us",
    *,
    colored: bool = False,
) -> YardsAnswer:
    """Area, volume, order and loads of a slab. `past_errors` are the crew's depth errors in inches.

    `system` (us or metric) only affects the cautions' wording. `colored` concrete comes in loads that mix
    well, if possible. Raises InputError.
    """
    take = takeoff.take_off(request.shapes, request.depth_in, request.extras)
    prices = request.prices or order.prices_of(shop)
    waste = shop.waste_percent if request.waste_percent is None else request.waste_percent
    error = order.depth_error(
        [float(e) for e in past_errors], [float(e) for e in request.probes_in], float(shop.probe_sd_in)
    )
    truck = request.truck_yd3 or shop.truck_yd3
    least = max(take.volume_yd3, prices.minimum_yd3)
    loads.split(least, truck, prices.minimum_yd3)  # refuse what no trucks can bring before optimizing
    advice = order.advise(take, waste, error, prices)
    plan = loads.split(
        advice.best.order_yd3, truck, prices.minimum_yd3, shop.smallest_colored_load_yd3,
        colored=colored, step_yd3=prices.increment_yd3,
    )  # fmt: skip
    return YardsAnswer(
        take_off=take,
        order=advice,
        loads=plan,
        truck_yd3=truck,
        cautions=_order_cautions(advice.best.chance_short)
        + _load_cautions(plan, prices.minimum_yd3, shop, system)
        + cautions("order"),
        sources=(sources.GEOMETRY, sources.CUBIC_YARD, sources.ORDER),
    )


def _order_cautions(chance: float) -> tuple[Caution, ...]:
    """Even if a balance load is cheaper at these prices, color may decide against it."""
    if chance <= LIKELY_SHORT:
        return ()
    text = (
        "Likely to run short: at these prices a balance load costs less than the leftover. "
        "If color must match, raise the mismatch cost, probe the depth, or plan a joint."
    )
    return (Caution("order", text),)


def _load_cautions(plan: LoadPlan, minimum_yd3: Fraction, shop: Shop, system: str) -> tuple[Caution, ...]:
    """Warnings on small loads: those the plant may refuse, and those that mix color poorly."""
    minimum, well_mixed = _volume(minimum_yd3, system), _volume(shop.smallest_colored_load_yd3, system)
    names = [f"Load {number}, {_volume(load, system)}" for number, load in enumerate(plan.loads_yd3, 1)]
    lines = [
        f"{names[number - 1]} is under the plant's minimum of {minimum}: ask the plant."
        for number in plan.below_minimum
    ]
    lines += [f"{names[number - 1]}: under {well_mixed} color mixes poorly." for number in plan.badly_mixed]
    return tuple(Caution("load", line) for line in lines)


def _volume(yards: Fraction, system: str) -> str:
    return write("volume_yd3", yards, system) if system == "metric" else f"{plain(yards)} yd³"


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
        cautions=small_truck + _load_cautions(split, minimum, shop, system) + cautions("integral_color"),
        sources=(sources.PIGMENT_LIMIT, sources.SACK),
    )


def _small_truck(truck_yd3: Fraction, minimum_yd3: Fraction, system: str) -> tuple[Caution, ...]:
    """Asks whether the plant sends a truck that cannot carry its usual minimum."""
    if minimum_yd3 <= truck_yd3:
        return ()
    truck, minimum = _volume(truck_yd3, system), _volume(minimum_yd3, system)
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


def film(request: FilmRequest, shop: Shop, system: str = "us") -> FilmAnswer:
    """Sealer gallons and the film by coat. `system` is only for the words. Raises InputError."""
    coats = request.coverages_ft2_per_gal or (shop.coat_1_ft2_per_gal, shop.coat_2_ft2_per_gal)
    solids = shop.solids_percent if request.solids_percent is None else request.solids_percent
    relief = request.relief_percent
    if relief is None:
        relief = shop.relief_percent if request.stamped else Fraction(0)
    need = sealer.sealer_need(request.area_ft2, coats, solids, relief, request.existing_mil)
    over = need.dry_mil > shop.film_alarm_mil
    dry, limit = (write("film_mil", mil, system) for mil in (need.dry_mil, shop.film_alarm_mil))
    alarm = f"{dry} is over the film alarm of {limit}: a heavy film blushes, bubbles and peels."
    return FilmAnswer(
        need=need,
        alarm_mil=shop.film_alarm_mil,
        cautions=((Caution("film", alarm),) if over else ()) + cautions("seal"),
        sources=(sources.FILM, sources.COVERAGE),
    )
