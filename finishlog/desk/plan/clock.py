"""The clock of the pour day: what the shop's own past hours say, and the clock in words."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date, datetime, timedelta
from itertools import groupby, pairwise
from statistics import fmean

from finishlog.desk import words
from finishlog.desk.plain_data import Json, pick
from finishlog.records.log import Fact
from finishlog.records.placed import AsPlaced
from finishlog.records.plan import Plan, PlanRequest, PlanStage
from finishlog.records.quantities.order import YardsAnswer
from finishlog.records.quantities.pour_day import ClockLine, PastPour, PourClock, PourStep, Span
from finishlog.records.shop import Shop
from finishlog.trade import sources, stages
from finishlog.trade.pour import clock
from finishlog.units import write, write_weekday

SAME_POUR = timedelta(hours=12)
CUT_WITHIN, RINSED_WITHIN = timedelta(hours=48), timedelta(days=7)
WEATHER_HOURS = 24
"""Weather noted from later on tells nothing of the pour."""


def of_plan(
    request: PlanRequest, on: date, concrete: YardsAnswer, placed: AsPlaced, planned: Sequence[PlanStage],
    joint: Mapping[str, Fact], steps: Iterable[PourStep], shop: Shop,
) -> PourClock | None:  # fmt: skip
    """The clock of the planned pour; None for what comes out of bags, not off a truck.

    `joint` is what is known of the old slab's joints.
    """
    if placed.bag_mix is not None:
        return None
    kinds = {stage.kind for stage in planned}
    powder = "powder_release" in kinds or placed.release is not None
    day = clock.PourDay(
        on=on,
        loads=len(concrete.loads.loads_yd3),
        area_ft2=concrete.take_off.area_ft2,
        released=powder,
        stamped="stamp" in kinds or placed.pattern is not None,
        saw=None if placed.area.kind in ("stairs", "wall") else stages.kind("joint").window(joint, shop),
        rinse=stages.kind("rinse").window({}, shop) if powder else None,
        start=request.start,
        air_f=request.air_f,
    )
    return clock.clock(day, past(steps), shop)


# what past pours say


def past(steps: Iterable[PourStep]) -> tuple[PastPour, ...]:
    """The pours of all jobs, in their order; loads twelve hours apart are two pours."""
    return tuple(
        pour for _, some in groupby(steps, key=lambda step: step.job) for pour in _pours(tuple(some))
    )


def _pours(steps: Sequence[PourStep]) -> Iterator[PastPour]:
    loads = [step for step in steps if step.kind == "load"]
    first = 0
    for at in range(1, len(loads) + 1):
        if at == len(loads) or loads[at].happened - loads[at - 1].happened > SAME_POUR:
            yield _pour(loads[first:at], steps)
            first = at


def _pour(loads: Sequence[PourStep], steps: Sequence[PourStep]) -> PastPour:
    begun = loads[0].happened
    ends = [s.happened for s in steps if s.kind == "pour" and begun < s.happened <= begun + SAME_POUR]
    end = max(ends, default=None)
    gaps = [_minutes(one.happened, other.happened) for one, other in pairwise(loads)]
    return PastPour(
        air_f=_air(loads, steps),
        gap=fmean(gaps) if gaps and min(gaps) > 0 else None,
        release=_first("powder_release", steps, begun, SAME_POUR),
        stamp=_first("stamp", steps, begun, SAME_POUR),
        joint=_first("joint", steps, end, CUT_WITHIN),
        rinse=_first("rinse", steps, end, RINSED_WITHIN),
    )


def _minutes(since: datetime, until: datetime) -> float:
    return (until - since).total_seconds() / 60


def _first(kind: str, steps: Sequence[PourStep], since: datetime | None, within: timedelta) -> float | None:
    """Minutes to the first of that kind; what stands at the same minute was logged, not timed."""
    if since is None:
        return None
    found = [s.happened for s in steps if s.kind == kind and since < s.happened <= since + within]
    return _minutes(since, min(found)) if found else None


def _air(loads: Sequence[PourStep], steps: Sequence[PourStep]) -> float | None:
    """The air at a load where it was noted, else the middle of that day's low and high."""
    said = [float(load.facts["air_f"]) for load in loads if load.facts.get("air_f") is not None]
    if said:
        return fmean(said)
    begun = loads[0].happened
    for step in steps:
        low, high = step.facts.get("low_f"), step.facts.get("high_f")
        near = abs(step.happened - begun) <= timedelta(hours=72)
        early = float(step.facts.get("from_h") or 0) < WEATHER_HOURS
        if step.kind == "weather" and near and early and low is not None and high is not None:
            return (float(low) + float(high)) / 2
    return None


