"""`yards`: area, volume, order and loads of a slab. Needs no log; what a request leaves open is the shop's setting."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from finishlog.desk.bench import small_loads
from finishlog.records.quantities.cautions import Caution
from finishlog.records.quantities.order import YardsAnswer, YardsRequest
from finishlog.records.shop import Shop
from finishlog.trade import sources
from finishlog.trade.cautions import cautions
from finishlog.trade.pour import loads, order, takeoff

LIKELY_SHORT = 0.2
"""From this chance of running short on, an order is warned of (ours)."""


def yards(
    request: YardsRequest,
    shop: Shop,
    past_errors: Sequence[float | Fraction] = (),
    system: str = "us",
    *,
    colored: bool = False,
) -> YardsAnswer:
    """Area, volume, order and loads of a slab. `past_errors` are the crew's depth errors in inches.

    `system` (us or metric) is only for the words of the cautions. What is known to be `colored` comes in loads
    that mix well, where that can be. Raises InputError.
    """
    take = takeoff.take_off(request.shapes, request.depth_in, request.extras)
    prices = request.prices or order.prices_of(shop)
    waste = shop.waste_percent if request.waste_percent is None else request.waste_percent
    error = order.depth_error(
        [float(e) for e in past_errors], [float(e) for e in request.probes_in], float(shop.probe_sd_in)
    )
    truck = request.truck_yd3 or shop.truck_yd3
    least = max(take.volume_yd3, prices.minimum_yd3)
    loads.split(least, truck, prices.minimum_yd3)  # what no trucks can bring is refused before it is weighed
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
        + small_loads.cautions(plan, prices.minimum_yd3, shop, system)
        + cautions("order"),
        sources=(sources.GEOMETRY, sources.CUBIC_YARD, sources.ORDER),
    )


def _order_cautions(chance: float) -> tuple[Caution, ...]:
    """Where a balance load is the cheaper way by these prices, the color may still say otherwise."""
    if chance <= LIKELY_SHORT:
        return ()
    text = (
        "Likely to run short: at these prices a balance load costs less than the leftover. "
        "If color must match, raise the mismatch cost, probe the depth, or plan a joint."
    )
    return (Caution("order", text),)
