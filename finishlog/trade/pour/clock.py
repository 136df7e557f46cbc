"""The clock of a pour day, in minutes after the first truck: release, stamp, crew and mats, joints, rinse.

Usual ranges are settings at 70 °F (common practice, no source). Heat shortens them by a third per 10 °F (from
memory). With three or more logged pours, the shop's own median replaces them.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, time
from fractions import Fraction
from statistics import median

from finishlog.records.quantities.pour_day import ClockLine, Hands, PastPour, PourClock, Span
from finishlog.records.shop import Shop
from finishlog.trade.pour.balance import edge_limits
from finishlog.trade.stages.base import Window

F = Fraction
AT_F = 70.0
COLDEST_F, HOTTEST_F = 40.0, 100.0
"""The rule is not extrapolated beyond these."""
HOT_F, COOL_F = 90.0, 50.0
"""Assumed range of the air if not given."""
PER_10_F = 2 / 3
OWN_POURS = 3
NEAR_F = 10
LEAST_HANDS = 2
RELEASE_ON = "Release on"
STEP = 5
"""Minutes are rounded to five; nothing here is more precise."""


@dataclass(frozen=True, slots=True)
class PourDay:
    """The planned pour: `saw` is the joints' window (None: not cut), `rinse` the rinse's, in hours."""

    on: date
    loads: int
    area_ft2: Fraction
    released: bool
    stamped: bool
    saw: Window | None
    rinse: Window | None
    start: time | None = None
    air_f: Fraction | None = None


def pace(air_f: float) -> float:
    """Stiffening time in this air relative to 70 °F."""
    return float(PER_10_F ** ((min(max(air_f, COLDEST_F), HOTTEST_F) - AT_F) / 10))


def clock(day: PourDay, past: Sequence[PastPour], shop: Shop) -> PourClock:
    """The lines of the day in order of opening."""
    asked, near = _asked(past, day.air_f)
    gap = _own(asked, lambda pour: pour.gap) or _span(shop.truck_gap_from_min, shop.truck_gap_to_min)
    limit = int(edge_limits(day.air_f, shop)[1])
    last = _times(gap, day.loads - 1)
    end = _sum(last, gap)
    lines = [_truck(number, gap, limit) for number in range(day.loads)]
    if day.released:
        release = _own(asked, lambda pour: pour.release) or _stiff(
            shop.release_from_min, shop.release_to_min, day
        )
        lines.append(ClockLine("release", RELEASE_ON, release, _sum(last, release), release.own))
    hands = None
    if day.stamped:
        begin = _own(asked, lambda pour: pour.stamp) or _stiff(shop.stamp_from_min, shop.stamp_to_min, day)
        lasts = _stiff(shop.stamp_lasts_min, shop.stamp_lasts_min, day)
        lines.append(ClockLine("stamp", "Stamp", begin, _sum(_sum(last, begin), lasts), begin.own))
        hands = _hands(day.area_ft2, last.low + lasts.low, shop)
    for key, title, window, own in (
        ("joint", "Joints", day.saw, _own(asked, lambda pour: pour.joint)),
        ("rinse", "Sweep, rinse", day.rinse, _own(asked, lambda pour: pour.rinse)),
    ):
        if window is not None:
            lines.append(_after(key, title, window, end, own))
    airs = sorted(pour.air_f for pour in asked if pour.air_f is not None)
    return PourClock(
        on=day.on,
        start=day.start,
        air_f=day.air_f,
        truck_minutes=limit,
        lines=tuple(lines),
        hands=hands,
        own_air_f=(round(airs[0]), round(airs[-1])) if airs else None,
        near=near,
    )


def _asked(past: Sequence[PastPour], air_f: Fraction | None) -> tuple[list[PastPour], bool]:
    """Pours in similar air if there are enough, else all."""
    close = (
        [] if air_f is None else [p for p in past if p.air_f is not None and abs(p.air_f - air_f) <= NEAR_F]
    )
    return (close, True) if len(close) >= OWN_POURS else (list(past), False)


def _own(past: Sequence[PastPour], of: Callable[[PastPour], float | None]) -> Span | None:
    """The logged median; None for fewer than three pours."""
    known = [minutes for pour in past if (minutes := of(pour)) is not None]
    if len(known) < OWN_POURS:
        return None
    middle = _round(median(known))
    return Span(middle, middle, len(known))


def _stiff(low: int, high: int, day: PourDay) -> Span:
    """A range that depends on the air; over all usual air if not given."""
    hot, cool = (HOT_F, COOL_F) if day.air_f is None else (float(day.air_f), float(day.air_f))
    return _span(low * pace(hot), max(low, high) * pace(cool))


def _span(low: float, high: float) -> Span:
    return Span(_round(low), max(_round(low), _round(high)))


def _round(minutes: float) -> int:
    return max(STEP, STEP * math.floor(minutes / STEP + 0.5))


def _times(span: Span, number: int) -> Span:
    return Span(span.low * number, span.high * number, span.own)


def _sum(one: Span, other: Span) -> Span:
    return Span(one.low + other.low, one.high + other.high, other.own)


def _truck(number: int, gap: Span, limit: int) -> ClockLine:
    comes = _times(gap, number)
    return ClockLine(
        "truck",
        "Truck",
        comes,
        Span(comes.low + limit, comes.high + limit),
        gap.own if number else 0,
        number + 1,
    )


def _after(key: str, title: str, window: Window, end: Span, own: Span | None) -> ClockLine:
    """From the end of the pour: the window's usual hours, opening as the shop's own, never before allowed."""
    opens = Span(end.low + window.usual_from_h * 60, end.high + window.usual_from_h * 60)
    if own is not None:
        minutes = min(max(own.low, window.opens_h * 60), window.usual_to_h * 60)
        opens = Span(end.low + minutes, end.high + minutes, own.own)
    closes = Span(end.low + window.usual_to_h * 60, end.high + window.usual_to_h * 60)
    return ClockLine(key, title, opens, closes, opens.own)


def _hands(area_ft2: Fraction, window: int, shop: Shop) -> Hands:
    """As many as finish the area in the shortest expected window."""
    each = F(shop.stamp_ft2_per_hand_h)
    hands = max(LEAST_HANDS, math.ceil(area_ft2 / (each * window / 60)))
    done = hands * each
    return Hands(hands, hands * shop.mats_per_hand, done, math.ceil(area_ft2 / done * 60))
