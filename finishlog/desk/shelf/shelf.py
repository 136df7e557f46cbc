"""The shelf: stock by lot, moves, and whether it covers the planned work."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING

from finishlog.desk.doubts import odd as doubts
from finishlog.desk.doubts import on_shelf, told_twice
from finishlog.desk.record.record import wrong_fields
from finishlog.desk.shelf import needs, stocked
from finishlog.desk.shelf.stocked import same
from finishlog.desk.words import listed, when
from finishlog.errors import InputError
from finishlog.inputs.asking import Wrong
from finishlog.inputs.entry import shelf as typing
from finishlog.inputs.entry.shelf import ShelfContext
from finishlog.records.answers import StockMove
from finishlog.records.log import Product
from finishlog.records.shelf import (
    Enough,
    LotState,
    Moved,
    MoveLine,
    Shelf,
    ShelfLine,
    ShelfLot,
    ShelfMark,
    Wanted,
)
from finishlog.records.writing import NewProduct, NewStockMove
from finishlog.retrying import anew
from finishlog.trade import shelf as stock
from finishlog.units import exact, write

if TYPE_CHECKING:
    from datetime import datetime

    from finishlog.desk.services import Services
    from finishlog.store import Reader

EMPTY = "The shelf is empty. Start with finishlog shelf buy."
_ORDER: tuple[LotState, ...] = ("low", "count", "left", "unknown", "out")


def shelf(
    services: Services, *, all: bool = False, system: str = "us", limit: int | None = None, offset: int = 0
) -> Shelf:
    """Lots with what is left, what runs out first; with `all` also lots that were only ever used.

    `system` (us or metric) is for the words alone, here and in all that follows. Only the lots of the part that
    was asked for are read, and those that planned jobs may take.
    """
    with services.log().reading() as log:
        wanted = needs.planned(log, services.clock())
        held = stocked.lots_for(log, services, wanted, system, priced=False)
        answers, totals = tuple(stock.enough(each, held, system=system) for each in wanted), _totals(held)
        named = stocked.by_product(answers)
        ahead = {(lot.product.uid, lot.lot): _line(lot, named, totals, system) for lot in held}
        marks = log.shelf_marks(every=all)
        states = [line.state if (line := ahead.get(_key(mark))) else mark.state for mark in marks]
        order = sorted(range(len(marks)), key=lambda at: _ORDER.index(states[at]))
        shown = [marks[at] for at in order[offset:][:limit]]
        rest = None if limit is None else limit - len(shown)
        used_up, more = log.shelf_used_up(limit=rest, offset=max(0, offset - len(marks)))
        shown += more
        read = log.shelf_of([mark for mark in shown if _key(mark) not in ahead])
    lines = [
        ahead.get(_key(mark))
        or _line(stock.as_lot(read[mark.id], services.zone, system), named, totals, system)
        for mark in shown
    ]
    total = len(marks) + used_up
    first = [(states[at], marks[at], ahead.get(_key(marks[at]))) for at in order]
    return Shelf(_sentence(first) if total else EMPTY, tuple(lines), answers, total)


def _key(mark: ShelfMark) -> tuple[str, str | None]:
    return mark.product.uid, mark.lot


def names(services: Services) -> tuple[tuple[str, ...], tuple[str, ...], tuple[str, ...]]:
    """Products, makers and lots that were ever here: what is left first."""
    with services.log().reading() as log:
        held = [*log.shelf_marks(every=True), *log.shelf_used_up()[1]]
    return (
        tuple(dict.fromkeys(mark.product.name for mark in held)),
        tuple(dict.fromkeys(mark.product.maker for mark in held if mark.product.maker)),
        tuple(dict.fromkeys(mark.lot for mark in held if mark.lot)),
    )


def _totals(held: Iterable[ShelfLot]) -> dict[str, Fraction]:
    """Fresh stock of each product by its uid, over its lots."""
    found: dict[str, Fraction] = {}
    for lot in held:
        there = max(lot.left or stock.ZERO, stock.ZERO)
        found[lot.product.uid] = found.get(lot.product.uid, stock.ZERO) + there
    return found


def _line(
    lot: ShelfLot, answers: stocked.ByProduct, totals: Mapping[str, Fraction], system: str
) -> ShelfLine:
    named = answers.get((lot.product.kind, stock.folded(lot.product.name)), ())
    there = [each for each in named if stock.is_it(lot.product, each.wanted)]
    taken = {each.wanted.job: _taken(each, lot) for each in there if _is_of(each, lot)}
    planned = sum((each.wanted.amount for each in there), stock.ZERO)
    is_short = totals.get(lot.product.uid, stock.ZERO) < planned
    left = lot.left or stock.ZERO
    runs_out = bool(taken) and (is_short or sum(taken.values()) >= left)
    state = stock.standing(lot, runs_out=runs_out)
    return ShelfLine(lot, state, _said(lot, state, system), tuple(taken), runs_out and left > 0)


def _taken(each: Enough, lot: ShelfLot) -> Fraction:
    """What a planned job takes of the fresh of a lot."""
    return sum((take.amount for take in each.takes if take.lot == lot.lot and not take.reclaimed), stock.ZERO)


def _is_of(each: Enough, lot: ShelfLot) -> bool:
    """Whether a planned job takes of this lot, or would if the product did not run short."""
    is_short = each.short is None or each.short > 0
    return _taken(each, lot) > 0 or (is_short and each.wanted.lot in (None, lot.lot))


def _said(lot: ShelfLot, state: LotState, system: str) -> str:
    """`38 lb left, 6 lb reclaimed`."""
    assert lot.left is not None or state == "unknown"

    def amount(value: Fraction) -> str:
        return stock.amount(value, lot.unit, system)

    told = {
        "unknown": "never bought or counted here" if not lot.bought else "unknown: count it",
        "count": f"{amount(-(lot.left or stock.ZERO))} more used than bought: count it",
        "out": "used up",
    }.get(state, f"{amount(lot.left or stock.ZERO)} left")
    return f"{told}, {amount(lot.reclaimed_left)} reclaimed" if lot.reclaimed_left else told


def _sentence(found: Sequence[tuple[LotState, ShelfMark, ShelfLine | None]]) -> str:
    out = next((line for _, _, line in found if line is not None and line.runs_out), None)
    if out is not None:
        return f"{_name(out.held)} runs out with {out.needed_by[0]}."
    low = [mark for state, mark, _ in found if state == "low"]
    if low:
        names = listed(_name(mark, " ") for mark in low[:3])
        return f"{names} {'run' if len(low) > 1 else 'runs'} low."
    count = sum(state == "count" for state, _, _ in found)
    return f"{count} to count." if count else "Nothing runs out soon."


def _name(lot: ShelfLot | ShelfMark, comma: str = ", ") -> str:
    return f"{lot.product.name}{comma}lot {lot.lot}" if lot.lot else lot.product.name


# enough


def enough(
    log: Reader, services: Services, wanted: Sequence[Wanted], system: str = "us"
) -> tuple[Enough, ...]:
    """Whether the shelf has each of these, and from one lot; reclaimed powder is left out."""
    held = stocked.lots_for(log, services, wanted, priced=False)
    return tuple(stock.enough(each, held, system=system) for each in wanted)


# moves


@anew
def move(
    services: Services,
    verb: str,
    texts: Mapping[str, str],
    *,
    replaces: int | None = None,
    because: str | None = None,
    system: str = "us",
) -> Moved:
    """Keep a move on the shelf; with `replaces`, a correction of the move of that number.

    Raises WrongFields for what cannot be read, Doubt for what is odd and has no reason, InputError for more
    reclaimed than was ever bought.
    """
    what = typing.what_of(verb)
    with services.log().writing() as log:
        old = None if replaces is None else _standing(log, replaces)
        context = ShelfContext(services.clock(), services.zone)
        kept_texts = typing.texts_of(old, context) if old and old.what == what else {}
        texts, kind = _with_kind(log, {**kept_texts, **texts})
        new, wrongs = typing.read(what, texts, replace(context, kind=kind))
        if new is None:
            raise wrong_fields(wrongs)
        new = replace(
            new, product=_known(log, new.product), job=None if new.job is None else log.resolve(new.job)
        )
        new = replace(new, replaces=old.uid if old else None)
        before = _lot_of(_without(log, services, new, old), new)
        odd = [*_odd(new, before, services.clock(), system),
               *on_shelf.of_move(new, before, services.zone, system),
               *_told_twice(log, services, new, before, system)]  # fmt: skip
        _check(new, before, _back_again(log, new, before, old), odd, because, system)
        kept = log.add_stock_move(replace(new, note=_noted(new.note, because)))
        made = _moved(log, services, kept, system)
        return replace(made, warnings=(*made.warnings, *told_twice.differs(log, new, kept.product, system)))


@anew
def undo(services: Services, number: int | None = None, system: str = "us") -> Moved:
    """Take a move back, the one logged last if none is named; one that took another back brings it back.

    All stay in the log. Raises InputError.
    """
    with services.log().writing() as log:
        gone = next((each for n, each in _numbered(log) if n == number and each.withdrawn), None)
        if gone is not None:
            back = _moved(log, services, log.again_stock_move(gone.uid), system)
            return replace(back, sentence=f"Brought back. {back.sentence}")
        taken = _standing(log, number)
        kept = log.undo_stock_move(taken.uid)
        made = _moved(log, services, kept, system)
        return replace(made, sentence=f"Undone: {said(taken, system)}.")


def moves(services: Services, system: str = "us") -> tuple[MoveLine, ...]:
    """All that was ever logged of the shelf, in the order of logging; what was replaced is not current."""
    with services.log().reading() as log:
        every = _numbered(log)
    replaced = {each.replaces for _, each in every}
    numbers = {each.uid: number for number, each in every}
    return tuple(
        MoveLine(number, each, each.happened.astimezone(services.zone),
                 f"Undid line {numbers[each.replaces]}" if each.withdrawn and each.replaces else said(each, system),
                 each.uid not in replaced and not each.withdrawn)
        for number, each in every
    )  # fmt: skip


def _numbered(log: Reader) -> list[tuple[int, StockMove]]:
    return list(enumerate(log.stock_moves(history=True), 1))


def _standing(log: Reader, number: int | None) -> StockMove:
    every = _numbered(log)
    replaced = {each.replaces for _, each in every}
    stands = {n: each for n, each in every if each.uid not in replaced and not each.withdrawn}
    if not stands:
        raise InputError("Nothing logged on the shelf yet.", where="MOVE")
    if number is not None and number not in stands:
        raise InputError(f"Line {number} of the shelf is not current.", f"The last current one is {max(stands)}.",
                         where="MOVE", example=str(max(stands)))  # fmt: skip
    return stands[max(stands) if number is None else number]


def _with_kind(log: Reader, texts: Mapping[str, str]) -> tuple[dict[str, str], str | None]:
    """The texts with the product's kind, if its name says it. Raises WrongFields where it may be two."""
    found = dict(texts)
    given = found.get("kind", "").strip()
    product = found.get("product", "").strip()
    kinds = tuple(dict.fromkeys(p.kind for p in log.products(named=product) if same(p.name, product)))
    if not given and product and len(kinds) != 1:
        what = f"{product} is {listed(kinds)}." if kinds else f"What is {product}? It is new to this log."
        raise wrong_fields((Wrong("kind", what, next(iter(kinds), "powder release")),))
    kind = given or next(iter(kinds), "")
    return {**found, **({"kind": kind} if kind else {})}, kind or None


