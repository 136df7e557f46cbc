"""Fields of a shelf move, declared once: bought, opened, counted, reclaimed, spoiled, thrown."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from datetime import tzinfo as Zone
from fractions import Fraction
from typing import Any

from finishlog import units
from finishlog.errors import InputError
from finishlog.inputs import moments
from finishlog.inputs.asking import Field, Wrong, choice, name, note, quantity
from finishlog.inputs.entry import materials
from finishlog.inputs.entry.materials import Amount
from finishlog.inputs.moments import Moment
from finishlog.records.answers import StockMove, StockWhat
from finishlog.records.writing import NewProduct, NewStockMove
from finishlog.trade.events import kinds_in_order

PART = "stock"
WHATS: tuple[StockWhat, ...] = ("bought", "opened", "counted", "reclaimed", "spoiled", "thrown")
_VERBS = {
    "buy": "bought", "open": "opened", "count": "counted", "reclaim": "reclaimed", "spoil": "spoiled",
    "throw": "thrown",
}  # fmt: skip
VERBS = tuple(_VERBS)
_TITLES = {"bought": "Bought", "opened": "Opened", "counted": "Counted", "reclaimed": "Reclaimed",
           "spoiled": "Spoiled", "thrown": "Thrown away"}  # fmt: skip
_NEEDS_AMOUNT = ("counted", "reclaimed", "spoiled", "thrown")
KINDS = tuple(dict.fromkeys(("pigment", *(kind for each in kinds_in_order() for kind in each.product_kinds))))
"""Kinds of product that can stand on the shelf."""


@dataclass(frozen=True, slots=True)
class ShelfContext:
    """Context for reading: clock, the shop's zone, the kind of product if known."""

    now: datetime
    zone: Zone
    kind: str | None = None


def what_of(verb: str) -> StockWhat:
    """`buy` and `bought` alike. Raises InputError that lists the words."""
    word = _VERBS.get(verb, verb)
    found = next((what for what in WHATS if what == word), None)
    if found is None:
        raise InputError(f"“{units.shown(verb)}” is no shelf action.",
                         f"It can be {', '.join(VERBS)}.", where="ACTION", example="buy")  # fmt: skip
    return found


def title_of(what: StockWhat) -> str:
    """A move on the shelf as people call it."""
    return _TITLES[what]


def fields_of(what: StockWhat, context: ShelfContext) -> tuple[Field, ...]:
    """The fields of a move, in the order of its form."""
    wet = context.kind is not None and context.kind not in materials.POWDERS
    bare = "a bare number is pounds; gallons for liquids"
    if context.kind is not None:
        bare = f"a bare number is {'gallons' if wet else 'pounds'}"
    common = (
        name("product", "Product", "Otter Back", part=PART, suggest="products:", required=True,
             help="shade or name on the bag or can"),
        choice("kind", "Material type", KINDS, part=PART, help="pigment, powder release, sealer…"),
        name("maker", "Maker", "Toadstone Pigments", part=PART, suggest="makers"),
        name("lot", "Lot", "0329", part=PART, suggest="lots:product"),
        Field("amount", "Amount", "50 lb, 2 bags or 5 gal", lambda text: _amount(text, what, wet=wet),
              materials.write_amount, lambda a: f"{units.plain(a.value, 17)} {a.unit}", part=PART,
              required=what in _NEEDS_AMOUNT, help=bare),
    )  # fmt: skip
    price = (
        (quantity("price", "Total price", "money", part=PART, positive=False),) if what == "bought" else ()
    )
    return (*common, *price, _at(context), *_closing(what))


def _at(context: ShelfContext) -> Field:
    def read(text: str) -> Moment:
        return moments.read_moment(text, context.now, context.zone)

    return Field("at", "When", "yesterday 2p", read, lambda moment: moment.echo,
                 lambda moment: moments.text_of(moment.instant, moment.exactness, context.zone),
                 part=PART, help="blank: now")  # fmt: skip


def _closing(what: StockWhat) -> tuple[Field, ...]:
    example = "wet in the rain" if what == "spoiled" else "swept off the side walk"
    return (
        name("job", "Job", "hill-patio", part=PART, help="the job it comes from"),
        name("by", "Who", "Bo", part=PART, suggest="people"),
        note("note", "Why" if what in ("spoiled", "thrown") else "Note", example, part=PART),
    )


def _amount(text: str, what: StockWhat, *, wet: bool) -> Amount:
    found = materials.read_amount(text, wet=wet)
    if found.value < 0 or (found.value == 0 and what != "counted"):
        raise InputError(
            f"“{units.shown(text)}” is not an amount.", "It must be more than zero.", example="50 lb"
        )
    return found


def read(
    what: StockWhat, texts: Mapping[str, str], context: ShelfContext
) -> tuple[NewStockMove | None, tuple[Wrong, ...]]:
    """The move from these texts, or None and all errors."""
    fields = {field.key: field for field in fields_of(what, context)}
    wrongs = [Wrong(key, "No such field here.") for key in texts if key not in fields]
    values: dict[str, Any] = {}
    for key, field in fields.items():
        try:
            values[key] = field.read(texts.get(key, ""))
        except InputError as wrong:
            wrongs.append(Wrong(key, " ".join(p for p in (wrong.title, wrong.cause) if p), wrong.example))
            continue
        if values[key] is None and field.required:
            wrongs.append(Wrong(key, f"{field.title} is missing.", field.sample))
    return (None, tuple(wrongs)) if wrongs else (_move(what, values, context), ())


def texts_of(move: StockMove, context: ShelfContext) -> dict[str, str]:
    """The texts that read as this move again."""
    values = {
        "product": move.product.name, "kind": move.product.kind, "maker": move.product.maker, "lot": move.lot,
        "amount": None if move.amount is None else Amount(units.exact(move.amount), move.unit),
        "price": None if move.price_usd is None else units.exact(move.price_usd),
        "at": Moment(move.happened, "exact", ""), "job": move.job, "by": move.person, "note": move.note,
    }  # fmt: skip
    fields = fields_of(move.what, context)
    return {field.key: field.text(values[field.key]) for field in fields if values[field.key] is not None}


def _move(what: StockWhat, values: Mapping[str, Any], context: ShelfContext) -> NewStockMove:
    amount: Amount | None = values["amount"]
    kind = values["kind"] or context.kind or "pigment"
    price: Fraction | None = values.get("price")
    moment: Moment | None = values["at"]
    usual = "lb" if kind in materials.POWDERS else "gal"
    return NewStockMove(
        NewProduct(values["product"], kind, values["maker"]),
        what,
        moment.instant if moment else context.now,
        float(amount.value) if amount else None,
        amount.unit if amount else usual,
        values["lot"],
        float(price) if price is not None else None,
        values["by"],
        values["job"],
        values["note"],
    )
