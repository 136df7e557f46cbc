"""The plan that a planned job was kept with, made again for its sheets and held against what was advised."""

from __future__ import annotations

import json
from dataclasses import fields, replace
from datetime import date
from fractions import Fraction
from typing import Any

from finishlog.desk import plan as planning
from finishlog.desk import tell
from finishlog.desk.services import Services
from finishlog.errors import InputError
from finishlog.records.log import Shape
from finishlog.records.plan import Plan, PlanRequest

_FIGURES = (
    ("concrete", "order_yd3"),
    ("concrete", "loads"),
    ("pigment", "loads"),
    ("release", "lb"),
    ("sealer", "gal"),
)


def plan_of(services: Services, handle: str, units: str = "us") -> Plan:
    """The plan as it was kept. Raises InputError where there is none, or where it would come out otherwise now."""
    with services.log().reading() as log:
        job = log.job(log.resolve(handle))
        advice = next((a for a in reversed(log.advices(job.handle)) if a.kind == "plan"), None)
    if advice is None:
        example = f"finishlog match {job.reference or job.handle} --rect 20x12 --pdf plan.pdf --sheet all"
        raise InputError(
            f"{job.handle} was not planned with match --save.", "So it has no plan.", example=example
        )
    asked = request(json.loads(advice.inputs))
    made = planning.make(services, replace(asked, name=job.name), units)
    if changed := _changed(json.loads(advice.answer), tell.plan_json(made)):
        cause = f"The old job or the shop's settings have changed since, and with them {changed}."
        raise InputError(f"The plan of {job.handle} would come out otherwise now.", cause,
                         example=f"finishlog match {asked.reference} … --save, then its sheets")  # fmt: skip
    return made


def request(inputs: dict[str, Any]) -> PlanRequest:
    """What was asked for, from its JSON; what a newer program asked beside it is left out."""
    known = {field.name for field in fields(PlanRequest)}
    values = {key: value for key, value in inputs.items() if key in known}
    for key in ("cement_lb_per_yd3", "scm_lb_per_yd3", "air_f"):
        values[key] = None if values.get(key) is None else Fraction(str(values[key]))
    values["probes_in"] = tuple(Fraction(str(probe)) for probe in values.get("probes_in", ()))
    values["shapes"] = tuple(Shape(**shape) for shape in values["shapes"])
    values["on"] = date.fromisoformat(values["on"]) if values.get("on") else None
    for key in ("lots", "makers"):
        values[key] = tuple(values.get(key, ()))
    return PlanRequest(**values)


def _changed(then: dict[str, Any], now: dict[str, Any]) -> str:
    """The parts of the plan whose figures are not what they were."""
    found = [part for part, key in _FIGURES if _figure(then, part, key) != _figure(now, part, key)]
    return " and ".join(dict.fromkeys(found))


def _figure(answer: dict[str, Any], part: str, key: str) -> Any:
    return (answer.get(part) or {}).get(key)
