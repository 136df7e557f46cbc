"""Stock on the shelf, computed from purchases, counts, use and reclaimed powder. Pure.

Reclaimed powder is kept apart from fresh: it carries cement fines and is used last, on a match not
at all unless requested (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, tzinfo
from fractions import Fraction
from functools import lru_cache
from typing import Any

from finishlog.records.answers import StockMove, Swept, UsedMaterial
from finishlog.records.log import Product
from finishlog.records.shelf import Enough, LotState, ShelfLot, Take, Wanted
from finishlog.trade.powder_back import POWDER, SWEEP, Back, in_base, powder_back
from finishlog.units import GALLONS_IN, POUNDS_IN, exact, write_number

F = Fraction
ZERO = F(0)
Key = tuple[str, str | None]
"""Product's uid and lot."""


@dataclass
class Tally:
    """All that is told of one lot, added up in order of time: exact, without a zone, a unit system or words."""

    product: Product
    lot: str | None
    unit: str = ""
    sums: dict[str, Fraction] = field(default_factory=dict)
    fresh: Fraction = ZERO
    reclaimed: Fraction = ZERO
    largest: Fraction = ZERO
    known: bool = False
    unsure: bool = False
    days: dict[str, datetime] = field(default_factory=dict)
    paid: Fraction = ZERO
    paid_for: Fraction = ZERO
    doubts: dict[tuple[str, ...], None] = field(default_factory=dict)
    """What is odd (units, early, powder), and what it is about; `_doubt` says it."""

    def measured(self, amount: float | Fraction | None, unit: str) -> Fraction | None:
        """The amount in the lot's own unit; None, marking the lot uncertain, if it cannot be converted."""
        if amount is None:
            self.unsure = True
            return None
        value, base = in_base(amount, unit, self.product)
        self.unit = self.unit or base
        if base != self.unit:
            self.unsure = True
            self.doubts["units", self.unit, base] = None
            return None
        return value

    def add(self, key: str, value: Fraction) -> None:
        """Add to one of the sums."""
        self.sums[key] = self.sums.get(key, F(0)) + value

    def told(self) -> dict[str, str | float | bool]:
        """All of it but product and lot as flat texts, amounts as exact fractions; `from_told` reads it."""
        parts = {key: str(getattr(self, key)) for key in _AMOUNTS}
        sums = {f"sum {key}": str(value) for key, value in self.sums.items()}
        days = {f"day {key}": value.isoformat() for key, value in self.days.items()}
        doubts = {f"doubt {place}": "\t".join(each) for place, each in enumerate(self.doubts)}
        return {
            "unit": self.unit,
            "known": self.known,
            "unsure": self.unsure,
            **parts,
            **sums,
            **days,
            **doubts,
        }


_AMOUNTS = ("fresh", "reclaimed", "largest", "paid", "paid_for")


def from_told(product: Product, lot: str | None, told: Mapping[str, Any]) -> Tally:
    """The tally that said this. KeyError or ValueError if it is none."""
    tally = Tally(product, lot, told["unit"], known=told["known"], unsure=told["unsure"])
    for key, value in told.items():
        what, _, name = key.partition(" ")
        if what == "sum":
            tally.sums[name] = F(value)
        elif what == "day":
            tally.days[name] = datetime.fromisoformat(value)
        elif what == "doubt":
            tally.doubts[tuple(value.split("\t"))] = None
        elif what in _AMOUNTS:
            setattr(tally, what, F(value))
    return tally


def lots(
    moves: Iterable[StockMove],
    uses: Iterable[UsedMaterial],
    swept: Iterable[Swept] = (),
    *,
    zone: tzinfo | None = None,
    system: str = "us",
) -> tuple[ShelfLot, ...]:
    """Every lot ever stocked or used, as of now, by kind, product and lot. `system` only affects wording."""
    return tuple(as_lot(each, zone, system) for each in in_order(tallies(moves, uses, swept).values()))


def lots_in_order(found: Iterable[ShelfLot]) -> tuple[ShelfLot, ...]:
    """By kind, product and lot."""
    return tuple(sorted(found, key=lambda t: (t.product.kind, t.product.name.casefold(), t.lot or "")))


def in_order(found: Iterable[Tally]) -> list[Tally]:
    """By kind, product and lot."""
    return sorted(found, key=lambda t: (t.product.kind, t.product.name.casefold(), t.lot or ""))


