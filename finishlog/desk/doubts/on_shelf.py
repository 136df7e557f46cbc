"""Doubts about the shelf: powder by the gallon, a count above purchases, use before purchase."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date
from fractions import Fraction
from typing import TYPE_CHECKING

from finishlog.desk.doubts.sealer_sheet import folded
from finishlog.inputs.entry.materials import POWDERS
from finishlog.records.shelf import ShelfLot
from finishlog.records.writing import NewEntry, NewMaterialUse, NewStockMove
from finishlog.trade import shelf as stock
from finishlog.units import GALLONS_IN, write_date

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

    from finishlog.desk.doubts.scene import Lot, Scene
    from finishlog.store import Reader

DRY = tuple(kind for kind in POWDERS if kind != "pigment")
"""Products that come dry only; pigment comes liquid too."""


def of_move(new: NewStockMove, before: ShelfLot | None, zone: ZoneInfo, system: str) -> Iterator[str]:
    """Doubts about a move; `before` is its lot now."""
    if new.amount is None:
        return
    if new.product.kind in DRY and new.unit in GALLONS_IN:
        yield f"{new.product.name} is a {new.product.kind}: it comes by the pound, not by the gallon."
    if before is None:
        return
    value, unit = stock.in_base(new.amount, new.unit, before.product)
    if unit != before.unit and before.left is not None:
        yield f"This lot is counted in {before.unit} so far, not in {unit}."
    elif unit == before.unit:
        yield from _against(new, value, before, zone, system)


def _against(
    new: NewStockMove, value: Fraction, before: ShelfLot, zone: ZoneInfo, system: str
) -> Iterator[str]:
    on = new.happened.astimezone(zone).date()
    first = before.first_used
    unknown = not before.bought and before.counted_on is None
    if new.what == "bought" and before.lot and unknown and first is not None and first < on:
        yield f"Lot {before.lot} was used on {write_date(first)}, before this purchase on {write_date(on)}."
    if new.what == "counted":
        most = before.bought if before.counted_on is None else (before.left or stock.ZERO) + before.used
        if before.bought and value > most:
            counted, bought = (stock.amount(each, before.unit, system) for each in (value, most))
            known = f"{bought} was bought" if before.counted_on is None else f"{bought} was ever there"
            yield f"{counted} counted, but only {known}."


def since(log: Reader, uses: Iterable[NewMaterialUse], zone: ZoneInfo) -> dict[Lot, date]:
    """When each lot in an entry was first on the shelf, as far as logged."""
    found: dict[Lot, date] = {}
    for use in uses:
        if use.lot is None or use.reclaimed:
            continue
        for product in log.products(use.product.kind, named=use.product.name):
            if folded(product.name) == folded(use.product.name):
                days = [
                    move.happened.astimezone(zone).date()
                    for move in log.stock_moves(product.uid)
                    if move.lot == use.lot and move.what in ("bought", "counted")
                ]
                if days:
                    found[_key(use)] = min(days)
    return found


def _key(use: NewMaterialUse) -> Lot:
    return folded(use.product.kind), folded(use.product.name), use.lot or ""


def of_entry(new: NewEntry, scene: Scene) -> Iterator[str]:
    """A lot that was used before it was bought."""
    on = scene.day(new.happened)
    for use in new.materials:
        there = scene.since.get(_key(use))
        if there is not None and on < there:
            yield f"Lot {use.lot} of {use.product.name} was bought on {write_date(there)}, after {write_date(on)}."
