"""`film`: sealer by coat, wet and dry film."""

from __future__ import annotations

import argparse
from fractions import Fraction
from functools import partial
from typing import Any

from finishlog import units
from finishlog.cli.options import option_of, read_option
from finishlog.cli.output import note, table
from finishlog.cli.shapes import add_shapes
from finishlog.cli.sums import as_text
from finishlog.cli.sums.asked import Services, command, shapes, system_of, tell
from finishlog.desk.bench import as_json
from finishlog.desk.bench import film as sums
from finishlog.errors import InputError
from finishlog.records.quantities.film import FilmAnswer, FilmRequest
from finishlog.trade.pour import takeoff
from finishlog.trade.sealing import sealer
from finishlog.units import count, plain, write

_COATS = (
    ("coverage", "RATE", "coverage of a coat in ft2/gal, one per coat"),
    ("wet", "MIL", "wet film of a coat, instead"),
    ("dry", "MIL", "dry film of a coat, instead"),
)


def register(subparsers: argparse._SubParsersAction[Any]) -> None:
    """Add `film` to the commands."""
    title = "sealer by coat, wet and dry film"
    film = command(subparsers, "film", title, "film --rect 24x18 --stamped --coverage 225 --coverage 300")
    film.add_argument("--area", metavar="FT2", help="area in square feet, instead of shapes")
    add_shapes(film)
    for kind, metavar, text in _COATS:
        film.add_argument(f"--{kind}", action="append", default=[], dest="coats", metavar=metavar,
                             type=partial(_coat, kind), help=text)  # fmt: skip
    film.add_argument("--solids", metavar="PERCENT", help="solids in percent by volume")
    film.add_argument("--stamped", action="store_true", help="add the relief allowance of a stamped area")
    film.add_argument("--relief", metavar="PERCENT", help="relief allowance in percent")
    film.add_argument("--existing", metavar="MIL", help="dry film already there")
    film.add_argument("--job", metavar="JOB", help="take the film already there, and the area, from this job")
    film.add_argument("--part", metavar="NAME", help="which of its areas")
    film.set_defaults(run=run)


def _coat(kind: str, text: str) -> tuple[str, str]:
    """A coat by the option it was given with: coats count in the order they are given in."""
    return kind, text


def run(args: argparse.Namespace, services: Services) -> int:
    """`finishlog film`."""
    shop = services.shop()
    there, surface = _on_the_job(args, services)
    solids = option_of(args, "solids", units.read_percent)
    request = FilmRequest(
        area_ft2=surface or _film_area(args),
        coverages_ft2_per_gal=tuple(
            _coverage(kind, text, solids or shop.solids_percent) for kind, text in args.coats
        ),
        solids_percent=solids,
        stamped=args.stamped,
        relief_percent=option_of(args, "relief", lambda typed: units.read_percent(typed, positive=False)),
        existing_mil=option_of(args, "existing", lambda typed: units.read_film_mil(typed, positive=False))
        or there,
    )
    answer = sums.film(request, shop, system_of(args))
    return tell(args, answer, _text, as_json.film_json)


def _on_the_job(args: argparse.Namespace, services: Any) -> tuple[Fraction, Fraction | None]:
    """The film on the job's slab in mil and, where no area is given, its size; what is not known is said."""
    if args.job is None:
        if args.part is not None:
            raise InputError("--part is for a job.", where="--part", example="--job hill-patio --part field")
        return Fraction(0), None
    if args.existing is not None:
        raise InputError("The existing film is given twice.", "Give --existing or --job.", where="--job")
    from finishlog.desk.due import care

    film, area_ft2 = care.film_of(services, args.job, args.part)
    if film.at_least:
        note("finishlog: part of the existing film is unknown: it is thicker than that.")
    given = args.area is not None or bool(shapes(args))
    return film.dry_mil or Fraction(0), None if given else area_ft2


def _coverage(kind: str, text: str, solids_percent: Fraction) -> Fraction:
    """A coat's coverage in ft2/gal, given as it is or by the film it leaves."""
    if kind == "coverage":
        return read_option(kind, text, units.read_coverage)
    mil = read_option(kind, text, units.read_film_mil)
    return sealer.coverage_for_wet(mil) if kind == "wet" else sealer.coverage_for_dry(mil, solids_percent)


def _film_area(args: argparse.Namespace) -> Fraction:
    area = option_of(args, "area", units.read_area_ft2)
    found = shapes(args)
    if (area is None) == (not found):
        cause = "Give --area or shapes, not both."
        raise InputError("The area is not clear.", cause, example="--area 445 or --rect 24x18")
    return takeoff.area_ft2(found) if area is None else area


def _text(answer: FilmAnswer, system: str = "us") -> str:
    """The answer first, then what it rests on."""
    need = answer.need
    rows = [("coat", "coverage", "sealer", "wet film", "dry film")]
    rows += [
        (
            str(coat.number),
            write("coverage", coat.coverage_ft2_per_gal, system),
            write("liquid_gal", coat.gallons, system),
            write("film_mil", coat.wet_mil, system),
            write("film_mil", coat.dry_mil, system),
        )
        for coat in need.coats
    ]
    area = write("area_ft2", need.area_ft2, system)
    if need.relief_percent:
        coated = write("area_ft2", need.coated_area_ft2, system)
        area += f", {coated} with {plain(need.relief_percent)} % for the relief"
    there = f"; {write('film_mil', need.existing_mil, system)} was there" if need.existing_mil else ""
    basis = [
        ("Area", area),
        ("Solids", f"{plain(need.solids_percent)} % by volume"),
        ("Film", f"{write('film_mil', need.dry_mil, system)} dry in all{there}; "
                 f"alarm at {write('film_mil', answer.alarm_mil, system)}"),
    ]  # fmt: skip
    return as_text.page(
        f"Get {write('liquid_gal', need.gallons, system)} of sealer for {count(len(need.coats), 'coat')}.",
        table(rows, right=(1, 2, 3, 4), indent=2),
        table(basis, indent=2),
        as_text.cautions(answer.cautions),
        as_text.sources(answer.sources),
    )
