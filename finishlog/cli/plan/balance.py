"""`balance`: the pour runs short; what remains, where it can stop, what the plant must send to match."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from finishlog.cli.options import option_of, read_option
from finishlog.cli.output import bullets, say, say_json, table

if TYPE_CHECKING:
    from fractions import Fraction

    from finishlog.desk.balance.answer import BalanceAnswer, BalanceRequest
    from finishlog.desk.services import Services
    from finishlog.records.quantities.order import FlatShape

_OPTIONS = (
    ("depth", "IN", "slab depth; a bare number is inches; default: the job's"),
    ("left", "YD", "what's still on the truck"),
    ("minutes-since", "MIN", "since the open edge was placed; default: from the job's last load"),
    ("air", "TEMP", "air temperature, like 85F or 29C; default: hot-weather limits"),
    ("truck-in", "MIN", "how long the truck takes, like 40min; asked if left out"),
    ("job", "JOB", "the job being poured: its dose as placed, its mix, its lots"),
    ("area", "NAME", "which of its areas; default: the field"),
    ("dose", "DOSE", 'instead of the job\'s: "16.9 lb/yd3", "1.5 lb/sack" or "3 %%"'),
    ("cement", "LB", "cement of the balance load, in lb/yd3"),
    ("scm", "LB", "its other cementitious, in lb/yd3"),
    ("pack", "LB", "weight of one pack of pigment"),
    ("waste", "PERCENT", "waste in percent"),
    ("truck", "YD", "what a full truck carries"),
    ("bag-cement", "LB", "cement in one bag of concrete, to finish a small rest from bags"),
    ("minimum", "YD", "the plant's minimum"),
    ("increment", "YD", "the plant sells in steps of"),
)


def register(commands: Any) -> None:
    """Add `balance` to the commands."""
    title = "when a pour runs short: where to stop, what the plant must send"
    command = commands.add_parser(
        "balance",
        help=title,
        description=title[0].upper() + title[1:] + ", and exactly the pigment it carries.",
        epilog="Example: finishlog balance --remaining 6x18 --depth 4in --minutes-since 35 --air 85F "
        '--left 0.4 --dose "16.9 lb/yd3" --pack 5lb',
        allow_abbrev=False,
    )
    remaining = "what's left to pour, length x width with the open edge across the width; repeat"
    command.add_argument("--remaining", action="append", default=[], metavar="LENxWIDTH", help=remaining)
    band = "a band you can leave open and pour another day; repeat"
    command.add_argument("--band", action="append", default=[], metavar="LENxWIDTH", help=band)
    probe = "extra depth measured on this site, in inches; repeat"
    command.add_argument("--probe", action="append", default=[], metavar="IN", help=probe)
    for name, metavar, text in _OPTIONS:
        command.add_argument(f"--{name}", metavar=metavar, help=text)
    felt = "how the edge feels, instead of the clock"
    command.add_argument("--edge", choices=("plastic", "stiffening", "stiff"), help=felt)
    command.add_argument("--no-history", action="store_true", help="ignore the log's past slabs and settings")
    command.add_argument("--json", action="store_true", help="answer as one JSON object")
    command.set_defaults(run=run_balance)


def run_balance(args: argparse.Namespace, services: Services) -> int:
    """`finishlog balance`."""
    from finishlog.desk.balance.answer import balance

    answer = balance(services, request(args), args.units)
    if args.json:
        from finishlog.desk.balance.as_json import balance_json
        from finishlog.desk.bench.as_json import without_prices

        told = balance_json(answer)
        say_json(told if services.may("prices") else without_prices(told))
    else:
        say(page(answer, args.units))
    return 0


def request(args: argparse.Namespace) -> BalanceRequest:
    """What was asked for. Raises InputError naming the option."""
    from fractions import Fraction

    from finishlog import units
    from finishlog.desk.balance.answer import BalanceRequest
    from finishlog.errors import InputError

    if not args.remaining:
        raise InputError("Give what is left to pour.", where="--remaining", example="--remaining 6x18")

    return BalanceRequest(
        panels=_rectangles("remaining", args.remaining),
        depth_in=option_of(args, "depth", units.read_depth_in),
        left_yd3=option_of(args, "left", lambda text: units.read_volume_yd3(text, positive=False))
        or Fraction(0),
        bands=_rectangles("band", args.band),
        probes_in=tuple(read_option("probe", text, units.read_depth_off_in) for text in args.probe),
        minutes=option_of(args, "minutes-since", read_minutes),
        air_f=option_of(args, "air", units.read_temperature_f),
        truck_in_minutes=option_of(args, "truck-in", read_minutes),
        felt=args.edge,
        job=args.job,
        area=args.area,
        dose=option_of(args, "dose", units.read_dose),
        cement_lb_per_yd3=option_of(args, "cement", units.read_content_lb_per_yd3),
        scm_lb_per_yd3=option_of(
            args, "scm", lambda text: units.read_content_lb_per_yd3(text, positive=False)
        ),
        pack_lb=option_of(args, "pack", units.read_mass_lb),
        waste_percent=option_of(args, "waste", lambda text: units.read_percent(text, positive=False)),
        truck_yd3=option_of(args, "truck", units.read_volume_yd3),
        minimum_yd3=option_of(args, "minimum", lambda text: units.read_volume_yd3(text, positive=False)),
        increment_yd3=option_of(args, "increment", units.read_volume_yd3),
        bag_cement_lb=option_of(args, "bag-cement", units.read_mass_lb),
        history=not args.no_history,
    )


def read_minutes(text: str) -> Fraction:
    """A time in minutes, also when bare; `1 h 10 min` is read."""
    from finishlog import units

    bare = units.number_from(text.strip()) is not None
    return units.read_hours(f"{text} min" if bare else text, positive=False) * 60


def _rectangles(option: str, texts: list[str]) -> tuple[FlatShape, ...]:
    from finishlog.trade.pour import takeoff

    return tuple(read_option(option, text, lambda each: takeoff.read_shape("rect", each)) for text in texts)


def page(answer: BalanceAnswer, system: str = "us") -> str:
    """The answer as text: the thing to do first."""
    from finishlog.desk.balance import words as said

    facts = (
        said.remaining_lines(answer, system)
        + said.edge_lines(answer, system)
        + said.truck_lines(answer)
        + said.stop_lines(answer, system)
    )
    parts = [said.sentence(answer, system), table(facts, indent=2)]
    if answer.asks:
        parts.append("To ask\n" + bullets(f"? {line}" for line in answer.asks))
    if ways := said.way_lines(answer, system):
        parts.append("In place of a truck\n" + table(ways, indent=2))
    if answer.advice is not None:
        parts.append(_sent(answer, system))
        parts.append("Tell the plant\n" + bullets(answer.tell_plant))
        parts.append(bullets([said.leftover_line(answer, system)], 0))
    parts.append("Cautions\n" + bullets(f"! {caution.text}" for caution in answer.cautions))
    return "\n\n".join(part for part in parts if part.strip())


def _sent(answer: BalanceAnswer, system: str) -> str:
    from finishlog.desk.balance import words as said
    from finishlog.trade.pour.balance import STIFF

    title = "The plant sends, to go on from the joint" if answer.state == STIFF else "The plant sends"
    return "\n".join(
        (
            title,
            table(said.load_lines(answer, system), right=(0,), indent=2),
            bullets([said.dose_line(answer, system)]),
        )
    )