def tallies(
    moves: Iterable[StockMove], uses: Iterable[UsedMaterial], swept: Iterable[Swept] = ()
) -> dict[Key, Tally]:
    """Every lot ever stocked or used, by its product and code.

    Takes current moves and uses. A sweep's powder belongs to the product thrown on that area; a shelf return
    of the same job is the same powder. A lot depends on its own moves and uses, and on all uses, sweeps and
    returns of those of its jobs that have a sweep or a return; on nothing else.
    """
    found_lots: dict[Key, Tally] = {}
    used = tuple(uses)
    moved = tuple(moves)
    back = powder_back(moved, used, tuple(swept))
    told = {each.move for each in back if each.move}
    found: list[tuple[datetime, int, object]] = [
        (move.happened, 1, move) for move in moved if move.uid not in told
    ]
    found += [(use.happened, 0, use) for use in used if use.kind != SWEEP]
    found += [(each.happened, 1 if each.move else 0, each) for each in back]
    for _, _, what in sorted(found, key=lambda each: each[:2]):
        if isinstance(what, StockMove):
            _move(_tally(found_lots, what.product, what.lot), what)
        elif isinstance(what, UsedMaterial):
            _use(_tally(found_lots, what.product, what.lot), what)
        elif isinstance(what, Back) and what.more:
            _come_back(_tally(found_lots, what.product, what.lot), what)
    return found_lots


def _tally(found: dict[Key, Tally], product: Product, lot: str | None) -> Tally:
    return found.setdefault((product.uid, lot), Tally(product, lot))


def _move(tally: Tally, move: StockMove) -> None:
    if move.what == "opened":
        tally.days["opened"] = move.happened
        return
    value = tally.measured(move.amount, move.unit)
    if value is None:
        return
    if move.what == "counted":
        tally.fresh, tally.known, tally.unsure = value, True, False
        tally.days["counted"] = move.happened
    elif move.what == "reclaimed":
        _reclaim(tally, value)
    elif move.what == "bought":
        if not tally.known and tally.lot is not None and (early := tally.sums.get("used")):
            tally.doubts["early", str(early)] = None
        tally.add("bought", value)
        tally.fresh, tally.known = tally.fresh + value, True
        if move.price_usd is not None and value:
            tally.paid, tally.paid_for = tally.paid + exact(move.price_usd), tally.paid_for + value
    else:
        _lose(tally, move.what, value)


def _lose(tally: Tally, what: str, value: Fraction) -> None:
    """Spoilage comes off reclaimed powder first; discards come off fresh stock."""
    tally.add(what, value)
    of_reclaimed = min(value, tally.reclaimed) if what == "spoiled" else F(0)
    tally.reclaimed -= of_reclaimed
    tally.fresh -= value - of_reclaimed


def _use(tally: Tally, use: UsedMaterial) -> None:
    tally.days["used"] = use.happened
    tally.days.setdefault("first_used", use.happened)
    value = tally.measured(use.amount, use.unit)
    if value is None:
        return
    tally.largest = max(tally.largest, value)
    if not use.reclaimed:
        tally.add("used", value)
        if (
            tally.known or tally.lot is not None
        ):  # without a lot: earlier use came from stock bought before the log began
            tally.fresh -= value
        return
    tally.add("reclaimed_used", value)
    if value > tally.reclaimed:
        tally.doubts["powder", use.job, str(use.number)] = None
    tally.reclaimed = max(tally.reclaimed - value, F(0))


def _come_back(tally: Tally, what: Back) -> None:
    """A shelf return converts like any move: not in pounds if the lot is counted in bags."""
    value = tally.measured(what.more, "lb") if what.move else what.more
    if value is not None:
        _reclaim(tally, value)


def _reclaim(tally: Tally, value: Fraction) -> None:
    tally.unit = tally.unit or "lb"
    tally.add("reclaimed", value)
    tally.reclaimed += value


def as_lot(tally: Tally, zone: tzinfo | None = None, system: str = "us") -> ShelfLot:
    """The lot as it stands, in words of that unit system."""
    sums = {
        key: tally.sums.get(key, F(0))
        for key in ("bought", "used", "spoiled", "thrown", "reclaimed", "reclaimed_used")
    }
    doubts = [_doubt(tally, system, *each) for each in tally.doubts]
    if sums["reclaimed"] > sums["used"] + sums["reclaimed_used"] > 0:
        doubts.append("More was reclaimed than was ever thrown.")
    days = {key: _day(tally.days.get(key), zone) for key in ("opened", "counted", "used", "first_used")}
    return ShelfLot(
        tally.product, tally.lot, tally.unit or "lb", **sums,
        left=tally.fresh if tally.known and not tally.unsure else None,
        reclaimed_left=tally.reclaimed, largest_use=tally.largest,
        opened_on=days["opened"], counted_on=days["counted"], last_used=days["used"], first_used=days["first_used"],
        usd_per_unit=tally.paid / tally.paid_for if tally.paid_for else None, doubts=tuple(doubts),
    )  # fmt: skip


def _doubt(tally: Tally, system: str, key: str, what: str, more: str = "") -> str:
    if key == "units":
        return f"It is logged in {what} and in {more}: enter a bag's weight, or count it."
    if key == "early":
        return f"{amount(F(what), tally.unit, system)} was used before it was bought."
    return f"More reclaimed powder was used than was swept up ({what}, entry {more})."


