"""Material costs, at the price paid for the lots, else the shop's settings; no labor, no profit."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction

from finishlog.records.shelf import Cost, CostPart, ShelfLot, Wanted
from finishlog.records.shop import Shop
from finishlog.trade.shelf import is_it

F = Fraction
SETTING = "setting"

_SETTING_OF = {
    ("pigment", "lb"): "pigment_per_lb",
    ("powder release", "lb"): "release_per_lb",
    ("sealer", "gal"): "sealer_per_gal",
}


def price(wanted: Wanted, held: Iterable[ShelfLot], shop: Shop) -> tuple[Fraction, str] | None:
    """Dollars per unit and their source: the wanted lot, another lot of it, the settings. None: unknown."""
    there = [
        lot
        for lot in held
        if is_it(lot.product, wanted) and lot.unit == wanted.unit and lot.usd_per_unit is not None
    ]
    there.sort(
        key=lambda lot: (wanted.lot is None or lot.lot != wanted.lot, lot.left is None or lot.left <= 0)
    )
    if there:
        return there[0].usd_per_unit or F(0), f"lot {there[0].lot}" if there[0].lot else "as bought"
    setting = _SETTING_OF.get((wanted.kind, wanted.unit))
    return None if setting is None else (getattr(shop, setting), SETTING)


def concrete(yards: Fraction | None, shop: Shop) -> CostPart:
    """Concrete at the shop's price."""
    usd = None if yards is None else yards * shop.price_per_yd3
    return CostPart("concrete", yards, "yd³", shop.price_per_yd3, usd, SETTING)


def parts(
    wanted: Sequence[Wanted], held: Sequence[ShelfLot], shop: Shop
) -> tuple[tuple[CostPart, ...], tuple[str, ...]]:
    """Each material's cost, and the names of those without a known price."""
    found, unknown = [], []
    for each in wanted:
        known = price(each, held, shop)
        if known is None:
            unknown.append(each.name)
        else:
            found.append(
                CostPart(each.name, each.amount, each.unit, known[0], each.amount * known[0], known[1])
            )
    return tuple(found), tuple(dict.fromkeys(unknown))


def total(
    found: Sequence[CostPart],
    area_ft2: Fraction | None,
    short_usd: Fraction | None = None,
    unknown: tuple[str, ...] = (),
) -> Cost:
    """Sum of the known costs; also per square foot if the area is known."""
    usd = sum((part.usd for part in found if part.usd is not None), F(0))
    missing = tuple(part.what for part in found if part.usd is None)
    return Cost(tuple(found), usd, usd / area_ft2 if area_ft2 else None, short_usd, (*missing, *unknown))


def running_short(shop: Shop, balance_yd3: Fraction) -> Fraction:
    """Extra cost if the pour runs short: balance load, its fee, a cold joint, a mismatch (settings)."""
    return balance_yd3 * shop.price_per_yd3 + shop.short_load_fee + shop.joint + shop.mismatch
