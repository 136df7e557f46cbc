"""A label for a bucket of reclaimed release: contents, origin, use, cautions."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from finishlog.desk.shelf import shelf as shelving
from finishlog.desk.shelf import stocked
from finishlog.desk.words import listed
from finishlog.errors import InputError
from finishlog.papers.layout import style
from finishlog.papers.layout.frame import Blank, Cell
from finishlog.papers.layout.ink import Ink
from finishlog.papers.layout.leaf import Head, Leaf, one_page
from finishlog.papers.layout.look import Look
from finishlog.records.shelf import ShelfLot
from finishlog.trade import shelf as stock
from finishlog.units import exact, write_date

if TYPE_CHECKING:
    from finishlog.desk.services import Services

SCALES = (2.1, 1.9, 1.7, 1.5, 1.3, 1.0)
"""As large as fits one page: it is read across a shed."""
GOOD_FOR = (
    "Swept up clean; it carries cement fines, so it is a little lighter and grayer than fresh.",
    "Never on a match unless the plan says so. Otherwise throw it last, thin, after fresh.",
    "Keep it dry and shut; throw away a damp bucket.",
)
"""Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Bucket:
    """A label's content: the lot, what was swept into it (day, customer, amount), cautions."""

    held: ShelfLot
    swept: tuple[tuple[str, str, str], ...]
    cautions: tuple[str, ...]


def find(services: Services, product: str, lot: str | None, kind: str | None, units: str) -> Bucket:
    """The bucket of that lot. Raises InputError if nothing was ever reclaimed, or of several lots."""
    kind = kind or stock.POWDER
    with services.log().reading() as log:
        there = [held for held in stocked.lots(log, services, ((kind, product),)) if held.reclaimed > 0]
        found = [held for held in there if lot is None or held.lot == lot]
        if not found:
            raise _nothing(product, lot, there)
        if len(found) > 1:
            raise InputError(f"{product} was reclaimed from {listed(_lot(held) for held in found)}.", "Pick one.",
                             where="--lot", example=f"--lot {found[0].lot or found[-1].lot}")  # fmt: skip
        held = found[0]
        uses = {(use.job, use.lot) for use in log.material_uses(held.product.uid)}
        swept = tuple(
            (write_date(each.happened.astimezone(services.zone).date()), log.line(each.job).customer,
             stock.amount(exact(each.reclaimed_lb), "lb", units))
            for each in log.swept()
            if (each.job, held.lot) in uses
        )  # fmt: skip
    return Bucket(held, swept, shelving.safety(held.product))


def _lot(held: ShelfLot) -> str:
    return f"lot {held.lot}" if held.lot else "no lot"


def _nothing(product: str, lot: str | None, there: Sequence[ShelfLot]) -> InputError:
    of = f"{product}, lot {lot}" if lot else product
    cause = (
        f"The log has {listed(_lot(held) for held in there)}."
        if there
        else "Log the sweep, or shelf reclaim."
    )
    return InputError(f"None of {of} was reclaimed.", cause, where="--lot" if there else "PRODUCT",
                      example=f'finishlog shelf reclaim "{product}" --amount "6 lb"')  # fmt: skip


def draw(ink: Ink, bucket: Bucket, given: Look) -> Leaf:
    """The label, as large as one page holds."""
    return one_page(SCALES, lambda scale: _laid(ink, bucket, given, scale))


def _laid(ink: Ink, bucket: Bucket, given: Look, scale: float) -> Leaf:
    held = bucket.held
    left = f"{stock.amount(held.reclaimed_left, held.unit, given.units)} in it" if held.reclaimed_left else ""
    lot = f"lot {held.lot}" if held.lot else "lots mixed or unknown"
    leaf = Leaf(ink, Head(
        "Reclaimed release", held.product.name, left, " · ".join(p for p in (held.product.maker, lot) if p),
        given.shop_name, given.printed,
    ), margin=style.MARGIN / scale, scale=scale)  # fmt: skip
    with leaf.section("Use") as (body, _):
        body.bullets(GOOD_FOR, style.STRONG)
    if bucket.swept:
        with leaf.section("Swept up") as (body, _):
            for day, job, amount in bucket.swept[-6:]:
                body.row((Cell(day, 60), Cell(job), Cell(amount, 44, align="right")))
    with leaf.section("Mind") as (body, _):
        body.bullets(bucket.cautions, style.SMALL)
    with leaf.section("Taken out", least=60) as (body, _):
        for _row in range(3):
            body.blanks((Blank("day", 1), Blank("job", 2), Blank("weight", 1), Blank("who", 1)))
    return leaf
