"""The bench's sums: the fields of each, and its answer in words. `desk.bench` does the arithmetic."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import partial
from typing import TYPE_CHECKING, TypeVar

from finishlog import units
from finishlog.errors import naming
from finishlog.tui.bench import blend
from finishlog.tui.forms import measures
from finishlog.tui.forms.fields import Field, asks
from finishlog.tui.forms.measures import shape_spec
from finishlog.tui.paint.ink import Line, hanging, paragraph

if TYPE_CHECKING:
    from finishlog.records.quantities.dose import DoseAnswer
    from finishlog.records.quantities.film import FilmAnswer
    from finishlog.records.quantities.loads import LoadPlan
    from finishlog.records.quantities.order import YardsAnswer
    from finishlog.tui.desks.whole import Desks

T = TypeVar("T")
Values = Mapping[str, str]
Painter = Callable[[int], "list[Line]"]
Answer = tuple[str, Painter]
LABEL = 12


@dataclass(frozen=True, slots=True)
class Sum:
    """One sum, run once its `needed` fields are filled. `answer` raises InputError at a field."""

    title: str
    question: str
    needed: tuple[str, ...]
    specs: Callable[[str], tuple[Field, ...]]
    answer: Callable[[Desks, Values, str], Answer]


def _read(values: Values, key: str, read: Callable[[str], T]) -> T | None:
    with naming(key):
        return read(values[key]) if values.get(key) else None


def _must(values: Values, key: str, read: Callable[[str], T]) -> T:
    value = _read(values, key, read)
    assert value is not None, f"{key} is needed"
    return value


def quantity(key: str, system: str) -> Callable[[str], str]:
    """An echo that rewrites a quantity in `system` units. It raises InputError on a bad text."""
    return lambda text: units.write(key, units.read(key, text), system)


def _row(width: int, label: str, figure: str, text: str = "") -> list[Line]:
    head = Line().muted(label).to(LABEL).bold(figure)
    return hanging(head.gap(2), text, width, "muted") if text else [head]


def _warnings(width: int, texts: list[str]) -> list[Line]:
    return [line for text in texts for line in hanging(Line().put("! ", "warn"), text, width, "warn")]


# yards


def _yards_specs(system: str) -> tuple[Field, ...]:
    return (
        shape_spec("rect", system),
        asks("depth", "Depth", quantity("depth_in", system), hint="4 in"),
        shape_spec("circle", system, gap=True),
        *(shape_spec(key, system) for key in ("polygon", "less_rect", "less_circle", "round", "edge")),
        asks("waste", "Waste", quantity("percent", system), hint="blank: the shop's", gap=True),
        asks("truck", "Truck", quantity("volume_yd3", system), hint="blank: the shop's"),
    )


def _yards(desks: Desks, values: Values, system: str) -> Answer:
    from finishlog.desk.bench import yards as bench
    from finishlog.records.quantities.order import YardsRequest

    flat, extras = measures.takeoff_of(values)
    request = YardsRequest(
        shapes=flat,
        extras=extras,
        depth_in=_must(values, "depth", units.read_depth_in),
        waste_percent=_read(values, "waste", lambda text: units.read_percent(text, positive=False)),
        truck_yd3=_read(values, "truck", units.read_volume_yd3),
    )
    answer = bench.yards(request, desks.shop(), desks.past_errors(), system=system)
    return _yards_said(answer, system, desks.may("prices"))


def _yards_said(answer: YardsAnswer, system: str, priced: bool) -> Answer:
    from finishlog.units import chance

    best = answer.order.best
    odds = chance(best.chance_short).capitalize()
    sentence = f"Order {units.write('volume_yd3', best.order_yd3, system)}. {odds} that it runs short."
    return sentence, partial(_yards_lines, answer, system, priced)


def _yards_lines(answer: YardsAnswer, system: str, priced: bool, width: int) -> list[Line]:
    from finishlog.units import count

    take = answer.take_off
    each, left = answer.order.prices.price_per_yd3, answer.order.prices.leftover_per_yd3
    money = f"a yard, leftover {units.write('money', left)}; the shop's settings"
    return [
        *_options(answer, system, priced),
        Line(),
        *_loads(answer.loads, system, width),
        *_row(width, "Area", units.write("area_ft2", take.area_ft2, system)),
        *_row(width, "Neat", units.write("volume_yd3", take.volume_yd3, system),
              f"waste {units.plain(answer.order.waste_percent)} %"),
        *_row(width, "Learned", count(answer.order.error.past, "slab"),
              "of this crew" if answer.order.error.past else "no history yet: wide on purpose"),
        *(_row(width, "Prices", units.write("money", each), money) if priced else ()),
        *_warnings(width, [caution.text for caution in answer.cautions if caution.key == "load"]),
    ]  # fmt: skip


def _options(answer: YardsAnswer, system: str, priced: bool) -> list[Line]:
    from finishlog.units import chance

    lines = [Line().muted("     order".rjust(12)).gap(2).muted("runs short".rjust(15)).gap(2)]
    if priced:
        lines[0].muted("expected cost")
    for option in answer.order.options:
        here = option.order_yd3 == answer.order.best.order_yd3
        line = Line().put("► " if here else "  ", "accent")
        line.put(units.write("volume_yd3", option.order_yd3, system).rjust(10), bold=here).gap(2)
        line.put(chance(option.chance_short).rjust(15), bold=here).gap(2)
        if priced:
            line.muted(units.write("money", _dollars(option.expected_cost), digits=0).rjust(13))
        lines.append(line)
    return lines


def _dollars(value: float) -> Fraction:
    return Fraction(round(value))


def _loads(plan: LoadPlan, system: str, width: int) -> list[Line]:
    loads = " + ".join(units.write("volume_yd3", load, system) for load in plan.loads_yd3)
    return _row(width, "Loads", loads)


# dose


def _dose_specs(system: str) -> tuple[Field, ...]:
    return (
        asks("yards", "Yards", quantity("volume_yd3", system), hint="6.75"),
        asks("rate", "Dose", _dose_echo, hint="4 %, 7 lb/yd3 or 1.5 lb/sack"),
        asks(
            "cement", "Cement", quantity("content_lb_per_yd3", system), hint="lb/yd³; blank: the shop's usual"
        ),
        asks(
            "scm", "Other cement", quantity("content_lb_per_yd3", system), hint="fly ash, slag… blank: none"
        ),
        asks("pack", "Pack", quantity("mass_lb", system), hint="5 lb; blank: weigh it all", gap=True),
        asks("truck", "Truck", quantity("volume_yd3", system), hint="blank: the shop's"),
        asks("solids", "Solids", quantity("percent", system), hint="of a liquid pigment; blank: powder"),
    )


def _dose_echo(text: str) -> str:
    read = units.read_dose(text)
    label = {"%": "% of cementitious", "lb/yd3": "lb/yd³", "kg/m3": "kg/m³"}.get(read.unit, read.unit)
    return f"{units.plain(read.value)} {label}"


def _dose(desks: Desks, values: Values, system: str) -> Answer:
    from finishlog.desk.bench import dose as bench
    from finishlog.records.quantities.dose import DoseRequest

    rate = _must(values, "rate", units.read_dose)
    request = DoseRequest(
        yards=_must(values, "yards", units.read_volume_yd3),
        dose_value=rate.value,
        dose_unit=rate.unit,
        cement_lb_per_yd3=_read(values, "cement", units.read_content_lb_per_yd3),
        scm_lb_per_yd3=_read(values, "scm", lambda t: units.read_content_lb_per_yd3(t, positive=False))
        or Fraction(0),
        pack_lb=_read(values, "pack", units.read_mass_lb),
        truck_yd3=_read(values, "truck", units.read_volume_yd3),
        solids_percent=_read(values, "solids", units.read_percent),
    )
    return _dose_said(bench.dose(request, desks.shop(), system), system)


def _dose_said(answer: DoseAnswer, system: str) -> Answer:
    from finishlog.units import count

    total = units.write_weight_lb_oz(answer.plan.weighed_lb, system)
    sentence = f"{total} of pigment. {count(len(answer.plan.loads), 'load').capitalize()}."
    return sentence, partial(_dose_lines, answer, system)


def _dose_lines(answer: DoseAnswer, system: str, width: int) -> list[Line]:
    rates = answer.rates
    assumed = "the shop's usual" if answer.cement_assumed else ""
    lines = [
        line for number in range(len(answer.plan.loads)) for line in _dose_load(answer, number, system, width)
    ]
    of_all, of_cement = (units.plain(p, 2) for p in (rates.percent_of_cementitious, rates.percent_of_cement))
    limit, cement = units.plain(answer.limit_percent_of_cement), answer.cement_lb_per_yd3
    lines += [
        Line(),
        *_row(width, "Dose", units.write("dose_lb_per_yd3", rates.lb_per_yd3, system),
              f"{units.plain(rates.lb_per_sack, 3)} lb/sack, {units.plain(rates.kg_per_m3, 2)} kg/m³"),
        *_row(width, "That is", f"{of_all} % of cementitious, {of_cement} % of cement"),
        *_row(width, "Limit", f"{limit} %", "of cement (ASTM C979/C979M §1.4)"),
        *_row(width, "Cement", units.write("content_lb_per_yd3", cement, system), assumed),
        *_warnings(width, [caution.text for caution in answer.cautions if caution.key == "load"]),
    ]  # fmt: skip
    return lines


def _dose_load(answer: DoseAnswer, number: int, system: str, width: int) -> list[Line]:
    """One load: its yards, its pigment, how that is made up, and what whole packs alone would do."""
    from finishlog.units import count

    load = answer.plan.loads[number]
    made = ""
    if load.packs is not None and load.remainder_lb is not None:
        made = f"{count(load.packs, 'pack')} + {units.write_weight_lb_oz(load.remainder_lb, system)} weighed"
    if load.rounding_error_percent:
        made += f"; whole packs alone {float(load.rounding_error_percent):+.1f} %".replace("-", "−")
    label = f"Load {number + 1}, {units.write('volume_yd3', load.yards, system)}"
    head = Line().muted(label).to(LABEL + 8).bold(units.write_weight_lb_oz(load.pigment_lb, system)).gap(2)
    if head.width + len(made) <= width:
        return [head.muted(made)]
    return [head, *paragraph(made, width, "muted", indent=8)]


# film


def _film_specs(system: str) -> tuple[Field, ...]:
    coverage = quantity("coverage", system)
    return (
        asks("area", "Area", quantity("area_ft2", system), hint="445 ft2 or 41 m2"),
        asks("coats", "Coats", lambda text: " then ".join(map(coverage, _coats(text))),
             hint="225, 300 ft2/gal; blank: the shop's"),
        asks("solids", "Solids", quantity("percent", system), hint="by volume; blank: the shop's"),
        asks("relief", "Relief", quantity("percent", system), hint="10 % if stamped; blank: none"),
        asks("existing", "Film there", quantity("film_mil", system), hint="dry, in mil; blank: none"),
    )  # fmt: skip


def _coats(text: str) -> list[str]:
    return [part for part in re.split(r"\s*[,;+]\s*", text) if part]


def _film(desks: Desks, values: Values, system: str) -> Answer:
    from finishlog.desk.bench import film as bench
    from finishlog.records.quantities.film import FilmRequest

    request = FilmRequest(
        area_ft2=_must(values, "area", units.read_area_ft2),
        coverages_ft2_per_gal=_read(values, "coats", lambda t: tuple(map(units.read_coverage, _coats(t))))
        or (),
        solids_percent=_read(values, "solids", units.read_percent),
        relief_percent=_read(values, "relief", lambda t: units.read_percent(t, positive=False)),
        existing_mil=_read(values, "existing", lambda t: units.read_film_mil(t, positive=False))
        or Fraction(0),
    )
    return _film_said(bench.film(request, desks.shop(), system), system)


def _film_said(answer: FilmAnswer, system: str) -> Answer:
    need = answer.need
    gallons, film = (
        units.write("liquid_gal", need.gallons, system),
        units.write("film_mil", need.dry_mil, system),
    )
    return f"{gallons} of sealer. {film} dry in all, an estimate for work.", partial(
        _film_lines, answer, system
    )


def _film_lines(answer: FilmAnswer, system: str, width: int) -> list[Line]:
    need = answer.need
    lines = []
    for coat in need.coats:
        wet, dry = (units.write("film_mil", mil, system) for mil in (coat.wet_mil, coat.dry_mil))
        gallons = units.write("liquid_gal", coat.gallons, system)
        lines += _row(width, f"Coat {coat.number}", gallons, f"{wet} wet, {dry} dry")
    film, there = (units.write("film_mil", mil, system) for mil in (need.dry_mil, need.existing_mil))
    lines += [
        *_row(width, "Film after", film, f"with {there} already there"),
        *_row(width, "Coated", units.write("area_ft2", need.coated_area_ft2, system),
              f"relief {units.plain(need.relief_percent)} %, solids {units.plain(need.solids_percent)} %"),
        *_warnings(width, [caution.text for caution in answer.cautions if caution.key == "film"]),
    ]  # fmt: skip
    return lines


SUMS = (
    Sum("Yards", "How much concrete? Type a rectangle and a depth.", ("depth",), _yards_specs, _yards),
    Sum("Dose", "How much pigment? Type the yards and the dose.", ("yards", "rate"), _dose_specs, _dose),
    Sum("Film", "How much sealer? Type the area.", ("area",), _film_specs, _film),
    Sum("Blend", "Which pigments? Type the wanted color.", ("target",), blend.specs, blend.answer),
)
