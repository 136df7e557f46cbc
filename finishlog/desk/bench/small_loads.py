"""What is said of small loads, by every sum that splits an order into trucks."""

from __future__ import annotations

from fractions import Fraction

from finishlog.records.quantities.cautions import Caution
from finishlog.records.quantities.loads import LoadPlan
from finishlog.records.shop import Shop
from finishlog.units import plain, write


def cautions(plan: LoadPlan, minimum_yd3: Fraction, shop: Shop, system: str) -> tuple[Caution, ...]:
    """What is to be said of small loads: those the plant may refuse, and those in which color mixes poorly."""
    minimum, well_mixed = volume(minimum_yd3, system), volume(shop.smallest_colored_load_yd3, system)
    names = [f"Load {number}, {volume(load, system)}" for number, load in enumerate(plan.loads_yd3, 1)]
    lines = [
        f"{names[number - 1]} is under the plant's minimum of {minimum}: ask the plant."
        for number in plan.below_minimum
    ]
    lines += [f"{names[number - 1]}: under {well_mixed} color mixes poorly." for number in plan.badly_mixed]
    return tuple(Caution("load", line) for line in lines)


def volume(yards: Fraction, system: str) -> str:
    """Yards as a truck brings them."""
    return write("volume_yd3", yards, system) if system == "metric" else f"{plain(yards)} yd³"
