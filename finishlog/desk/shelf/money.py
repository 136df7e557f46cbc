"""Money, lightly: the material of a plan, what running short would cost, what past jobs took. No invoices.

It is the owner's: no sheet for a customer shows it.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from fractions import Fraction
from typing import TYPE_CHECKING

from finishlog.desk.shelf import stocked
from finishlog.records.log import Job
from finishlog.records.shelf import Cost, PastCost, ShelfLot, Wanted
from finishlog.trade import money
from finishlog.trade import shelf as stock
from finishlog.units import exact

if TYPE_CHECKING:
    from finishlog.desk.services import Services
    from finishlog.records.quantities.order import YardsAnswer
    from finishlog.records.shop import Shop
    from finishlog.store import Reader

MOST = 20
F = Fraction


def of_plan(concrete: YardsAnswer, wanted: Sequence[Wanted], held: Sequence[ShelfLot], shop: Shop) -> Cost:
    """Concrete, pigment, release and sealer of a plan; running short by the smallest colored load."""
    found, unknown = money.parts(wanted, held, shop)
    order = concrete.order.best.order_yd3
    short = money.running_short(shop, max(shop.smallest_colored_load_yd3, shop.minimum_yd3))
    area = concrete.take_off.area_ft2
    return money.total((money.concrete(order, shop), *found), area, short, unknown)


def past(services: Services, handle: str | None = None, most: int = MOST) -> tuple[PastCost, ...]:
    """Material cost of one job, or of the latest ones. Raises InputError for an unknown job."""
    with services.log().reading() as log:
        shop = log.shop()
        if handle is not None:
            handles = [log.resolve(handle)]
        else:
            handles = [line.handle for line in log.lines(limit=most * 3) if line.poured_on][:most]
        jobs = [log.job(each) for each in handles]
        wanted = {job.handle: _used(job) for job in jobs}
        held = stocked.lots_for(log, services, [each for some in wanted.values() for each in some])
        return tuple(_past(log, job, wanted[job.handle], held, shop) for job in jobs)


def _used(job: Job) -> tuple[Wanted, ...]:
    """What the job's entries used; an amount that nobody wrote down is left out, and said by `_unsaid`."""
    found = []
    for entry in job.entries:
        for use in entry.materials if entry.kind != stock.SWEEP else ():
            if use.amount is not None and not use.reclaimed:
                value, unit = stock.in_base(use.amount, use.unit, use.product)
                found.append(
                    Wanted(use.product.name, use.product.maker, use.product.kind, value, unit, use.lot)
                )
    return tuple(found)


def _past(log: Reader, job: Job, wanted: Sequence[Wanted], held: Sequence[ShelfLot], shop: Shop) -> PastCost:
    found, unknown = money.parts(wanted, held, shop)
    loads = [entry.load for entry in job.of_kind("load") if entry.load is not None]
    known = [exact(load.yards) for load in loads if load.yards is not None]
    yards = sum(known, F(0)) if loads and len(known) == len(loads) else None
    sizes = [area.area_ft2 for area in job.areas]
    area = sum((exact(size) for size in sizes if size is not None), F(0)) if None not in sizes else None
    concrete = (money.concrete(yards, shop),) if loads else ()
    cost = money.total((*concrete, *found), area or None, None, (*unknown, *_unsaid(job)))
    return PastCost(job.handle, job.customer.name, job.name, _poured(log, job.handle), area, cost)


def _unsaid(job: Job) -> tuple[str, ...]:
    """Products that were used in an amount nobody wrote down."""
    uses = (use for entry in job.entries if entry.kind != stock.SWEEP for use in entry.materials)
    return tuple(dict.fromkeys(use.product.name for use in uses if use.amount is None))


def _poured(log: Reader, handle: str) -> date | None:
    return log.line(handle).poured_on
