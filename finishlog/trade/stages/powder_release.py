"""Powder release: keeps the mats from sticking and leaves its own color in the low spots."""

from __future__ import annotations

from fractions import Fraction

from finishlog.records.shop import Shop
from finishlog.trade import sources
from finishlog.trade.release import powder_release, shares
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
    rate = number(params, "lb_per_100ft2", shop.release_lb_per_100ft2)
    pounds = powder_release(area_ft2, rate).pounds
    ratio = params.get("mix_ratio")
    if ratio is None:
        return (Need("release", pounds, "lb", "by the area"),)
    first, second = shares(str(ratio))
    return Need("release", pounds * first, "lb", "first shade"), Need(
        "release", pounds * second, "lb", "second shade"
    )


KIND = StageKind(
    key="powder_release",
    title="Powder release",
    verb="release thrown",
    params=(
        Param("lb_per_100ft2", "Spread", "spread", low=F(0), high=F(50), observed=True),
        Param("thrown_lb", "Powder thrown", "mass_lb", low=F(0), high=F(5000), when="placed", observed=True,
              entered=False),
        Param("reclaimed_percent", "Reclaimed powder", "percent", low=F(0), high=F(100), observed=True, amiss="any"),
        Param("mix_ratio", "Two shades, by parts", kind="ratio",
              help="First shade to second: 2:1. Each shade is a material.", observed=False),
    ),
    params_version=1,
    needs=_needs,
    window=no_window,
    cautions=("powder_release",),
    warns=("Never work it in: the spot is permanent.", "Cover walls and pool.", "Wear a respirator."),
    labels=("powder release",),
    due=Without("it is thrown while the slab is placed; its sweep and its rinse fall due"),
    day_card=DayCard(30, ("product", "lot", "amount", "area"), planned=True),
    in_plan="stage",
    comes="on_the_day",
    again="once",
    once=True,
    rate=Rate("spread", "powder release", ("release_lb_per_100ft2",), "Release", learned=True),
    reckoned=True,
    usual_settings=("release_lb_per_100ft2",),
    reproduce=(
        ("product", "release shade"),
        ("maker", "release maker"),
        ("lot", "release lot"),
        ("thrown_lb", "pounds of release thrown"),
        ("reclaimed_percent", "whether the release was fresh or reclaimed"),
    ),
    sources=(sources.PRACTICE,),
    example=Example({"lb_per_100ft2": 3.5}, F(240), F(0), (Need("release", F("8.4"), "lb", "by the area"),)),
    upgrade=first_version("powder_release"),
    product_kinds=("powder release",),
)  # fmt: skip
