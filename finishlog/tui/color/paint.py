"""Paints a color curve: axes, plot, looks under it, and its basis."""

from __future__ import annotations

from typing import TYPE_CHECKING

from finishlog.tui.color import plot
from finishlog.tui.paint import swatch
from finishlog.tui.paint.glyphs import Piece
from finishlog.tui.paint.ink import Line, hanging, heading, paragraph

if TYPE_CHECKING:
    from finishlog.records.color import ColorPoint, ColorReading, ColorTrack, JobColor
    from finishlog.tui.desks.color import DayLook, TrackView
    from finishlog.tui.paint.theme import Depth

GUTTER = 11
"""Cells left of the plot, for the axis and its labels."""
WHOLE = 74
"""Least columns of the legend in full."""
STEPS = (1, 2, 5, 10, 20)
NORMAL_90 = 1.645
"""Half of a 90 % range, in standard deviations."""


def old(age: float | None) -> str:
    """The age of the slab, at the right of the title."""
    from finishlog.desk import words

    if age is None:
        return "not poured"
    return words.old(age * 24) if age >= 0 else "not poured yet"


def curve(
    found: JobColor, view: TrackView, width: int, rows: int, depth: Depth, dark: bool, day: int | None
) -> list[Line]:
    """The plot with its axes, the looks of the days under it, and the legend."""
    drawn, cells = _plot(found, view, day), width - GUTTER - 1
    labels = _levels(drawn, rows)
    lines = [
        Line().facing(labels.get(y, Line()), GUTTER - 2, 0).gap().put("│", "rule").join(row)
        for y, row in enumerate(plot.draw(drawn, cells, rows, depth))
    ]
    foot = Line().gap(GUTTER - 1).put("└" + "─" * cells, "rule")
    looks = [] if depth == "glyphs" else [_looks(view, drawn, cells, depth, dark)]
    return [
        *lines,
        foot,
        _days(found, view, drawn, cells),
        *looks,
        _legend(view, day, depth, width).crop(width),
    ]


def _plot(found: JobColor, view: TrackView, day: int | None) -> plot.Plot:
    track, age = view.track, found.age_days
    points = tuple(
        plot.Point(at, L - NORMAL_90 * sd, L, L + NORMAL_90 * sd) for at, (L, _, _), (sd, _, _) in track.band
    )
    marks = tuple(
        plot.Mark(r.age_days, r.lab[0], NORMAL_90 * r.lab_sd[0])
        for r in track.readings
        if r.in_curve and r.age_days is not None
    )
    ends = [end for p in points for end in (p.low, p.high)]
    ends += [end for m in marks for end in (m.value - m.off, m.value + m.off)]
    uprights = [plot.Upright(track.final.age_days, "rule")] if track.final else []
    uprights += [plot.Upright(age, "accent")] if age is not None else []
    uprights += [plot.Upright(day, "accent", "║")] if day is not None else []
    room = max((max(ends) - min(ends)) * 0.06, 0.5)
    known = age if age is not None else -1.0
    return plot.Plot(points, marks, tuple(uprights), known, min(ends) - room, max(ends) + room)


