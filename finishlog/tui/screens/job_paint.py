"""How one job is painted: the strip of its readings, what went in, what was done, looks, care."""

from __future__ import annotations

from typing import TYPE_CHECKING

from finishlog.tui.ink import Line, heading, paragraph
from finishlog.tui.painting import NARROW, beside, fact, labeled
from finishlog.tui.widgets import swatch

if TYPE_CHECKING:
    from finishlog.records.plan import Doing
    from finishlog.tui.desks import JobView, Look
    from finishlog.tui.theme import Depth

PARTS = ("Went in", "Was done", "Looked", "Care")
MARK = "► "
MOST = 6
"""Readings in the strip: it is a comparison, not an axis."""


def strip(view: JobView, width: int, rows: int, depth: Depth, dark: bool, *, figures: bool) -> list[Line]:
    """The job's face: bare dry readings of the base color side by side; sealed ones under them."""
    bare = chosen(view.looks, sealed=False)
    sealed = chosen(view.looks, sealed=True)
    if not bare and not sealed:
        return [Line().muted("No color read yet.")]
    lines = _readings(bare, width, rows, depth, dark, figures) if bare else []
    if sealed:
        lines += _readings(sealed, width, 1, depth, dark, figures=False, word="sealed ")
    return [*lines, Line().muted(_legend(bare or sealed))]


def chosen(looks: tuple[Look, ...], *, sealed: bool) -> list[Look]:
    """Dry readings of the base color, oldest first; of many the first, the last, some between."""
    fit = [
        look for look in looks
        if look.reading.spot == "base" and not look.reading.damp and look.reading.sealed == sealed
    ]  # fmt: skip
    if len(fit) <= MOST:
        return fit
    return [fit[round(i * (len(fit) - 1) / (MOST - 1))] for i in range(MOST)]


def _readings(
    looks: list[Look], width: int, rows: int, depth: Depth, dark: bool, figures: bool, word: str = ""
) -> list[Line]:
    cells = width // MOST
    lines = swatch.strip([look.hex for look in looks], cells, rows, depth, dark)
    rail, days, light = Line(), Line(), Line()
    for index, look in enumerate(looks):
        last = index == len(looks) - 1
        rail.put("● ").put("" if last else "─" * (cells - 3) + " ", "muted")
        days.put(word + age(look)).to(cells * (index + 1))
        light.muted(f"L* {look.reading.L:.0f}").to(cells * (index + 1))
    return [*lines, rail, days, *([light] if figures else [])]


def age(look: Look) -> str:
    """Age in days where the end of the pour is known, else the month."""
    from finishlog.desk import words

    return f"day {look.age_days}" if look.age_days is not None else words.month(look.on)


def _legend(looks: list[Look]) -> str:
    sources = " and ".join(dict.fromkeys(look.reading.source for look in looks))
    return f"● read {sources}, dry{'' if looks[0].reading.sealed else ', bare'}"


def wide(view: JobView, width: int, mark: int | None = None) -> list[Line]:
    """From 110 columns: what went in and what was done side by side, looks and care closing."""
    column = width // 2 + 1
    left = [*heading("Went in", column - 5), *went_in(view, column - 5)]
    right = [*heading("Was done", width - column), *was_done(view, width - column, mark)]
    both = beside(left, right, column)
    return [*both, Line(), *heading("Looked", width), *looked(view, width), Line(),
            *heading("Care", width), *care(view, width)]  # fmt: skip


def part(view: JobView, index: int, width: int, mark: int | None = None) -> list[Line]:
    if PARTS[index] == "Was done":
        return was_done(view, width, mark)
    return (went_in, was_done, looked, care)[index](view, width)


def went_in(view: JobView, width: int) -> list[Line]:
    """As placed, area by area. A fact that is missing is written where its figure would be."""
    from finishlog.desk import words

    lines: list[Line] = []
    several = len(view.page.placed) > 1
    for placed in view.page.placed:
        size = words.area_title(placed.area)
        lines += [Line()] if lines else []
        lines += paragraph(size, width, bold=several, tone="text" if several else "muted")
        for one in words.placed_lines(placed):
            lines += fact(one.label, one.text, one.figure, width, warn=one.warn)
    return lines or paragraph("Nothing was logged on it.", width)


