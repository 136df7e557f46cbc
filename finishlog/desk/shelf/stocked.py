"""Which lots are on the shelf: all, those of some products, or only those that count for what is wanted."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING

from finishlog.desk.shelf import needs
from finishlog.records.shelf import Enough, ShelfLot, Wanted
from finishlog.trade import shelf as stock

if TYPE_CHECKING:
    from finishlog.desk.services import Services
    from finishlog.store import Reader

ByProduct = Mapping[tuple[str, str], Sequence[Enough]]


def by_product(answers: Iterable[Enough]) -> ByProduct:
    """The answers by kind and folded name of what is wanted."""
    found: dict[tuple[str, str], list[Enough]] = {}
    for each in answers:
        found.setdefault((each.wanted.kind, stock.folded(each.wanted.name)), []).append(each)
    return found


def lots(
    log: Reader, services: Services, kinds: Sequence[tuple[str, str]] | None = None, system: str = "us"
) -> tuple[ShelfLot, ...]:
    """Lots as they stand; only of these kinds and names, where they are given."""
    products = None
    if kinds is not None:
        products = {
            p.uid for kind, name in kinds for p in log.products(kind, named=name) if same(p.name, name)
        }
    return tuple(stock.as_lot(each, services.zone, system) for each in log.shelf(products))


def lots_for(
    log: Reader, services: Services, wanted: Sequence[Wanted], system: str = "us", *, priced: bool = True
) -> tuple[ShelfLot, ...]:
    """The lots that count for what is wanted: what is left and the lots named.

    All of a product only where nothing with a price is left of it; if not `priced`, where nothing known is.
    """
    tells = _left_in if priced else _known_in
    found: dict[tuple[str, str | None], ShelfLot] = {}
    for kind, name in needs.names(wanted):
        there = [each for each in wanted if (each.kind, each.name) == (kind, name)]
        codes, units = {each.lot for each in there if each.lot}, {each.unit for each in there}
        for product in {p.uid for p in log.products(kind, named=name) if same(p.name, name)}:
            some = [stock.as_lot(each, services.zone, system) for each in log.shelf([product], lots=codes)]
            if not all(tells(unit, some) for unit in units):
                some = [stock.as_lot(each, services.zone, system) for each in log.shelf([product])]
            found |= {(lot.product.uid, lot.lot): lot for lot in some}
    return stock.lots_in_order(found.values())


def _left_in(unit: str, held: Iterable[ShelfLot]) -> bool:
    """Whether anything with a price is left in this unit."""
    return any(
        lot.unit == unit and lot.left is not None and lot.left > 0 and lot.usd_per_unit is not None
        for lot in held
    )


def _known_in(unit: str, held: Iterable[ShelfLot]) -> bool:
    """Whether it is known of any lot how much of this unit is left."""
    return any(lot.unit == unit and lot.left is not None for lot in held)


def same(one: str, other: str) -> bool:
    """The same name, however it is spaced and capitalized."""
    return stock.folded(one) == stock.folded(other)
