"""What the desks answer, in the words of the trade: used by screens, commands and sheets alike."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from datetime import date, datetime
from fractions import Fraction
from typing import TYPE_CHECKING

from finishlog.desk.shape_words import dimensions
from finishlog.records.page import PlacedLine
from finishlog.records.placed import AsPlaced, PlacedCoat
from finishlog.records.when import NO_HOUR, ROUGH, poured_once
from finishlog.units import (
    MONTHS,
    count,
    exact,
    write,
    write_date,
    write_number,
    write_rough,
    write_weight_lb_oz,
)

if TYPE_CHECKING:
    from finishlog.records.log import Area, Buried, JobLine, Mix
    from finishlog.records.page import JobPage

_SEASONS = ("winter", "spring", "summer", "fall")


def month(day: date) -> str:
    """`Jun 2026`."""
    return f"{MONTHS[day.month - 1]} {day.year}"


def clock(when: datetime) -> str:
    """`7:10a`, and `7a` on the hour; noon is `12p`."""
    hour = when.hour % 12 or 12
    minutes = f":{when.minute:02d}" if when.minute else ""
    return f"{hour}{minutes}{'a' if when.hour < 12 else 'p'}"


def when(moment: datetime, exactness: str) -> str:
    """`Jun 4 2026, 7:10a`, with "about" where it was said; the day alone where only that is known."""
    if exactness in NO_HOUR:
        return write_rough(moment.date(), exactness) if exactness in ROUGH else write_date(moment.date())
    about = "about " if exactness == "about" else ""
    return f"{write_date(moment.date())}, {about}{clock(moment)}"


def season(when: date) -> str:
    """Season of the northern half of the globe, winter from December on."""
    return _SEASONS[when.month % 12 // 3]


def old(age_h: float | None, days: int | None = None) -> str:
    """The age of a slab, the same wherever it stands: hours below three days, then days, years where there are two.

    `days` counts where no hour of the pour is known.
    """
    if age_h is not None and age_h < 72:
        return f"{max(age_h, 0):.0f} h old"
    whole = days if age_h is None else int(age_h // 24)
    if not whole:
        return "poured today"
    return f"{count(whole, 'day') if whole < 730 else count(whole // 365, 'year')} old"


def listed(items: Iterable[str]) -> str:
    """`a`, `a and b`, `a, b and c`."""
    some = list(items)
    return " and ".join([", ".join(some[:-1]), some[-1]] if len(some) > 1 else some)


def hours(age: float) -> str:
    """An age in hours below three days, in days from there on."""
    return f"{age:.0f} h" if age < 72 else f"{age / 24:.0f} days"


def poured(page: JobPage) -> str:
    """The fact at the right of a job's title."""
    if page.line.poured_on is None and poured_once(page.job):
        rough = (doing.when for doing in page.doings if doing.current and doing.what.startswith("poured"))
        return f"poured {next(rough, 'on an unknown date')}"
    if page.line.poured_on is None:
        return f"planned for {write_date(page.line.planned_on)}" if page.line.planned_on else "planned"
    age = f", {old(page.age_h, page.age_days)}" if page.age_days is not None else ""
    return f"poured {write_date(page.poured_on or page.line.poured_on)}{age}"


def look(line: JobLine) -> str:
    """What a job looks like, in words: color, shades, pattern."""
    shades = " + ".join(s for s in (line.base, line.release) if s)
    return " · ".join(p for p in (line.color_name, shades, line.pattern) if p)


def buried(item: Buried, units: str = "us") -> str:
    """`gas line, 8 in down, north edge`."""
    depth = f"{inches(item.depth_in, units)} down" if item.depth_in is not None else "depth unknown"
    return ", ".join(p for p in (item.what, depth, item.where) if p)


def area_title(area: Area, units: str = "us") -> str:
    """An area's name, size, depth and shapes on one line."""
    name = area.name if area.kind in area.name else f"{area.name} ({area.kind})"
    size = []
    if area.area_ft2 is not None:
        size.append(write("area_ft2", exact(area.area_ft2), units))
    if area.depth_in is not None:
        size.append(inches(area.depth_in, units))
    title = f"{name}  {', '.join(size) or 'not measured'}"
    return f"{title}: {dimensions(area.shapes, units)}" if area.shapes else title


