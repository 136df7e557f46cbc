"""The shelf and the money of a plan: enough of each product, from one lot; what the material costs."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from finishlog.desk.plain_data import Json, data, pick
from finishlog.desk.shelf import stocked
from finishlog.records.plan import Plan
from finishlog.trade import shelf as stock
from finishlog.trade.money import SETTING
from finishlog.units import QUANTITIES, write

if TYPE_CHECKING:
    from finishlog.desk.services import Services
    from finishlog.records.shelf import Cost, CostPart, Enough, ShelfLot, Wanted
    from finishlog.store import Reader


def held(log: Reader, services: Services, wanted: Sequence[Wanted]) -> tuple[ShelfLot, ...]:
    """The shelf's lots of what a plan takes."""
    return stocked.lots_for(log, services, wanted) if wanted else ()


def enough(wanted: Sequence[Wanted], held: Sequence[ShelfLot]) -> tuple[Enough, ...]:
    """What the shelf has of each; nothing where it holds none of them."""
    return tuple(stock.enough(each, held) for each in wanted) if held else ()


def shelf_lines(plan: Plan) -> list[tuple[str, str]]:
    """Mark and words of each product; nothing where the shelf was never kept."""
    if all(each.short is None for each in plan.shelf):
        return []
    return [("!" if each.settle else "·", each.text) for each in plan.shelf]


def cost_lines(cost: Cost, units: str = "us") -> Iterator[tuple[str, str, str]]:
    """Label, dollars, words: each material, the sum, what running short would cost."""
    for part in cost.parts:
        yield part.what, usd(part.usd) if part.usd is not None else "—", _of(part, units)
    per = f"{per_area(cost.usd_per_ft2, units)}, " if cost.usd_per_ft2 is not None else ""
    without = f"; without {', '.join(cost.unknown)}" if cost.unknown else ""
    yield "Material", usd(cost.usd), f"{per}no labor{without}"
    if cost.running_short_usd is not None:
        yield (
            "If it runs short",
            usd(cost.running_short_usd),
            "balance load, its fee, a cold joint, a mismatch",
        )


_METRIC = {"lb": ("mass_lb", "kg", "kg"), "gal": ("liquid_gal", "l", "L"), "yd³": ("volume_yd3", "m3", "m³")}


def _of(part: CostPart, units: str) -> str:
    """`59 lb at $2.50/lb, a setting`; in metric by the kilogram, liter or cubic meter."""
    source = "a setting" if part.price_of == SETTING else part.price_of
    at = f"at {per_unit(part.usd_per_unit, part.unit, units)}, {source}"
    if part.amount is None:
        return f"amount unknown, {at}"
    if part.unit == "yd³":
        return f"{write('volume_yd3', part.amount, units)} {at}"
    return f"{stock.amount(part.amount, part.unit, units)} {at}"


def per_unit(usd_each: Fraction, unit: str, units: str = "us") -> str:
    """`$2.50/lb`, in metric `$5.51/kg`."""
    if units == "metric" and unit in _METRIC:
        quantity, key, unit = _METRIC[unit]
        usd_each *= QUANTITIES[quantity].factors[key]
    return f"{usd(usd_each, 2)}/{unit}"


def per_area(usd_per_ft2: Fraction, units: str = "us") -> str:
    """`$3.55/ft²`, in metric `$38.21/m²`."""
    if units == "metric":
        return f"{usd(usd_per_ft2 * QUANTITIES['area_ft2'].factors['m2'], 2)}/m²"
    return f"{usd(usd_per_ft2, 2)}/ft²"


def usd(value: Any, digits: int = 0) -> str:
    """Dollars as printed; whole ones unless `digits` asks for cents."""
    return write("money", value, digits=digits)


_ENOUGH = (
    "product=wanted.name wanted.maker wanted.kind needed=wanted.amount wanted.unit wanted.lot",
    "short one_lot same_lot takes reclaimed_left text",
)


def enough_json(each: Enough) -> Json:
    """One product of a plan on the shelf."""
    return pick(each, *_ENOUGH)


def cost_json(cost: Cost) -> Json:
    """Dollars of each material, of all, per square foot; of a plan what running short would cost."""
    return {
        **pick(cost, "usd:2 usd_per_ft2:2 running_short_usd:2"),
        "parts": [{**data(part), **pick(part, "usd:2")} for part in cost.parts],
        "unknown": list(cost.unknown),
    }
