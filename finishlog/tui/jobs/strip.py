"""A job's color strip: readings by age, then the forecast.

Readings touch. Forecasts are set apart, shorter, on a dotted rail, so they differ without color.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from finishlog.tui.jobs.done import age
from finishlog.tui.paint import swatch
from finishlog.tui.paint.ink import Line, paragraph

if TYPE_CHECKING:
    from collections.abc import Sequence

    from finishlog.tui.desks.color import Ahead, DayLook
    from finishlog.tui.desks.views import JobView, Look
    from finishlog.tui.paint.theme import Depth

MOST = 6
"""Most looks in the strip: a comparison, not an axis."""
FINAL = "final color"
UNREAD = "No color read yet; this is the recipe's usual."


def strip(
    view: JobView, ahead: Ahead | None, width: int, rows: int, depth: Depth, dark: bool, *, figures: bool
) -> list[Line]:
    """Bare, dry readings of the base color, then the forecast; sealed readings below."""
    coming = ahead.looks if ahead is not None else ()
    field = view.page.placed[0].area.uid if view.page.placed else None
    bare = chosen(view.looks, sealed=False, area=field, most=max(MOST - len(coming), 2))
    sealed, cells = _sealed(view.looks, field, width)
    if not bare and not sealed and not coming:
        note = ahead.note if ahead is not None else ""
        return paragraph(note or "No color read yet.", width, "muted")
    coming = coming[-(MOST - len(bare)) :]
    lines = _row(bare, coming, width // MOST, rows, depth, dark, figures) if bare or coming else []
    if sealed:
        lines += _row(sealed, (), cells, 1, depth, dark, figures=False)
    return [*lines, *_legend(bare or sealed, coming, width)]


def chosen(looks: Sequence[Look], *, sealed: bool, area: str | None = None, most: int = MOST) -> list[Look]:
    """Dry readings of the area's base color, oldest first; of many, first, last and some between."""
    fit = [
        look for look in looks
        if look.reading.spot == "base" and not look.reading.damp and look.reading.sealed == sealed
        and look.area in (None, area) and not look.apart
    ]  # fmt: skip
    if len(fit) <= most:
        return fit
    return [fit[round(i * (len(fit) - 1) / (most - 1))] for i in range(most)]


def _sealed(looks: Sequence[Look], area: str | None, width: int) -> tuple[list[Look], int]:
    """The sealed looks whose labels fit, with the cells of each."""
    every = chosen(looks, sealed=True, area=area)
    cells = max([width // MOST, *(len(_when(look)) + 1 for look in every)])
    return chosen(looks, sealed=True, area=area, most=max(width // cells, 2)), cells


def _when(look: Look) -> str:
    """`day 14`; `sealed 45` of a sealed one."""
    return f"sealed {age(look).removeprefix('day ')}" if look.reading.sealed else age(look)


def _row(
    looks: Sequence[Look], coming: Sequence[DayLook], cells: int, rows: int, depth: Depth, dark: bool,
    figures: bool,
) -> list[Line]:  # fmt: skip
    """Looks, rail and days; without colors, each one's lightness."""
    levels = [look.reading.L for look in looks] + [one.L for one in coming]
    light = Line()
    for index, level in enumerate(levels):
        light.to(cells * index + int(index >= len(looks))).muted(f"L* {level:.0f}")
    if depth == "glyphs":
        return [light, *_days(looks, coming, cells)]
    painted = _painted(looks, coming, cells, rows, depth, dark)
    return [*painted, *_days(looks, coming, cells), *([light] if figures else [])]


def _painted(
    looks: Sequence[Look], coming: Sequence[DayLook], cells: int, rows: int, depth: Depth, dark: bool
) -> list[Line]:
    lines = swatch.strip([look.hex for look in looks], cells, rows, depth, dark) if looks else [
        Line() for _ in range(rows)
    ]  # fmt: skip
    for y, line in enumerate(lines):
        for one in coming:
            line.gap().join(_short(one.hex, cells - 1, y == rows - 1, depth, dark))
    return lines


def _days(looks: Sequence[Look], coming: Sequence[DayLook], cells: int) -> list[Line]:
    """The rail, with the days under it."""
    rail, days = Line(), Line()
    ages = [_when(look) for look in looks] + [f"day {one.age}" for one in coming]
    if coming:
        ages[-1] = FINAL
    for index, text in enumerate(ages):
        shift = int(index >= len(looks))
        rail.to(cells * index + shift).join(_rail(index, len(looks), len(ages), cells - shift))
        days.to(cells * index + shift).put(text.replace(FINAL, "final") if cells < len(FINAL) + 1 else text)
    return [rail, days]


def _short(color: str, cells: int, last: bool, depth: Depth, dark: bool) -> Line:
    """One row of a forecast, half a row shorter than a reading."""
    if not last:
        return swatch.solid(color, cells, depth, dark)
    return swatch.half(color, cells, depth, dark, lower=False)


def _rail(index: int, read: int, all_of: int, cells: int) -> Line:
    """A point and the rail to the next: solid between readings, else dotted."""
    line = Line().put("● " if index < read else "○ ")
    if index == all_of - 1:
        return line
    solid = index + 1 < read
    return line.muted("─" * (cells - 3) if solid else ("· " * cells)[: cells - 3])


def _legend(looks: Sequence[Look], coming: Sequence[DayLook], width: int) -> list[Line]:
    line = Line()
    if looks:
        sources = " and ".join(dict.fromkeys(look.reading.source for look in looks))
        line.muted(f"● read {sources}, dry{'' if looks[0].reading.sealed else ', bare'}")
    elif coming:
        line.muted(UNREAD)
    if coming and looks:
        line.muted("   ○ forecast")
    return [line.crop(width)]
