"""Joints: cut, tooled or inserted to control where the slab cracks."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from finishlog.errors import InputError
from finishlog.records.shop import Shop
from finishlog.trade import sources
from finishlog.trade.due_slab import DueLine, FallsDue, Slab
from finishlog.trade.stages.base import (
    DayCard,
    Example,
    Param,
    Params,
    StageKind,
    Window,
    Without,
    first_version,
    no_needs,
)
from finishlog.trade.stages.falling_due import hours, span
from finishlog.units import exact, plain

F = Fraction
SHARE_OF_DEPTH = F(1, 4)


def cut_depth_in(slab_depth_in: Fraction) -> Fraction:
    """Joint depth in inches: a quarter of the slab (common practice, no source). Raises InputError."""
    if slab_depth_in <= 0:
        raise InputError("The slab's depth must be more than zero.", example="4 in")
    return slab_depth_in * SHARE_OF_DEPTH


def _window(params: Params, shop: Shop) -> Window | None:
    """A saw cut's same-night deadline (settings; common practice); others go in during the pour."""
    if params.get("method", "saw") != "saw":
        return None
    low, high = shop.saw_cut_from_h, shop.saw_cut_to_h
    return Window("pour_end", low, high, low, high)


_NO_JOINT = ("wall", "stairs", "repair", "overlay", "border", "band")
"""Areas jointed only if the recipe says so; a field always is."""


def _due(slab: Slab) -> Iterator[DueLine]:
    window = _window(slab.params("joint"), slab.shop)
    if window is None or slab.job.of_kind("joint", area=slab.uid):
        return  # tooled ones are logged before the end of the pour
    if slab.stage("joint") is not None or slab.area is None or slab.area.kind not in _NO_JOINT:
        why = f"Cut them {span(window)} after the pour{_depth(slab)}."
        yield hours(slab, "joint", "Joints", window, why, caution="joint")


def _depth(slab: Slab) -> str:
    if slab.area is None or not slab.area.depth_in:
        return ""
    return f", {plain(cut_depth_in(exact(slab.area.depth_in)), 2)} in deep"


KIND = StageKind(
    key="joint",
    title="Joints",
    verb="jointed",
    params=(
        Param("method", "Method", kind="choice", choices=("saw", "tooled", "insert")),
        Param("depth_in", "Joint depth", "depth_in", low=F(0), high=F(24),
              help="A quarter of the slab's depth.", observed=True),
        Param("spacing_ft", "Spacing", "length_ft", low=F(0), high=F(100), observed=False),
        Param("layout", "Where they run", kind="text"),
        Param("dust", "Dust control", kind="choice", choices=("water", "vacuum", "nothing"),
              when="placed"),
        Param("lines_checked", "Buried lines checked", kind="yes_no", when="placed"),
        Param("age_h", "Age at the cut", "hours", low=F(0), high=F(1000), when="placed",
              help="From the paper, if the hours were not logged."),
        Param("raveled", "Edges raveled", kind="yes_no", when="placed"),
    ),
    params_version=1,
    needs=no_needs,
    window=_window,
    cautions=("joint", "trades"),
    warns=(
        "Cut wet or with a vacuum: crystalline silica (29 CFR 1926.1153).",
        "Slurry stains.",
        "Check for buried lines before any cut.",
    ),
    labels=Without("it takes no product"),
    due=(FallsDue("joint", "Joints", _due, by_hours=True),),
    day_card=DayCard(60, ("method", "depth_in", "spacing_ft")),
    in_plan="stage",
    comes="afterwards",
    again="once",
    at_night=True,
    usual_settings=("saw_cut_from_h", "saw_cut_to_h"),
    plan_day="joint",
    always=True,
    reproduce=(("method", "joint method"), ("depth_in", "joint depth"), ("spacing_ft", "joint spacing")),
    sources=(sources.SILICA, sources.PRACTICE),
    example=Example({"method": "saw", "depth_in": 1, "spacing_ft": 9}, F(240), F(3), ()),
    upgrade=first_version("joint"),
)  # fmt: skip
