"""`match JOB`: the plan for an addition that is to look like a past job."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any, TypeVar

from finishlog.cli.output import bullets, say, say_json, table
from finishlog.cli.plan.sheet import add_plan_sheets, check_plan_sheets, plan_pdf
from finishlog.cli.shapes import add_extras, add_shapes

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from finishlog.desk.services import Services
    from finishlog.records.log import Shape
    from finishlog.records.plan import Plan, PlanRequest

_T = TypeVar("_T")


def register(commands: Any) -> None:
    """Add `match` to the commands."""
    match = commands.add_parser(
        "match",
        help="plan an addition to match a past job",
        description="Plan a pour to look like a past job: concrete to order, pigment per load, release, "
        "sealer, dates, what differs, cautions. A bare plan dimension is feet, a bare depth inches.",
        epilog="Example: finishlog match hill-patio --rect 22x14 --on 2026-07-03 --pdf plan.pdf --sheet all",
    )
    match.add_argument("job", metavar="JOB", help="the past job's handle, or the start of it")
    match.add_argument("--area", metavar="NAME", help="which of its areas to match; default: the field")
    add_shapes(match)
    add_extras(match)
    match.add_argument("--depth", metavar="DEPTH", help="slab depth, like 4in; default: the old slab's")
    match.add_argument(
        "--probe", action="append", default=[], metavar="IN", help="extra depth found at a probe; repeat"
    )
    match.add_argument("--on", metavar="DATE", help="pour date; default: today")
    match.add_argument("--plant", help="the plant delivering")
    match.add_argument("--cement", metavar="LB", help="its cement in lb/yd3")
    match.add_argument("--cement-kind", metavar="KIND", help="its cement, like 'Type I/II'")
    match.add_argument("--scm", metavar="LB", help="its other cementitious in lb/yd3")
    match.add_argument(
        "--lot", action="append", default=[], metavar="LOT", help="a lot on hand; repeat for more"
    )
    match.add_argument(
        "--maker", action="append", default=[], metavar="MAKER", help="the maker on hand; repeat"
    )
    match.add_argument(
        "--sample", metavar="NO", help="number of a sample read from the new lot and cement, like 12"
    )
    match.add_argument("--start", metavar="TIME", help="when the first truck is on site, like 7a")
    match.add_argument(
        "--air",
        metavar="TEMP",
        help="air temperature at the pour, the coldest while it hardens, like 38F or 29C",
    )
    match.add_argument("--save", metavar="NAME", help="save the plan as a planned job with this name")
    add_plan_sheets(match)
    match.add_argument("--json", action="store_true", help="one JSON object")
    match.set_defaults(run=run_match)


def run_match(args: argparse.Namespace, services: Services) -> int:
    """`match`: make the plan, print it, write its sheets, save it."""
    from finishlog.desk.match import plan
    from finishlog.desk.plan import as_json

    check_plan_sheets(args)
    made = plan.make(services, request(args), "us" if args.json else args.units)
    with plan_pdf(args, services, made) as pdf:
        saved = _read(args.save, "--save", lambda name: plan.save(services, made, name))
    if args.json:
        say_json({**as_json.plan_json(made), "saved_as": saved, "pdf": pdf})
    else:
        say(sheet(made, args.units))
        if saved:
            say(f"\nSaved as {saved}.")
        if pdf:
            say(f"\nPDF saved to {pdf}.")
    return 0


def request(args: argparse.Namespace) -> PlanRequest:
    """What was asked for. Raises InputError naming the option."""
    from finishlog.inputs.readers import read_name, read_sample, read_time
    from finishlog.records.plan import PlanRequest
    from finishlog.units import (
        read_content_lb_per_yd3,
        read_date,
        read_depth_in,
        read_depth_off_in,
        read_temperature_f,
    )

    if args.depth is not None:
        _one(args.depth, "--depth", read_depth_in)  # a blank one must not become the old slab's

    return PlanRequest(
        reference=args.job,
        area=_read(args.area, "--area", read_name),
        shapes=tuple(_shapes(args)),
        depth=args.depth or "",
        on=_read(args.on, "--on", read_date),
        plant=_read(args.plant, "--plant", read_name),
        cement_lb_per_yd3=_read(args.cement, "--cement", read_content_lb_per_yd3),
        cement_kind=_read(args.cement_kind, "--cement-kind", read_name),
        scm_lb_per_yd3=_read(args.scm, "--scm", lambda text: read_content_lb_per_yd3(text, positive=False)),
        lots=tuple(_one(lot, "--lot", read_name) for lot in args.lot),
        makers=tuple(_one(maker, "--maker", read_name) for maker in args.maker),
        sample=_read(args.sample, "--sample", read_sample),
        probes_in=tuple(_one(text, "--probe", read_depth_off_in) for text in args.probe),
        air_f=_read(args.air, "--air", read_temperature_f),
        start=_read(args.start, "--start", read_time),
    )


def _shapes(args: argparse.Namespace) -> Iterator[Shape]:
    from finishlog.records.log import Shape

    for name, sign in (
        ("rect", 1), ("circle", 1), ("polygon", 1), ("less_rect", -1), ("less_circle", -1), ("less_polygon", -1),
        ("round", -1), ("edge", 1), ("stairs", 1),
    ):  # fmt: skip
        for text in getattr(args, name):
            yield Shape(sign, name.removeprefix("less_"), text)


def _read(text: str | None, where: str, reader: Callable[[str], _T]) -> _T | None:
    return None if text is None else _one(text, where, reader)


def _one(text: str, where: str, reader: Callable[[str], _T]) -> _T:
    from finishlog.errors import naming

    with naming(where):
        return reader(text)


def sheet(plan: Plan, units: str = "us") -> str:
    """The plan as text, in the order it is acted on."""
    from finishlog.cli.sums.yards import basis
    from finishlog.desk.plan import clock, joints, shelf
    from finishlog.desk.plan import words as plan_words
    from finishlog.units import write_weekday

    parts = [
        f"{plan.title}\n{plan_words.new_area(plan, units)}, pour {write_weekday(plan.on)} {plan.on.year}",
        "\n".join(line for line in (plan_words.headline(plan), plan_words.under_headline(plan)) if line),
        "" if plan.sentence == plan_words.headline(plan) else plan.sentence,
        _block("The old slab", _reference(plan, units), right=(1,)),
        _block("Order", plan_words.order_lines(plan, units), right=(1,)),
        _block("Order weighed with", basis(plan.concrete, units)),
        _block("Loads", plan_words.load_lines(plan, units), right=(1, 2)),
        _block("Stages", plan_words.stage_lines(plan, units), right=(1,)),
        _block("On the shelf", shelf.shelf_lines(plan)),
        _block("Cost", list(shelf.cost_lines(plan.cost, units)) if plan.cost else (), right=(1,)),
        _block("When", list(_days(plan))),
        _noted("Pour day", clock.lines(plan, units), clock.notes(plan, units)),
        _noted("Joints", joints.lines(plan, units), _joint_notes(plan)),
        _odds(plan),
        _block("What differs", [(plan_words.MARKS[d.weight], d.title, d.text) for d in plan.differences]),
        _block("Last time", [(plan_words.MARKS[d.weight], d.title, d.text) for d in plan.then]),
        _bullets("Buried here", plan.buried),
        _bullets("Missing from the record", plan.missing),
        _bullets("Cautions", [f"{c.stage}: {c.text}" for c in plan.cautions]),
        _bullets("Tell the customer", plan.tell_customer),
    ]
    return "\n\n".join(part for part in parts if part)


def _reference(plan: Plan, units: str) -> list[tuple[str, str, str]]:
    from finishlog.desk import words

    return [(line.label, line.figure, line.text) for line in words.placed_lines(plan.reference, units)]


def _odds(plan: Plan) -> str:
    """For the owner: the sentence, then what it rests on."""
    from finishlog.desk.color import words as color_words
    from finishlog.desk.plan import words as plan_words

    gate = plan_words.gate(plan)
    if plan.odds is None:
        return f"The odds\n{bullets(line for line in (gate, plan.odds_advice) if line)}"
    said = bullets(line for line in (color_words.odds_sentence(plan.odds), gate) if line)
    return f"The odds, not for the customer\n{said}\n{table(color_words.odds_rows(plan.odds), indent=2)}"


def _days(plan: Plan) -> Iterator[tuple[str, str]]:
    for day in plan.days:
        yield day.title, f"{day.when}: {day.watch}" if day.watch else day.when
        if day.warning:
            yield "", f"! {day.warning}"


def _block(title: str, rows: Sequence[Sequence[str]], right: tuple[int, ...] = ()) -> str:
    return f"{title}\n{table(rows, right=right, indent=2)}" if rows else ""


def _joint_notes(plan: Plan) -> tuple[str, ...]:
    from finishlog.desk.plan import joints

    return (*(f"! {line}" for line in joints.at_the_cut(plan)), *joints.advice(plan))


def _noted(title: str, rows: Sequence[Sequence[str]], notes: Sequence[str]) -> str:
    return f"{_block(title, rows)}\n{bullets(notes)}" if rows else ""


def _bullets(title: str, lines: Sequence[str]) -> str:
    return f"{title}\n{bullets(lines)}" if lines else ""
