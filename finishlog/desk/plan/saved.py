"""A plan as its job keeps it: what was asked, its figures for other programs, and the plan itself, whole.

What a plan is made of is loaded where there is one: a job's page is opened far oftener.
"""

from __future__ import annotations

import json
from dataclasses import fields
from datetime import date, time
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from finishlog.desk import exact_data
from finishlog.desk.plain_data import data
from finishlog.errors import InputError
from finishlog.records.log import Job, Shape

if TYPE_CHECKING:
    from finishlog.records.answers import Advice
    from finishlog.records.plan import KeptPlan, Plan, PlanRequest
    from finishlog.records.writing import NewAdvice
    from finishlog.store import Reader

METHOD = "match-2"
"""Kept whole from this version on: before, only its figures were."""
_WHOLE = "plan"
_OF_THE_LOG = ("reference_job", "reference_line")
"""What is read from the log again: it holds the old job whole, and a customer's name as it is now."""


def advice(plan: Plan) -> NewAdvice:
    """A plan as it is kept with its job: what was asked, its figures for other programs, the plan itself."""
    from finishlog.desk.plan import as_json
    from finishlog.records.writing import NewAdvice

    answer = {**as_json.plan_json(plan), _WHOLE: exact_data.kept(plan, _OF_THE_LOG)}
    return NewAdvice(
        "plan", METHOD, json.dumps(data(plan.request), sort_keys=True), json.dumps(answer, sort_keys=True)
    )


def of_job(log: Reader, job: Job) -> KeptPlan | None:
    """The newest plan that was kept with a job; None where there is none, or none that was kept whole."""
    found = newest(log, job)
    return None if found is None else read(log, job, found)


def newest(log: Reader, job: Job) -> Advice | None:
    """The plan that was kept with a job last, as it lies in the log."""
    return next((each for each in reversed(log.advices(job.handle)) if each.kind == "plan"), None)


def read(log: Reader, job: Job, found: Advice) -> KeptPlan | None:
    """The plan itself; None where only its figures were kept, or an older version's say too little."""
    from finishlog.records.plan import KeptPlan, Plan

    try:
        whole = json.loads(found.answer).get(_WHOLE)
        if whole is None:
            return None
        handle = job.reference or whole["request"]["reference"]
        reference, line = log.job(handle), log.line(handle)
        plan = exact_data.again(Plan, whole, reference_job=reference, reference_line=line)
    except exact_data.UNREADABLE:  # another version's, which says less than is needed
        return None
    return KeptPlan(plan, found.given, found.method)


def figures(found: Advice) -> dict[str, Any]:
    """The figures of a kept plan, as its JSON has them; none where it cannot be read."""
    try:
        return dict(json.loads(found.answer))
    except exact_data.UNREADABLE:
        return {}


def request(found: Advice) -> PlanRequest:
    """What a kept plan was asked for. Raises InputError where that cannot be read."""
    try:
        return _request(json.loads(found.inputs))
    except exact_data.UNREADABLE:
        raise InputError("The plan's inputs cannot be read.", "Plan it again.",
                         example="finishlog match old-job --rect 20x12 --save") from None  # fmt: skip


def _request(inputs: dict[str, Any]) -> PlanRequest:
    """What a newer program asked beside it is left out."""
    from finishlog.records.plan import PlanRequest

    known = {field.name for field in fields(PlanRequest)}
    values = {key: value for key, value in inputs.items() if key in known}
    for key in ("cement_lb_per_yd3", "scm_lb_per_yd3", "air_f"):
        values[key] = None if values.get(key) is None else Fraction(str(values[key]))
    values["probes_in"] = tuple(Fraction(str(probe)) for probe in values.get("probes_in", ()))
    values["shapes"] = tuple(Shape(**shape) for shape in values["shapes"])
    values["start"] = time.fromisoformat(values["start"]) if values.get("start") else None
    values["on"] = date.fromisoformat(values["on"]) if values.get("on") else None
    for key in ("lots", "makers"):
        values[key] = tuple(values.get(key, ()))
    return PlanRequest(**values)
