"""Seal: the coats on the dry slab."""

from __future__ import annotations

from fractions import Fraction

from finishlog.records.shop import Shop
from finishlog.trade import sources
from finishlog.trade.sealing.sealer import sealer_need
from finishlog.trade.stages.base import Example, Need, Param, Params, StageKind, Window, number, only_added

F = Fraction
DAY_H = 24


def _needs(params: Params, area_ft2: Fraction, volume_yd3: Fraction, shop: Shop) -> tuple[Need, ...]:
    """Gallons by coat on the area with its relief allowance; the second coat and those after it alike."""
    if area_ft2 <= 0:
        return ()
    first = number(params, "coat_1_ft2_per_gal", shop.coat_1_ft2_per_gal)
    second = number(params, "coat_2_ft2_per_gal", shop.coat_2_ft2_per_gal)
    coats = int(number(params, "coats", F(2)))
    solids = number(params, "solids_percent", shop.solids_percent)
    relief = number(params, "relief_percent", shop.relief_percent)
    need = sealer_need(area_ft2, (first, *[second] * (coats - 1))[:coats], solids, relief)
    return tuple(Need("sealer", coat.gallons, "gal", f"coat {coat.number}") for coat in need.coats)


def _window(params: Params, shop: Shop) -> Window | None:
    """Day 14 to 35 after the pour's end, usually 28 or proven dry (settings; common practice)."""
    usual = shop.seal_usual_day * DAY_H
    return Window("pour_end", shop.seal_from_day * DAY_H, shop.seal_to_day * DAY_H, usual, usual)


KIND = StageKind(
    key="seal",
    title="Seal",
    verb="sealed",
    params=(
        Param("chemistry", "Chemistry", kind="choice",
              choices=("acrylic", "urethane", "epoxy", "penetrating", "other")),
        Param("carrier", "Carrier", kind="choice", choices=("solvent", "water")),
        Param("method", "Applied by", kind="choice",
              choices=("spray", "roll", "back_roll", "spray_and_back_roll")),
        Param("coats", "Coats", kind="count", low=F(1), high=F(6)),
        Param("coat_1_ft2_per_gal", "First coat", "coverage", low=F(50), high=F(2000)),
        Param("coat_2_ft2_per_gal", "Second coat", "coverage", low=F(50), high=F(2000)),
        Param("solids_percent", "Solids, by volume", "percent", low=F(1), high=F(100)),
        Param("relief_percent", "Relief allowance", "percent", low=F(0), high=F(50), when="plan"),
        Param("tint", "Tint", kind="text"),
        Param("grip", "Grip additive", kind="yes_no"),
        Param("slab_temperature_f", "Slab temperature", "temperature_f", low=F(20), high=F(160),
              when="kept", help="Now logged with the coat."),
        Param("dry_proven", "Proven dry", kind="yes_no", when="placed"),
        Param("crosswise", "Across the last coat", kind="yes_no"),
        Param("efflorescence", "Efflorescence", kind="choice", choices=("none", "cleaned", "left"),
              when="placed", help="Never seal over it."),
        Param("slab_trend", "Slab trend", kind="choice", choices=("cooling", "steady", "warming"),
              when="placed", help="Warming concrete outgasses and bubbles."),
        Param("shade", "Out of the sun", kind="yes_no", when="placed"),
    ),
    params_version=2,
    needs=_needs,
    window=_window,
    cautions=("seal", "first_winter"),
    reproduce=(
        ("product", "sealer"),
        ("chemistry", "sealer chemistry"),
        ("method", "how the sealer went on"),
        ("tint", "whether the sealer was tinted"),
        ("grip", "whether a grip additive went in"),
    ),
    sources=(sources.FILM, sources.COVERAGE, sources.PRACTICE),
    example=Example({"coats": 2, "relief_percent": 10}, F(450), F(0),
                    (Need("sealer", F("2.2"), "gal", "coat 1"), Need("sealer", F("1.65"), "gal", "coat 2"))),
    upgrade=only_added("seal", 2),
    product_kinds=("sealer", "grip additive", "tint"),
    detail="coat",
    repeatable=True,
)  # fmt: skip
