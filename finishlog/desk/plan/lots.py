"""Looks up the old slab's lots on the shelf before asking the user."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction

from finishlog.desk import words
from finishlog.desk.plan.differences import by_weight, lots_then
from finishlog.records.placed import AsPlaced
from finishlog.records.plan import Difference
from finishlog.records.shelf import ShelfLot, Wanted
from finishlog.trade import shelf as stock

_ASKED = ("lot", "lot_unsaid")


def looked_up(
    differences: tuple[Difference, ...], placed: AsPlaced, wanted: Sequence[Wanted], held: Sequence[ShelfLot],
    system: str = "us", *, every: bool,
) -> tuple[Difference, ...]:  # fmt: skip
    """The differences of a plan; a lot that was to be asked for is answered where the shelf knows its product.

    `every`: the plan states no lot at all.
    """
    asked = [each for each in differences if each.key in _ASKED and each.weight == "ask"]
    if not asked:
        return differences
    open_ = {each.title for each in asked}
    products = [(name, lots) for name, lots in lots_then(placed)
                if every or f"Lot of {name}" in open_]  # fmt: skip
    answers, unknown = [], []
    for name, lots in products:
        found = [answer for each in wanted if each.name == name
                 if (answer := _answer(each, lots, held, system)) is not None]  # fmt: skip
        answers += found
        unknown += [] if found else [(name, lots)]
    if not answers:
        return differences
    kept = [each for each in differences if each not in asked]
    return by_weight((*kept, *_ask("lot" if every else "lot_unsaid", unknown), *answers))


def _ask(key: str, unknown: Sequence[tuple[str, tuple[str, ...]]]) -> Iterator[Difference]:
    for name, lots in unknown:
        was = f"was {words.listed(lots)}" if lots else "not logged on the old slab"
        yield Difference(key, f"Lot of {name}", f"{was}; ask: the shelf does not say", "ask")


def _answer(
    wanted: Wanted, lots: tuple[str, ...], held: Sequence[ShelfLot], system: str
) -> Difference | None:
    """What the shelf says of the lots of then; None where it knows nothing of the product."""
    there = [lot for lot in held if stock.is_it(lot.product, wanted) and lot.unit == wanted.unit]
    counted = [lot for lot in there if lot.left is not None]
    if not counted or not lots:
        return None
    folded = {lot.casefold() for lot in lots}
    same = [lot for lot in counted if lot.lot is not None and lot.lot.casefold() in folded]
    if not same and any(lot.lot is not None and lot.lot.casefold() in folded for lot in there):
        return None  # it was there, and nobody counted it
    left = sum((max(lot.left or Fraction(0), Fraction(0)) for lot in same), Fraction(0))
    title, short = f"Lot of {wanted.name}", wanted.amount - left
    name = f"{'lot' if len(lots) == 1 else 'lots'} {words.listed(lots)}"
    if short <= 0:
        return Difference(
            "lot_shelf", title, f"{name}: {stock.amount(left, wanted.unit, system)} left, enough", "know"
        )
    if left > 0:
        told = f"{stock.amount(left, wanted.unit, system)} left, {stock.amount(short, wanted.unit, system)} short"
    else:
        told = "used up" if same else "not on the shelf"
    others = [lot for lot in counted if lot not in same and (lot.left or 0) > 0]
    also = words.listed(f"{_lot(lot)} has {stock.amount(lot.left or Fraction(0), wanted.unit, system)}"
                        for lot in others)  # fmt: skip
    rest = f"; {also}: a different lot; pour a sample" if also else "; needs another lot: pour a sample"
    return Difference("lot", title, f"{name}: {told}{rest}", "act")


def _lot(lot: ShelfLot) -> str:
    return f"lot {lot.lot}" if lot.lot else "a lot without a number"