def standing(lot: ShelfLot, *, runs_out: bool = False) -> LotState:
    """Low is a lot that has less than its largest use, or that runs out with what is planned."""
    if lot.left is None:
        return "unknown"
    if lot.left < 0:
        return "count"
    if lot.left == 0:
        return "out"
    return "low" if runs_out or lot.left < lot.largest_use else "left"


def _day(instant: datetime | None, zone: tzinfo | None) -> date | None:
    return None if instant is None else instant.astimezone(zone).date()


# enough


def enough(
    wanted: Wanted, held: Iterable[ShelfLot], *, reclaimed: bool = False, system: str = "us"
) -> Enough:
    """Whether the lots cover the need; reclaimed powder counts only if requested.

    `system` is only for the words.
    """
    there = [lot for lot in held if is_it(lot.product, wanted) and lot.unit == wanted.unit]
    fresh = [lot for lot in there if lot.left is not None and lot.left > 0]
    order = sorted(fresh, key=lambda lot: _rank(lot, wanted))
    takes, rest = [], wanted.amount
    for lot in order:
        part = min(rest, lot.left or F(0))
        if part > 0:
            takes.append(Take(lot.lot, part))
            rest -= part
    for lot in there if reclaimed else ():
        part = min(rest, lot.reclaimed_left)
        if part > 0:
            takes.append(Take(lot.lot, part, reclaimed=True))
            rest -= part
    unknown = not any(lot.left is not None for lot in there)
    kept_out = sum((x.reclaimed_left for x in there), F(0))
    return _answer(wanted, tuple(takes), None if unknown else rest, kept_out, system)


def is_it(product: Product, wanted: Wanted) -> bool:
    """The same product: by kind and name, and by maker where both say one."""
    same = product.kind == wanted.kind and folded(product.name) == folded(wanted.name)
    makers = {folded(maker) for maker in (product.maker, wanted.maker) if maker}
    return same and len(makers) < 2


@lru_cache(maxsize=4096)
def folded(text: str) -> str:
    """A name to compare, however it is spaced and capitalized."""
    return " ".join(text.casefold().split())


def _rank(lot: ShelfLot, wanted: Wanted) -> tuple[bool, bool, Fraction]:
    """The wanted lot first, then the smallest that covers it all, then the largest."""
    left = lot.left or F(0)
    has_all = left >= wanted.amount
    return wanted.lot is None or lot.lot != wanted.lot, not has_all, left if has_all else -left


def _answer(
    wanted: Wanted, takes: tuple[Take, ...], short: Fraction | None, reclaimed: Fraction, system: str
) -> Enough:
    fresh = {take.lot for take in takes if not take.reclaimed}
    one_lot = short == 0 and len(takes) == 1
    same = None if wanted.lot is None else one_lot and fresh == {wanted.lot}
    needs = f"{amount(wanted.amount, wanted.unit, system)} of {wanted.name}"
    text = f"{needs}: {_verdict(wanted, takes, short, one_lot, same, system)}"
    if reclaimed and not any(take.reclaimed for take in takes):
        text += f" {amount(reclaimed, wanted.unit, system)} reclaimed left out."
    settle = short is None or short > 0 or not one_lot or same is False
    return Enough(wanted, takes, short, one_lot, same, reclaimed, text, settle)


def _verdict(
    wanted: Wanted, takes: tuple[Take, ...], short: Fraction | None, one_lot: bool, same: bool | None,
    system: str,
) -> str:  # fmt: skip
    if short is None:
        return "not on the shelf list; count it."
    from_lots = ", ".join(f"{amount(t.amount, wanted.unit, system)} of {_lot(t.lot)}" for t in takes)
    if short > 0:
        has = f" ({from_lots})" if takes else ""
        return f"{amount(short, wanted.unit, system)} short{has}."
    if one_lot and same is not False:
        return f"enough, all of {_lot(takes[0].lot)}."
    if one_lot:
        return f"enough of {_lot(takes[0].lot)}, not of {wanted.lot} as before: pour a sample."
    return f"enough, but not in one lot: {from_lots}. Mix the lots, or pour a sample of each."


def _lot(lot: str | None) -> str:
    return f"lot {lot}" if lot else "an unknown lot"


def amount(value: Fraction, unit: str, system: str = "us") -> str:
    """Without trailing zeros: `38 lb`, `2.5 gal`, `2 bags`."""
    if unit in ("lb", "gal") and system == "metric":
        factor, unit, places = (POUNDS_IN["kg"], "kg", 2) if unit == "lb" else (GALLONS_IN["L"], "L", 1)
        return f"{write_number(value / factor, places)} {unit}"
    number = write_number(value, 2)
    return f"{number} bag" + ("" if value == 1 else "s") if unit == "bag" else f"{number} {unit}"


__all__ = ["POWDER", "SWEEP", "Tally", "amount", "as_lot", "enough", "folded", "from_told", "in_base", "in_order",
           "is_it", "lots", "lots_in_order", "standing", "tallies"]  # fmt: skip