# the clock in words


def lines(plan: Plan, units: str = "us") -> list[tuple[str, str, str]]:
    """What, when, and what goes with it, in order of opening."""
    found = plan.clock
    if found is None:
        return []
    rows: list[tuple[str, str, str]] = []
    for line in found.lines:
        title = f"{line.title} {line.number}" if line.number else line.title
        own = f"; median of your {line.own} pours" if line.own else ""
        rows.append((title, _when(line.opens, found), _beside(line, found) + own))
        if line.key == "stamp" and found.hands is not None:
            rows.append(_hands(plan, units))
    return rows


def _beside(line: ClockLine, found: PourClock) -> str:
    until = _when(line.closes, found)
    if line.key == "truck":
        return f"empty {found.truck_minutes} min after batching: at the latest {until}, less the drive"
    if line.key == "release":
        return "on the first load" if line.closes == line.opens else f"on the first load; on the last {until}"
    if line.key == "stamp":
        return f"until about {until}; try the edge first"
    return f"usually until {until}"


def _hands(plan: Plan, units: str) -> tuple[str, str, str]:
    assert plan.clock is not None
    assert plan.clock.hands is not None
    hands = plan.clock.hands
    rate, area = (write("area_ft2", a, units, 0) for a in (hands.ft2_per_h, plan.concrete.take_off.area_ft2))
    then = plan.reference.stamp.get("mats")
    was = f"; {then} mats on the old slab" if then is not None else ""
    return (
        "Hands",
        f"{hands.hands} hands, {hands.mats} mats",
        f"{rate} an hour: {area} in {_span(hands.minutes)}{was}",
    )


def _when(span: Span, found: PourClock) -> str:
    if found.start is None:
        if span.high == 0:
            return "first on site"
        return (
            f"+{_span(span.low)}" if span.low == span.high else f"+{_span(span.low)} to +{_span(span.high)}"
        )
    low, high = (
        datetime.combine(found.on, found.start) + timedelta(minutes=m) for m in (span.low, span.high)
    )
    first = words.clock(low) if low.date() == found.on else f"{write_weekday(low.date())} {words.clock(low)}"
    if low == high:
        return first
    last = (
        words.clock(high)
        if high.date() == low.date()
        else f"{write_weekday(high.date())} {words.clock(high)}"
    )
    return f"{first} to {last}"


def _span(minutes: int) -> str:
    hours, rest = divmod(minutes, 60)
    if not hours:
        return f"{rest} min"
    return f"{hours} h {rest:02d}" if rest else f"{hours} h"


def notes(plan: Plan, units: str = "us") -> tuple[str, ...]:
    """What the clock does not know, and on what it rests."""
    return tuple(_notes(plan.clock, units)) if plan.clock else ()


def _notes(found: PourClock, units: str) -> Iterator[str]:
    if found.start is None:
        yield "Start not given: + means after the first truck is on site."
    if found.air_f is None:
        hot, cool = (write("temperature_f", clock.F(f), units) for f in (clock.HOT_F, clock.COOL_F))
        yield f"Air not given: from {hot} (earlier) to {cool} (later); trucks on hot-weather limits."
    else:
        yield f"For air of {write('temperature_f', found.air_f, units)}."
    if any(line.own for line in found.lines):
        yield _rests(found, units)
    at, step = ("21 °C", "6 °C") if units == "metric" else ("70 °F", "10 °F")
    yield f"Usual ranges: common practice, no source, at {at}; a third sooner for each {step} more (from memory)."
    yield "Go by how the slab feels, not the clock."


def _rests(found: PourClock, units: str) -> str:
    if found.own_air_f is None:
        return "Air of your past pours not logged: their hours are used as is."
    low, high = (write("temperature_f", clock.F(air), units) for air in found.own_air_f)
    like = ", like this one" if found.near else "; this one's is unknown"
    return f"Your past pours were at {low} to {high}{like}."


_LINE = (
    "key load=number? opens_from_minutes=opens.low opens_to_minutes=opens.high",
    "closes_from_minutes=closes.low closes_to_minutes=closes.high own_pours=own",
)
_HANDS = "hands.hands hands.mats stamped_ft2_per_h=hands.ft2_per_h stamping_minutes=hands.minutes"


def clock_json(found: PourClock | None) -> Json | None:
    """The clock with the unit in each key; minutes run from the first truck on site."""
    if found is None:
        return None
    return {
        "start": None if found.start is None else found.start.strftime("%H:%M"),
        **pick(found, "air_f truck_limit_minutes=truck_minutes"),
        "lines": [pick(line, *_LINE) for line in found.lines],
        **pick(found, _HANDS),
        "source": sources.CLOCK,
    }
