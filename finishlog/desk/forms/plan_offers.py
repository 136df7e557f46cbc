"""What the plan of a job says of an entry on pour day: offered beside a blank field, never logged by itself.

A figure of the plan is no observation: it becomes one when somebody takes it into its field.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction

from finishlog.records.plan import PigmentPart, Plan, PlanDay
from finishlog.trade.events import EntryKind, entry_kind
from finishlog.trade.stages import KINDS
from finishlog.units import write, write_weekday, write_weight_lb_oz

_SLOTS = ("", "_2", "_3")
_DONE_HERE = tuple(kind.logged_as or kind.key for kind in KINDS if kind.reckoned)
"""Kinds whose amounts the plan states by itself."""


@dataclass(frozen=True, slots=True)
class Planned:
    """A figure of the plan. `take` is the text that a field takes; empty for what is only shown, a window."""

    said: str
    take: str = ""


Figures = Mapping[str, Planned]
"""By the key of the field."""


def figures(plan: Plan, kind: str, number: int, units: str = "us") -> dict[str, Planned]:
    """The plan's figures for the next entry of a kind, by field; `number` counts loads and coats from 1."""
    found = dict(_amounts(plan, kind, number, units))
    day = next((day for day in plan.days if day.key == entry_kind(kind).plan_day), None)
    if day is not None:
        found["at"] = Planned(_window(day))
    return found


def split(what: EntryKind, texts: Mapping[str, str]) -> tuple[dict[str, str], dict[str, Planned]]:
    """A recipe's texts: how the work is done, which a form may hold filled in, and what it only plans."""
    seen = {"amount", *(param.name for param in what.params if param.observed)}
    usual = {key: text for key, text in texts.items() if key not in seen}
    return usual, {key: _same(text) for key, text in texts.items() if key in seen and text}


def _amounts(plan: Plan, kind: str, number: int, units: str) -> Iterator[tuple[str, Planned]]:
    if kind == "load":
        yield from _load(plan, number - 1, units)
        yield from _mix(plan, units)
    elif kind == "powder_release" and plan.release is not None:
        yield "product", _same(plan.release.name)
        yield "amount", _same(write_weight_lb_oz(plan.release.lb, units))
        yield from _lot(plan, "lot", plan.release.lot)
    elif kind == "seal":
        yield from _coat(plan, number, units)
    if kind not in _DONE_HERE:
        yield from _needs(plan, kind, units)


def _load(plan: Plan, at: int, units: str) -> Iterator[tuple[str, Planned]]:
    """Yards and pigment of this load; a load beyond those planned has none."""
    loads = plan.concrete.loads.loads_yd3
    if at >= len(loads):
        return
    yield "yards", _same(write("volume_yd3", loads[at], units))
    parts = plan.pigment.parts if plan.pigment else ()
    for end, part in zip(_SLOTS, parts, strict=False):
        yield f"product{end}", _same(part.name)
        yield f"amount{end}", _same(write_weight_lb_oz(part.loads_lb[at], units))
        yield from _lot(plan, f"lot{end}", _lot_of(plan, part))


def _lot_of(plan: Plan, part: PigmentPart) -> str | None:
    """The lot on hand: the old one where it was said again, another where it can be of this pigment alone."""
    of_parts = plan.pigment.parts if plan.pigment else ()
    if part.lot and part.lot.casefold() in _said(plan):
        return part.lot
    others = [plan.release.lot] if plan.release else []
    then = {lot.casefold() for lot in (*(each.lot for each in of_parts), *others) if lot}
    new = [lot for lot in plan.request.lots if lot.casefold() not in then]
    return new[0] if len(new) == len(of_parts) == 1 else None


def _said(plan: Plan) -> set[str]:
    return {lot.casefold() for lot in plan.request.lots}


def _lot(plan: Plan, key: str, lot: str | None) -> Iterator[tuple[str, Planned]]:
    """A lot that was said to be on hand; that of the old slab alone is no plan."""
    if lot is not None and lot.casefold() in _said(plan):
        yield key, _same(lot)


def _mix(plan: Plan, units: str) -> Iterator[tuple[str, Planned]]:
    """What was said of the plant and its mix."""
    asked = plan.request
    for key, text in (("plant", asked.plant), ("cement_kind", asked.cement_kind)):
        if text:
            yield key, _same(text)
    contents: tuple[tuple[str, Fraction | None], ...] = (
        ("cement_lb_per_yd3", asked.cement_lb_per_yd3), ("scm_lb_per_yd3", asked.scm_lb_per_yd3)
    )  # fmt: skip
    for key, content in contents:
        if content is not None:
            yield key, _same(write("content_lb_per_yd3", content, units))


def _coat(plan: Plan, number: int, units: str) -> Iterator[tuple[str, Planned]]:
    if plan.sealer.name:
        yield "product", _same(plan.sealer.name)
    coats = {coat.number: coat for coat in plan.sealer.coats}
    if number in coats:
        yield "amount", _same(write("liquid_gal", coats[number].gal, units))


def _needs(plan: Plan, kind: str, units: str) -> Iterator[tuple[str, Planned]]:
    """What a further stage takes: one amount for the product that it names."""
    stages = [stage for stage in plan.stages if stage.kind == kind]
    if len(stages) == 1 and len(stages[0].needs) == 1:
        (need,) = stages[0].needs
        dry = need.unit == "lb"
        yield (
            "amount",
            _same(write_weight_lb_oz(need.amount, units) if dry else write("liquid_gal", need.amount, units)),
        )


def _same(text: str) -> Planned:
    return Planned(text, text)


def _window(day: PlanDay) -> str:
    """`Tue Apr 13 to Wed Apr 14`."""
    opens, closes = write_weekday(day.opens), write_weekday(day.closes)
    return opens if day.opens == day.closes else f"{opens} to {closes}"
