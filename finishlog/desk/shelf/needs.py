"""Materials a planned pour needs: from a match plan, or from any planned job's recipes."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from datetime import datetime, timedelta
from fractions import Fraction
from typing import TYPE_CHECKING

from finishlog.desk.exact_data import UNREADABLE
from finishlog.desk.placed.shares import volume_yd3
from finishlog.records.log import Area, Job, Stage, StageMaterial
from finishlog.records.plan import PigmentPlan, ReleasePlan, SealerPlan
from finishlog.records.shelf import Wanted
from finishlog.records.shop import Shop
from finishlog.trade import stages
from finishlog.trade.dose import lb_per_yd3
from finishlog.units import exact

if TYPE_CHECKING:
    from finishlog.records.answers import Advice
    from finishlog.store import Reader

F = Fraction
AHEAD_MOST = 60
"""Planned pours that are looked at for what they take."""


def planned(log: Reader, now: datetime) -> list[Wanted]:
    """What jobs take whose pour is planned and not past, the first first."""
    found = log.due(now + timedelta(days=3650), since=now, keys=("pour",), limit=AHEAD_MOST)
    jobs = log.jobs(handle for handle, _ in found)
    plans, shop = dict(log.advices_among("plan", tuple(jobs))), log.shop()
    return [each for handle, job in jobs.items() for each in _kept(job, plans.get(handle), shop)]


def kept(log: Reader, job: Job) -> tuple[Wanted, ...]:
    """What a planned job takes: by the plan that was kept with it, else by its recipes."""
    return _kept(job, dict(log.advices_among("plan", [job.handle])).get(job.handle), log.shop())


def _kept(job: Job, plan: Advice | None, shop: Shop) -> tuple[Wanted, ...]:
    return of_job(job, shop) if plan is None else of_advice(plan.answer, job.handle)


def of_plan(
    pigment: PigmentPlan | None, release: ReleasePlan | None, sealer: SealerPlan
) -> tuple[Wanted, ...]:
    """Pigments, release and sealer of a plan, each with the lot of the old slab where it was one."""
    found = [
        Wanted(part.name, part.maker, "pigment", part.total_lb, "lb", part.lot)
        for part in (pigment.parts if pigment else ())
    ]
    if release is not None:
        found.append(Wanted(release.name, release.maker, "powder release", release.lb, "lb", release.lot))
    if sealer.name is not None:
        found.append(Wanted(sealer.name, sealer.maker, "sealer", sealer.gal, "gal"))
    return tuple(found)


def of_advice(answer: str, job: str) -> tuple[Wanted, ...]:
    """The same of a plan as it was kept: `answer` is its JSON; none where it cannot be read."""
    try:
        return _of_advice(answer, job)
    except UNREADABLE:
        return ()


def _of_advice(answer: str, job: str) -> tuple[Wanted, ...]:
    told = json.loads(answer)
    pigments, release, sealer = told.get("pigment") or {}, told.get("release") or {}, told.get("sealer") or {}
    found = [(part, "pigment", part["total_lb"], "lb") for part in pigments.get("parts", ())]
    found += [(release, "powder release", release["lb"], "lb")] if release else []
    found += [(sealer, "sealer", sealer["gal"], "gal")] if sealer.get("name") else []
    return tuple(
        Wanted(part["name"], part.get("maker"), kind, F(str(amount)), unit, part.get("lot"), job)
        for part, kind, amount, unit in found
    )


def of_job(job: Job, shop: Shop) -> tuple[Wanted, ...]:
    """Materials for a job's areas by recipe, one per product and lot; unknown rates or sizes count as none."""
    sums: dict[tuple[str, str | None, str, str, str | None], Fraction] = {}
    for area in job.areas:
        for wanted in _of_area(area, shop):
            key = (wanted.name, wanted.maker, wanted.kind, wanted.unit, wanted.lot)
            sums[key] = sums.get(key, F(0)) + wanted.amount
    return tuple(
        Wanted(name, maker, kind, amount, unit, lot, job.handle)
        for (name, maker, kind, unit, lot), amount in sums.items()
    )


def _of_area(area: Area, shop: Shop) -> Iterator[Wanted]:
    for stage in area.recipe.stages if area.recipe else ():
        for material in stage.materials:
            found = _amount(material, stage, area, shop)
            if found is not None and found[0] > 0:
                product = material.product
                yield Wanted(product.name, product.maker, product.kind, *found, material.lot)


def _amount(material: StageMaterial, stage: Stage, area: Area, shop: Shop) -> tuple[Fraction, str] | None:
    size = exact(area.area_ft2) if area.area_ft2 is not None else None
    volume = volume_yd3(area)
    if material.rate is not None and material.unit is not None:
        return _by_rate(exact(material.rate), material.unit, size, volume, shop)
    if size is None or len(stage.materials) != 1:
        return None
    needs = stages.kind(stage.kind).needs(stage.params, size, volume or F(0), shop)
    units = {need.unit for need in needs}
    return (sum((need.amount for need in needs), F(0)), units.pop()) if len(units) == 1 else None


def _by_rate(
    rate: Fraction, unit: str, size: Fraction | None, volume: Fraction | None, shop: Shop
) -> tuple[Fraction, str] | None:
    """`%` and `lb/sack` are of the shop's usual cementitious: a recipe names no mix."""
    if unit in ("lb/yd3", "kg/m3", "lb/sack", "%"):
        per_yard = lb_per_yd3(rate, unit, shop.cementitious_lb_per_yd3, F(0))
        return None if volume is None else (per_yard * volume, "lb")
    if size is None:
        return None
    if unit == "lb/100 ft2":
        return rate * size / 100, "lb"
    return (size / rate, "gal") if unit == "ft2/gal" and rate else None


def names(wanted: Iterable[Wanted]) -> tuple[tuple[str, str], ...]:
    """Kind and name of each product wanted, once."""
    return tuple(dict.fromkeys((each.kind, each.name) for each in wanted))