def mix(mix: Mix, units: str = "us") -> str:
    """A mix as the plant would name it."""
    parts = [mix.plant, f"mix {mix.number}" if mix.number else None, mix.cement_kind]
    if mix.cement_lb_per_yd3 is not None:
        parts.append(f"{_content(mix.cement_lb_per_yd3, units)} cement")
    if mix.scm_lb_per_yd3:
        parts.append(f"{_content(mix.scm_lb_per_yd3, units)} {mix.scm_kind or 'other cementitious'}")
    return ", ".join(p for p in parts if p) or "mix unknown"


NOT_YET = "not yet"


def placed_lines(
    placed: AsPlaced, units: str = "us", *, planned: bool = False, to_come: Mapping[str, str] | None = None
) -> tuple[PlacedLine, ...]:
    """What went into an area, one line a stage: label, words, figure. Missing facts are said.

    Where the job is only `planned` they are not missing but still to come; `to_come` says of a young slab when, by
    the label of the line.
    """
    lines = (
        *_pigment_lines(placed, units),
        *_bag_lines(placed, units),
        *_concrete_lines(placed, units),
        _texture_line(placed),
        _release_line(placed, units),
        _rinse_line(placed, units),
        _sealer_line(placed),
        *(PlacedLine("" if i else "Shared", text, "") for i, text in enumerate(placed.shared)),
    )
    if planned:
        return tuple(_to_come(lines, placed))
    when = to_come or {}
    return tuple(
        PlacedLine(line.label, when[line.label], "")
        if line.label in when and (line.warn or line.text == "not logged")
        else line
        for line in lines
    )


def _to_come(lines: Iterable[PlacedLine], placed: AsPlaced) -> Iterator[PlacedLine]:
    for line in lines:
        if line.text == RECIPES:
            yield PlacedLine("", "as planned", "")
        elif line.text == NO_DOSE:
            yield from _planned_rates(placed)
        elif line.warn or line.text == "not logged":
            yield PlacedLine(line.label, NOT_YET, "")
        else:
            yield line


def _planned_rates(placed: AsPlaced) -> Iterator[PlacedLine]:
    """The recipe's rates as they were written, where they hang on a cement content that is not known yet."""
    stage = placed.area.recipe.stage("integral_color") if placed.area.recipe else None
    rates = [
        f"{write_number(material.rate)} {material.unit} of {material.product.name}"
        for material in (stage.materials if stage else ())
        if material.rate is not None
    ]
    if rates:
        yield PlacedLine("", f"planned: {listed(rates)}", "")


NO_DOSE, RECIPES = "dose not logged", "the recipe's dose; loads not logged"


def _pigment_lines(placed: AsPlaced, units: str) -> tuple[PlacedLine, ...]:
    if not placed.pigments and placed.bag_mix is not None:
        return ()
    if not placed.pigments:
        return (PlacedLine("Pigment", "not logged", "", warn=True),)
    lines = [
        PlacedLine(
            "Pigment" if i == 0 else "",
            with_lots(pigment.name, pigment.lots, pigment.maker),
            write("dose_lb_per_yd3", pigment.dose_lb_per_yd3, units)
            if pigment.dose_lb_per_yd3 is not None
            else "",
        )
        for i, pigment in enumerate(placed.pigments)
    ]
    if placed.dose_lb_per_yd3 is None:
        lines.append(PlacedLine("", NO_DOSE, "", warn=True))
    elif placed.dose_from == "recipe":
        lines.append(PlacedLine("", RECIPES, ""))
    for off in placed.off_loads:
        side = "heavy" if off.off_percent > 0 else "light"
        ticket = f", ticket {off.ticket}" if off.ticket else ""
        text = f"load {off.load} ran {abs(float(off.off_percent)):.0f} % {side}{ticket}"
        lines.append(PlacedLine("", text, "", warn=True))
    if placed.over_limit:
        lines.append(
            PlacedLine("", "over the pigment limit of its cement (ASTM C979/C979M §1.4)", "", warn=True)
        )
    return tuple(lines)


def _bag_lines(placed: AsPlaced, units: str) -> Iterator[PlacedLine]:
    """An overlay or repair: its pigment to the bag, and the bags."""
    mix = placed.bag_mix
    if mix is None:
        return
    for i, pigment in enumerate(mix.pigments):
        name = with_lots(pigment.name, pigment.lots, pigment.maker)
        figure = (
            "" if pigment.lb_per_bag is None else f"{write_weight_lb_oz(pigment.lb_per_bag, units)} a bag"
        )
        yield PlacedLine("" if i or placed.pigments else "Pigment", name, figure)
    if mix.pigments:
        yield PlacedLine("", "cement per bag unknown: no percent", "")
    elif not placed.pigments:
        yield PlacedLine("Pigment", "none logged in the bags", "", warn=True)
    text = with_lots(mix.product or "mix not logged", mix.lots, mix.maker)
    if mix.water_per_bag_gal is not None:
        text += f", {write('liquid_gal', exact(mix.water_per_bag_gal), units, 2)} of water a bag"
    bags = "" if mix.bags is None else f"{write_number(mix.bags)} bag{'' if mix.bags == 1 else 's'}"
    yield PlacedLine("Bags", text if bags else f"{text}, bags not counted", bags, warn=not bags)


