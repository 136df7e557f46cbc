"""Asks about old-slab rates far from usual before a plan reuses them, by the rule for entries."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from finishlog.desk.doubts import amounts
from finishlog.desk.doubts.amounts import Own
from finishlog.desk.placed import shares
from finishlog.desk.plan.differences import by_weight
from finishlog.records.log import Entry, Job
from finishlog.records.placed import AsPlaced
from finishlog.records.plan import Difference, Plan, PlanRequest
from finishlog.records.shop import Shop
from finishlog.trade.dose import odd_content
from finishlog.units import exact, write, write_number

KEY = "far_"


def asked(
    found: tuple[Difference, ...], job: Job, placed: AsPlaced, shop: Shop, own: Own, system: str = "us"
) -> tuple[Difference, ...]:
    """The differences with every rate that is far from usual, and with what was shared by size."""
    more = [*_rates(job, placed, shop, own, system), *_dose(placed, shop, system)]
    shared = [Difference("shared", "Old split", text, "know") for text in placed.shared]
    return by_weight((*found, *more, *shared))


def content(request: PlanRequest) -> Iterator[Difference]:
    """The new mix's cement, where no mix has so little or so much."""
    cement = request.cement_lb_per_yd3
    if cement is not None and (odd := odd_content(cement, request.scm_lb_per_yd3 or Fraction(0))):
        yield Difference(KEY + "cement", "Cement content", odd, "ask")


def is_far(plan: Plan, kind: str) -> bool:
    """Whether the plan asks about the rate of this stage."""
    return any(each.key == KEY + kind for each in plan.differences)


def _rates(job: Job, placed: AsPlaced, shop: Shop, own: Own, system: str) -> Iterator[Difference]:
    for kind, usual in amounts.WITH_USUAL.items():
        of = amounts.usual(kind, shop, own)
        for entry in _entries(job, placed, kind):
            rate = shares.rate(job, entry)
            if rate is not None and amounts.is_far(kind, rate, of):
                then = amounts.write_rate(rate, of.quantity, system)
                text = f"{then} logged, entry {entry.number}; {of.said(system)}: typo?"
                yield Difference(KEY + kind, usual.title, text, "ask")


def _entries(job: Job, placed: AsPlaced, kind: str) -> list[Entry]:
    """What the plan goes by: of release and hardener the last, of sealer every first coat."""
    if kind == "seal":
        coats = job.of_kind("seal", area=placed.area.uid)
        return [entry for entry in coats if entry.coat is None or not entry.coat.reseal]
    entry = shares.latest(job, placed.area, kind)
    return [entry] if entry is not None else []


def _dose(placed: AsPlaced, shop: Shop, system: str) -> Iterator[Difference]:
    dose, usual = placed.dose_lb_per_yd3, amounts.usual_dose(shop)
    if dose is not None and dose > usual * amounts.FAR:
        then, most = _lb(dose, system), _lb(usual, system)
        yield Difference(KEY + "dose", "Old dose", f"{then}; usually about {most}: typo?", "ask")


def _lb(dose: Fraction, system: str) -> str:
    return (
        write("dose_lb_per_yd3", exact(dose), system)
        if system == "metric"
        else f"{write_number(dose)} lb/yd³"
    )
