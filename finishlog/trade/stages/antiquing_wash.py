"""Antiquing wash: thin color washed on and off to deepen low spots or repair an over-rinsed slab."""

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
    key="antiquing_wash",
    title="Antiquing wash",
    verb="washed with antiquing",
    params=(
        Param("why", "Purpose", kind="choice", choices=("finish", "over_rinsed", "match")),
        Param("dilution", "Color : carrier", kind="ratio", observed=False),
        Param("carrier", "Carrier", kind="choice", choices=("water", "solvent")),
        Param("method", "Applied by", kind="choice", choices=("spray", "mop", "brush", "sponge")),
        *how_much(5000),
        Param("wiped_off", "High spots wiped", kind="yes_no"),
        Param("sample_first", "Tried on a sample", kind="yes_no", when="placed"),
        Param("residue_off", "Residue off", kind="yes_no", when="placed"),
    ),
    params_version=1,
    needs=by_coverage("wash"),
    window=no_window,
    cautions=("antiquing_wash",),
    warns=("Try a sample first; clean off residue before sealing.",),
    labels=Without("the product's own sheet warns of it"),
    due=Without("no common practice says when; only dry before the sealer"),
    day_card=Without("it goes on in another week; it is logged by itself"),
    in_plan="stage",
    comes="afterwards",
    again="soon",
    wets=True,
    rate=Rate("coverage", fact="coverage_ft2_per_gal"),
    reproduce=(("product", "color of the wash"), ("dilution", "dilution of the wash"),
               ("method", "how the wash went on"), ("coats", "coats of wash")),
    sources=(sources.PRACTICE,),
    example=Example({"coverage_ft2_per_gal": 400, "coats": 2}, F(240), F(0),
                    (Need("wash", F("1.2"), "gal", "by the area"),)),
    upgrade=first_version("antiquing_wash"),
    product_kinds=("antiquing", "powder release", "pigment", "tint"),
    repeatable=True,
)  # fmt: skip
