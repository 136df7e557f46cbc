"""Powder returned by both a sweep and the shelf: asked if nothing says whether it is the same."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import datetime, tzinfo
from fractions import Fraction
from typing import TYPE_CHECKING

from finishlog.records.answers import StockMove
from finishlog.records.log import Job, Product
from finishlog.records.writing import NewEntry, NewStockMove
from finishlog.trade.powder_back import POWDER, SAME_POWDER, Back, powder_back
from finishlog.trade.shelf import amount, in_base
from finishlog.units import exact, write_date

if TYPE_CHECKING:
    from finishlog.store import Reader


def adds(log: Reader, new: NewStockMove, product: Product, without: str | None) -> Fraction:
    """New pounds in a shelf return, beyond what was logged before."""
    value, _ = in_base(new.amount or 0, new.unit, product)
    if new.job is None or product.kind != POWDER:
        return value
    moves = [each for each in _powder_moves(log) if each.uid != without]
    with_it = [*moves, StockMove("new", product, "reclaimed", new.happened, new.happened, new.amount, new.unit,
                                 new.lot, job=new.job)]  # fmt: skip
    return _sum(_back(log, with_it), product) - _sum(_back(log, moves), product)


def of_move(
    log: Reader, new: NewStockMove, product: Product, zone: tzinfo, system: str = "us"
) -> Iterator[str]:
    """What is asked of powder taken back without a job: a sweep that nothing on the shelf told of yet."""
    if new.what != "reclaimed" or new.job is not None or product.kind != POWDER:
        return
    back = _back(log, _powder_moves(log))
    jobs = dict.fromkeys(each.job for each in back if not each.move and _near(each, product, new.happened))
    for job in jobs:
        there = [each for each in back if each.job == job and _near(each, product, new.happened)]
        swept = sum((each.amount for each in there if not each.move), Fraction(0))
        if swept > sum((each.amount for each in there if each.move), Fraction(0)):
            day = write_date(next(each for each in there if not each.move).happened.astimezone(zone).date())
            yield (f"The sweep of {job} on {day} put {amount(swept, 'lb', system)} of {product.name} back already: "
                   f"name that job if it is the same powder.")  # fmt: skip


def differs(log: Reader, new: NewStockMove, product: Product, system: str = "us") -> Iterator[str]:
    """For powder returned from a job whose sweep gives another amount."""
    if new.what != "reclaimed" or new.job is None or product.kind != POWDER:
        return
    there = [each for each in _back(log, _powder_moves(log))
             if each.job == new.job and _near(each, product, new.happened)]  # fmt: skip
    sums = [
        sum((each.amount for each in there if bool(each.move) is shelf), Fraction(0))
        for shelf in (False, True)
    ]
    if all(sums) and sums[0] != sums[1]:
        yield (f"The sweep of {new.job} says {amount(sums[0], 'lb', system)}, the shelf "
               f"{amount(sums[1], 'lb', system)}; same powder, so the larger counts.")  # fmt: skip


def of_sweep(log: Reader, new: NewEntry, job: Job, zone: tzinfo) -> tuple[str, ...]:
    """What is asked of a sweep: powder that was thrown here went back on the shelf, and no job was named."""
    kept = new.facts.get("reclaimed_lb")
    if new.kind != "sweep" or not kept:
        return ()
    uid = next((area.uid for area in job.areas if area.name == new.area), None)
    thrown = {use.product.uid for e in job.of_kind("powder_release", area=uid) for use in e.materials}
    return tuple(
        f"{amount(exact(move.amount), move.unit)} of {move.product.name} went back on the shelf on "
        f"{write_date(move.happened.astimezone(zone).date())} without a job: if it is this powder, leave the pounds "
        "blank."
        for move in _powder_moves(log)
        if move.what == "reclaimed" and move.job is None and move.product.uid in thrown
        and move.amount is not None and abs(move.happened - new.happened) <= SAME_POWDER
    )  # fmt: skip


def _near(each: Back, product: Product, happened: datetime) -> bool:
    return each.product.uid == product.uid and abs(each.happened - happened) <= SAME_POWDER


def _powder_moves(log: Reader) -> tuple[StockMove, ...]:
    return tuple(each for each in log.stock_moves() if each.product.kind == POWDER)


def _back(log: Reader, moves: Iterable[StockMove]) -> tuple[Back, ...]:
    return powder_back(tuple(moves), log.material_uses(kinds=(POWDER,)), log.swept())


def _sum(back: Iterable[Back], product: Product) -> Fraction:
    return sum((each.more for each in back if each.product.uid == product.uid), Fraction(0))
