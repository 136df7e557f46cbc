"""`yards`: area, volume, what to order and the chance that it runs short."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Sequence
from dataclasses import replace
from fractions import Fraction
from functools import partial
from itertools import groupby
from typing import Any

from finishlog import units
from finishlog.cli.options import option_of
from finishlog.cli.output import note, table
from finishlog.cli.shapes import add_extras, add_shapes
from finishlog.cli.sums import as_text
from finishlog.cli.sums.asked import Services, command, each, needed, shapes, system_of, tell
from finishlog.desk.bench import as_json
from finishlog.desk.bench import yards as sums
from finishlog.records.quantities.loads import LoadPlan
from finishlog.records.quantities.order import (
    Extra,
    OrderAdvice,
    OrderOption,
    OrderPrices,
    YardsAnswer,
    YardsRequest,
)
from finishlog.records.shop import Shop
from finishlog.trade.pour import order, takeoff
from finishlog.units import chance, count, plain, write

F = Fraction
_PRICES = (
    ("increment", "YD", "the plant sells in steps of"),
    ("minimum", "YD", "the plant's minimum"),
    ("price", "MONEY", "price of a cubic yard"),
    ("leftover", "MONEY", "cost of a cubic yard left over"),
    ("short-fee", "MONEY", "fee for a short load"),
    ("mismatch", "MONEY", "cost of a color mismatch"),
    ("joint", "MONEY", "cost of a cold joint"),
)
_READ: dict[str, tuple[str, Callable[[str], Fraction]]] = {
    "increment": ("increment_yd3", units.read_volume_yd3),
    "minimum": ("minimum_yd3", lambda typed: units.read_volume_yd3(typed, positive=False)),
    "price": ("price_per_yd3", units.read_money),
    "leftover": ("leftover_per_yd3", units.read_money),
    "short-fee": ("short_load_fee", units.read_money),
    "mismatch": ("mismatch", units.read_money),
    "joint": ("joint", units.read_money),
}


def register(subparsers: argparse._SubParsersAction[Any]) -> None:
    """Add `yards` to the commands."""
    title = "area, volume, what to order and the chance it runs short"
    yards = command(subparsers, "yards", title, "yards --rect 24x18 --less-rect 3x3 --depth 4in")
    add_shapes(yards)
    add_extras(yards)
    yards.add_argument("--depth", metavar="IN", help="slab depth; a bare number is inches")
    probe = "extra depth measured on this site, in inches (--probe=-1/2 for shallow); repeat"
    yards.add_argument("--probe", action="append", default=[], metavar="IN", help=probe)
    yards.add_argument("--waste", metavar="PERCENT", help="waste in percent")
    for option, metavar, text in _PRICES:
        yards.add_argument(f"--{option}", metavar=metavar, help=text)
    yards.add_argument("--truck", metavar="YD", help="what a full truck holds")
    past = "how far a past slab's depth was off, in inches, instead of the log's history; repeat"
    yards.add_argument("--past-error", action="append", default=[], metavar="IN", help=past)
    yards.add_argument("--no-history", action="store_true", help="ignore the log")
    yards.set_defaults(run=run)


def run(args: argparse.Namespace, services: Services) -> int:
    """`finishlog yards`."""
    shop = Shop.from_values({}) if args.no_history else services.shop()
    past: Sequence[float | Fraction] = each(args, "past-error", units.read_depth_off_in)
    if not past and not args.no_history:
        learned = services.learned()
        past = learned.errors
        for line in learned.left_out:
            note(f"finishlog: {line}")
        if learned.silent:
            note(f"finishlog: None of your slabs yet: {learned.silent}.")
    found = shapes(args)
    depth = option_of(args, "depth", units.read_depth_in)
    if found:
        depth = needed(depth, "depth", "The depth", "4in or 100mm")
    request = YardsRequest(
        shapes=found,
        depth_in=depth or Fraction(0),
        extras=_extras(args),
        probes_in=each(args, "probe", units.read_depth_off_in),
        waste_percent=option_of(args, "waste", lambda typed: units.read_percent(typed, positive=False)),
        truck_yd3=option_of(args, "truck", units.read_volume_yd3),
        prices=_prices(args, shop),
    )
    answer = sums.yards(request, shop, past, system_of(args))
    if services.may("prices"):
        return tell(args, answer, _text, as_json.yards_json)
    return tell(
        args, answer, partial(_text, priced=False),
        lambda told: as_json.without_prices(as_json.yards_json(told)),
    )  # fmt: skip


def _extras(args: argparse.Namespace) -> tuple[Extra, ...]:
    edges = each(args, "edge", lambda typed: takeoff.read_extra("edge", typed))
    return edges + each(args, "stairs", lambda typed: takeoff.read_extra("stairs", typed))


def _prices(args: argparse.Namespace, shop: Shop) -> OrderPrices:
    given = {what[0]: option_of(args, option, what[1]) for option, what in _READ.items()}
    own: dict[str, Any] = {name: value for name, value in given.items() if value is not None}
    return replace(order.prices_of(shop), **own)


def _text(answer: YardsAnswer, system: str = "us", *, priced: bool = True) -> str:
    """The answer first, then what it rests on."""
    advice, take = answer.order, answer.take_off
    rows = [
        ("Area", write("area_ft2", take.area_ft2, system)),
        ("Neat", f"{write('volume_yd3', take.volume_yd3, system)}{_neat_note(answer, system)}"),
        ("Loads", _loads_text(answer.loads, system)),
    ]
    return as_text.page(
        f"Order {write('volume_yd3', advice.best.order_yd3, system)}: "
        f"{chance(advice.best.chance_short)} that it runs short.",
        table(rows, indent=2),
        _options_text(advice, system, priced),
        table(basis(answer, system, priced=priced), indent=2),
        as_text.cautions(answer.cautions),
        as_text.sources(answer.sources),
    )


def _neat_note(answer: YardsAnswer, system: str) -> str:
    parts = [f"at {_depth(answer.take_off.depth_in, system)}"] if answer.take_off.area_ft2 else []
    if answer.take_off.edges_yd3:
        parts.append(f"{write('volume_yd3', answer.take_off.edges_yd3, system)} of it edges and steps")
    return f"  {', '.join(parts)}" if parts else ""


def _depth(inches: Fraction, system: str) -> str:
    return write("depth_in", inches, system) if system == "metric" else f"{plain(inches)} in"


def _loads_text(plan: LoadPlan, system: str) -> str:
    if len(plan.loads_yd3) == 1:
        return "one"
    groups = [
        (write("volume_yd3", load, system), len(list(alike))) for load, alike in groupby(plan.loads_yd3)
    ]
    return " + ".join(load if times == 1 else f"{times} × {load}" for load, times in groups)


def _options_text(advice: OrderAdvice, system: str, priced: bool) -> str:
    heads = ("", "order", "runs short", "left over", *(("expected cost",) if priced else ()))
    rows = [_option_row(option, option is advice.best, system, priced) for option in advice.options]
    return table([heads, *rows], right=(1, 2, 3, 4))


def _option_row(option: OrderOption, best: bool, system: str, priced: bool) -> tuple[str, ...]:
    left = write("volume_yd3", F(option.expected_leftover_yd3), system)
    row = ("→" if best else "", write("volume_yd3", option.order_yd3, system), chance(option.chance_short))
    if not priced:
        return (*row, left)
    lost, cost = (units.fixed(F(one), 0) for one in (option.expected_leftover_cost, option.expected_cost))
    return (*row, f"{left}, ${lost}", f"${cost}")


def basis(answer: YardsAnswer, system: str, *, priced: bool = True) -> list[tuple[str, str]]:
    """What the order was weighed with; every figure is a setting or an option."""
    prices, error, waste = answer.order.prices, answer.order.error, answer.order.waste_percent
    learned = [
        count(error.past, "slab") + " of yours" if error.past else "none of your slabs yet, so from memory"
    ]
    if error.probes:
        off_by = write("depth_in", units.exact(error.probe_sd_in), system)
        learned.append(f"{count(error.probes, 'probe')} on this site, each give or take {off_by}")
    mean = F(str(round(error.mean_in, 2)))
    off = f"{_depth(abs(mean), system)} {'deeper' if mean >= 0 else 'shallower'} than planned"
    money = [
        ("Prices", f"concrete {_per_yard(prices.price_per_yd3, system)}, "
                   f"left over {_per_yard(prices.leftover_per_yd3, system)}"),
        ("If short", f"short-load fee ${plain(prices.short_load_fee, 2)}, "
                     f"color mismatch ${plain(prices.mismatch, 2)}, cold joint ${plain(prices.joint, 2)}"),
    ]  # fmt: skip
    return [
        *(money if priced else ()),
        ("Plant", f"steps of {write('volume_yd3', prices.increment_yd3, system)}, "
                  f"least {write('volume_yd3', prices.minimum_yd3, system)}, "
                  f"truck {write('volume_yd3', answer.truck_yd3, system)}"),
        ("Depth", f"{off}, give or take {write('depth_in', F(error.scale_in), system)}"),
        ("From", ", ".join(learned)),
        ("Waste", f"{plain(waste)} %"),
    ]  # fmt: skip


def _per_yard(price: Fraction, system: str) -> str:
    if system == "metric":
        return f"${units.fixed(price * units.QUANTITIES['volume_yd3'].factors['m3'], 2)}/m³"
    return f"${plain(price, 2)}/yd³"
