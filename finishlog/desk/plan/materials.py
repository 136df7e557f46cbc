"""Pigment, release and sealer of a plan: the reference's, scaled to the new area."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from finishlog.records.placed import AsPlaced, PlacedPigment
from finishlog.records.plan import (
    PigmentPart,
    PigmentPlan,
    PlanRequest,
    ReleasePlan,
    SealerCoatPlan,
    SealerPlan,
)
from finishlog.records.quantities.dose import PigmentLoad
from finishlog.records.shop import Shop
from finishlog.trade import dose as dosing
from finishlog.trade.sealing import sealer as sealing
from finishlog.units import exact, ounces

_OUNCE = Fraction(1, 16)


def pigment(request: PlanRequest, placed: AsPlaced, loads_yd3: Sequence[Fraction]) -> PigmentPlan | None:
    """The pigment that keeps the reference's color; None where the reference has no dose.

    Where the cementitious content of both mixes is known the ratio of pigment to cementitious is
    kept, since that ratio makes the color; else the pounds per yard. Raises LimitError over the
    limit of ASTM C979/C979M §1.4.
    """
    then = placed.dose_lb_per_yd3
    if then is None:
        return None
    old, new, cement = contents(request, placed)
    dose, other = dosing.kept_dose(then, old, new)
    share = _pigment_share(placed.pigments)
    if cement is not None:
        solids = dosing.settled(dose * share, cement, _maxima(placed.pigments))
        dosing.check_limit(solids, cement, _maxima(placed.pigments))
        dose = solids / share if share else dose
    doses = [
        (p.dose_lb_per_yd3 or Fraction(0)) * dose / then if then else Fraction(0) for p in placed.pigments
    ]
    plan = dosing.plan_pigment("", dose, loads_yd3, _pack(placed.pigments[0]) if len(doses) == 1 else None)
    return PigmentPlan(
        dose_lb_per_yd3=dose,
        total_lb=plan.total_lb,
        kept="ratio" if old and new else "lb/yd3",
        other_dose_lb_per_yd3=other,
        percent_of_cementitious=dose * share / new * 100 if new else None,
        percent_of_cement=dose * share / cement * 100 if cement else None,
        parts=_parts(placed.pigments, doses, plan.loads),
        loads=plan.loads,
    )


def with_doses(
    plan: PigmentPlan, doses: Sequence[Fraction], request: PlanRequest, placed: AsPlaced
) -> PigmentPlan:
    """The same pigments at other doses, lb/yd³ of each, as a sample tells."""
    dose, share = sum(doses, Fraction(0)), _pigment_share(placed.pigments)
    _, new, cement = contents(request, placed)
    pack = _pack(placed.pigments[0]) if len(doses) == 1 else None
    loads = dosing.plan_pigment("", dose, [load.yards for load in plan.loads], pack)
    return PigmentPlan(
        dose_lb_per_yd3=dose,
        total_lb=loads.total_lb,
        kept="sample",
        other_dose_lb_per_yd3=plan.dose_lb_per_yd3,
        percent_of_cementitious=dose * share / new * 100 if new else None,
        percent_of_cement=dose * share / cement * 100 if cement else None,
        parts=_parts(placed.pigments, doses, loads.loads),
        loads=loads.loads,
    )


def contents(
    request: PlanRequest, placed: AsPlaced
) -> tuple[Fraction | None, Fraction | None, Fraction | None]:
    """Cementitious then, cementitious now, cement now, in lb/yd3; None is unknown, never "the same"."""
    contents = {m.cementitious_lb_per_yd3 for m in placed.mixes}
    only = contents.pop() if len(contents) == 1 else None
    cement = request.cement_lb_per_yd3
    rest = scm_of(request, placed)
    now = None if cement is None or rest is None else cement + rest
    return (None if only is None else exact(only)), now, cement


def scm_of(request: PlanRequest, placed: AsPlaced) -> Fraction | None:
    """Other cementitious of the new mix: as stated, else the old slab's own is kept; none where none is known.

    None where the old slab had mixes with different ones.
    """
    if request.scm_lb_per_yd3 is not None:
        return request.scm_lb_per_yd3
    kept = {exact(mix.scm_lb_per_yd3 or 0.0) for mix in placed.mixes} or {Fraction(0)}
    return kept.pop() if len(kept) == 1 else None


def _pigment_share(pigments: Sequence[PlacedPigment]) -> Fraction:
    """Pigment share of the weighed product: all of powders, the solids of liquids."""
    doses = [(p.dose_lb_per_yd3 or Fraction(0), p.solids_percent) for p in pigments]
    whole = sum((dose for dose, _ in doses), Fraction(0))
    return sum((dosing.pigment_in(*dose) for dose in doses), Fraction(0)) / whole if whole else Fraction(1)


def _pack(pigment: PlacedPigment) -> Fraction | None:
    return exact(pigment.pack_lb) if pigment.pack_lb else None


def _maxima(pigments: Sequence[PlacedPigment]) -> tuple[Fraction, ...]:
    return tuple(exact(p.max_percent_of_cement) for p in pigments if p.max_percent_of_cement is not None)


def _parts(
    pigments: Sequence[PlacedPigment], doses: Sequence[Fraction], loads: Sequence[PigmentLoad]
) -> tuple[PigmentPart, ...]:
    """Each pigment's share of each load in whole ounces; the parts of a load sum to the load."""
    shares = _shares(doses, loads)
    yards = sum((load.yards for load in loads), Fraction(0))
    return tuple(
        PigmentPart(
            name=p.name,
            maker=p.maker,
            lot=p.lots[0] if len(p.lots) == 1 else None,
            dose_lb_per_yd3=doses[i],
            total_lb=doses[i] * yards,
            loads_lb=tuple(share * _OUNCE for share in shares[i]),
            loads=tuple(
                dosing.pigment_load(load.yards, share * _OUNCE, doses[i] * load.yards, _pack(p))
                for load, share in zip(loads, shares[i], strict=True)
            ),
        )
        for i, p in enumerate(pigments)
    )


