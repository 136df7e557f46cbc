"""A job's saved plan: shown as given, and compared with the plan made now."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from finishlog.desk.match import plan as planning
from finishlog.desk.plan import as_json, saved, words
from finishlog.errors import FinishlogError, InputError
from finishlog.records.log import Job
from finishlog.records.plan import Difference, KeptPlan, Plan
from finishlog.retrying import anew
from finishlog.units import count, write, write_date, write_weight_lb_oz

if TYPE_CHECKING:
    from finishlog.desk.services import Services
    from finishlog.records.answers import Advice

_FIGURES = (
    ("concrete", "order_yd3"),
    ("concrete", "loads"),
    ("pigment", "loads"),
    ("release", "lb"),
    ("sealer", "gal"),
)


def plan_of(services: Services, handle: str, units: str = "us") -> Plan:
    """The plan for its sheets, as it was given. Raises InputError where there is none.

    One whose figures alone were kept is made again, and refused where they would come out otherwise.
    """
    with services.log().reading() as log:
        job = log.job(log.resolve(handle))
        found = saved.newest(log, job)
        kept = saved.read(log, job, found) if found else None
    if kept is not None:
        return kept.plan
    if found is None:
        example = f"finishlog match {job.reference or job.handle} --rect 20x12 --pdf plan.pdf --sheet all"
        raise InputError(
            f"{job.handle} was not planned with match --save.", "So it has no plan.", example=example
        )
    return _of_figures(services, job, found, units)


def _of_figures(services: Services, job: Job, found: Advice, units: str) -> Plan:
    asked = saved.request(found)
    made = planning.make(services, replace(asked, name=job.name), units)
    if changed := _changed(saved.figures(found), as_json.plan_json(made)):
        cause = f"The old job or the shop's settings changed since, and with them {changed}."
        raise InputError(f"The plan of {job.handle} would come out differently now.", cause,
                         example=f"finishlog match {asked.reference} … --save, then its sheets")  # fmt: skip
    return made


def _changed(then: dict[str, Any], now: dict[str, Any]) -> str:
    """The parts of the plan whose figures are not what they were."""
    found = [part for part, key in _FIGURES if _figure(then, part, key) != _figure(now, part, key)]
    return " and ".join(dict.fromkeys(found))


def _figure(answer: dict[str, Any], part: str, key: str) -> Any:
    return (answer.get(part) or {}).get(key)


def made_again(services: Services, handle: str, units: str = "us", *, odds: bool = True) -> Plan:
    """The same request planned with what the log knows now. Raises InputError where nothing was kept."""
    with services.log().reading() as log:
        job = log.job(log.resolve(handle))
        found = saved.newest(log, job)
        kept = saved.read(log, job, found) if found else None
    if found is None:
        raise InputError(f"{job.handle} has no plan.", example=f"finishlog match {job.handle} --rect 20x12")
    asked = kept.plan.request if kept else saved.request(found)
    day = asked.on or (kept.plan.on if kept else job.planned_on)
    return planning.make(services, replace(asked, on=day, name=job.name), units, odds=odds)


@anew
def keep_again(services: Services, handle: str, plan: Plan) -> str:
    """Keep a plan made again with the job it is of; the one before stays in the log. Its handle."""
    from finishlog.desk.match import as_job

    with services.log().writing() as log:
        job = log.job(log.resolve(handle))
        named = planning.named(plan, job.name)
        log.replan(job.handle, as_job.planned_area(named, job.name), named.on)
        log.add_advice(job.handle, saved.advice(named))
        return job.handle


def since(services: Services, handle: str, units: str = "us") -> tuple[str, ...]:
    """What would differ if the plan were made now; empty if nothing."""
    with services.log().reading() as log:
        kept = saved.of_job(log, log.job(log.resolve(handle)))
    if kept is None:
        return ()
    try:
        now = made_again(services, handle, units, odds=False)
    except FinishlogError as refused:
        return (f"it can no longer be made: {refused.title}",)
    return tuple(_otherwise(kept.plan, now, units))


def _otherwise(then: Plan, now: Plan, units: str) -> Iterator[str]:
    pairs = zip(_told(then, units), _told(now, units), strict=True)
    for (label, was), (_, will) in pairs:
        if was != will:
            yield f"{label} {will}, was {was}"
    old, new = ({_facts(each): each.title for each in plan.differences} for plan in (then, now))
    others = {
        title for one, other in ((old, new), (new, old)) for at, title in one.items() if at not in other
    }
    if others:
        yield f"{count(len(others), 'point')} under What differs"


def _facts(line: Difference) -> tuple[str, ...]:
    """A difference reduced to figures and names, so that rewording is not a change."""
    return line.key, *re.findall(r"\d[\d.,/]*|\b[A-Z]\w*", line.text)


def _told(plan: Plan, units: str) -> tuple[tuple[str, str], ...]:
    pigment = write_weight_lb_oz(words.weighed_lb(plan.pigment), units) if plan.pigment else "not known"
    return (
        ("order", write("volume_yd3", plan.concrete.order.best.order_yd3, units)),
        ("pigment", pigment),
        ("release", write_weight_lb_oz(plan.release.lb, units) if plan.release else "none"),
        ("sealer", write("liquid_gal", plan.sealer.gal, units)),
        ("pour", write_date(plan.on)),
    )


def given_words(kept: KeptPlan) -> str:
    """`Planned Jun 16 2026, from the log at that time.`"""
    return f"Planned {write_date(kept.given.date())}, from the log at that time."


def since_words(changed: tuple[str, ...], how: str = "m remakes it") -> str:
    """What the log has learned since, in a sentence; empty where the plan would be the same."""
    return f"Remade now, it would differ: {'; '.join(changed)}. {how}." if changed else ""
