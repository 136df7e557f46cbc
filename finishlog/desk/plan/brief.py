"""A plan in brief, for one screen: rows to order, the days, what to settle."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date
from fractions import Fraction
from typing import TYPE_CHECKING, NamedTuple

from finishlog.desk.plan.words import made_up
from finishlog.trade import shelf
from finishlog.units import MONTHS, WEEKDAYS, chance, count, write, write_weight_lb_oz

if TYPE_CHECKING:
    from finishlog.records.plan import PigmentPart, Plan, PlanDay
    from finishlog.records.shelf import Enough


class Ordered(NamedTuple):
    """One row to order. `settle` is what is to be done first, else empty."""

    label: str
    figure: str
    text: str
    settle: str = ""


class Dated(NamedTuple):
    """A day and what falls on it. `warned`: it says something to settle."""

    when: str
    what: str
    warned: bool


def order(plan: Plan, units: str = "us") -> Iterator[Ordered]:
    """Concrete, pigments, release, sealer: how much, of what, whether the shelf has it."""
    best = plan.concrete.order.best
    neat = write("volume_yd3", plan.concrete.take_off.volume_yd3, units)
    text = f"{chance(best.chance_short)} short; neat {neat}"
    yield Ordered("Order", write("volume_yd3", best.order_yd3, units), text)
    if plan.pigment is None:
        yield Ordered("Pigment", "—", "", plan.pigment_advice)
    for part in plan.pigment.parts if plan.pigment else ():
        weight = write_weight_lb_oz(sum(part.loads_lb, Fraction(0)), units)
        yield _product(plan, "Pigment", weight, _packs(part, units), part.name, units)
    if plan.release is not None:
        weight = write_weight_lb_oz(plan.release.lb, units)
        yield _product(plan, "Release", weight, "", plan.release.name, units)
    amount = write("liquid_gal", plan.sealer.gal, units)
    coats = count(len(plan.sealer.coats), "coat")
    yield _product(plan, "Sealer", amount, coats, plan.sealer.name or "sealer not logged then", units)


def _packs(part: PigmentPart, units: str) -> str:
    """`15 packs + 1 lb 2 oz` of one load; several are each made up by themselves."""
    if len(part.loads) != 1:
        return f"in {len(part.loads)} loads"
    (load,) = part.loads
    return made_up(load, units) if load.packs else "weighed"


def _product(plan: Plan, label: str, figure: str, made_up: str, name: str, units: str) -> Ordered:
    held = next((each for each in plan.shelf if each.wanted.name == name), None)
    lacks = "" if held is None or held.short is None else _lacks(held, units)
    there = "enough on the shelf" if held is not None and held.short == 0 and not lacks else ""
    return Ordered(label, figure, "; ".join(part for part in (made_up, name, there) if part), lacks)


def _lacks(held: Enough, units: str) -> str:
    """What the shelf lacks, or that the lot differs; empty if all is there."""
    if held.short:
        return f"{shelf.amount(held.short, held.wanted.unit, units)} short"
    if not held.one_lot:
        return "of several lots"
    if held.same_lot is False:
        return f"lot {held.takes[0].lot or 'unknown'}, was {held.wanted.lot}"
    return ""


SHOWN = {"pour": "pour", "rinse": "rinse", "seal": "seal", "compare_from": "compare"}
_USUAL = re.compile(r"[A-Z][a-z]{2} ([A-Z][a-z]{2}) (\d+)")


def timeline(plan: Plan) -> tuple[Dated, ...]:
    """The days that count (a window's start); items on one day go together."""
    rows: dict[date, list[PlanDay]] = {}
    for day in sorted((day for day in plan.days if day.key in SHOWN), key=_begins):
        rows.setdefault(_begins(day), []).append(day)
    return tuple(
        Dated(
            _written(on, plan.on), ", ".join(SHOWN[day.key] for day in days), any(day.warning for day in days)
        )
        for on, days in rows.items()
    )


def _begins(day: PlanDay) -> date:
    """The day its words start with: a window opens sooner if the slab is proven dry."""
    usual = _USUAL.match(day.when)
    if usual is None:
        return day.opens
    month, number = MONTHS.index(usual[1]) + 1, int(usual[2])
    year = day.opens.year + ((month, number) < (day.opens.month, day.opens.day))
    return date(year, month, number)


def _written(on: date, pour: date) -> str:
    """`Sat Nov 28` of the pour, `Sun` in the week after it, `Dec 26` later, `Apr 2027` where a season opens."""
    month = MONTHS[on.month - 1]
    if on == pour:
        return f"{WEEKDAYS[on.weekday()]} {month} {on.day}"
    if (on - pour).days < 7:
        return WEEKDAYS[on.weekday()]
    return f"{month} {on.year}" if on.year > pour.year and on.day == 1 else f"{month} {on.day}"


class Settled(NamedTuple):
    """What to settle before the pour: its mark, a title, the words."""

    mark: str
    title: str
    text: str


_DEPTH = re.compile(r"(?P<what>.+?), (?P<depth>[^,]+?)(?: down)?(?:, .*)?")


def to_settle(plan: Plan) -> Iterator[Settled]:
    """What is buried, what differs, the weekend, then every question in one row."""
    if plan.buried:
        yield Settled("!", "Buried", "; ".join(_shortly(text) for text in plan.buried))
    for one in plan.differences:
        if one.weight == "act":
            yield Settled("!", one.title, one.text)
    for day in plan.days:
        if day.warning:
            yield Settled("!", named(day), day.warning)
    if asked := [_asked(one.title) for one in plan.differences if one.weight == "ask"]:
        yield Settled("?", "Ask", ", ".join(dict.fromkeys(asked)))


def named(day: PlanDay) -> str:
    """`Rinse` for `Sweep and rinse`: the one word of a day."""
    return SHOWN.get(day.key, day.title).capitalize()


def _shortly(buried: str) -> str:
    """`gas line 18 in` of `gas line, 18 in down, north edge`."""
    found = _DEPTH.fullmatch(buried)
    return f"{found['what']} {found['depth']}" if found else buried


def _asked(title: str) -> str:
    """`Lots` as `lots`; a name in it stays as it is written."""
    first, _, rest = title.partition(" ")
    return f"{first.lower()} {rest}".rstrip()