def standing(view: JobView) -> list[int]:
    """Numbers of the entries that may be corrected, in the order they are shown."""
    return [doing.number for doing in view.page.doings if doing.current]


def was_done(view: JobView, width: int, mark: int | None = None) -> list[Line]:
    """In order of happening; what was corrected stands indented under what replaced it.

    `mark` is the number of the entry under the cursor.
    """
    lines: list[Line] = []
    times = [_when(view, doing) for doing in view.page.doings]
    when = max(map(len, times), default=0)
    for doing, time in zip(view.page.doings, times, strict=True):
        head = Line()
        if mark is not None:
            head.put(MARK if doing.number == mark else "  ", "accent")
        gutter = head.width
        if doing.current:
            head.muted(time).to(gutter + when + 2)
        else:
            head.gap(when + 4).muted("was: ")
        who = Line().muted(doing.who or "")
        room = width - who.width - 2 if who.width else width
        rows = paragraph(doing.what, max(room - head.width, 16), "text" if doing.current else "muted")
        indent = head.width
        lines.append(head.join(rows[0]).facing(who, width))
        lines += [Line().gap(indent).join(row) for row in rows[1:]]
        if doing.further and doing.number == mark:
            lines += paragraph("; ".join(doing.further), width, "muted", indent=indent)
        if doing.note:
            lines += paragraph(doing.note, width, "muted", indent=indent)
    return lines or paragraph("Nothing was logged yet.", width)


def _when(view: JobView, doing: Doing) -> str:
    """Day and time; the year only where it is not the pour's, which stands in the title."""
    poured = view.page.line.poured_on
    return doing.when.replace(f" {poured.year}", "", 1) if poured else doing.when


def looked(view: JobView, width: int) -> list[Line]:
    """The readings, oldest first."""
    if not view.looks:
        return paragraph("No color read yet.", width)
    if width < NARROW:
        return [_look_short(look).crop(width) for look in view.looks]
    head = Line().to(_COLUMNS[2]).muted("L*").to(_COLUMNS[3]).muted("a*").to(_COLUMNS[4]).muted("b*")
    return [head, *(_look(look).crop(width) for look in view.looks)]


def _look_short(look: Look) -> Line:
    """For a narrow screen: of the figures only L*."""
    line = Line().muted(age(look)).to(8).put(look.reading.spot.partition(" ")[0]).to(16).put(look.name)
    return line.to(46).muted(f"L* {look.reading.L:.0f}").to(52).muted(_state(look))


def _state(look: Look) -> str:
    return f"{'damp ' if look.reading.damp else ''}{'sealed' if look.reading.sealed else 'bare'}"


_COLUMNS = (9, 23, 54, 57, 63, 69)


def _look(look: Look) -> Line:
    reading = look.reading
    line = Line().muted(age(look)).to(_COLUMNS[0]).put(reading.spot).to(_COLUMNS[1]).put(look.name)
    figures = (f"{reading.L:.0f}", f"{reading.a:.1f}", f"{reading.b:.1f}")
    for column, figure in zip(_COLUMNS[2:], figures, strict=False):
        line.to(column).muted(figure.replace("-", "−"))
    line.to(_COLUMNS[5]).muted(_state(look))
    return line.muted(f"   ± {reading.sd_L:g}") if reading.sd_L is not None else line


def care(view: JobView, width: int) -> list[Line]:
    """Coats, what is buried, the place and the person, the note."""
    from finishlog.desk import words

    job = view.page.job
    lines: list[Line] = []
    for placed in view.page.placed:
        for coat in placed.coats:
            verb = "resealed" if coat.reseal else f"coat {coat.number}" if coat.number else "sealed"
            lines += fact(
                "" if lines else "Sealer", f"{words.sealer_name(coat)}, {verb}", words.month(coat.on), width
            )
    lines = lines or labeled("Sealer", "no coat logged", width, "muted")
    for index, item in enumerate(job.buried):
        lines += labeled("" if index else "Buried", words.buried(item), width, mark="!")
    lines += labeled("Site", view.page.line.site, width)
    person = ", ".join(p for p in (job.customer.name, job.customer.phone, job.customer.email) if p)
    lines += labeled("Customer", person, width)
    lines += labeled("Handle", job.handle, width, "muted")
    if job.reference:
        lines += labeled("To match", job.reference, width)
    return [*lines, *(labeled("Note", job.note, width) if job.note else [])]
