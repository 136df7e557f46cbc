"""A kind of stage that the house does not have: what a new one takes is tried with it."""

from __future__ import annotations

from fractions import Fraction as F

from finishlog.records.shop import Shop
from finishlog.trade import sources
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
from finishlog.trade.stages.falling_due import when_planned


def _window(params: Params, shop: Shop) -> Window | None:
    """Day 7 to 28 after the pour's end, in hours (invented for the test)."""
    return Window("pour_end", 168, 672, 168, 336)


KIND = StageKind(
    key="grind",
    title="Grind",
    verb="ground",
    params=(
        Param("grit", "Grit", kind="count", low=F(1), high=F(3000), observed=False),
        Param("passes", "Passes", kind="count", low=F(1), high=F(20), observed=False),
        Param("removed_in", "Taken off", "depth_in", low=F(0), high=F(12), observed=True),
        Param("burned", "Swirls left", kind="yes_no", when="placed", amiss=(True,)),
    ),
    cautions=("grind", "trades"),
    warns=(
        "Silica dust: wet or shrouded with a vacuum (29 CFR 1926.1153).",
        "Respirator by the product's sheet and local rules.",
    ),
    due=(when_planned("grind", "Grind", _window, "Grind before the stain and the sealer.", caution="grind"),),
    labels=Without("it takes no product"),
    day_card=DayCard(120, ("at", "grit", "passes"), planned=True, later=True),
    in_plan="stage",
    comes="afterwards",
    again="soon",
    needs=no_needs,
    window=_window,
    reproduce=(("grit", "grit"), ("passes", "passes of the grinder")),
    sources=(sources.SILICA, sources.PRACTICE),
    example=Example({"grit": 80, "passes": 2}, F(240), F(0), ()),
    upgrade=first_version("grind"),
    repeatable=True,
    wets=True,
)
