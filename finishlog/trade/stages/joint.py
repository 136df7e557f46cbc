"""Joints: cut, tooled or set in, so that the slab cracks where it is meant to."""

from __future__ import annotations

from fractions import Fraction

from finishlog.errors import InputError
from finishlog.records.shop import Shop
from finishlog.trade import sources
from finishlog.trade.stages.base import Example, Param, Params, StageKind, Window, first_version, no_needs

F = Fraction
SHARE_OF_DEPTH = F(1, 4)


def cut_depth_in(slab_depth_in: Fraction) -> Fraction:
    """How deep a joint is, in inches: a quarter of the slab (common practice, no source). InputError."""
    if slab_depth_in <= 0:
        raise InputError("The slab's depth must be more than zero.", example="4 in")
    return slab_depth_in * SHARE_OF_DEPTH


def _window(params: Params, shop: Shop) -> Window | None:
    """Tonight's deadline of a saw cut (settings; common practice); tooled and set in the pour itself."""
    if params.get("method", "saw") != "saw":
        return None
    low, high = shop.saw_cut_from_h, shop.saw_cut_to_h
    return Window("pour_end", low, high, low, high)


KIND = StageKind(
    key="joint",
    title="Joints",
    verb="jointed",
    params=(
        Param("method", "Method", kind="choice", choices=("saw", "tooled", "insert")),
        Param("depth_in", "Joint depth", "depth_in", low=F(0), high=F(24),
              help="A quarter of the slab's depth."),
        Param("spacing_ft", "Spacing", "length_ft", low=F(0), high=F(100)),
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
    reproduce=(("method", "joint method"), ("depth_in", "joint depth"), ("spacing_ft", "joint spacing")),
    sources=(sources.SILICA, sources.PRACTICE),
    example=Example({"method": "saw", "depth_in": 1, "spacing_ft": 9}, F(240), F(3), ()),
    upgrade=first_version("joint"),
)  # fmt: skip
