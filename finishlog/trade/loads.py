"""Loads: full trucks first, none under the plant's minimum; the yards sum to the order exactly."""

from __future__ import annotations

from fractions import Fraction

from finishlog.errors import InputError
from finishlog.records.quantities import LoadPlan
from finishlog.units import plain

MOST_LOADS = 500


def split(
    total_yd3: Fraction, truck_yd3: Fraction, minimum_yd3: Fraction, well_mixed_yd3: Fraction = Fraction(0)
) -> LoadPlan:
    """`total_yd3` in loads of at most `truck_yd3` and, where it can be, at least `minimum_yd3`.

    A last load under the minimum is filled up from the loads before it. A total under the minimum, or one
    that no split serves, keeps the small load and names it. Loads under `well_mixed_yd3` are named too.
    """
    _check(total_yd3, truck_yd3, minimum_yd3)
    full, rest = divmod(total_yd3, truck_yd3)
    loads = [truck_yd3] * int(full) + ([rest] if rest else [])
    _fill_last(loads, minimum_yd3)
    small = tuple(number for number, load in enumerate(loads, 1) if load < minimum_yd3)
    badly = tuple(number for number, load in enumerate(loads, 1) if load < well_mixed_yd3)
    return LoadPlan(tuple(loads), small, badly)


def _check(total_yd3: Fraction, truck_yd3: Fraction, minimum_yd3: Fraction) -> None:
    if total_yd3 <= 0 or truck_yd3 <= 0:
        raise InputError("Yards and truck must be more than zero.", example="6.75 with a truck of 9")
    if minimum_yd3 > truck_yd3:
        cause = f"A truck carries {plain(truck_yd3)} yd³, the plant's minimum is {plain(minimum_yd3)} yd³."
        raise InputError("The plant's minimum is more than a full truck.", cause, example="a minimum of 2")
    if total_yd3 > truck_yd3 * MOST_LOADS:
        cause = f"That is over {MOST_LOADS} loads."
        raise InputError(f"{plain(total_yd3)} yd³ is too much for one pour.", cause, example="6.75 yd")


def _fill_last(loads: list[Fraction], minimum_yd3: Fraction) -> None:
    missing = minimum_yd3 - loads[-1]
    spare = [max(load - minimum_yd3, Fraction(0)) for load in loads[:-1]]
    if missing <= 0 or sum(spare) < missing:
        return
    loads[-1] = minimum_yd3
    for index in range(len(spare) - 1, -1, -1):
        taken = min(spare[index], missing)
        loads[index] -= taken
        missing -= taken
