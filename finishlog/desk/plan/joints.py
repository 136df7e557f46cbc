"""The joints of a plan, and their words: panels and feet, inside corners first, what is left to others."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from fractions import Fraction

from finishlog.desk.plain_data import Json, number, pick
from finishlog.desk.words import inches
from finishlog.records.log import Fact, Job
from finishlog.records.placed import AsPlaced
from finishlog.records.plan import Plan
from finishlog.records.quantities.order import YardsRequest
from finishlog.records.quantities.pour_day import JointPiece, JointPlan
from finishlog.records.shop import Shop
from finishlog.trade import sources
from finishlog.trade.cautions import cautions
from finishlog.trade.pour import joints
from finishlog.units import exact, fixed, write, write_feet_inches

NOT_CUT = ("stairs", "wall", "overlay")
"""What is not cut into panels: an overlay carries the joints of the slab under it."""
ISOLATED = (
    "Full-depth filler where it meets the old slab, a wall, a post or steps, so each can move. "
    "Ask a licensed engineer about doweling into the old slab; local codes come first."
)


def of_plan(
    placed: AsPlaced, joint: Mapping[str, Fact], measured: YardsRequest, shop: Shop
) -> JointPlan | None:
    """The joints of the new area; None where it is not a slab cut into panels. `joint`: `facts` of the old one."""
    if placed.area.kind in NOT_CUT or placed.bag_mix is not None:
        return None
    found = joints.plan(measured.shapes, measured.depth_in, shop)
    spacing = joint.get("spacing_ft")
    return found and replace(found, old_spacing_ft=None if spacing is None else exact(float(spacing)))


def facts(job: Job, placed: AsPlaced) -> dict[str, Fact]:
    """What is known of the old slab's joints: as its recipe has it, what was logged over it."""
    recipe = placed.area.recipe
    planned = [stage.params for stage in recipe.stages if stage.kind == "joint"] if recipe else []
    logged = [entry.facts for entry in job.of_kind("joint", area=placed.area.uid)]
    return {name: value for one in (*planned, *logged) for name, value in one.items()}


def lines(plan: Plan, units: str = "us") -> list[tuple[str, str, str]]:
    """Label, figure, words; nothing where there are no joints to plan."""
    return list(_lines(plan.joints, units)) if plan.joints else []


def _lines(found: JointPlan, units: str) -> Iterator[tuple[str, str, str]]:
    about = "about " if any(piece.kind != "rect" for piece in found.pieces) else ""
    yield "Joints", _feet(found.joint_ft, units), f"{about}{panels(found, units)}{_extra(found, units)}"
    low, high = (write_feet_inches(feet, units) for feet in (found.low_ft, found.high_ft))
    then = ""
    if found.old_spacing_ft is not None:
        then = (
            f"; the old slab's are {write_feet_inches(found.old_spacing_ft, units)} apart: continue its lines"
        )
    yield (
        "Apart", write_feet_inches(found.spacing_ft, units),
        f"at most; {low} to {high} for this thickness, nearly square{then}",
    )  # fmt: skip
    if corners := corner_words(found):
        yield "Corners", "first", corners
    yield "Depth", inches(found.saw_depth_in, units), "a quarter of the slab, cut the same night or tooled in"


def _feet(feet: Fraction, units: str) -> str:
    return write("length_ft", feet, "metric", 1) if units == "metric" else f"{fixed(feet, 0)} ft"


def panels(found: JointPlan, units: str = "us") -> str:
    """`3 × 2 panels of 7' 4" × 8' 0"`, the pieces one after the other."""
    return "; ".join(_panels(piece, found, units) for piece in found.pieces)


def _panels(piece: JointPiece, found: JointPlan, units: str) -> str:
    length, width = (write_feet_inches(side, units) for side in piece.panel_ft)
    if piece.along * piece.across == 1:
        return f"one panel of {length} × {width}"
    shape = {"circle": " across the curve", "polygon": " full width"}.get(piece.kind, "")
    odd = f", {fixed(piece.ratio, 1)} to 1: as square as it gets" if piece.ratio > found.ratio else ""
    return f"{piece.along} × {piece.across} panels of {length} × {width}{shape}{odd}"


def _extra(found: JointPlan, units: str) -> str:
    return f"; up to {_feet(found.meet_ft, units)} more where the pieces meet" if found.meet_ft else ""


def corner_words(found: JointPlan) -> str:
    """Inside corners, and that a joint begins in each; nothing where there is none."""
    low, high = found.corners
    if not high:
        return ""
    many = f"{high}" if low == high else f"{low} to {high}, depending on layout"
    return f"a joint from each inside corner ({many}), before laying out the rest"


def advice(plan: Plan) -> tuple[str, ...]:
    """What goes with the joints: isolation, dowels, and where the figures come from."""
    return (ISOLATED, f"Source: {sources.JOINTS}.") if plan.joints else ()


def at_the_cut(plan: Plan) -> tuple[str, ...]:
    """The cautions of the step itself: dust, slurry, and what lies buried."""
    if plan.joints is None:
        return ()
    buried = (f"Buried here: {'; '.join(plan.buried)}.",) if plan.buried else ()
    return (" ".join(caution.text for caution in cautions("joint")), *buried)


_JSON = (
    "joint_ft more_where_pieces_meet_ft=meet_ft spacing_ft spacing_from_ft=low_ft spacing_to_ft=high_ft",
    "old_spacing_ft saw_depth_in",
)


def joints_json(found: JointPlan | None) -> Json | None:
    """The joints with the unit in each key."""
    if found is None:
        return None
    return {
        **pick(found, *_JSON),
        "inside_corners_least": found.corners[0],
        "inside_corners_most": found.corners[1],
        "pieces": [
            {
                **pick(piece, "kind panels_along=along panels_across=across"),
                "panel_length_ft": number(piece.panel_ft[0]),
                "panel_width_ft": number(piece.panel_ft[1]),
                **pick(piece, "length_to_width=ratio joint_ft"),
            }
            for piece in found.pieces
        ],
        "isolation": ISOLATED,
        "source": sources.JOINTS,
    }
