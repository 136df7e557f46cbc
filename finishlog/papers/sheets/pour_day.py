"""The pour day on the sheets of a plan: its clock, its joints."""

from __future__ import annotations

from collections.abc import Sequence

from finishlog.desk.plan import clock as plan_clock
from finishlog.desk.plan import joints
from finishlog.papers.layout import style
from finishlog.papers.layout.frame import Cell
from finishlog.papers.layout.leaf import Leaf
from finishlog.records.plan import Plan
from finishlog.trade.pour.clock import RELEASE_ON
from finishlog.units import write_number


def sections(leaf: Leaf, plan: Plan, units: str) -> None:
    """For the match sheet: both in full, with their basis."""
    _noted(leaf, "Pour day", plan_clock.lines(plan, units), plan_clock.notes(plan, units))
    _noted(leaf, "Joints", joints.lines(plan, units), joints.advice(plan))


def _noted(leaf: Leaf, name: str, rows: Sequence[tuple[str, str, str]], notes: Sequence[str]) -> None:
    if not rows:
        return
    with leaf.section(name) as (body, _):
        for label, figure, text in rows:
            title = Cell(label, 68, style.TIGHT_STRONG)
            body.row((title, Cell(figure, 120, style.TIGHT), Cell(text, 0, style.SMALL)), gap=4)
        body.row((Cell(" ".join(notes), 0, style.SMALL),), gap=4)


def clock_line(plan: Plan, units: str) -> str:
    """For the day card, in one line: `Truck 1 7a · Release on 8:15a · …`; blank without a clock."""
    rows = plan_clock.lines(plan, units)
    if plan.release is None:
        rows = [row for row in rows if row[0] != RELEASE_ON]
    return " · ".join(f"{label} {figure}" for label, figure, _ in rows)


def joint_line(plan: Plan, units: str) -> str:
    """For the day card: panels, inside corners first, what is kept apart; blank without joints."""
    if plan.joints is None:
        return ""
    corners = joints.corner_words(plan.joints)
    parts = (joints.panels(plan.joints, units), corners, joints.ISOLATED)
    said = "; ".join(part for part in parts if part)
    return said[0].upper() + said[1:]


def first_truck(plan: Plan) -> str:
    """The first truck's planned arrival; blank if not given."""
    from datetime import datetime

    from finishlog.desk.words import clock

    start = plan.request.start
    return "" if start is None else clock(datetime.combine(plan.on, start))


def air(plan: Plan, units: str) -> str:
    """The planned air temperature as a bare number, for a blank that names its unit."""
    degrees = plan.request.air_f
    if degrees is None:
        return ""
    return write_number(degrees if units == "us" else (degrees - 32) * 5 / 9, 0)
