"""`dose`: pigment for each load, in packs and weighed ounces."""

from __future__ import annotations

import argparse
from collections.abc import Iterable
from fractions import Fraction
from typing import Any

from finishlog import units
from finishlog.cli.options import option_of, read_option
from finishlog.cli.output import table
from finishlog.cli.sums import as_text
from finishlog.cli.sums.asked import Services, command, needed, system_of, tell
from finishlog.desk.bench import as_json
from finishlog.desk.bench import dose as sums
from finishlog.errors import InputError
from finishlog.records.quantities.dose import DoseAnswer, DoseRequest, PigmentLoad
from finishlog.units import count, plain, write


def register(subparsers: argparse._SubParsersAction[Any]) -> None:
    """Add `dose` to the commands."""
    title = "pigment for each load, in packs and weighed ounces"
    dose = command(
        subparsers, "dose", title, "dose --yards 6.75 --percent 4 --cement 564 --pack 5lb --truck 4"
    )
    dose.add_argument("--yards", metavar="YD", help="yards to pour")
    dose.add_argument("--percent", metavar="PERCENT", help="pigment in percent of cementitious")
    dose.add_argument("--rate", metavar="RATE", help='pigment as "7 lb/yd3", "1.5 lb/sack" or "13 kg/m3"')
    dose.add_argument("--cement", metavar="LB", help="cement in lb/yd3")
    dose.add_argument("--scm", metavar="LB", help="other cementitious besides the cement, in lb/yd3")
    dose.add_argument("--pack", metavar="LB", help="weight of one pack")
    dose.add_argument("--solids", metavar="PERCENT", help="liquid pigment: its solids by weight")
    dose.add_argument("--truck", metavar="YD", help="what a full truck holds")
    dose.add_argument("--minimum", metavar="YD", help="the plant's minimum load")
    dose.set_defaults(run=run)


def run(args: argparse.Namespace, services: Services) -> int:
    """`finishlog dose`."""
    yards = needed(option_of(args, "yards", units.read_volume_yd3), "yards", "The amount to pour", "6.75")
    written = _dose(args)
    request = DoseRequest(
        yards=yards,
        dose_value=written.value,
        dose_unit=written.unit,
        cement_lb_per_yd3=option_of(args, "cement", units.read_content_lb_per_yd3),
        scm_lb_per_yd3=option_of(
            args, "scm", lambda typed: units.read_content_lb_per_yd3(typed, positive=False)
        )
        or Fraction(0),
        pack_lb=option_of(args, "pack", units.read_mass_lb),
        truck_yd3=option_of(args, "truck", units.read_volume_yd3),
        minimum_yd3=option_of(args, "minimum", lambda typed: units.read_volume_yd3(typed, positive=False)),
        solids_percent=option_of(args, "solids", units.read_percent),
    )
    answer = sums.dose(request, services.shop(), system_of(args))
    return tell(args, answer, _text, as_json.dose_json)


def _dose(args: argparse.Namespace) -> units.Dose:
    if (args.percent is None) == (args.rate is None):
        cause = "Give --percent or --rate, not both."
        raise InputError("The dose is not clear.", cause, example='--percent 4 or --rate "7 lb/yd3"')
    if args.rate is not None:
        return read_option("rate", args.rate, units.read_dose)
    return units.Dose(read_option("percent", args.percent, units.read_percent), "%")


def _text(answer: DoseAnswer, system: str = "us") -> str:
    """The answer first, then what it rests on."""
    plan, rates = answer.plan, answer.rates
    what = "pigment" if answer.solids_percent is None else "liquid pigment"
    weighed = units.write_weight_lb_oz(plan.weighed_lb, system)
    mix = f"{write('content_lb_per_yd3', answer.cement_lb_per_yd3, system)} of cement"
    if answer.scm_lb_per_yd3:
        mix += f", {write('content_lb_per_yd3', answer.scm_lb_per_yd3, system)} of other cementitious"
    if answer.cement_assumed:
        mix += "; not given, so shop default: ask the plant"
    rows = [
        ("Dose", f"{write('dose_lb_per_yd3', rates.lb_per_yd3, 'us')} = "
                 f"{write('dose_lb_per_yd3', rates.lb_per_yd3, 'metric')} = "
                 f"{plain(rates.lb_per_sack, 2)} lb per 94-lb sack"),
        ("Color", f"{plain(rates.percent_of_cementitious, 2)} % of cementitious, "
                  f"{plain(rates.percent_of_cement, 2)} % of cement "
                  f"(limit {plain(answer.limit_percent_of_cement)} % of cement)"),
        ("Mix", mix),
    ]  # fmt: skip
    if answer.solids_percent is not None:
        dry = write("mass_lb", answer.pigment_lb, system)
        rows.append(("Liquid", f"{plain(answer.solids_percent)} % solids; {dry} of pigment in it"))
    return as_text.page(
        f"Weigh in {weighed} of {what}, {count(len(plan.loads), 'load')}.",
        _pigment_loads(plan.loads, plan.pack_lb, system),
        table(rows, indent=2),
        as_text.cautions(answer.cautions),
        as_text.sources(answer.sources),
    )


def _pigment_loads(loads: Iterable[PigmentLoad], pack_lb: Fraction | None, system: str) -> str:
    rows = [("load", "yards", what := "weigh in")]
    if pack_lb is not None:
        pack = write("mass_lb", pack_lb, system, 2)
        rows = [("load", "yards", what, f"packs of {pack}", "and weigh", "whole packs alone")]  # type: ignore[list-item]
    for number, load in enumerate(loads, 1):
        yards = write("volume_yd3", load.yards, system)
        cells = [str(number), yards, units.write_weight_lb_oz(load.pigment_lb, system)]
        if load.remainder_lb is not None and load.rounding_error_percent is not None:
            shift = units.fixed(load.rounding_error_percent, 1)
            off = f"{'+' if load.rounding_error_percent > 0 else ''}{shift} %"
            cells += [str(load.packs), units.write_weight_lb_oz(load.remainder_lb, system), off]
        rows.append(tuple(cells))  # type: ignore[arg-type]
    return table(rows, right=(1, 2, 3, 4, 5), indent=2)
