"""Materials of an entry: product, maker, lot, amount in the unit of the bag or can."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any

from finishlog import units
from finishlog.errors import InputError
from finishlog.inputs.asking import Field, choice, name, yes_no
from finishlog.records.log import MaterialUse
from finishlog.records.writing import NewMaterialUse, NewProduct
from finishlog.trade.events import DOSE
from finishlog.units import QUANTITIES, plain, unit_of, write

PART = "material"
POWDERS = ("pigment", "powder release", "color hardener", "overlay mix", "repair mix")
_KEPT = {"lb": "lb", "oz": "oz", "kg": "kg", "gal": "gal", "floz": "fl oz", "l": "L"}
"""Units kept as written, by their spelling in the unit tables; others convert to the base unit."""

_NAMES = {"pigment": "Wet Biscuit", "powder release": "Otter Back", "sealer": "Slick Badger 25"}
_POUNDS = QUANTITIES["mass_lb"].factors
_BAGS = re.compile(r"(.+?) *(?:bags?|sacks?|sk)", re.ASCII | re.IGNORECASE)
_UNIT = re.compile(r"^[\d./ -]+", re.ASCII)
_DRY, _WET = "24 lb 6 oz, 11 kg or 2 bags", "2.5 gal, 20 fl oz or 9.5 L"


@dataclass(frozen=True, slots=True)
class Amount:
    """An amount as written; `unit` is one of lb, oz, kg, gal, fl oz, L, bag."""

    value: Fraction
    unit: str


def read_amount(text: str, *, wet: bool = False) -> Amount:
    """Pounds and ounces, kilograms, gallons, liters or bags. A bare number is pounds; gallons where `wet`."""
    if bags := _BAGS.fullmatch(text):
        return _bags(bags[1], text)
    unit = _unit(text)
    if unit == "oz" and wet:
        raise InputError(f"“{units.shown(text)}” may be weight or volume.", example="20 fl oz or 1 lb 4 oz")
    liquid = unit in QUANTITIES["liquid_gal"].factors or (wet and unit not in QUANTITIES["mass_lb"].factors)
    what, base = ("liquid_gal", "gal") if liquid else ("mass_lb", "lb")
    value = units.read(what, text, positive=False)
    if unit not in _KEPT or _compound(text):
        return Amount(value, base)
    return Amount(value / QUANTITIES[what].factors[unit], _KEPT[unit])


def _bags(count: str, text: str) -> Amount:
    number = units.number_from(count.strip())
    if number is None:
        raise InputError(f"“{units.shown(text)}” was not understood.", example=_DRY)
    return Amount(number, "bag")


def _unit(text: str) -> str:
    """The unit of the text as the tables spell it; empty for a bare number."""
    return unit_of(_UNIT.sub("", text.strip().lower()).strip()) if len(text) <= units.LONGEST_TEXT else ""


def _compound(text: str) -> bool:
    return len(re.findall(r"[a-z#]+", text.lower())) > 1 and "fl" not in text.lower()


def write_amount(amount: Amount, shown_in: str = "us") -> str:
    """For the eye: `24.38 lb`, `2 bags`."""
    if amount.unit in ("lb", "gal"):
        return write({"lb": "mass_lb", "gal": "liquid_gal"}[amount.unit], amount.value, shown_in, 2)
    bags = "bags" if amount.unit == "bag" and amount.value != 1 else amount.unit
    return f"{plain(amount.value, 2)} {bags}"


def _as_text(amount: Amount) -> str:
    return f"{plain(amount.value, 17)} {amount.unit}"


def slots(kinds: tuple[str, ...]) -> tuple[str, ...]:
    """Key suffixes per product: three for a pigment blend, else two."""
    if not kinds:
        return ()
    return ("", "_2", "_3") if "pigment" in kinds else ("", "_2")


def fields(kinds: tuple[str, ...], shown_in: str = "us") -> tuple[Field, ...]:
    """Material fields of an entry that takes these kinds of product."""
    return tuple(field for end in slots(kinds) for field in _slot(kinds, end, shown_in))


def _slot(kinds: tuple[str, ...], end: str, shown_in: str) -> Iterable[Field]:
    group = kinds[0] if not end else f"{kinds[0]} {end[1:]}"
    nth = f" {end[1:]}" if end else ""
    what = kinds[0].capitalize() + nth
    wet = kinds[0] not in POWDERS
    yield name(f"product{end}", what, _NAMES.get(kinds[0], kinds[0]), part=PART, group=group,
               suggest=f"products:{kinds[0]}", help="the shade or name on the bag or can")  # fmt: skip
    yield name(f"maker{end}", f"Maker{nth}", "Toadstone Pigments", part=PART, group=group, suggest="makers")
    yield name(f"lot{end}", f"Lot{nth}", "K-131", part=PART, group=group, suggest=f"lots:product{end}")
    yield Field(
        f"amount{end}", f"Amount{nth}", _WET if wet else _DRY, lambda text: read_amount(text, wet=wet),
        lambda amount: write_amount(amount, shown_in), _as_text, "gal" if wet else "lb", PART, group,
        help=f"a bare number is {'gallons' if wet else 'pounds'}",
    )  # fmt: skip
    if "powder release" in kinds:
        yield yes_no(
            f"reclaimed{end}", f"Reclaimed{nth}", part=PART, group=group, help="swept up clean, reused"
        )
    if len(kinds) > 1:
        yield choice(f"product_kind{end}", f"Material type{nth}", kinds, part=PART, group=group)


def uses(kinds: tuple[str, ...], values: Mapping[str, Any]) -> tuple[NewMaterialUse, ...]:
    """Materials named by the values. An amount or lot without a name means an unknown product."""
    return tuple(use for end in slots(kinds) if (use := _use(kinds, end, values)) is not None)


def _use(kinds: tuple[str, ...], end: str, values: Mapping[str, Any]) -> NewMaterialUse | None:
    told = [values.get(f"{key}{end}") for key in ("product", "maker", "lot", "amount")]
    if all(each is None for each in told):
        return None
    kind = values.get(f"product_kind{end}") or kinds[0]
    amount: Amount | None = told[3]
    unit = amount.unit if amount else "lb" if kinds[0] in POWDERS else "gal"
    return NewMaterialUse(
        NewProduct(told[0] or "unknown", kind, told[1]),
        None if amount is None else float(amount.value),
        unit,
        told[2],
        bool(values.get(f"reclaimed{end}")),
    )


def doses(yards: Fraction | None, values: Mapping[str, Any]) -> Iterable[tuple[str, Fraction]]:
    """Pounds per yard of each weighed amount, with its key suffix."""
    for end in ("", "_2", "_3"):
        amount: Amount | None = values.get(f"amount{end}")
        if yards and amount is not None and amount.unit in _POUNDS:
            yield end, amount.value * _POUNDS[amount.unit] / yards


def pounds_of(values: Mapping[str, Any]) -> Fraction | None:
    """A load's pigment in pounds, from pounds per yard times its yards."""
    dose, yards = values.get(DOSE), values.get("yards")
    return units.exact(dose) * units.exact(yards) if dose is not None and yards else None


def weighed(uses: tuple[NewMaterialUse, ...], pounds: Fraction | None) -> tuple[NewMaterialUse, ...]:
    """A load's materials, with pounds from its dose if its one pigment was not weighed.

    For a blend the shares are unknown.
    """
    pigments = [use for use in uses if use.product.kind == "pigment"]
    if pounds is None or len(pigments) > 1 or any(use.amount is not None for use in pigments):
        return uses
    one = pigments[0] if pigments else NewMaterialUse(NewProduct("unknown", "pigment"))
    told = replace(one, amount=float(pounds), unit="lb")
    return (told, *(use for use in uses if use is not one))


def values(kinds: tuple[str, ...], used: tuple[MaterialUse, ...]) -> dict[str, Any]:
    """Values of these materials by key, as far as there are slots."""
    found: dict[str, Any] = {}
    for end, use in zip(slots(kinds), used, strict=False):
        found |= {
            f"product{end}": use.product.name,
            f"maker{end}": use.product.maker,
            f"lot{end}": use.lot,
            f"amount{end}": None if use.amount is None else Amount(units.exact(use.amount), use.unit),
            f"reclaimed{end}": use.reclaimed or None,
            f"product_kind{end}": use.product.kind if use.product.kind in kinds else None,
        }
    return found
