"""The commands that only compute: `yards`, `dose` and `film`. They need no log and import nothing heavy."""

from __future__ import annotations

import argparse
from functools import partial
from typing import TYPE_CHECKING, Any

from finishlog.cli.shapes import add_extras, add_shapes

if TYPE_CHECKING:
    from finishlog.cli.sums.compute_run import Services

_PRICES = (
    ("increment", "YD", "the plant sells in steps of"),
    ("minimum", "YD", "the plant's minimum"),
    ("price", "MONEY", "price of a cubic yard"),
    ("leftover", "MONEY", "cost of a cubic yard left over"),
    ("short-fee", "MONEY", "fee for a short load"),
    ("mismatch", "MONEY", "cost of a color mismatch"),
    ("joint", "MONEY", "cost of a cold joint"),
)
_COATS = (
    ("coverage", "RATE", "coverage of a coat in ft2/gal, one per coat"),
    ("wet", "MIL", "wet film of a coat, instead"),
    ("dry", "MIL", "dry film of a coat, instead"),
)


def register(subparsers: argparse._SubParsersAction[Any]) -> None:
    """Adds `yards`, `dose` and `film`; each sets `run`, a callable of (args, services) to the status."""
    _add_yards(subparsers)
    _add_dose(subparsers)
    _add_film(subparsers)


def _command(
    subparsers: argparse._SubParsersAction[Any], name: str, title: str, example: str
) -> argparse.ArgumentParser:
    made: argparse.ArgumentParser = subparsers.add_parser(
        name, help=title, description=title, epilog=f"Example: finishlog {example}", allow_abbrev=False
    )
    made.add_argument("--json", action="store_true", help="answer as one JSON object")
    return made


def _add_yards(subparsers: argparse._SubParsersAction[Any]) -> None:
    title = "area, volume, what to order and the chance it runs short"
    command = _command(subparsers, "yards", title, "yards --rect 24x18 --less-rect 3x3 --depth 4in")
    add_shapes(command)
    add_extras(command)
    command.add_argument("--depth", metavar="IN", help="slab depth; a bare number is inches")
    probe = "extra depth measured on this site, in inches (--probe=-1/2 for shallow); repeat"
    command.add_argument("--probe", action="append", default=[], metavar="IN", help=probe)
    command.add_argument("--waste", metavar="PERCENT", help="waste in percent")
    for option, metavar, text in _PRICES:
        command.add_argument(f"--{option}", metavar=metavar, help=text)
    command.add_argument("--truck", metavar="YD", help="what a full truck holds")
    past = "how far a past slab's depth was off, in inches, instead of the log's history; repeat"
    command.add_argument("--past-error", action="append", default=[], metavar="IN", help=past)
    command.add_argument("--no-history", action="store_true", help="ignore the log")
    command.set_defaults(run=_run_yards)


def _add_dose(subparsers: argparse._SubParsersAction[Any]) -> None:
    title = "pigment for each load, in packs and weighed ounces"
    command = _command(
        subparsers, "dose", title, "dose --yards 6.75 --percent 4 --cement 564 --pack 5lb --truck 4"
    )
    command.add_argument("--yards", metavar="YD", help="yards to pour")
    command.add_argument("--percent", metavar="PERCENT", help="pigment in percent of cementitious")
    command.add_argument("--rate", metavar="RATE", help='pigment as "7 lb/yd3", "1.5 lb/sack" or "13 kg/m3"')
    command.add_argument("--cement", metavar="LB", help="cement in lb/yd3")
    command.add_argument("--scm", metavar="LB", help="other cementitious besides the cement, in lb/yd3")
    command.add_argument("--pack", metavar="LB", help="weight of one pack")
    command.add_argument("--solids", metavar="PERCENT", help="liquid pigment: its solids by weight")
    command.add_argument("--truck", metavar="YD", help="what a full truck holds")
    command.add_argument("--minimum", metavar="YD", help="the plant's minimum load")
    command.set_defaults(run=_run_dose)


def _add_film(subparsers: argparse._SubParsersAction[Any]) -> None:
    title = "sealer by coat, wet and dry film"
    command = _command(subparsers, "film", title, "film --rect 24x18 --stamped --coverage 225 --coverage 300")
    command.add_argument("--area", metavar="FT2", help="area in square feet, instead of shapes")
    add_shapes(command)
    for kind, metavar, text in _COATS:
        command.add_argument(f"--{kind}", action="append", default=[], dest="coats", metavar=metavar,
                             type=partial(_coat, kind), help=text)  # fmt: skip
    command.add_argument("--solids", metavar="PERCENT", help="solids in percent by volume")
    command.add_argument("--stamped", action="store_true", help="add the relief allowance of a stamped area")
    command.add_argument("--relief", metavar="PERCENT", help="relief allowance in percent")
    command.add_argument("--existing", metavar="MIL", help="dry film already there")
    command.add_argument(
        "--job", metavar="JOB", help="take the film already there, and the area, from this job"
    )
    command.add_argument("--part", metavar="NAME", help="which of its areas")
    command.set_defaults(run=_run_film)


def _coat(kind: str, text: str) -> tuple[str, str]:
    """A coat by the option it was given with: coats count in the order they are given in."""
    return kind, text


def _run_yards(args: argparse.Namespace, services: Services) -> int:
    from finishlog.cli.sums import compute_run

    return compute_run.run_yards(args, services)


def _run_dose(args: argparse.Namespace, services: Services) -> int:
    from finishlog.cli.sums import compute_run

    return compute_run.run_dose(args, services)


def _run_film(args: argparse.Namespace, services: Services) -> int:
    from finishlog.cli.sums import compute_run

    return compute_run.run_film(args, services)
