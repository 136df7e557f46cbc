"""Lessons of past pours for ordering, only from yards really placed."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from finishlog.records.answers import PastSlab
from finishlog.records.shop import Shop
from finishlog.trade.pour import order
from finishlog.units import exact, fixed, write_date


@dataclass(frozen=True, slots=True)
class Learned:
    """Depth errors in inches of past slabs, in order of pouring; `left_out` says which cannot be right."""

    errors: tuple[Fraction, ...] = ()
    left_out: tuple[str, ...] = ()
    silent: str = ""  # where no slab teaches: what the log lacks of those that it has


Told = tuple[str, str, str | None, Sequence[str]]
"""A slab: its job, the day (ISO), its depth error in inches as a fraction, None where unknown; what it lacks."""


def learned(slabs: Iterable[PastSlab], shop: Shop) -> Learned:
    """Lessons from fully known slabs.

    Placed is delivered less returned and dumped; a slab whose leftover nobody wrote down, or whose
    area or depth is unknown, teaches nothing, and neither does one that cannot be right.
    """
    return of_told(told(slab, shop) for slab in slabs)


def told(slab: PastSlab, shop: Shop) -> Told:
    """What one slab tells, as it can be kept."""
    error = _error(slab, shop)
    return slab.job, slab.poured_on.isoformat(), None if error is None else str(error), slab.lacks


def of_told(slabs: Iterable[Told]) -> Learned:
    """Like `learned`, of what each slab told."""
    some = tuple(slabs)
    known = [(job, on, Fraction(error)) for job, on, error, _ in some if error is not None]
    return Learned(
        tuple(error for _, _, error in known if abs(error) <= order.MOST_ERROR_IN),
        tuple(_odd(*one) for one in known if abs(one[2]) > order.MOST_ERROR_IN),
        "" if known else _silent([lacks for *_, lacks in some]),
    )


_LACKING = {
    "load": "any load", "yards": "the yards", "leftover": "returned or dumped yards",
    "size": "the size", "depth": "the depth",
}  # fmt: skip


def _silent(slabs: Sequence[Sequence[str]]) -> str:
    """`15 pours teach nothing yet; not logged: returned or dumped yards of 15, the depth of 12`."""
    if not slabs:
        return ""
    lacks = [(words, sum(key in lacks for lacks in slabs)) for key, words in _LACKING.items()]
    told = ", ".join(f"{words} of {number}" for words, number in lacks if number)
    pours = f"{len(slabs)} pour{'' if len(slabs) == 1 else 's'}"
    return (
        f"{pours} {'teaches' if len(slabs) == 1 else 'teach'} nothing yet; not logged: {told}" if told else ""
    )


def _odd(job: str, on: str, error: Fraction) -> str:
    side = "deeper" if error > 0 else "shallower"
    return (
        f"{job} of {write_date(date.fromisoformat(on))} teaches nothing: its yards make it {fixed(abs(error), 1)} in "
        f"{side} than planned. Check its yards, size and depth."
    )


def _error(slab: PastSlab, shop: Shop) -> Fraction | None:
    if slab.area_ft2 is None or slab.depth_in is None or slab.placed_yd3 is None:
        return None
    area, depth, placed = exact(slab.area_ft2), exact(slab.depth_in), exact(slab.placed_yd3)
    return order.past_error(area, depth, exact(slab.edge_yd3 or 0), shop.waste_percent, placed)
