"""Reclaimed powder: a job's sweep and its shelf return are the same powder, logged twice."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from fractions import Fraction

from finishlog.records.answers import StockMove, Swept, UsedMaterial
from finishlog.records.log import Product
from finishlog.units import GALLONS_IN, POUNDS_IN, exact

SWEEP = "sweep"
POWDER = "powder release"
SAME_POWDER = timedelta(days=30)
"""A sweep and a shelf return within this time are the same powder: our rule, no source."""

_BASE = {
    **{unit: ("lb", factor) for unit, factor in POUNDS_IN.items()},
    **{unit: ("gal", factor) for unit, factor in GALLONS_IN.items()},
    "bag": ("bag", Fraction(1)),
}


def in_base(amount: float | Fraction, unit: str, product: Product) -> tuple[Fraction, str]:
    """The amount in lb or gal; in bags if the bag's weight is unknown."""
    if unit == "bag" and product.pack_lb:
        return exact(amount) * exact(product.pack_lb), "lb"
    base, factor = _BASE[unit]
    return exact(amount) * factor, base


@dataclass(frozen=True, slots=True)
class Back:
    """A job's returned powder: from its sweep, or from the shelf (`move`: the move's uid).

    `more` is the part not counted before: the larger account wins, whichever came first.
    """

    job: str
    product: Product
    lot: str | None
    amount: Fraction
    happened: datetime
    number: int = 0
    move: str = ""
    more: Fraction = Fraction(0)


def powder_back(
    moves: Sequence[StockMove], uses: Sequence[UsedMaterial], swept: Sequence[Swept]
) -> tuple[Back, ...]:
    """Every powder return of a job, in time order; moves without a job are skipped."""
    shelved = tuple(_shelved(moves))
    found = [*shelved, *_swept(uses, swept, shelved)]
    found.sort(key=lambda each: (each.happened, bool(each.move), each.number))
    batches: dict[tuple[str, str], list[Back]] = {}
    done: list[Back] = []
    for each in found:
        batch = batches.setdefault((each.job, each.product.uid), [])
        if batch and each.happened - batch[-1].happened > SAME_POWDER:
            batch.clear()
        batch.append(each)
        done.append(replace(each, more=_told(batch) - _told(batch[:-1])))
    return tuple(_of_one_lot(done))


def _told(batch: Iterable[Back]) -> Fraction:
    """The larger of the sweeps' and the shelf's figures."""
    sums = {True: Fraction(0), False: Fraction(0)}
    for each in batch:
        sums[bool(each.move)] += each.amount
    return max(sums.values())


def _of_one_lot(found: Sequence[Back]) -> Iterator[Back]:
    """If only one record names the lot, it is that lot."""
    lots: dict[tuple[str, str], set[str]] = {}
    for each in found:
        if each.lot is not None:
            lots.setdefault((each.job, each.product.uid), set()).add(each.lot)
    for each in found:
        known = lots.get((each.job, each.product.uid), set())
        yield replace(each, lot=next(iter(known))) if each.lot is None and len(known) == 1 else each


def _shelved(moves: Iterable[StockMove]) -> Iterator[Back]:
    """Weighed shelf returns from a job."""
    for move in moves:
        if move.what == "reclaimed" and move.job is not None and move.amount is not None:
            value, unit = in_base(move.amount, move.unit, move.product)
            if unit == "lb" and move.product.kind == POWDER:
                yield Back(move.job, move.product, move.lot, value, move.happened, move=move.uid)


def _swept(uses: Sequence[UsedMaterial], swept: Iterable[Swept], shelved: Sequence[Back]) -> Iterator[Back]:
    """Each sweep's powder: the product it names, else the one thrown there, without a lot if several.

    Of several products, the one the shelf took back, else the one thrown last.
    """
    for one in swept:
        named = [use for use in uses if (use.job, use.number) == (one.job, one.number)]
        there = named or [use for use in uses if use.job == one.job and was_thrown(use, one.area)]
        if there:
            near = {
                each.product.uid for each in shelved
                if each.job == one.job and abs(each.happened - one.happened) <= SAME_POWDER
            }  # fmt: skip
            product = next(
                (use.product for use in reversed(there) if use.product.uid in near), there[-1].product
            )
            of_lots = {use.lot for use in there if use.product.uid == product.uid}
            lot = of_lots.pop() if len(of_lots) == 1 else None
            yield Back(one.job, product, lot, exact(one.reclaimed_lb), one.happened, one.number)


def was_thrown(use: UsedMaterial, area: str | None) -> bool:
    """Whether it is release powder thrown on the slab, on that area if one is named."""
    return use.product.kind == POWDER and use.kind != SWEEP and (area is None or use.area in (None, area))
