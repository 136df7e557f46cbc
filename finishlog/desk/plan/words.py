"""A plan in words: the order, and each truck's share."""

from __future__ import annotations

from fractions import Fraction

from finishlog.desk.shape_words import dimensions
from finishlog.desk.words import inches, listed, with_lots
from finishlog.records.plan import PigmentPart, PigmentPlan, Plan, SealerPlan, StageNeed
from finishlog.records.quantities.dose import PigmentLoad
from finishlog.trade.stages import KINDS
from finishlog.units import chance, count, fixed, plain, write, write_weight_lb_oz

MARKS = {"act": "!", "ask": "?", "know": "·"}
"""What stands before a difference: do something, ask, good to know."""


def headline(plan: Plan) -> str:
    """The line that leads a plan, in the command and on the screen: the odds in words, else what to order."""
    from finishlog.desk.color import words

    if plan.gate is not None and plan.gate.state == "closed":
        return words.BEFORE_SAMPLE
    if plan.odds is None:
        return plan.sentence
    open_ = to_do_first(plan)
    return words.after(open_, plan.odds) if open_ else words.verdict_sentence(plan.odds)


def to_do_first(plan: Plan) -> tuple[str, ...]:
    """What of the plan is still to be acted on where its odds would say "should match"; nothing for other odds.

    A changed lot, cement or plant is in the odds once a sample or the log's own slabs tell what it does.
    """
    if plan.odds is None or plan.odds.verdict != "should match":
        return ()
    told = plan.gate.why if plan.gate is not None else ()
    acts = (one.title for one in plan.differences if one.weight == "act")
    return tuple(dict.fromkeys(title.lower() for title in acts if title[:1].lower() + title[1:] not in told))


def under_headline(plan: Plan) -> str:
    """The odds that a sample would give, while nothing can be told without one; else empty."""
    from finishlog.desk.color import words

    if plan.odds is None or plan.odds.with_sample is None:
        return ""
    return words.with_sample(plan.odds)


def answer(plan: Plan) -> str:
    """What leads a plan that was kept: that nobody can tell yet, else what to order."""
    closed = plan.gate is not None and plan.gate.state == "closed"
    return headline(plan) if closed else plan.sentence


def gate(plan: Plan) -> str:
    """Why nothing may be promised yet, or what lets it be; empty where all is stated the same."""
    found = plan.gate
    if found is None or found.state == "open":
        return ""
    why = listed(found.why)
    if found.state == "sample":
        return f"By sample {found.sample} of the new concrete." + (
            f" Changed or unknown: {why}." if why else ""
        )
    if found.state == "seen":
        return f"Changed: {why}; seen before on {count(found.pairs, 'pair')} of your slabs."
    return (
        f"Changed or unknown: {why}. Pour a sample of the new lot and cement, and read it by hand or photo."
    )


def new_area(plan: Plan, units: str = "us") -> str:
    """What was understood of the new area: `field, 240.0 ft², 4 in deep: 20×12 ft`."""
    take = plan.concrete.take_off
    size, depth = write("area_ft2", take.area_ft2, units), inches(take.depth_in, units)
    return f"{plan.reference.area.name}, {size}, {depth} deep: {dimensions(plan.request.shapes, units)}"


def order_lines(plan: Plan, units: str = "us") -> list[tuple[str, str, str]]:
    """What to order: label, figure, words."""
    best = plan.concrete.order.best
    volume = write("volume_yd3", best.order_yd3, units)
    neat = write("volume_yd3", plan.concrete.take_off.volume_yd3, units)
    lines = [("Order", volume, f"{chance(best.chance_short)} that it runs short (neat {neat})")]
    if plan.pigment is None:
        lines.append(("Pigment", "—", "! " + plan.pigment_advice))
    else:
        lines += _part_lines(plan, plan.pigment, units)
    if plan.release is not None:
        rate = write("spread", plan.release.lb_per_100_ft2, units)
        whence = "same rate as before" if plan.release.from_reference else "shop default; old rate not logged"
        name = _with_lot(plan, plan.release.name, plan.release.lot, plan.release.maker)
        text = f"{rate} of {name}; {whence}"
        lines.append(("Release", write_weight_lb_oz(plan.release.lb, units), text))
    lines.append(("Sealer", write("liquid_gal", plan.sealer.gal, units), _sealer_plan(plan.sealer, units)))
    return lines


def kept(pigment: PigmentPlan, units: str) -> str:
    """What of the old dose was kept: its ratio to cementitious, or its weight in a volume of concrete."""
    if pigment.kept == "ratio":
        return "the old ratio to cementitious"
    return "the old kilograms per cubic meter" if units == "metric" else "the old pounds per yard"


def lot_said(plan: Plan, lot: str | None) -> str | None:
    """A lot as shown beside an order: the old slab's is marked old."""
    return f"old {lot}" if lot and _is_old(plan, lot) else lot


def _is_old(plan: Plan, lot: str) -> bool:
    """The old slab's lot, not known to be on the shelf now."""
    return lot.casefold() not in {one.casefold() for one in plan.request.lots}


def _with_lot(plan: Plan, name: str, lot: str | None, maker: str | None) -> str:
    word = "old lot" if lot and _is_old(plan, lot) else "lot"
    return with_lots(name, (lot,) if lot else (), maker, word)


