"""Integral color: pigment mixed through the load."""

from __future__ import annotations

from fractions import Fraction

from finishlog.records.shop import Shop
from finishlog.trade import dose, sources
from finishlog.trade.stages.base import (
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
    """Pigment by volume: from the dose in lb/yd3, else from percent of cementitious."""
    cement = shop.cementitious_lb_per_yd3
    percent = number(params, "percent_of_cementitious", shop.color_percent)
    rate = number(params, "dose_lb_per_yd3", dose.lb_per_yd3(percent, "%", cement))
    return (Need("pigment", rate * volume_yd3, "lb", "by the yard"),)


KIND = StageKind(
    key="integral_color",
    title="Integral color",
    verb="colored",
    params=(
        Param("dose_lb_per_yd3", "Dose", "dose_lb_per_yd3", low=F(0), high=F(200), observed=False),
        Param(
            "percent_of_cementitious",
            "Color, of cementitious",
            "percent",
            low=F(0),
            high=F(100),
            observed=False,
        ),
        Param("form", "Pigment form", kind="choice", choices=("powder", "granule", "liquid")),
        Param("slump_in", "Slump", "depth_in", low=F(0), high=F(12), observed=True),
        Param(
            "mixing_minutes", "Mixing after color, min", kind="count", low=F(0), high=F(120), observed=True
        ),
        Param(
            "water_after_color_gal",
            "Water after color",
            "liquid_gal",
            low=F(0),
            high=F(500),
            when="placed",
            observed=True,
        ),
    ),
    params_version=1,
    needs=_needs,
    window=no_window,
    cautions=("integral_color", "skin"),
    labels=("pigment",),
    due=Without("it goes in with its load"),
    day_card=Without("it is logged with its load"),
    in_plan=Without("it is logged with its load"),
    comes="any_time",
    again="often",
    rate=Rate("dose"),
    reckoned=True,
    always=True,
    reproduce=(
        ("dose_lb_per_yd3", "pigment dose"),
        ("lot", "pigment lot"),
        ("slump_in", "slump"),
        ("cement", "cement content"),
    ),
    sources=(sources.PIGMENT_LIMIT, sources.SACK, sources.PRACTICE),
    example=Example(
        {"percent_of_cementitious": 4}, F(0), F(27, 4), (Need("pigment", F("152.28"), "lb", "by the yard"),)
    ),
    upgrade=first_version("integral_color"),
    product_kinds=("pigment",),
    logged_as="load",
)
