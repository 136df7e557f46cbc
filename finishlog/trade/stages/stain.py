"""Stain: reactive (it etches its color in) or water-based (it lies in the pores)."""

from __future__ import annotations

from fractions import Fraction

from finishlog.trade import sources
from finishlog.trade.stages.base import (
    Example,
    Need,
    Param,
    Rate,
    StageKind,
    Without,
    first_version,
    no_window,
)
from finishlog.trade.stages.put_on import by_coverage, how_much

F = Fraction


KIND = StageKind(
    key="stain",
    title="Stain",
    verb="stained",
    params=(
        Param("base", "Kind of stain", kind="choice", choices=("reactive", "water_based")),
        Param("dilution", "Stain : water", kind="ratio", observed=False),
        Param("method", "Applied by", kind="choice", choices=("spray", "brush", "sponge", "mop")),
        *how_much(2000),
        Param("dwell_h", "Left on", "hours", low=F(0), high=F(200), observed=True),
        Param("neutralized", "Neutralized", kind="yes_no", when="placed",
              help="Neutralize a reactive stain."),
        Param("residue_off", "Residue off", kind="yes_no", when="placed"),
        Param("sample_first", "Tried on a sample", kind="yes_no", when="placed"),
    ),
    params_version=1,
    needs=by_coverage("stain"),
    window=no_window,
    cautions=("stain", "acid"),
    warns=("Try a sample first; clean off residue before sealing.",),
    labels=Without("the product's own sheet warns of it"),
    due=Without("the product's sheet says when; only dry before the sealer"),
    day_card=Without("it goes on in another week; it is logged by itself"),
    in_plan="stage",
    comes="afterwards",
    again="soon",
    wets=True,
    rate=Rate("coverage", fact="coverage_ft2_per_gal"),
    reproduce=(("product", "stain"), ("base", "kind of stain"), ("dilution", "dilution of the stain"),
               ("coats", "coats of stain"), ("dwell_h", "how long the stain was left on"),
               ("neutralized", "whether the stain was neutralized")),
    sources=(sources.PRACTICE,),
    example=Example({"base": "water_based", "coverage_ft2_per_gal": 200}, F(450), F(0),
                    (Need("stain", F("2.25"), "gal", "by the area"),)),
    upgrade=first_version("stain"),
    product_kinds=("stain", "neutralizer"),
    repeatable=True,
)  # fmt: skip