def _known(log: Reader, product: NewProduct) -> NewProduct:
    """The product with its maker, if there can be only one."""
    makers = {p.maker for p in log.products(product.kind, named=product.name) if same(p.name, product.name)}
    if product.maker is None and len(makers) == 1:
        return replace(product, maker=makers.pop())
    return product


def _without(
    log: Reader, services: Services, new: NewStockMove, old: StockMove | None
) -> tuple[ShelfLot, ...]:
    """The lots of the product as they were without the move that is corrected."""
    found = {
        p.uid
        for p in log.products(new.product.kind, named=new.product.name)
        if same(p.name, new.product.name)
    }
    held = log.shelf(found, without=old.uid if old else None)
    return tuple(stock.as_lot(each, services.zone) for each in held)


def _lot_of(held: Iterable[ShelfLot], new: NewStockMove) -> ShelfLot | None:
    return next((
        lot for lot in held
        if same(lot.product.name, new.product.name) and lot.lot == new.lot
        and new.product.maker in (None, lot.product.maker)
    ), None)  # fmt: skip


def _told_twice(
    log: Reader, services: Services, new: NewStockMove, before: ShelfLot | None, system: str
) -> tuple[str, ...]:
    """Only for a new move: a correction was already asked."""
    if before is None or new.replaces is not None:
        return ()
    return tuple(told_twice.of_move(log, new, before.product, services.zone, system))