def part_name(plan: Plan, part: PigmentPart) -> str:
    """A pigment as it is asked for: name, maker, lot."""
    return _with_lot(plan, part.name, part.lot, part.maker)


def _whence(plan: Plan, part: PigmentPart, units: str) -> str:
    """What the dose of a pigment rests on: the sample with the dose before it, else the old slab."""
    found = plan.dose_by_sample
    if plan.pigment is None or found is None or found.state != "changed":
        return kept(plan.pigment, units) if plan.pigment else ""
    old = next((p.old_dose_lb_per_yd3 for p in found.parts if p.name == part.name), part.dose_lb_per_yd3)
    return f"by sample {found.sample} (was {write('dose_lb_per_yd3', old, units)})"


def _part_lines(plan: Plan, pigment: PigmentPlan, units: str) -> list[tuple[str, str, str]]:
    lines = []
    for part in pigment.parts:
        dose = write("dose_lb_per_yd3", part.dose_lb_per_yd3, units)
        weight = write_weight_lb_oz(sum(part.loads_lb, Fraction(0)), units)
        lines.append(("Pigment", weight, f"{dose} of {part_name(plan, part)}; {_whence(plan, part, units)}"))
    if len(pigment.parts) > 1:
        dose = write("dose_lb_per_yd3", pigment.dose_lb_per_yd3, units)
        lines.append(("together", write_weight_lb_oz(weighed_lb(pigment), units), dose))
    return lines


def weighed_lb(pigment: PigmentPlan) -> Fraction:
    """What all loads together get, as weighed: the total to the ounce."""
    return sum((load.pigment_lb for load in pigment.loads), Fraction(0))


def _sealer_plan(sealer: SealerPlan, units: str) -> str:
    name = ", ".join(p for p in (sealer.name, sealer.chemistry) if p) or "old sealer not logged"
    text = f"{name}, {count(len(sealer.coats), 'coat')}{_spread(sealer, units)}"
    if sealer.old_slab_gal is not None:
        text += f"; {write('liquid_gal', sealer.old_slab_gal, units)} more to reseal the old slab"
    return text


def _spread(sealer: SealerPlan, units: str) -> str:
    """`; same rate as before, 150 ft²/gal (2.1 gal by the shop's)`: the old slab's own spread, as measured flat."""
    old = [coat for coat in sealer.coats if coat.from_reference]
    if not old or sealer.area_ft2 is None or sealer.usual_gal is None:
        return "; shop rate, old rate not logged" if sealer.name else ""
    flat = dict.fromkeys(_coverage(sealer.area_ft2 / coat.gal, units) for coat in old)
    which = "" if len(old) == len(sealer.coats) else " for " + listed(f"coat {coat.number}" for coat in old)
    usual = write("liquid_gal", sealer.usual_gal, units)
    return f"; same rate as before{which}, {listed(flat)} (the shop's rate: {usual})"


def _coverage(value: Fraction, units: str) -> str:
    return write("coverage", value, units)


_RECKONED = frozenset(kind.key for kind in KINDS if kind.reckoned)
"""Stages whose products the order tells of."""


def stage_lines(plan: Plan, units: str = "us") -> list[tuple[str, str, str]]:
    """The stages that the order does not tell of: title, what it takes, facts and products."""
    rows = []
    for stage in plan.stages:
        needs = " + ".join(_amount(need, units) for need in stage.needs)
        said = "; ".join((*(stage.products if stage.kind not in _RECKONED else ()), *stage.facts))
        if needs or said:
            rows.append((stage.title, needs, said))
    return rows


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
    """`2 packs + 3 lb 7 oz`, or the shares of a blend, each with its packs."""
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
    size = f"packs of {_pack_size(load, units)}; " if load.packs else ""
    return f"{made_up(load, units)} ({size}whole packs alone: {sign}{fixed(off, 1)} %)"


def _packed(load: PigmentLoad, units: str) -> str:
    return "" if load.packs is None else f" ({made_up(load, units)})"


def made_up(load: PigmentLoad, units: str) -> str:
    """`15 packs + 1 lb 2 oz`: how a load's pigment is made up, in few words."""
    rest = load.remainder_lb or Fraction(0)
    parts = [count(load.packs, "pack")] if load.packs else []
    if rest or not parts:
        parts.append(write_weight_lb_oz(rest, units))
    return " + ".join(parts)


def packed(load: PigmentLoad, units: str) -> str:
    """`11 packs of 5 lb + 4 lb 4 oz weighed`: the same for who weighs it."""
    rest = load.remainder_lb or Fraction(0)
    parts = []
    if load.packs:
        parts.append(f"{count(load.packs, 'pack')} of {_pack_size(load, units)}")
    if rest or not parts:
        parts.append(f"{write_weight_lb_oz(rest, units)} weighed")
    return " + ".join(parts)


def _pack_size(load: PigmentLoad, units: str) -> str:
    rest = load.remainder_lb or Fraction(0)
    return _pack((load.pigment_lb - rest) / (load.packs or 1), units)


def _pack(pounds: Fraction, units: str) -> str:
    return write_weight_lb_oz(pounds, units) if units == "metric" else f"{plain(pounds)} lb"
