"""Rinse: washes off the release except for what should stay in the low spots.

If under-rinsed, let it dry, look and repeat; if over-rinsed, only an antiquing wash repairs it.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

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

F = Fraction


def _window(params: Params, shop: Shop) -> Window | None:
    """18 to 96 h after the pour's end, usually 24 to 48 (settings; common practice)."""
    return Window(
        "pour_end", shop.rinse_from_h, shop.rinse_to_h, shop.rinse_usual_from_h, shop.rinse_usual_to_h
    )


def _due(slab: Slab) -> Iterator[DueLine]:
    window = _window(slab.params("rinse"), slab.shop)
    if window is None or slab.done("rinse") or not (slab.stage("rinse") or has_powder(slab)):
        return
    why = f"Rinse at {span(window, usual=True)}, {span(window)} at most: later it sticks and comes off unevenly."
    yield hours(slab, "rinse", "Rinse", window, why, caution="rinse")


_RELEASES = ("powder_release", "liquid_release")


def has_powder(slab: Slab) -> bool:
    """Whether powder was thrown on it; assumed so if nothing is known."""
    thrown = {entry.kind for entry in slab.job.of_kind(*_RELEASES, area=slab.uid)}
    return (
        "powder_release" in thrown
        or slab.stage("powder_release") is not None
        or not (slab.has_recipe | bool(thrown))
    )


KIND = StageKind(
    key="rinse",
    title="Rinse",
    verb="rinsed",
    params=(
        Param("pressure_psi", "Pressure", "pressure_psi", low=F(0), high=F(10000),
              help="Usually 1,500 to 2,500 psi, 3,000 at most.",
              observed=False),
        Param("tip_deg", "Fan of the tip", "angle_deg", low=F(0), high=F(90), help="Usually 25 to 40°.",
              observed=False),
        Param("distance_in", "Tip to slab", "depth_in", low=F(0), high=F(60),
              help="Usually 12 to 18 in.", observed=False),
        Param("passes", "Passes", kind="count", low=F(0), high=F(50),
              help="Even passes; start where it won't show.", observed=False),
        Param("detergent", "Detergent", kind="yes_no"),
        Param("acid_ratio", "Acid : water", kind="ratio",
              help="1:20 to 1:40 after about a week.", observed=False),
        Param("neutralized", "Neutralized", kind="yes_no", when="placed"),
        Param("slab_temperature_f", "Slab temperature", "temperature_f", low=F(20), high=F(160),
              when="placed"),
        Param("age_h", "Age at the rinse", "hours", low=F(0), high=F(1000), when="placed",
              help="From the paper, if the hours were not logged."),
        Param("swept", "Swept before", kind="yes_no", when="placed",
              help="Dry, before the water; clean powder goes back on the shelf."),
        Param("release_left_percent", "Release left", "percent", low=F(0), high=F(100),
              help="Usually 10 to 30 % in the end.", observed=True),
    ),
    params_version=1,
    needs=no_needs,
    window=_window,
    cautions=("rinse", "acid"),
    warns=(
        "Stop while it still looks heavy: it cannot be put back.",
        "Wear eye protection.",
        "Keep the runoff out of drains.",
    ),
    labels=Without("the acid has a caution of its own"),
    due=(FallsDue("rinse", "Rinse", _due, by_hours=True),),
    day_card=DayCard(110, ("at", "pressure_psi", "tip_deg", "passes", "release_left_percent"), later=True),
    in_plan="stage",
    comes="afterwards",
    again="once",
    usual_settings=("rinse_usual_from_h", "rinse_usual_to_h"),
    asks=("release_left_percent",),
    plan_day="rinse",
    always=True,
    wets=True,
    reproduce=(
        ("age_h", "rinse age"),
        ("pressure_psi", "rinse pressure"),
        ("tip_deg", "rinse tip"),
        ("distance_in", "rinse distance"),
        ("passes", "rinse passes"),
        ("release_left_percent", "release left"),
    ),
    sources=(sources.PRACTICE,),
    example=Example({"pressure_psi": 2000, "tip_deg": 25, "passes": 2}, F(240), F(0), ()),
    upgrade=first_version("rinse"),
    product_kinds=("detergent", "acid", "neutralizer"),
    repeatable=True,
)  # fmt: skip