def _back_again(
    log: Reader, new: NewStockMove, before: ShelfLot | None, old: StockMove | None
) -> Fraction | None:
    """What a reclaimed amount adds to its job's total."""
    if new.what != "reclaimed" or before is None or new.amount is None:
        return None
    return told_twice.adds(log, new, before.product, old.uid if old else None)


def _check(
    new: NewStockMove, before: ShelfLot | None, adds: Fraction | None, odd: list[str], because: str | None,
    system: str,
) -> None:  # fmt: skip
    """Impossible is refused, odd is asked. Raises InputError and Doubt."""
    if adds is not None and before is not None and new.amount is not None:
        product = before.product
        value, unit = adds, stock.in_base(new.amount, new.unit, product)[1]
        there = before.bought or (before.used if before.left is not None else stock.ZERO)
        if unit == before.unit and there and value + before.reclaimed > there:
            raise InputError(
                f"{stock.amount(value + before.reclaimed, unit, system)} reclaimed of "
                f"{stock.amount(there, unit, system)} bought is impossible.",
                f"{_name(before)} has {stock.amount(before.reclaimed, unit, system)} reclaimed so far.",
                where="amount", example="6 lb",
            )  # fmt: skip
        if unit == before.unit and value + before.reclaimed > before.used:
            odd.append(
                f"More reclaimed than thrown: {stock.amount(before.used, unit, system)} of {_name(before)}."
            )
    if not (because or "").strip():
        doubts.ask(odd)


