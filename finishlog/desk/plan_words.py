"""A plan in words: what to order, what each truck gets."""

from __future__ import annotations

from fractions import Fraction

from finishlog.desk.words import chance, count, with_lots
from finishlog.records.plan import PigmentPlan, Plan, SealerPlan, StageNeed
from finishlog.records.quantities import PigmentLoad
from finishlog.units import fixed, write, write_weight_lb_oz

MARKS = {"act": "!", "ask": "?", "know": "·"}
"""What stands before a difference: do something, ask, good to know."""


def order_lines(plan: Plan, units: str = "us") -> list[tuple[str, str, str]]:
    """What to order: label, figure, words."""
    best = plan.concrete.order.best
    volume = write("volume_yd3", best.order_yd3, units)
    neat = write("volume_yd3", plan.concrete.take_off.volume_yd3, units)
    lines = [("Order", volume, f"{chance(best.chance_short)} that it runs short (neat {neat})")]
    if plan.pigment is None:
        lines.append(("Pigment", "—", "! " + plan.pigment_advice))
    else:
        lines += _part_lines(plan.pigment, units)
    if plan.release is not None:
        rate = write("spread", plan.release.lb_per_100_ft2, units)
        whence = "as thrown then" if plan.release.from_reference else "the usual; not logged then"
        text = f"{with_lots(plan.release.name, _one(plan.release.lot), plan.release.maker)}, {rate}, {whence}"
        lines.append(("Release", write_weight_lb_oz(plan.release.lb, units), text))
    lines.append(("Sealer", write("liquid_gal", plan.sealer.gal, units), _sealer_plan(plan.sealer, units)))
    return lines


def _part_lines(pigment: PigmentPlan, units: str) -> list[tuple[str, str, str]]:
    kept = "the old ratio to cementitious" if pigment.kept == "ratio" else "the old pounds per yard"
    lines = []
    for part in pigment.parts:
        dose = write("dose_lb_per_yd3", part.dose_lb_per_yd3, units)
        name = with_lots(part.name, _one(part.lot), part.maker)
        weight = write_weight_lb_oz(sum(part.loads_lb, Fraction(0)), units)
        lines.append(("Pigment", weight, f"{name}, {dose}, {kept}"))
    if len(pigment.parts) > 1:
        dose = write("dose_lb_per_yd3", pigment.dose_lb_per_yd3, units)
        lines.append(("together", write_weight_lb_oz(weighed_lb(pigment), units), dose))
    return lines


def weighed_lb(pigment: PigmentPlan) -> Fraction:
    """What all loads together get, as weighed: the total to the ounce."""
    return sum((load.pigment_lb for load in pigment.loads), Fraction(0))


def _sealer_plan(sealer: SealerPlan, units: str) -> str:
    name = ", ".join(p for p in (sealer.name, sealer.chemistry) if p) or "sealer not logged then"
    text = f"{name}, {count(len(sealer.coats), 'coat')}"
    if sealer.old_slab_gal is not None:
        text += f"; {write('liquid_gal', sealer.old_slab_gal, units)} more to reseal the old slab"
    return text


def stage_lines(plan: Plan, units: str = "us") -> list[tuple[str, str, str]]:
    """The stages that the order does not tell of: title, what it takes, facts and products."""
    rows = []
    for stage in plan.stages:
        needs = " + ".join(_amount(need, units) for need in stage.needs)
        said = "; ".join((*(stage.products if stage.kind not in _ORDERED else ()), *stage.facts))
        if needs or said:
            rows.append((stage.title, needs, said))
    return rows


_ORDERED = ("integral_color", "powder_release", "seal")


def _amount(need: StageNeed, units: str) -> str:
    if need.unit == "lb":
        return write_weight_lb_oz(need.amount, units)
    return write("liquid_gal", need.amount, units)


def load_lines(plan: Plan, units: str = "us") -> list[tuple[str, ...]]:
    """What each truck gets: number, yards, pigment to the ounce, how it is made up."""
    if plan.pigment is None:
        yards = plan.concrete.loads.loads_yd3
        return [(f"Load {i}", write("volume_yd3", y, units)) for i, y in enumerate(yards, 1)]
    return [
        (
            f"Load {i + 1}",
            write("volume_yd3", load.yards, units),
            write_weight_lb_oz(load.pigment_lb, units),
            _made_up(plan.pigment, i, units),
        )
        for i, load in enumerate(plan.pigment.loads)
    ]


def _made_up(pigment: PigmentPlan, i: int, units: str) -> str:
    """`2 packs + 3 lb 7 oz weighed`, or the shares of a blend, each with its packs."""
    if len(pigment.parts) > 1:
        return " + ".join(
            f"{part.name} {write_weight_lb_oz(part.loads_lb[i], units)}{_packed(part.loads[i], units)}"
            for part in pigment.parts
        )
    load = pigment.loads[i]
    if load.packs is None:
        return "weighed"
    off = load.rounding_error_percent or Fraction(0)
    sign = "+" if off > 0 else ""
    return f"{_packs(load, units)} weighed (whole packs alone: {sign}{fixed(off, 1)} %)"


def _packed(load: PigmentLoad, units: str) -> str:
    return "" if load.packs is None else f" ({_packs(load, units)})"


def _packs(load: PigmentLoad, units: str) -> str:
    rest = write_weight_lb_oz(load.remainder_lb or Fraction(0), units)
    return f"{count(load.packs or 0, 'pack')} + {rest}"


def _one(lot: str | None) -> tuple[str, ...]:
    return (lot,) if lot else ()
