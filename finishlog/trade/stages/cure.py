"""Cure: how the slab was kept from drying too fast."""

from __future__ import annotations

from fractions import Fraction

from finishlog.records.shop import Shop
from finishlog.trade import sources
from finishlog.trade.stages.base import (
    DayCard,
    Example,
    Need,
    Param,
    Params,
    StageKind,
    Without,
    first_version,
    no_window,
    number,
)

F = Fraction
SPRAYED = ("cure_and_seal", "compound")
TOUCHING = ("sheet", "wet")
"""Covers: sheets and damp blankets mark color (common practice, no source)."""


def _needs(params: Params, area_ft2: Fraction, volume_yd3: Fraction, shop: Shop) -> tuple[Need, ...]:
    """Gallons of a sprayed product if its coverage is given (on the product's sheet)."""
    rate = number(params, "coverage_ft2_per_gal", F(0))
    if params.get("method") not in SPRAYED or area_ft2 <= 0 or not rate:
        return ()
    return (Need("cure", area_ft2 / rate, "gal", "by the area"),)


KIND = StageKind(
    key="cure",
    title="Cure",
    verb="curing begun",
    params=(
        Param("method", "Method", kind="choice", choices=("none", *SPRAYED, *TOUCHING),
              help="Sheets and damp blankets mark color."),
        Param("days", "Days of curing", kind="count", low=F(0), high=F(60), observed=True),
        Param("coverage_ft2_per_gal", "Coverage", "coverage", low=F(50), high=F(2000), observed=True),
        Param("touched_color", "Cover touched color", kind="yes_no", when="placed", amiss=(True,)),
        Param("marks", "Marks left", kind="text", when="placed", amiss="any"),
    ),
    params_version=1,
    needs=_needs,
    window=no_window,
    cautions=("cure",),
    warns=("Keep sheets and blankets off the color: they mark it.",),
    labels=Without("the product's own sheet warns of it"),
    due=Without("it begins while the slab is placed"),
    day_card=DayCard(70, ("method", "days")),
    in_plan="stage",
    comes="any_time",
    again="once",
    reproduce=(("method", "how it was cured"), ("days", "days of curing")),
    sources=(sources.CURING_RATE, sources.PRACTICE),
    example=Example({"method": "compound", "coverage_ft2_per_gal": 200}, F(450), F(0),
                    (Need("cure", F("2.25"), "gal", "by the area"),)),
    upgrade=first_version("cure"),
    product_kinds=("curing compound", "cure and seal", "sealer"),
)  # fmt: skip