def _shares(doses: Sequence[Fraction], loads: Sequence[PigmentLoad]) -> list[list[int]]:
    """Ounces by pigment and load.

    The smaller parts are rounded by largest remainder over the loads, the largest takes what is left of each
    load. Where many tiny parts were rounded up there is less than nothing left: each load is shared out alone.
    """
    left = [ounces(load.pigment_lb) for load in loads]
    order = sorted(range(len(doses)), key=lambda i: doses[i])
    shares: list[list[int]] = [[] for _ in doses]
    for i in order[:-1]:
        shares[i] = list(dosing.share_ounces([doses[i] * load.yards for load in loads]))
        left = [rest - share for rest, share in zip(left, shares[i], strict=True)]
    shares[order[-1]] = left
    if min(left, default=0) >= 0:
        return shares
    by_load = [
        dosing.share_ounces([dose * load.yards for dose in doses], ounces(load.pigment_lb)) for load in loads
    ]
    return [list(own) for own in zip(*by_load, strict=True)]


def release(placed: AsPlaced, area_ft2: Fraction, shop: Shop) -> ReleasePlan | None:
    """Release as thick as it was thrown then; the shop's usual rate where that was not logged."""
    if placed.release is None:
        return None
    then = placed.release_lb_per_100_ft2
    rate = exact(then) if then is not None else shop.release_lb_per_100ft2
    return ReleasePlan(
        name=placed.release,
        maker=placed.release_maker,
        lot=placed.release_lots[0] if len(placed.release_lots) == 1 else None,
        lb=area_ft2 * rate / 100,
        lb_per_100_ft2=rate,
        from_reference=then is not None,
    )


def sealer(placed: AsPlaced, area_ft2: Fraction, shop: Shop) -> SealerPlan:
    """Sealer by coat over the new area, and one coat more for the old slab in the same visit.

    A coverage that was logged is over the slab as measured, so its gallons went over the relief as well.
    """
    first = [coat for coat in placed.coats if not coat.reseal]
    last = first[-1] if first else None
    solids = exact(last.solids_percent) if last and last.solids_percent else shop.solids_percent
    relief = shop.relief_percent if placed.pattern else Fraction(0)
    usual = (shop.coat_1_ft2_per_gal, shop.coat_2_ft2_per_gal)
    rates = [
        sealing.coated_ft2(exact(c.ft2_per_gal), relief) if c.ft2_per_gal else usual[min(i, 1)]
        for i, c in enumerate(first)
    ] or list(usual)
    need = sealing.sealer_need(area_ft2, rates, solids, relief)
    shops = sealing.sealer_need(area_ft2, [usual[min(i, 1)] for i in range(len(rates))], solids, relief)
    old = placed.area.area_ft2
    return SealerPlan(
        name=last.product if last else None,
        maker=last.maker if last else None,
        chemistry=last.chemistry if last else None,
        coats=tuple(
            SealerCoatPlan(
                c.number,
                c.coverage_ft2_per_gal,
                c.gallons,
                c.wet_mil,
                c.dry_mil,
                from_reference=i < len(first) and bool(first[i].ft2_per_gal),
            )
            for i, c in enumerate(need.coats)
        ),
        gal=need.gallons,
        relief_percent=relief,
        area_ft2=area_ft2,
        usual_gal=shops.gallons if any(coat.ft2_per_gal for coat in first) else None,
        old_slab_gal=sealing.coated_ft2(exact(old), relief) / rates[-1] if old is not None else None,
    )