def _concrete_lines(placed: AsPlaced, units: str) -> Iterator[PlacedLine]:
    if placed.bag_mix is not None and not placed.loads:
        return
    loads = count(placed.loads - placed.balance_loads, "load") if placed.loads else "loads not logged"
    balance = " + balance" if placed.balance_loads else ""
    cement = f", {'; '.join(mix(m, units) for m in placed.mixes)}" if placed.mixes else ", mix not logged"
    slump = " / ".join(inches(s, units) for s in dict.fromkeys(placed.slump_in))
    slump = f", {slump} slump" if slump else ""
    yards = _figure("volume_yd3", placed.delivered_yd3, units)
    yield PlacedLine("Concrete", loads + balance + cement + slump, yards, warn=not placed.loads)


def _texture_line(placed: AsPlaced) -> PlacedLine:
    details = [placed.pattern or "pattern not logged"]
    if placed.stamp.get("mats"):
        details.append(f"{placed.stamp['mats']} mats")
    return PlacedLine("Texture", ", ".join(details), "", warn=placed.pattern is None)


def _release_line(placed: AsPlaced, units: str) -> PlacedLine:
    if placed.release is None:
        return PlacedLine("Release", "not logged", "", warn=True)
    text = with_lots(placed.release, placed.release_lots, placed.release_maker)
    text += ", part reclaimed" if placed.release_reclaimed else ""
    rate = _figure("spread", placed.release_lb_per_100_ft2, units)
    figure = rate or _figure("mass_lb", placed.release_lb, units)
    return PlacedLine("Release", text, figure)


def left_words(placed: AsPlaced) -> str:
    """`20 % left`, `19 % left, measured at final color`; empty where it is not known."""
    if placed.release_left_percent is None:
        return ""
    if placed.release_left_measured:
        return f"{placed.release_left_percent:.0f} % left, measured at final color"
    return f"{write_number(placed.release_left_percent)} % left"


def _rinse_line(placed: AsPlaced, units: str) -> PlacedLine:
    text = left_words(placed) or "release left not judged"
    if placed.rinse.get("pressure_psi") is not None:
        text += f", {_figure('pressure_psi', float(placed.rinse['pressure_psi']), units)}"
    if placed.rinse_age_h is None:
        return PlacedLine("Rinse", f"{text}; age not logged", "", warn=True)
    return PlacedLine("Rinse", text, f"at {hours(placed.rinse_age_h)}")


def _sealer_line(placed: AsPlaced) -> PlacedLine:
    first = [c for c in placed.coats if not c.reseal]
    reseals = [c for c in placed.coats if c.reseal]
    if not placed.coats:
        return PlacedLine("Sealer", "not logged", "", warn=False)
    last = (first or reseals)[-1]
    text = f"{sealer_name(last)}, {count(len(first) or len(reseals), 'coat')}"
    if reseals:
        text += f"; resealed {month(reseals[-1].on)}"
    return PlacedLine("Sealer", text, f"{month((first or reseals)[0].on)}")


def sealer_name(coat: PlacedCoat) -> str:
    """Product and chemistry, or "sealer" if neither is known."""
    return ", ".join(p for p in (coat.product, coat.chemistry) if p) or "sealer"


def _figure(key: str, value: float | None, units: str) -> str:
    return "" if value is None else write(key, exact(value), units)


def inches(value: Fraction | float, units: str) -> str:
    """Inches as the trade says them, `4 in`; millimeters in metric."""
    return f"{write_number(value)} in" if units == "us" else write("depth_in", exact(value), units)


def _content(value: float, units: str) -> str:
    """A cement content as the plant says it, `564 lb`; `335 kg/m³` in metric."""
    return f"{write_number(value)} lb" if units == "us" else write("content_lb_per_yd3", exact(value), units)


def with_lots(name: str, lots: tuple[str, ...], maker: str | None, word: str = "lot") -> str:
    """A product as it is asked for: name, maker, lots."""
    parts = [name, maker, f"{word} {' and '.join(lots)}" if lots else None]
    return ", ".join(p for p in parts if p)
