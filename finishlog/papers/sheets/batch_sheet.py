"""The batch sheet, for the plant: what to send and how, load by load, with blanks for actuals."""

from __future__ import annotations

from collections.abc import Iterator

from finishlog.desk import words
from finishlog.desk.plan import words as plan_words
from finishlog.desk.words import inches
from finishlog.papers.layout import style
from finishlog.papers.layout.frame import Blank, Cell, Frame
from finishlog.papers.layout.ink import Ink
from finishlog.papers.layout.leaf import Leaf, one_page
from finishlog.papers.layout.look import Look
from finishlog.papers.sheets import pour_day
from finishlog.papers.sheets.match_sheet import head
from finishlog.records.log import Mix
from finishlog.records.plan import PigmentPart, Plan
from finishlog.units import count, exact, write, write_date, write_weekday, write_weight_lb_oz

WRITING = (30.0, 26.0, 22.0, 19.0, 16.0)
"""Space above the blanks' lines: the most that keeps the sheet on one page."""

OF_MIX = ("plant", "cement", "cement_content", "scm", "mix_ended", "mix_switched", "mix_switched_since")
"""Differences that concern the plant: keys of `desk.plan.differences`."""
TO_US = "; ask before ordering"
"""The shop-only part of such a difference."""


def draw(ink: Ink, plan: Plan, given: Look) -> Leaf:
    """The sheet of a plan."""
    return one_page(WRITING, lambda writing: _laid(ink, plan, given, writing))


def _laid(ink: Ink, plan: Plan, given: Look, writing: float) -> Leaf:
    leaf = Leaf(ink, head(plan, given, "Batch sheet"))
    leaf.writing = writing
    _wanted(leaf, plan, given)
    _rules(leaf, plan, given)
    for number in range(1, len(plan.concrete.loads.loads_yd3) + 1):
        _load(leaf, plan, number, given.units)
    _balance(leaf, plan, given)
    return leaf


def _wanted(leaf: Leaf, plan: Plan, given: Look) -> None:
    with leaf.section("Order", ruled=False) as (body, _):
        for label, text in _order(plan, given):
            body.row((Cell(label, 88, style.FAINT), Cell(text, type=style.STRONG)))
        body.blanks([Blank("first truck on site at", 1, pour_day.first_truck(plan)), Blank("then every, minutes"),
                     Blank("order taken by"),
                     Blank("order no.")])  # fmt: skip


def _order(plan: Plan, given: Look) -> Iterator[tuple[str, str]]:
    loads = plan.concrete.loads.loads_yd3
    total = write("volume_yd3", plan.concrete.order.best.order_yd3, given.units)
    yield "Plant", plan.request.plant or _plant_then(plan)
    yield "Deliver", f"{write_weekday(plan.on)} {plan.on.year}, {plan.reference_line.site}"
    yield "Concrete", f"{total} in {count(len(loads), 'load')}"
    yield from _mix(plan, given.units)
    yield "Slump at the truck", f"{slump_wanted(plan, given)}, the same on every load"
    yield "Water and cement", _ratio(plan)


def _plant_then(plan: Plan) -> str:
    plants = {mix.plant for mix in plan.reference.mixes if mix.plant}
    return plants.pop() if len(plants) == 1 else "____________________"


def _mix(plan: Plan, units: str) -> Iterator[tuple[str, str]]:
    then = f"as on {write_date(plan.reference.poured_on)}: " if plan.reference.poured_on else ""
    if said := list(_said(plan, units)):
        yield "Mix, per you", ", ".join(said)
    mixes = plan.reference.mixes
    if not mixes:
        yield "Mix wanted", "not on record: give us number, cement and mill, admixtures, sand"
    for mix in mixes:
        yield f"Mix wanted{' (one of)' if len(mixes) > 1 else ''}", f"{then}{_whole(mix, units)}"
    changed = [differs for differs in plan.differences if differs.key in OF_MIX and differs.weight == "act"]
    for differs in changed:
        text = f"{differs.title}: {differs.text.removesuffix(TO_US)}"
        yield "" if differs is not changed[0] else "Changed since then", text
    if mixes:
        yield "", "Call us before batching if anything else has changed."


def _said(plan: Plan, units: str) -> Iterator[str]:
    asked = plan.request
    if asked.cement_kind:
        yield asked.cement_kind
    if asked.cement_lb_per_yd3 is not None:
        yield f"{write('content_lb_per_yd3', asked.cement_lb_per_yd3, units)} cement"
    if asked.scm_lb_per_yd3:
        yield f"{write('content_lb_per_yd3', asked.scm_lb_per_yd3, units)} other cementitious"


def _whole(mix: Mix, units: str) -> str:
    parts = (words.mix(mix, units), mix.cement_mill, mix.admixtures, f"sand {mix.sand}" if mix.sand else None)
    return ", ".join(part for part in parts if part)