def _levels(drawn: plot.Plot, rows: int) -> dict[int, Line]:
    """Axis labels by row: words at the ends, round figures between."""
    step = next((s for s in STEPS if (drawn.top - drawn.bottom) / s <= rows / 3), STEPS[-1])
    found = {}
    for level in range(int(drawn.bottom // step + 1) * step, int(drawn.top) + 1, step):
        found[plot.row(drawn, level, rows)] = Line().muted(f"{level}")
    return {**found, 0: Line().bold("lighter"), rows - 1: Line().bold("darker")}


def _days(found: JobColor, view: TrackView, drawn: plot.Plot, cells: int) -> Line:
    """Days under the axis: today and the final color first, others if they fit."""
    wanted: list[tuple[float, str, str]] = []
    if found.age_days is not None and 0 <= found.age_days <= drawn.last:
        wanted.append((found.age_days, "today", "accent"))
    if view.track.final is not None:
        final = view.track.final.age_days
        wanted += [
            (final, text, "muted") for text in (f"day {final:.0f}, final color", "final", f"{final:.0f}")
        ]
    wanted += [(age, f"{age}", "muted") for age in (28, 14, 7, 1, 3, 21)]
    line = Line().facing(Line().muted("day"), GUTTER - 2, 0)
    for at, text, tone in sorted(_apart(wanted, drawn, cells)):
        line.to(GUTTER + at).put(text, tone)
    return line


def _apart(wanted: list[tuple[float, str, str]], drawn: plot.Plot, cells: int) -> list[tuple[int, str, str]]:
    """The labels that fit, in order of rank, one per age; today is centered on its line."""
    placed: dict[float, tuple[int, str, str]] = {}
    for age, text, tone in wanted:
        at = plot.column(drawn, age, cells) - (len(text) // 2 if tone == "accent" else 0)
        at = max(min(at, cells - len(text)), 0)
        free = all(at + len(text) + 1 < x or x + len(other) + 1 < at for x, other, _ in placed.values())
        if free and age not in placed:
            placed[age] = at, text, tone
    return list(placed.values())


def _looks(view: TrackView, drawn: plot.Plot, cells: int, depth: Depth, dark: bool) -> Line:
    """The time scale in color: each point of the curve has its look right below."""
    line = Line().facing(Line().muted("looks"), GUTTER - 2, 0).to(GUTTER)
    for x in range(cells):
        line.join(swatch.solid(_day(view, drawn.last * x / (cells - 1)).hex, 1, depth, dark))
    return line


def _day(view: TrackView, age: float) -> DayLook:
    return min(view.days, key=lambda look: abs(look.age - age))


def _legend(view: TrackView, day: int | None, depth: Depth, room: int) -> Line:
    """The legend; while a day is picked, that day's look."""
    line = Line().gap(GUTTER)
    if day is not None:
        look = _day(view, day)
        return line.bold(f"day {look.age}: {look.name}").muted(
            f", L* {look.L:.0f} ± {max(look.off, 1):.0f} (9 in 10)"
        )
    band = Piece(plot.SHADE * 2, "band") if depth == "glyphs" else Piece("  ", back="band")
    line.put("●").muted(" read   ").join(Line(band)).muted(" 9 in 10 end inside")
    final = view.track.final
    if final is not None:
        off = max(final.high - final.lab[0], 1)
        line.muted(f"   L* at {final.age_days:.0f} days " if room >= WHOLE else "  L* ")
        line.bold(f"{final.lab[0]:.0f} ± {off:.0f}").muted(" (9 in 10)" if room >= WHOLE else "")
    return line


def facts(found: JobColor, view: TrackView, width: int) -> list[Line]:
    """Readings, those set aside, when to judge, the basis, and what speaks against it."""
    lines = heading("Readings, ± 9 in 10", width)
    lines += [
        (_reading(r, view.track.spot) if _counts(r) else _aside(r, view.track.spot)).crop(width)
        for r in sorted(view.track.readings, key=_by_age)
        if r.spot in ("base", "field")
    ]
    if not view.track.readings:
        lines += paragraph("None yet.", width, "muted")
    if view.track.sealed is not None:
        point = view.track.sealed.point
        text = f"L* {point.lab[0]:.0f} ± {max(point.high - point.lab[0], 1):.0f} (9 in 10) at final color"
        lines += [Line(), *heading("Sealed look", width), *paragraph(text, width)]
    lines += _then_and_now(found, view.track, width) or _judge(view, width)
    if view.learned:
        lines += [Line(), *heading("Learned from", width), *paragraph(_unled(view.learned), width)]
    if view.track.flags:
        lines += [Line(), *heading("Know this", width)]
        lines += [
            line for flag in view.track.flags for line in hanging(Line().put("! ", "warn"), flag, width)
        ]
    return lines


def _then_and_now(found: JobColor, track: ColorTrack, width: int) -> list[Line]:
    """Of a slab past its final-color day: that color, and beside it what weather has made of it since."""
    final, now = track.final, track.today
    if final is None or now is None or (found.age_days or 0.0) < final.age_days:
        return []
    from finishlog.desk.color.words import about

    def told(name: str, point: ColorPoint) -> list[Line]:
        return [
            Line(),
            *heading(name, width),
            *paragraph(about(point).replace(" ± ", "\u00a0±\u00a0"), width),
        ]

    return [*told(f"Final color, day {final.age_days:.0f}", final), *told("Now, with the weather since", now)]


def _judge(view: TrackView, width: int) -> list[Line]:
    from finishlog.units import write_date

    if view.track.compare_from is None or view.track.final_color_on is None:
        return []
    text = f"{write_date(view.track.compare_from)}; final color about {write_date(view.track.final_color_on)}"
    return [Line(), *heading("Compare from", width), *paragraph(text, width)]


def _unled(learned: str) -> str:
    text = learned.removeprefix("Learned from ").rstrip(".")
    return text[:1].upper() + text[1:]


def _by_age(reading: ColorReading) -> tuple[bool, float]:
    return reading.age_days is None, reading.age_days or 0.0


def _counts(reading: ColorReading) -> bool:
    """Whether the reading counts for the dry, bare curve."""
    aside = reading.damp or reading.sealed or reading.looks_sealed
    return reading.in_curve or (not aside and (reading.age_days or 0.0) > 0)


def _reading(reading: ColorReading, spot: str) -> Line:
    line = Line().put(_age(reading)).to(8).muted("L* ").bold(f"{reading.lab[0]:.0f}")
    line.muted(f" ± {max(NORMAL_90 * reading.lab_sd[0], 1):.0f}")
    line.muted(f"  sample {reading.sample}" if reading.sample is not None else "")
    line.muted(f"  {reading.spot}" if reading.spot != spot else "")
    return line.put("  apart", "warn") if reading.apart else line


def _aside(reading: ColorReading, spot: str) -> Line:
    """A reading left out of the dry, bare curve, and why."""
    told = ((reading.damp, "damp"), (reading.sealed, "sealed"), (reading.looks_sealed, "looks sealed"))
    why = next((said for is_so, said in told if is_so), "no age")
    where = f"  {reading.spot}" if reading.spot != spot else ""
    return Line().muted(_age(reading)).to(8).bold("set aside: ").muted(f"{why}{where}")


def _age(reading: ColorReading) -> str:
    return f"day {reading.age_days:.0f}" if reading.age_days is not None else "no age"
