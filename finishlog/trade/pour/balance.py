"""A pour that runs short: what remains, where it could stop, how stiff the edge is.

The edge's stiffness decides, not the clock, but on the phone the clock is all we have. In heat 30 to 60 min
are usual (common practice, no source). The rule here: hurry from half the truck limit on, stop at the limit;
the limit is the shop's `truck_minutes_hot` from 85 °F on, `truck_minutes` up to 65 °F, in a straight line
between (the temperatures are from memory).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from finishlog.errors import InputError
from finishlog.records.quantities.order import DepthError, FlatShape, TakeOff
from finishlog.records.shop import Shop

F = Fraction
HOT_F, MILD_F = F(85), F(65)
SAMPLE_FT2 = F(4)
"""A kept sample is 2 × 2 ft (common practice, no source)."""

PLASTIC, STIFFENING, STIFF = "plastic", "stiffening", "stiff"
STATES = {
    PLASTIC: "still plastic",
    STIFFENING: "stiffening: hurry or stop at a joint",
    STIFF: "too stiff: stop at a joint",
}
_WORSE = tuple(STATES)


@dataclass(frozen=True, slots=True)
class Edge:
    """The open edge: its state now and at the truck's arrival (None: unknown), minutes since placing.

    `left_minutes` remain for the balance load, never below zero; `felt`: checked by hand, not by the clock.
    """

    now: str | None
    at_arrival: str | None
    minutes: Fraction | None
    hurry_minutes: Fraction
    stop_minutes: Fraction
    left_minutes: Fraction | None
    air_f: Fraction | None
    felt: bool


@dataclass(frozen=True, slots=True)
class Stop:
    """How far the concrete on the truck reaches in a panel with an open edge `width_ft` wide."""

    width_ft: Fraction
    fills_ft: Fraction
    of_ft: Fraction

    @property
    def rest_ft2(self) -> Fraction:
        """The area beyond the stop."""
        return (self.of_ft - self.fills_ft) * self.width_ft


def edge_limits(air_f: Fraction | None, shop: Shop) -> tuple[Fraction, Fraction]:
    """Minutes at which to hurry and to stop; an unknown air temperature counts as hot."""
    hot, mild = F(shop.truck_minutes_hot), F(shop.truck_minutes)
    if air_f is None or air_f >= HOT_F:
        stop = hot
    elif air_f <= MILD_F:
        stop = mild
    else:
        stop = mild + (hot - mild) * (air_f - MILD_F) / (HOT_F - MILD_F)
    return stop / 2, stop


def edge(
    shop: Shop,
    minutes: Fraction | None = None,
    air_f: Fraction | None = None,
    truck_in_minutes: Fraction | None = None,
    felt: str | None = None,
) -> Edge:
    """The open edge `minutes` after it was placed. `felt` (a key of `STATES`) wins. InputError."""
    if felt is not None and felt not in STATES:
        raise InputError(f"An edge is {', '.join(STATES)}.", where="--edge", example=PLASTIC)
    hurry, stop = edge_limits(air_f, shop)
    now = felt or _by_clock(minutes, hurry, stop)
    late = None if minutes is None or truck_in_minutes is None else minutes + truck_in_minutes
    arrival = _by_clock(late, hurry, stop)
    if felt is not None and truck_in_minutes is not None:
        arrival = max(felt, arrival or PLASTIC, key=_WORSE.index)
    left = None if minutes is None or felt == STIFF else max(stop - minutes, F(0))
    return Edge(now, arrival, minutes, hurry, stop, left, air_f, felt is not None)


def _by_clock(minutes: Fraction | None, hurry: Fraction, stop: Fraction) -> str | None:
    if minutes is None:
        return None
    return STIFF if minutes >= stop else STIFFENING if minutes >= hurry else PLASTIC


def expected_depth_in(depth_in: Fraction, error: DepthError) -> Fraction:
    """The likely depth in inches: planned plus the crew's mean error, never below zero."""
    return max(depth_in + F(str(round(error.mean_in, 6))), F(0))


def expected_yd3(
    area_ft2: Fraction, depth_in: Fraction, error: DepthError, waste_percent: Fraction
) -> Fraction:
    """Concrete an area really takes, yd3, including mean depth error and waste."""
    return area_ft2 * expected_depth_in(depth_in, error) / 324 * (1 + waste_percent / 100)


def still_to_bring(take: TakeOff, left_yd3: Fraction, waste_percent: Fraction) -> TakeOff:
    """What remains less what is on the truck, as a take-off for the order."""
    return replace(take, edges_yd3=take.edges_yd3 - left_yd3 / (1 + waste_percent / 100))


def stops(
    panels: Sequence[FlatShape],
    left_yd3: Fraction,
    depth_in: Fraction,
    error: DepthError,
    waste_percent: Fraction,
) -> tuple[Stop, ...]:
    """How far the truck's concrete reaches in each rectangle (length × width), open edge across it."""
    foot = expected_yd3(F(1), depth_in, error, waste_percent)
    return tuple(
        Stop(width, min(left_yd3 / (foot * width), length) if foot else length, length)
        for length, width in (panel.sizes_ft for panel in panels if panel.kind == "rect")
    )


def samples_from(leftover_yd3: Fraction, depth_in: Fraction) -> int:
    """Number of 2 × 2 ft samples at the slab's depth that a leftover fills."""
    if leftover_yd3 <= 0 or depth_in <= 0:
        return 0
    return int(leftover_yd3 / (SAMPLE_FT2 * depth_in / 324))


@dataclass(frozen=True, slots=True)
class BagPart:
    """A pigment weighed into bags; None if the cement in a bag, or the dose by cement, is unknown."""

    name: str
    lb_per_bag: Fraction | None
    total_lb: Fraction | None


@dataclass(frozen=True, slots=True)
class Bags:
    """A small remainder from bags. `cement_lb`: cement in one bag; None: unknown, as no bag prints it."""

    bags: int
    bag_lb: Fraction
    yield_ft3: Fraction
    rest_yd3: Fraction
    cement_lb: Fraction | None
    parts: tuple[BagPart, ...]


def bags(
    rest_yd3: Fraction,
    shop: Shop,
    cement_lb: Fraction | None = None,
    shares: Sequence[tuple[str, Fraction | None]] = (),
) -> Bags:
    """Whole bags for a remainder; `shares`: lb of pigment as weighed per lb of cementitious. InputError."""
    if cement_lb is not None and cement_lb >= shop.bag_lb:
        cause = "The rest of the bag is sand and stone."
        raise InputError(
            "Cement cannot weigh more than the bag.", cause, where="--bag-cement", example="12lb"
        )
    number = math.ceil(rest_yd3 * 27 / shop.bag_yield_ft3)
    parts = []
    for name, share in shares:
        each = None if share is None or cement_lb is None else share * cement_lb
        parts.append(BagPart(name, each, None if each is None else each * number))
    return Bags(number, shop.bag_lb, shop.bag_yield_ft3, rest_yd3, cement_lb, tuple(parts))
