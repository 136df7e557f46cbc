"""The match sheet, for the shop: the whole plan on one page, in order of action."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from finishlog.desk import shape_words, words
from finishlog.desk.plan import words as plan_words
from finishlog.papers.layout import look, sketch, style
from finishlog.papers.layout.frame import Cell, Frame
from finishlog.papers.layout.ink import Ink
from finishlog.papers.layout.leaf import Head, Leaf, one_page
from finishlog.papers.layout.look import Look
from finishlog.papers.sheets import pour_day
from finishlog.records.page import PlacedLine
from finishlog.records.plan import Difference, PigmentPlan, Plan
from finishlog.units import chance, write, write_date, write_weekday, write_weight_lb_oz

SCALES = (1.0, 0.96, 0.92, 0.88, 0.84)
"""Smallest scale to stay on one page; below it the sheet takes a second page at full size."""


def draw(ink: Ink, plan: Plan, given: Look) -> Leaf:
    """The sheet of a plan."""
    return one_page((*SCALES, 1.0), lambda scale: _laid(ink, plan, given, scale))


def _laid(ink: Ink, plan: Plan, given: Look, scale: float) -> Leaf:
    leaf = Leaf(ink, head(plan, given, "Match sheet"), scale=scale)
    _answer(leaf, plan)
    _order(leaf, plan, given.units)
    _loads(leaf, plan, given.units)
    _old_slab(leaf, plan, given.units)
    _stages(leaf, plan, given.units)
    _differences(leaf, "What differs", plan.differences)
    _differences(leaf, "Last time", plan.then)
    _days(leaf, plan)
    _forms(leaf, plan, given.units)
    pour_day.sections(leaf, plan, given.units)
    _listed(leaf, "Buried here", plan.buried)
    _listed(leaf, "Not on record", plan.missing)
    _listed(leaf, "Tell the customer", plan.tell_customer)
    _cautions(leaf, plan)
    return leaf


def head(plan: Plan, given: Look, sheet: str) -> Head:
    """The head that the three sheets of a plan share."""
    job = plan.reference_job
    return Head(
        sheet=sheet,
        title=f"{job.customer.name} · {job.name} → {plan.request.name or 'addition'}",
        fact=f"{write_weekday(plan.on)} {plan.on.year}",
        under=f"{plan.reference_line.site}  ·  {plan_words.new_area(plan, given.units)}",
        shop=given.shop_name,
        foot=f"{sheet} · old slab {job.handle} · {given.printed}",
        contact=given.contact,
    )


def _answer(leaf: Leaf, plan: Plan) -> None:
    closed = plan.gate is not None and plan.gate.state == "closed"
    said = f"{plan_words.headline(plan)} {plan.sentence}" if closed else plan.sentence
    leaf.frame.paragraph(said, style.ANSWER)
    leaf.frame.skip(4)


def _order(leaf: Leaf, plan: Plan, units: str) -> None:
    leaf.rule(leaf.frame.page, leaf.frame.y)
    leaf.frame.skip(4)
    look.figures(leaf.frame, list(_figures(plan, units)))
    leaf.frame.skip(2)


def _figures(plan: Plan, units: str) -> Iterator[tuple[str, str, str]]:
    best = plan.concrete.order.best
    neat = write("volume_yd3", plan.concrete.take_off.volume_yd3, units)
    short = f"neat {neat}; {chance(best.chance_short)} that it runs short"
    yield "Concrete to order", write("volume_yd3", best.order_yd3, units), short
    if plan.pigment is None:
        yield "Pigment", "—", plan.pigment_advice
    else:
        yield (
            "Pigment",
            write_weight_lb_oz(plan_words.weighed_lb(plan.pigment), units),
            _pigment(plan, plan.pigment, units),
        )
    for label, figure, text in plan_words.order_lines(plan, units):
        if label in ("Release", "Sealer"):
            yield label, figure, text


def _pigment(plan: Plan, pigment: PigmentPlan, units: str) -> str:
    dose = write("dose_lb_per_yd3", pigment.dose_lb_per_yd3, units)
    names = (plan_words.part_name(plan, part) for part in pigment.parts)
    return f"{' + '.join(names)}; {dose}, {plan_words.kept(pigment, units)}"


def _loads(leaf: Leaf, plan: Plan, units: str) -> None:
    with leaf.section("Loads") as (body, _):
        for name, *rest in plan_words.load_lines(plan, units):
            figures = [Cell(text, 64, style.STRONG, "right") for text in rest[:2]]
            body.row((Cell(name, 48, style.FAINT), *figures, Cell(rest[2] if len(rest) > 2 else "")))


def _forms(leaf: Leaf, plan: Plan, units: str) -> None:
    """The shapes, to check the formwork against."""
    shapes = shape_words.drawn(plan.request.shapes, units)
    if shapes:
        with leaf.section("Forms", "each shape alone, all to one scale", least=80) as (body, _):
            sketch.draw(body, shapes)


def _old_slab(leaf: Leaf, plan: Plan, units: str) -> None:
    placed = plan.reference
    poured = f"poured {write_date(placed.poured_on)}" if placed.poured_on else ""
    with leaf.section("The old slab", poured) as (body, side):
        side.skip(3)
        for reading, title in ((placed.base_reading, "base"), (placed.release_reading, "release color")):
            if reading is not None:
                look.swatch(side, reading, title, 15, lab=False)
        placed_rows(body, words.placed_lines(placed, units))


def placed_rows(body: Frame, lines: Sequence[PlacedLine]) -> None:
    """What went into a slab: label, words, the figure at the right."""
    for line in lines:
        text = f"! {line.text}" if line.warn else line.text
        figure = Cell(line.figure, 92, style.STRONG, "right")
        body.row((Cell(line.label, 48, style.FAINT), Cell(text), figure), hair=line is not lines[-1])


def _stages(leaf: Leaf, plan: Plan, units: str) -> None:
    """Per stage, what the order leaves out: materials and how it was done."""
    if lines := plan_words.stage_lines(plan, units):
        with leaf.section("Stages") as (body, _):
            for title, needs, said in lines:
                text = "; ".join(part for part in (needs, said) if part)
                body.row((Cell(title, 80, style.STRONG), Cell(text)))


def _differences(leaf: Leaf, name: str, found: Sequence[Difference]) -> None:
    if not found:
        return
    with leaf.section(name, "! act   ? ask   · know" if name != "Last time" else "! not again") as (body, _):
        for differs in found:
            mark = Cell(plan_words.MARKS[differs.weight], 8, style.STRONG)
            title = Cell(differs.title, 88, style.STRONG if differs.weight == "act" else style.BODY)
            body.row((mark, title, Cell(differs.text)))


def _days(leaf: Leaf, plan: Plan) -> None:
    with leaf.section("When") as (body, _):
        for day in plan.days:
            when, watch = Cell(day.when, 168, style.TIGHT), Cell(day.watch, 0, style.SMALL)
            body.row((Cell(day.title, 68, style.TIGHT_STRONG), when, watch), gap=4)
            if day.warning:
                body.row((Cell("", 68), Cell(f"! {day.warning}", 0, style.TIGHT_STRONG)), gap=4)


def _listed(leaf: Leaf, name: str, lines: Sequence[str]) -> None:
    if lines:
        with leaf.section(name) as (body, _):
            body.bullets(lines)


def _cautions(leaf: Leaf, plan: Plan) -> None:
    half = (len(plan.cautions) + 1) // 2
    with leaf.section("Cautions") as (body, _):
        columns = body.split(2)
        for column, some in zip(columns, (plan.cautions[:half], plan.cautions[half:]), strict=True):
            for caution in some:
                column.run_in(caution.stage, caution.text, style.SMALL, style.SMALL_STRONG)
        body.join(columns)