def _odd(new: NewStockMove, before: ShelfLot | None, now: datetime, system: str) -> Iterator[str]:
    if new.happened > now + doubts.SLACK:
        yield "That is in the future."
    if new.what in ("spoiled", "thrown") and before is not None and before.left is not None:
        value, unit = stock.in_base(new.amount or 0, new.unit, before.product)
        there = before.left + before.reclaimed_left
        if unit == before.unit and value > there:
            yield f"{_name(before)} has only {stock.amount(max(there, stock.ZERO), unit, system)}."


def _noted(note: str | None, because: str | None) -> str | None:
    reason = " ".join((because or "").split())
    told = f"Because: {reason}" if reason else None
    return f"{note} {told}" if note and told else note or told


def _moved(log: Reader, services: Services, kept: StockMove, system: str) -> Moved:
    held = stocked.lots(log, services, ((kept.product.kind, kept.product.name),), system)
    of_lot = (one for one in held if one.product.uid == kept.product.uid and one.lot == kept.lot)
    lot = next(of_lot, None)
    number = next(n for n, each in _numbered(log) if each.uid == kept.uid)
    now = f" {_name(lot)}: {_line(lot, {}, {}, system).said}." if lot else ""
    return Moved(number, kept, f"{said(kept, system)}.{now}", lot, lot.doubts if lot else ())


def said(each: StockMove, system: str = "us") -> str:
    """`Bought 50 lb of Otter Back, lot 0329, $150`."""
    amount = "" if each.amount is None else f" {stock.amount(exact(each.amount), each.unit, system)} of"
    lot = f", lot {each.lot}" if each.lot else ""
    price = f", {write('money', exact(each.price_usd))}" if each.price_usd is not None else ""
    return f"{typing.title_of(each.what)}{amount} {each.product.name}{lot}{price}"


def history_line(line: MoveLine) -> str:
    """When and what, for the list of moves."""
    return f"{when(line.when, 'exact')}: {line.said}" + (f" ({line.move.note})" if line.move.note else "")


def safety(product: Product) -> tuple[str, ...]:
    """What to mind with a product: its own sheet's words, then the usual cautions of its kind."""
    from finishlog.trade.cautions import cautions
    from finishlog.trade.stages import KINDS

    of_kind = (kind.key for kind in KINDS if product.kind in kind.labels)
    key = "acid" if product.kind == "acid" else next(of_kind, None)
    own = (product.safety,) if product.safety else ()
    return (*own, *(each.text for each in (cautions(key) if key else ())))
