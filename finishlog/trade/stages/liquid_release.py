"""Liquid release: keeps the mats from sticking and leaves little or no release color."""

from __future__ import annotations

from fractions import Fraction

from finishlog.records.shop import Shop
from finishlog.trade import sources
from finishlog.trade.release import liquid_release_gal
from finishlog.trade.stages.base import (
    DayCard,
    Example,
    Need,
    Param,
    Params,
    Rate,
    StageKind,
    Without,
    first_version,
    no_window,
    number,
)

F = Fraction


def _needs(params: Params, area_ft2: Fraction, volume_yd3: Fraction, shop: Shop) -> tuple[Need, ...]:
    if area_ft2 <= 0:
        return ()
    rate = number(params, "coverage_ft2_per_gal", shop.liquid_release_ft2_per_gal)
    return (Need("release", liquid_release_gal(area_ft2, rate), "gal", "by the area"),)


KIND = StageKind(
    key="liquid_release",
    title="Liquid release",
    verb="liquid release sprayed",
    params=(
        Param("coverage_ft2_per_gal", "Coverage", "coverage", low=F(10), high=F(2000),
              help="Usually 100 to 250 ft²/gal. Leaves little or no release color.",
              observed=True),
        Param("sprayed_gal", "Release sprayed", "liquid_gal", low=F(0), high=F(500), when="placed", observed=True),
        Param("tint", "Tint in it", kind="text"),
    ),
    params_version=1,
    needs=_needs,
    window=no_window,
    cautions=("liquid_release",),
    warns=("Puddles spot.", "No flame.", "Leaves little or no release color; no substitute for powder."),
    labels=("liquid release",),
    due=Without("it is sprayed while the slab is placed"),
    day_card=DayCard(31, ("product", "lot", "amount", "area"), planned=True),
    in_plan="stage",
    comes="on_the_day",
    again="once",
    once=True,
    rate=Rate("coverage", "liquid release", ("liquid_release_ft2_per_gal",), "Liquid release",
              fact="coverage_ft2_per_gal"),
    usual_settings=("liquid_release_ft2_per_gal",),
    reproduce=(("product", "liquid release"), ("maker", "release maker"),
               ("tint", "tinted release or not")),
    sources=(sources.PRACTICE,),
    example=Example({"coverage_ft2_per_gal": 200}, F(450), F(0),
                    (Need("release", F("2.25"), "gal", "by the area"),)),
    upgrade=first_version("liquid_release"),
    product_kinds=("liquid release",),
)  # fmt: skip
