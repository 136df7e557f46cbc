"""The answers of `yards`, `dose` and `film` as text: the answer first, then what it rests on."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from itertools import groupby
from textwrap import wrap

from finishlog import units
from finishlog.cli.output import table
from finishlog.desk.words import chance, count
from finishlog.records.quantities.cautions import Caution
from finishlog.records.quantities.dose import DoseAnswer, PigmentLoad
from finishlog.records.quantities.film import FilmAnswer
from finishlog.records.quantities.loads import LoadPlan
from finishlog.records.quantities.order import OrderAdvice, YardsAnswer
from finishlog.units import plain, write

F = Fraction
_RIGHT = (1, 2, 3, 4)


def answer_text(answer: YardsAnswer | DoseAnswer | FilmAnswer, system: str = "us") -> str:
    """Any of the three answers as text; `system` is us or metric."""
    if isinstance(answer, YardsAnswer):
        return yards_text(answer, system)
    return dose_text(answer, system) if isinstance(answer, DoseAnswer) else film_text(answer, system)


def yards_text(answer: YardsAnswer, system: str = "us") -> str:
    """`yards` as text."""
    advice, take = answer.order, answer.take_off
    rows = [
        ("Area", write("area_ft2", take.area_ft2, system)),
        ("Neat", f"{write('volume_yd3', take.volume_yd3, system)}{_neat_note(answer, system)}"),
        ("Loads", _loads_text(answer.loads, system)),
    ]
    return _page(
        f"Order {write('volume_yd3', advice.best.order_yd3, system)}: "
        f"{chance(advice.best.chance_short)} that it runs short.",
        table(rows, indent=2),
        _options_text(advice, system),
        table(basis(answer, system), indent=2),
        _cautions_text(answer.cautions),
        _sources_text(answer.sources),
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


def _options_text(advice: OrderAdvice, system: str) -> str:
    rows = [("", "order", "runs short", "left over", "expected cost")]
    rows += [
        (
            "→" if option is advice.best else "",
            write("volume_yd3", option.order_yd3, system),
            chance(option.chance_short),
            f"{write('volume_yd3', F(option.expected_leftover_yd3), system)}, "
            f"${units.fixed(F(option.expected_leftover_cost), 0)}",
            f"${units.fixed(F(option.expected_cost), 0)}",
        )
        for option in advice.options
    ]
    return table(rows, right=_RIGHT)


def basis(answer: YardsAnswer, system: str) -> list[tuple[str, str]]:
    """The figures behind the order; each is a setting or an option."""
    prices, error, waste = answer.order.prices, answer.order.error, answer.order.waste_percent
    learned = [
        count(error.past, "slab") + " of yours" if error.past else "none of your slabs yet, so from memory"
    ]
    if error.probes:
        each = write("depth_in", units.exact(error.probe_sd_in), system)
        learned.append(f"{count(error.probes, 'probe')} on this site, each give or take {each}")
    mean = F(str(round(error.mean_in, 2)))
    off = f"{_depth(abs(mean), system)} {'deeper' if mean >= 0 else 'shallower'} than planned"
    return [
        ("Prices", f"concrete {_per_yard(prices.price_per_yd3, system)}, "
                   f"left over {_per_yard(prices.leftover_per_yd3, system)}"),
        ("If short", f"short-load fee ${plain(prices.short_load_fee, 2)}, "
                     f"color mismatch ${plain(prices.mismatch, 2)}, cold joint ${plain(prices.joint, 2)}"),
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


def dose_text(answer: DoseAnswer, system: str = "us") -> str:
    """`dose` as text."""
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
    return _page(
        f"Weigh in {weighed} of {what}, {count(len(plan.loads), 'load')}.",
        _pigment_loads(plan.loads, plan.pack_lb, system),
        table(rows, indent=2),
        _cautions_text(answer.cautions),
        _sources_text(answer.sources),
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


def film_text(answer: FilmAnswer, system: str = "us") -> str:
    """`film` as text."""
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
    return _page(
        f"Get {write('liquid_gal', need.gallons, system)} of sealer for {count(len(need.coats), 'coat')}.",
        table(rows, right=_RIGHT, indent=2),
        table(basis, indent=2),
        _cautions_text(answer.cautions),
        _sources_text(answer.sources),
    )


def _cautions_text(cautions: Iterable[Caution]) -> str:
    lines = [wrap(caution.text, 74, initial_indent="! ", subsequent_indent="  ") for caution in cautions]
    return "\n".join(f"  {line}" for caution in lines for line in caution)


def _sources_text(sources: Iterable[str]) -> str:
    lines = [
        line for source in sources for line in wrap(source, 74, initial_indent="- ", subsequent_indent="  ")
    ]
    return "\n".join(["  Sources", *(f"  {line}" for line in lines)])


def _page(*parts: str) -> str:
    return "\n\n".join(part for part in parts if part)
