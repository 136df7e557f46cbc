"""Color hardener: dry color broadcast on the fresh slab and floated in."""

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
    Rate,
    StageKind,
    Without,
    first_version,
    no_window,
    number,
)

F = Fraction


def _needs(params: Params, area_ft2: Fraction, volume_yd3: Fraction, shop: Shop) -> tuple[Need, ...]:
    """Pounds by the area, all casts together."""
    rate = number(params, "lb_per_100ft2", shop.hardener_lb_per_100ft2)
    return (Need("hardener", area_ft2 * rate / 100, "lb", "by the area"),) if area_ft2 > 0 else ()


KIND = StageKind(
    key="color_hardener",
    title="Color hardener",
    verb="hardener thrown",
    params=(
        Param("lb_per_100ft2", "Spread, all casts", "spread", low=F(0), high=F(500),
              help="Usually 40 to 100 lb/100 ft².", observed=True),
        Param("casts", "Casts", kind="count", low=F(1), high=F(10), help="Two: crosswise.", observed=True),
        Param("first_cast_percent", "Share in first cast", "percent", low=F(0), high=F(100), observed=True),
        Param("thrown_lb", "Hardener thrown", "mass_lb", low=F(0), high=F(50000), when="placed", observed=True,
              entered=False),
    ),
    params_version=1,
    needs=_needs,
    window=no_window,
    cautions=("color_hardener", "finishing"),
    warns=("Throw it in two casts.", "Wear a respirator."),
    labels=("color hardener",),
    due=Without("it is thrown while the slab is placed"),
    day_card=DayCard(32, ("product", "lot", "amount", "casts", "area"), planned=True),
    in_plan="stage",
    comes="on_the_day",
    again="once",
    once=True,
    rate=Rate("spread", "color hardener", ("hardener_lb_per_100ft2",), "Hardener", learned=True,
              fact="lb_per_100ft2"),
    usual_settings=("hardener_lb_per_100ft2",),
    reproduce=(
        ("product", "hardener shade"),
        ("maker", "hardener maker"),
        ("lot", "hardener lot"),
        ("thrown_lb", "pounds of hardener thrown"),
        ("casts", "casts of hardener"),
    ),
    sources=(sources.PRACTICE,),
    example=Example({"lb_per_100ft2": 60, "casts": 2}, F(240), F(0),
                    (Need("hardener", F(144), "lb", "by the area"),)),
    upgrade=first_version("color_hardener"),
    product_kinds=("color hardener",),
)  # fmt: skip
