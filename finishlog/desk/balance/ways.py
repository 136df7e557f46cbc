"""A pour that runs short: alternatives to a truck, and what to ask before choosing."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from finishlog.records.plan import PigmentPlan
from finishlog.records.quantities.cautions import Caution
from finishlog.records.shop import Shop
from finishlog.trade.pour import balance as balancing
from finishlog.trade.pour.balance import Bags, Edge

BAGS = (
    "Bags hold different cement and sand: even with weighed pigment, the color may not match. Try one bag on a sample "
    "first, and use it where it shows least."
)
BULKHEAD = (
    "Set the bulkhead straight and full depth, no sloped edge; its joint will show. Ask a licensed engineer "
    "about dowels."
)


def bags(
    short_yd3: Fraction,
    shop: Shop,
    pigment: PigmentPlan | None,
    cementitious: Fraction | None,
    bag_cement_lb: Fraction | None,
) -> Bags | None:
    """A small remainder from bags, with the pour's own pigment ratio; None if too large."""
    if not 0 < short_yd3 <= shop.bag_rest_yd3:
        return None
    shares = [
        (part.name, part.dose_lb_per_yd3 / cementitious if cementitious else None)
        for part in (pigment.parts if pigment else ())
    ]
    return balancing.bags(short_yd3, shop, bag_cement_lb, shares)


def cautions(bags: Bags | None, bulkhead: bool) -> Iterator[Caution]:
    """The risk of each way."""
    if bulkhead:
        yield Caution("bulkhead", BULKHEAD)
    if bags is not None:
        yield Caution("bags", BAGS)


def asks(edge: Edge, truck_in_minutes: Fraction | None, bags: Bags | None) -> Iterator[str]:
    """Unknowns that would change the answer."""
    if truck_in_minutes is None:
        yield "How long will the truck take? (--truck-in 40min)"
    if edge.minutes is None and not edge.felt:
        yield "How old is the open edge, or how does it feel? (--minutes-since 35, --edge plastic)"
    if edge.air_f is None and not edge.felt:
        yield "How warm is the air? (--air 85F)"
    if bags is not None and bags.parts and bags.cement_lb is None:
        yield "How much cement is in a bag? Ask the maker. (--bag-cement 12lb)"
    if bags is not None and bags.cement_lb is not None and any(p.lb_per_bag is None for p in bags.parts):
        yield "How much cement is in the truck's mix? (--cement 517, --scm 94)"
