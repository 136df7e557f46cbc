"""Seal: the coats on the dry slab."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction

from finishlog.records.shop import Shop
from finishlog.trade import sources
from finishlog.trade.due_slab import DueLine, FallsDue, Slab
from finishlog.trade.sealing.sealer import sealer_need
from finishlog.trade.stages.base import (
    DayCard,
    Example,
    Need,
    Param,
    Params,
    Rate,
    StageKind,
    Window,
    number,
    only_added,
)
from finishlog.trade.stages.falling_due import days, dried, hours, not_before, span

F = Fraction
DAY_H = 24


def _needs(params: Params, area_ft2: Fraction, volume_yd3: Fraction, shop: Shop) -> tuple[Need, ...]:
    """Gallons by coat on the area with its relief allowance; later coats count like the second."""
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


def _due(slab: Slab) -> Iterator[DueLine]:
    """From its usual day; earlier only if proven dry; never before the last wash has dried."""
    window = _window(slab.params("seal"), slab.shop)
    if window is None or slab.done("seal"):
        return
    proven = next((e for e in slab.done("dryness_test") if e.facts.get("result") == "dry"), None)
    if proven is None:
        window = Window(window.anchor, max(window.usual_from_h, window.opens_h), window.closes_h,
                        max(window.usual_from_h, window.opens_h), window.usual_to_h)  # fmt: skip
    why = f"Day {slab.shop.seal_usual_day}" + (", or now: proven dry" if proven else " as usual")
    line = days(slab, "seal", "Seal", window, f"{why}; steady or cooling, out of the sun.", caution="seal")
    line = not_before(slab, line, slab.day(proven.happened) if proven else None)
    dry = dried(slab)
    moved = not_before(slab, line, dry)
    if dry is not None and moved.opens > line.opens:
        moved = replace(moved, why=f"Let it dry from the last wash first. {moved.why}")
    yield moved


def _second_coat(slab: Slab) -> Iterator[DueLine]:
    """The next coat while fewer than planned are on."""
    coats = [entry for entry in slab.done("seal") if entry.coat is None or not entry.coat.reseal]
    planned = slab.params("seal").get("coats", 2)
    if not coats or len(coats) >= int(planned):
        return
    low, high = slab.shop.recoat_from_h, slab.shop.recoat_to_h
    window = Window("coat", low, max(low, high), low, max(low, high))
    title = "Second coat" if len(coats) == 1 else f"Coat {len(coats) + 1}"
    why = f"{span(window)} after the last coat, thin and across it."
    yield hours(slab, "second_coat", title, window, why, coats[-1], caution="seal")


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
        Param("coats", "Coats", kind="count", low=F(1), high=F(6), observed=True, entered=False),
        Param("coat_1_ft2_per_gal", "First coat", "coverage", low=F(50), high=F(2000),
              observed=False, entered=False),
        Param("coat_2_ft2_per_gal", "Second coat", "coverage", low=F(50), high=F(2000),
              observed=False, entered=False),
        Param("solids_percent", "Solids, by volume", "percent", low=F(1), high=F(100), observed=False),
        Param("relief_percent", "Relief allowance", "percent", low=F(0), high=F(50), when="plan"),
        Param("tint", "Tint", kind="text"),
        Param("grip", "Grip additive", kind="yes_no"),
        Param("slab_temperature_f", "Slab temperature", "temperature_f", low=F(20), high=F(160),
              when="kept", help="Now logged with the coat."),
        Param("dry_proven", "Proven dry", kind="yes_no", when="placed"),
        Param("crosswise", "Across the last coat", kind="yes_no"),
        Param("efflorescence", "Efflorescence", kind="choice", choices=("none", "cleaned", "left"),
              when="placed", help="Never seal over it.", amiss=("left",)),
        Param("slab_trend", "Slab trend", kind="choice", choices=("cooling", "steady", "warming"),
              when="placed", help="Warming concrete outgasses and bubbles.", amiss=("warming",)),
        Param("shade", "Out of the sun", kind="yes_no", when="placed"),
    ),
    params_version=2,
    needs=_needs,
    window=_window,
    cautions=("seal", "first_winter"),
    labels=("sealer",),
    due=(FallsDue("seal", "Sealing", _due), FallsDue("second_coat", "Second coat", _second_coat, by_hours=True)),
    day_card=DayCard(130, ("at", "product", "lot", "amount", "slab_f"), later=True, times=2),
    in_plan="day",
    comes="afterwards",
    again="often",
    rate=Rate("coverage", "sealer", ("coat_1_ft2_per_gal", "coat_2_ft2_per_gal"), "Sealer", learned=True),
    reckoned=True,
    usual_settings=("seal_usual_day", "coat_1_ft2_per_gal", "coat_2_ft2_per_gal", "seal_slab_low_f",
                    "seal_slab_high_f"),
    same_as_last=("chemistry", "carrier", "method", "solids_percent", "tint", "grip", "area", "area_ft2"),
    asks=("product", "amount", "slab_f", "air_f", "humidity_percent"),
    plan_day="seal",
    always=True,
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
