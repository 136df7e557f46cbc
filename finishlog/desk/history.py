"""What past pours teach about ordering: only from yards that were really placed."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction

from finishlog.records.log import PastSlab
from finishlog.records.shop import Shop
from finishlog.trade import order
from finishlog.units import exact


def past_errors(slabs: Iterable[PastSlab], shop: Shop) -> tuple[Fraction, ...]:
    """Depth errors in inches of the slabs that are fully known, in their order.

    Placed is delivered less returned and dumped; a slab whose leftover nobody wrote down, or whose
    area or depth is unknown, teaches nothing.
    """
    found = (_error(slab, shop) for slab in slabs)
    return tuple(error for error in found if error is not None)


def _error(slab: PastSlab, shop: Shop) -> Fraction | None:
    if slab.area_ft2 is None or slab.depth_in is None or slab.placed_yd3 is None:
        return None
    area, depth, placed = exact(slab.area_ft2), exact(slab.depth_in), exact(slab.placed_yd3)
    return order.past_error(area, depth, exact(slab.edge_yd3 or 0), shop.waste_percent, placed)
