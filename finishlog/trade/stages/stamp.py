"""Stamp: the mats on the slab."""

from __future__ import annotations

from fractions import Fraction

from finishlog.trade import sources
from finishlog.trade.stages.base import (
    DayCard,
    Example,
    Param,
    StageKind,
    Without,
    first_version,
    no_needs,
    no_window,
)

F = Fraction

KIND = StageKind(
    key="stamp",
    title="Stamp",
    verb="stamped",
    params=(
        Param("pattern", "Pattern", kind="text"),
        Param("mat_set", "Mat set", kind="text"),
        Param("mats", "Mats in use", kind="count", low=F(1), high=F(100), observed=False),
        Param("mat_wear", "Wear of the mats", kind="choice", choices=("new", "used", "worn"),
              amiss=("worn",)),
        Param("slab_state", "Slab at first stamp", kind="choice", choices=("soft", "right", "stiff"),
              when="placed", amiss=("soft", "stiff")),
        Param("texture_skin", "Texture skin at edges", kind="yes_no"),
        Param("touch_up", "Hand touch-up", kind="yes_no", when="placed"),
    ),
    params_version=1,
    needs=no_needs,
    window=no_window,
    cautions=("finishing", "stamp"),
    warns=("Try the edge first.",),
    labels=Without("it takes no product"),
    due=Without("it is done while the slab is placed"),
    day_card=DayCard(40, ("pattern", "mats", "slab_state", "area")),
    in_plan="stage",
    comes="on_the_day",
    again="once",
    always=True,
    reproduce=(("pattern", "pattern"), ("mat_set", "mat set"), ("slab_state", "slab state at stamping")),
    sources=(sources.PRACTICE,),
    example=Example({"pattern": "ashlar", "mats": 5}, F(240), F(3), ()),
    upgrade=first_version("stamp"),
)  # fmt: skip