def slump_wanted(plan: Plan, given: Look) -> str:
    """The old slab's slump if its loads agree, else the shop's usual one."""
    then = set(plan.reference.slump_in)
    return inches(exact(then.pop()) if len(then) == 1 else given.shop.slump_in, given.units)


def _ratio(plan: Plan) -> str:
    """The ratio is not in the log, so it is requested by the tickets that had it."""
    loads = plan.reference_job.of_kind("load", area=plan.reference.area.uid)
    area = plan.reference.area.uid
    tickets = [
        entry.load.ticket
        for entry in loads
        if entry.load and entry.load.ticket and (not entry.load.areas or area in dict(entry.load.areas))
    ]
    if tickets:
        return f"the same ratio as on {words.listed(f'ticket {ticket}' for ticket in tickets)}"
    return "the same ratio on every load; write it here: __________"


def _rules(leaf: Leaf, plan: Plan, given: Look) -> None:
    minutes = plan.reference.area.recipe and plan.reference.area.recipe.stage("integral_color")
    mixing = (minutes.params.get("mixing_minutes") if minutes else None) or given.shop.mixing_minutes
    frame = leaf.frame
    frame.skip(7)
    frame.box(42)
    frame.skip(7)
    third = frame.width / 3 - 6
    lines = ("No water after the color.", "No calcium chloride.", "A clean drum.")
    frame.row([Cell(line, third, style.RULING, "center") for line in lines], gap=9)
    frame.skip(3)
    weigh, water = ("to 10 g", "liters") if given.units == "metric" else ("to the ounce", "gallons")
    frame.row((Cell(f"Mix {mixing} minutes after the color goes in. Weigh part bags {weigh}. "
                    f"Sand moisture changes: hold the ratio and the slump, not the {water}.",
                    0, style.SMALL, "center"),))  # fmt: skip
    frame.skip(11)


def _load(leaf: Leaf, plan: Plan, number: int, units: str) -> None:
    yards = write("volume_yd3", plan.concrete.loads.loads_yd3[number - 1], units)
    small = plan.concrete.loads
    note = "under your minimum load: call us" if number in small.below_minimum else ""
    note = note or ("small load: color mixes poorly" if number in small.badly_mixed else "")
    with leaf.section(f"Load {number}", note, ruled=number > 1, least=92) as (body, _):
        rest = Frame(leaf, body.x + 214, body.width - 214, body.page, body.y + 3)
        body.row([Cell("concrete", 92, style.LABEL), Cell("pigment", 0, style.LABEL)])
        body.skip(-2)
        row = [Cell(yards, 92, style.FIGURE)]
        if plan.pigment is None:
            rest.paragraph(plan.pigment_advice, style.SMALL)
        else:
            weight = write_weight_lb_oz(plan.pigment.loads[number - 1].pigment_lb, units)
            row.append(Cell(weight, 0, style.FIGURE))
            for part in plan.pigment.parts:
                rest.paragraph(plan_words.part_name(plan, part), style.SMALL)
                rest.paragraph(_made_up(part, number, units), style.STRONG)
        body.row(row)
        body.join((body, rest))
        body.blanks([Blank("ticket no."), Blank("truck"), Blank("batched at"), Blank("arrived"),
                     Blank("discharged")])  # fmt: skip
        body.blanks([
            Blank(f"water added before the color, {'L' if units == 'metric' else 'gal'}", 2.1),
            Blank("slump", 0.9), Blank("pigment in at", 1),
            Blank("driver", 0.7), Blank("crew", 0.7),
        ])  # fmt: skip


def _made_up(part: PigmentPart, number: int, units: str) -> str:
    """`74 lb 5 oz: 14 packs of 5 lb + 4 lb 5 oz weighed`: a product's share of a load."""
    weight = write_weight_lb_oz(part.loads_lb[number - 1], units)
    load = part.loads[number - 1]
    return f"{weight}, weighed" if not load.packs else f"{weight}: {plan_words.packed(load, units)}"


def _balance(leaf: Leaf, plan: Plan, given: Look) -> None:
    """A balance load is ordered in haste, so its pigment is given per yard."""
    if plan.pigment is None:
        return
    dose = write("dose_lb_per_yd3", plan.pigment.dose_lb_per_yd3, given.units)
    least = write("volume_yd3", given.shop.smallest_colored_load_yd3, given.units, 1)
    smallest = f"Colored concrete under {least} mixes poorly."
    with leaf.section("Balance load", "only if we call", least=60) as (body, _):
        body.paragraph(f"{dose} of pigment total, same lots, mix and slump. {smallest}")
        volume = "m³" if given.units == "metric" else "yards"
        body.blanks([Blank(volume), Blank("pigment"), Blank("ticket no."), Blank("arrived"), Blank("driver"),
                     Blank("crew")])  # fmt: skip
