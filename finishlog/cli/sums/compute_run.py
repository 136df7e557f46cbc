"""What `yards`, `dose` and `film` do once they are parsed: read the options, ask the bench, print."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Sequence
from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING, Any, Protocol, TypeVar

from finishlog import units
from finishlog.cli.options import option_of, read_option
from finishlog.cli.output import note, say, say_json
from finishlog.desk.bench import bench
from finishlog.errors import InputError
from finishlog.records.quantities.dose import DoseAnswer, DoseRequest
from finishlog.records.quantities.film import FilmAnswer, FilmRequest
from finishlog.records.quantities.order import Extra, FlatShape, OrderPrices, YardsAnswer, YardsRequest
from finishlog.records.shop import Shop
from finishlog.trade.pour import order, takeoff
from finishlog.trade.sealing import sealer

if TYPE_CHECKING:
    from finishlog.desk.history import Learned

T = TypeVar("T")


class Services(Protocol):
    """The log queries of these commands; both work without a log."""

    def learned(self) -> Learned: ...

    def shop(self) -> Shop: ...


_PRICES: dict[str, tuple[str, Callable[[str], Fraction]]] = {
    "increment": ("increment_yd3", units.read_volume_yd3),
    "minimum": ("minimum_yd3", lambda text: units.read_volume_yd3(text, positive=False)),
    "price": ("price_per_yd3", units.read_money),
    "leftover": ("leftover_per_yd3", units.read_money),
    "short-fee": ("short_load_fee", units.read_money),
    "mismatch": ("mismatch", units.read_money),
    "joint": ("joint", units.read_money),
}


def _each(args: argparse.Namespace, option: str, reader: Callable[[str], T]) -> tuple[T, ...]:
    return tuple(read_option(option, text, reader) for text in getattr(args, option.replace("-", "_")))


def _needed(value: T | None, option: str, what: str, example: str) -> T:
    if value is None:
        raise InputError(f"{what} is missing.", where=f"--{option}", example=example)
    return value


def _shapes(args: argparse.Namespace) -> tuple[FlatShape, ...]:
    found: list[FlatShape] = []
    for kind in ("rect", "circle", "polygon"):
        found += _each(args, kind, lambda text, kind=kind: takeoff.read_shape(kind, text))  # type: ignore[misc]
        found += _each(args, f"less-{kind}", lambda text, kind=kind: takeoff.read_shape(kind, text, -1))  # type: ignore[misc]
    return (*found, *_each(args, "round", lambda text: takeoff.read_shape("round", text)))


def _extras(args: argparse.Namespace) -> tuple[Extra, ...]:
    edges = _each(args, "edge", lambda text: takeoff.read_extra("edge", text))
    return edges + _each(args, "stairs", lambda text: takeoff.read_extra("stairs", text))


def run_yards(args: argparse.Namespace, services: Services) -> int:
    """`finishlog yards`."""
    shop = Shop.from_values({}) if args.no_history else services.shop()
    past: Sequence[float | Fraction] = _each(args, "past-error", units.read_depth_off_in)
    if not past and not args.no_history:
        learned = services.learned()
        past = learned.errors
        for line in learned.left_out:
            note(f"finishlog: {line}")
        if learned.silent:
            note(f"finishlog: None of your slabs yet: {learned.silent}.")
    shapes = _shapes(args)
    depth = option_of(args, "depth", units.read_depth_in)
    if shapes:
        depth = _needed(depth, "depth", "The depth", "4in or 100mm")
    request = YardsRequest(
        shapes=shapes,
        depth_in=depth or Fraction(0),
        extras=_extras(args),
        probes_in=_each(args, "probe", units.read_depth_off_in),
        waste_percent=option_of(args, "waste", lambda text: units.read_percent(text, positive=False)),
        truck_yd3=option_of(args, "truck", units.read_volume_yd3),
        prices=_prices(args, shop),
    )
    answer = bench.yards(request, shop, past, _system(args))
    return _print(args, answer)


def _prices(args: argparse.Namespace, shop: Shop) -> OrderPrices:
    given = {what[0]: option_of(args, option, what[1]) for option, what in _PRICES.items()}
    own: dict[str, Any] = {name: value for name, value in given.items() if value is not None}
    return replace(order.prices_of(shop), **own)


def run_dose(args: argparse.Namespace, services: Services) -> int:
    """`finishlog dose`."""
    yards = _needed(option_of(args, "yards", units.read_volume_yd3), "yards", "The amount to pour", "6.75")
    written = _dose(args)
    request = DoseRequest(
        yards=yards,
        dose_value=written.value,
        dose_unit=written.unit,
        cement_lb_per_yd3=option_of(args, "cement", units.read_content_lb_per_yd3),
        scm_lb_per_yd3=option_of(
            args, "scm", lambda text: units.read_content_lb_per_yd3(text, positive=False)
        )
        or Fraction(0),
        pack_lb=option_of(args, "pack", units.read_mass_lb),
        truck_yd3=option_of(args, "truck", units.read_volume_yd3),
        minimum_yd3=option_of(args, "minimum", lambda text: units.read_volume_yd3(text, positive=False)),
        solids_percent=option_of(args, "solids", units.read_percent),
    )
    answer = bench.dose(request, services.shop(), _system(args))
    return _print(args, answer)


def _dose(args: argparse.Namespace) -> units.Dose:
    if (args.percent is None) == (args.rate is None):
        cause = "Give --percent or --rate, not both."
        raise InputError("The dose is not clear.", cause, example='--percent 4 or --rate "7 lb/yd3"')
    if args.rate is not None:
        return read_option("rate", args.rate, units.read_dose)
    return units.Dose(read_option("percent", args.percent, units.read_percent), "%")


def run_film(args: argparse.Namespace, services: Services) -> int:
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
        relief_percent=option_of(args, "relief", lambda text: units.read_percent(text, positive=False)),
        existing_mil=option_of(args, "existing", lambda text: units.read_film_mil(text, positive=False))
        or there,
    )
    answer = bench.film(request, shop, _system(args))
    return _print(args, answer)


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
    given = args.area is not None or bool(_shapes(args))
    return film.dry_mil or Fraction(0), None if given else area_ft2


def _coverage(kind: str, text: str, solids_percent: Fraction) -> Fraction:
    """A coat's coverage in ft2/gal, given as it is or by the film it leaves."""
    if kind == "coverage":
        return read_option(kind, text, units.read_coverage)
    mil = read_option(kind, text, units.read_film_mil)
    return sealer.coverage_for_wet(mil) if kind == "wet" else sealer.coverage_for_dry(mil, solids_percent)


def _film_area(args: argparse.Namespace) -> Fraction:
    area = option_of(args, "area", units.read_area_ft2)
    shapes = _shapes(args)
    if (area is None) == (not shapes):
        cause = "Give --area or shapes, not both."
        raise InputError("The area is not clear.", cause, example="--area 445 or --rect 24x18")
    return takeoff.area_ft2(shapes) if area is None else area


def _system(args: argparse.Namespace) -> str:
    """Display units; machine-readable output does not depend on them."""
    return "us" if args.json else getattr(args, "units", "us")


def _print(args: argparse.Namespace, answer: YardsAnswer | DoseAnswer | FilmAnswer) -> int:
    """The answer on standard output, and done. Only the form that was asked for is imported."""
    if args.json:
        from finishlog.desk.bench import as_json

        say_json(as_json.answer_json(answer))
    else:
        from finishlog.cli.sums import compute_text

        say(compute_text.answer_text(answer, _system(args)))
    return 0
