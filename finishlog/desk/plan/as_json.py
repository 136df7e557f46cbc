"""Answers as plain data for other programs: snake_case keys with the unit in the key, numbers as numbers.

Keys are the same whatever units people read; a key once published holds still.
"""

from __future__ import annotations

from finishlog.desk.bench.as_json import PIGMENT_LOAD, yards_json
from finishlog.desk.color.as_json import odds_json
from finishlog.desk.plain_data import Json, data, pick
from finishlog.desk.plan import words
from finishlog.desk.shape_words import dimensions
from finishlog.records.page import JobPage
from finishlog.records.placed import AsPlaced
from finishlog.records.plan import KeptPlan, PigmentPlan, Plan

_PIGMENT = "dose_lb_per_yd3 total_lb kept other_dose_lb_per_yd3 percent_of_cementitious percent_of_cement"


def job_json(page: JobPage) -> Json:
    """Everything the log holds on a job, as placed and entry by entry."""
    return {
        "job": page.job.handle,
        "sentence": page.sentence,
        "poured_on": data(page.poured_on or page.line.poured_on),
        "age_days": page.age_days,
        "as_placed": [placed_json(p) for p in page.placed],
        "record": data(page.job),
        "plan": None if page.planned is None else kept_plan_json(page.planned),
    }


def kept_plan_json(kept: KeptPlan) -> Json:
    """The plan that a job was saved with, when and by which method."""
    asked = data(kept.plan.request)
    given = {"given_at": kept.given.isoformat(), "method": kept.method, "inputs": asked}
    return {**given, **plan_json(kept.plan)}


def placed_json(placed: AsPlaced) -> Json:
    """An area as placed, without the area's own record."""
    values = data(placed)
    return {"area": placed.area.name, **{k: v for k, v in values.items() if k != "area"}}


def plan_json(plan: Plan) -> Json:
    """The plan for a matching addition."""
    return {
        "title": plan.title,
        "answer": plan.sentence,
        "on": plan.on.isoformat(),
        "reference": _reference(plan),
        "shapes": data(plan.request.shapes),
        "dimensions": dimensions(plan.request.shapes),
        "concrete": yards_json(plan.concrete),
        "pigment": None if plan.pigment is None else pigment_json(plan.pigment),
        "pigment_advice": plan.pigment_advice or None,
        **pick(
            plan, "release sealer stages dates=days differences then cautions buried missing tell_customer"
        ),
        "odds": None if plan.odds is None else odds_json(plan.odds),
        "odds_advice": plan.odds_advice or None,
        "headline": words.headline(plan),
        "gate": data(plan.gate),
        "dose_by_sample": data(plan.dose_by_sample),
        **_shelf_json(plan),
        **_pour_day_json(plan),
    }


def _pour_day_json(plan: Plan) -> Json:
    """Where the slab is jointed, and the clock of the day."""
    from finishlog.desk.plan import clock, joints

    return {"joints": joints.joints_json(plan.joints), "clock": clock.clock_json(plan.clock)}


def _shelf_json(plan: Plan) -> Json:
    """What the shelf has of it, and what the material costs."""
    from finishlog.desk.plan import shelf

    return {
        "shelf": [shelf.enough_json(each) for each in plan.shelf],
        "cost": None if plan.cost is None else shelf.cost_json(plan.cost),
    }


def _reference(plan: Plan) -> Json:
    return {
        **pick(plan.reference_job, "job=handle customer=customer.name name"),
        "site": plan.reference_line.site,
        **placed_json(plan.reference),
    }


def pigment_json(pigment: PigmentPlan) -> Json:
    """All pigments together, each part, and each load with the keys of `dose`."""
    return {
        **pick(pigment, _PIGMENT),
        "parts": data(pigment.parts),
        "loads": [pick(load, PIGMENT_LOAD) for load in pigment.loads],
    }
