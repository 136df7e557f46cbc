"""A plan in words: what to order, what each truck gets."""

from __future__ import annotations

from fractions import Fraction

from finishlog.desk.words import chance, count, with_lots
from finishlog.records.plan import PigmentPlan, Plan, SealerPlan
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
        lines.append(("Pigment", write_weight_lb_oz(part.total_lb, units), f"{name}, {dose}, {kept}"))
    if len(pigment.parts) > 1:
        dose = write("dose_lb_per_yd3", pigment.dose_lb_per_yd3, units)
        lines.append(("together", write_weight_lb_oz(pigment.total_lb, units), dose))
    return lines


def _sealer_plan(sealer: SealerPlan, units: str) -> str:
    name = ", ".join(p for p in (sealer.name, sealer.chemistry) if p) or "sealer not logged then"
    text = f"{name}, {count(len(sealer.coats), 'coat')}"
    if sealer.old_slab_gal is not None:
        text += f"; {write('liquid_gal', sealer.old_slab_gal, units)} more to reseal the old slab"
    return text


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
    """`2 packs + 3 lb 7 oz weighed`, or the shares of a blend."""
    if len(pigment.parts) > 1:
        return " + ".join(f"{p.name} {write_weight_lb_oz(p.loads_lb[i], units)}" for p in pigment.parts)
    load = pigment.loads[i]
    if load.packs is None:
        return "weighed"
    rest = write_weight_lb_oz(load.remainder_lb or Fraction(0), units)
    off = load.rounding_error_percent or Fraction(0)
    return f"{count(load.packs, 'pack')} + {rest} weighed (whole packs alone: {fixed(off, 1)} %)"


def _one(lot: str | None) -> tuple[str, ...]:
    return (lot,) if lot else ()
