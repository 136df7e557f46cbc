"""Loads: full trucks first, none too small to mix well or for the plant; they sum to the order exactly."""

from __future__ import annotations

import math
from fractions import Fraction

from finishlog.errors import InputError
from finishlog.records.quantities.loads import LoadPlan
from finishlog.units import plain

MOST_LOADS = 500


def split(
    total_yd3: Fraction,
    truck_yd3: Fraction,
    minimum_yd3: Fraction,
    well_mixed_yd3: Fraction = Fraction(0),
    *,
    colored: bool = False,
    step_yd3: Fraction = Fraction(0),
) -> LoadPlan:
    """`total_yd3` in as few loads as `truck_yd3` allows, each at least `minimum_yd3` if possible.

    A last load that is too small is topped up from those before it; if there is not enough, it stays
    small. `colored` concrete is evened out the same way to at least `well_mixed_yd3`.
    A total in whole steps of `step_yd3` (what the plant sells by; 0: any) is split in whole steps. Loads
    under either limit are listed.
    """
    _check(total_yd3, truck_yd3, minimum_yd3)
    step = step_yd3 if step_yd3 and total_yd3 % step_yd3 == 0 else Fraction(0)
    most = truck_yd3 // step * step if step and truck_yd3 >= step else truck_yd3
    full, rest = divmod(total_yd3, most)
    loads = [most] * int(full) + ([rest] if rest else [])
    for least in sorted({well_mixed_yd3 if colored else minimum_yd3, minimum_yd3}, reverse=True):
        wanted = math.ceil(least / step) * step if step else least
        if wanted <= most and wanted * len(loads) <= total_yd3:
            _fill_last(loads, wanted)
            break
    small = tuple(number for number, load in enumerate(loads, 1) if load < minimum_yd3)
    badly = tuple(number for number, load in enumerate(loads, 1) if load < well_mixed_yd3)
    return LoadPlan(tuple(loads), small, badly)


def _check(total_yd3: Fraction, truck_yd3: Fraction, minimum_yd3: Fraction) -> None:
    if total_yd3 <= 0 or truck_yd3 <= 0:
        raise InputError("Yards and truck must be more than zero.", example="6.75 with a truck of 9")
    if minimum_yd3 > truck_yd3:
        cause = f"A truck carries {plain(truck_yd3)} yd³, the plant's minimum is {plain(minimum_yd3)} yd³."
        raise InputError("The plant's minimum tops a full truck.", cause, example="a minimum of 2")
    if total_yd3 > truck_yd3 * MOST_LOADS:
        cause = f"That is over {MOST_LOADS} loads."
        raise InputError(f"{plain(total_yd3)} yd³ is too much for one pour.", cause, example="6.75 yd")


def _fill_last(loads: list[Fraction], least_yd3: Fraction) -> None:
    """Take what the last load lacks from the loads before it, nearest first; there must be enough."""
    missing = max(least_yd3 - loads[-1], Fraction(0))
    loads[-1] += missing
    for index in range(len(loads) - 2, -1, -1):
        taken = min(loads[index] - least_yd3, missing)
        loads[index] -= taken
        missing -= taken
