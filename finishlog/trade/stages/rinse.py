"""Rinse: the release is washed off, but for what is meant to stay in the low spots.

Under-rinsed, it is done again after drying and looking; over-rinsed, only an antiquing wash repairs it.
"""

from __future__ import annotations

from fractions import Fraction

from finishlog.records.shop import Shop
from finishlog.trade import sources
from finishlog.trade.stages.base import Example, Param, Params, StageKind, Window, first_version, no_needs

F = Fraction


def _window(params: Params, shop: Shop) -> Window | None:
    """18 to 96 h after the pour's end, usually 24 to 48 (settings; common practice)."""
    return Window(
        "pour_end", shop.rinse_from_h, shop.rinse_to_h, shop.rinse_usual_from_h, shop.rinse_usual_to_h
    )


KIND = StageKind(
    key="rinse",
    title="Rinse",
    verb="rinsed",
    params=(
        Param("pressure_psi", "Pressure", "pressure_psi", low=F(0), high=F(10000),
              help="Usually 1,500 to 2,500 psi, 3,000 at most."),
        Param("tip_deg", "Fan of the tip", "angle_deg", low=F(0), high=F(90), help="Usually 25 to 40°."),
        Param("distance_in", "Tip to slab", "depth_in", low=F(0), high=F(60),
              help="Usually 12 to 18 in."),
        Param("passes", "Passes", kind="count", low=F(0), high=F(50),
              help="Even passes; start where it won't show."),
        Param("detergent", "Detergent", kind="yes_no"),
        Param("acid_ratio", "Acid : water", kind="ratio",
              help="1:20 to 1:40 after about a week."),
        Param("neutralized", "Neutralized", kind="yes_no", when="placed"),
        Param("slab_temperature_f", "Slab temperature", "temperature_f", low=F(20), high=F(160),
              when="placed"),
        Param("age_h", "Age at the rinse", "hours", low=F(0), high=F(1000), when="placed",
              help="From the paper, if the hours were not logged."),
        Param("swept", "Swept before", kind="yes_no", when="placed",
              help="Dry, before the water; clean powder goes back on the shelf."),
        Param("release_left_percent", "Release left", "percent", low=F(0), high=F(100),
              help="Usually 10 to 30 % in the end."),
    ),
    params_version=1,
    needs=no_needs,
    window=_window,
    cautions=("rinse", "acid"),
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
