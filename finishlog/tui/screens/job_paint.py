"""How one job is painted: what went in, what was done, looks, care."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.cells import cell_len

from finishlog.records.exactness import poured_once
from finishlog.tui.ink import Line, heading, paragraph
from finishlog.tui.painting import beside, fact, labeled
from finishlog.tui.text import plain

if TYPE_CHECKING:
    from finishlog.records.plan import Doing
    from finishlog.tui.desks import JobView, Look

_PARTS = ("Went in", "Was done", "Looked", "Care")
PLAN = "Plan"
MARK = "► "
NOT_YET = "not yet"
NOT_POURED = "Not poured yet. l logs what happens; the plan's figures stand beside the fields."
"""Where a planned job has no fact: nothing is missing, it has not happened."""


def parts(view: JobView | None) -> tuple[str, ...]:
    """The parts of a job's page: its plan first while it is planned, last when it was poured."""
    if view is None or view.page.planned is None:
        return _PARTS
    return (PLAN, *_PARTS) if view.page.line.poured_on is None else (*_PARTS, PLAN)


def age(look: Look) -> str:
    """Age in days where the end of the pour is known, else the month."""
    from finishlog.desk import words

    return f"day {look.age_days}" if look.age_days is not None else words.month(look.on)


def plan(view: JobView, width: int, system: str, since: tuple[str, ...], *, wide: bool = False) -> list[Line]:
    """The plan as it was given, when that was, and whether the log has learned since."""
    from finishlog.desk import kept_plan
    from finishlog.tui.screens import match_paint

    kept = view.page.planned
    if kept is None:
        return []
    poured = view.page.line.poured_on is not None
    changed = "" if poured else kept_plan.since_words(since)
    lines = [
        *paragraph(kept_plan.given_words(kept), width, "muted"),
        *(paragraph(changed, width, "warn") if changed else []),
    ]
    body = match_paint.wide if wide else match_paint.whole
    return [*lines, Line(), *body(kept.plan, width, system)]


def wide(
    view: JobView, width: int, mark: int | None = None, system: str = "us", since: tuple[str, ...] = ()
) -> list[Line]:
    """From 110 columns: what went in and what was done side by side, looks and care closing; a plan as its job is."""
    page = _laid(view, width, mark, system)
    if view.page.planned is None:
        return page
    planned = plan(view, width, system, since, wide=True)
    if view.page.line.poured_on is None:
        return [*planned, Line(), *page] if view.page.doings else [*planned, Line(), *_last(view, width)]
    return [*page, Line(), *heading("As it was planned", width), *planned]


def _last(view: JobView, width: int) -> list[Line]:
    return [*heading("Care", width), *care(view, width)]


def _laid(view: JobView, width: int, mark: int | None, system: str) -> list[Line]:
    column = width // 2 + 1
    left = [*heading("Went in", column - 5), *went_in(view, column - 5, system)]
    right = [*heading("Was done", width - column), *was_done(view, width - column, mark)]
    both = beside(left, right, column)
    return [*both, Line(), *heading("Looked", width), *looked(view, width), Line(), *_last(view, width)]


def part(
    view: JobView,
    index: int,
    width: int,
    mark: int | None = None,
    system: str = "us",
    since: tuple[str, ...] = (),
) -> list[Line]:
    name = parts(view)[index]
    if name == PLAN:
        return plan(view, width, system, since)
    if name == "Was done":
        return was_done(view, width, mark)
    if name == "Went in":
        return went_in(view, width, system)
    return (looked if name == "Looked" else care)(view, width)


def went_in(view: JobView, width: int, system: str = "us") -> list[Line]:
    """As placed, area by area. A fact that is missing is written where its figure would be."""
    from finishlog.desk import words

    lines: list[Line] = []
    several = len(view.page.placed) > 1
    planned = view.page.line.poured_on is None and not poured_once(view.page.job)
    for placed in view.page.placed:
        size = words.area_title(placed.area, system)
        lines += [Line()] if lines else []
        lines += paragraph(size, width, bold=several, tone="text" if several else "muted")
        for one in words.placed_lines(placed, system):
            if planned and (one.warn or one.text == "not logged"):
                lines += labeled(one.label, NOT_YET, width, "muted") if one.label else []
            else:
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
        if doing.current or doing.gone:
            head.muted(time).to(gutter + when + 2)
        else:
            head.gap(when + 4).muted("was: ")
        who = Line().muted(doing.who or "")
        room = width - who.width - 2 if who.width else width
        told = f"{doing.was}: {doing.what}" if doing.gone else doing.what
        rows = paragraph(told, max(room - head.width, 16), "text" if doing.current else "muted")
        indent = head.width
        lines.append(head.join(rows[0]).facing(who, width))
        lines += [Line().gap(indent).join(row) for row in rows[1:]]
        if doing.further and doing.number == mark:
            lines += paragraph("; ".join(doing.further), width, "muted", indent=indent)
        if doing.note:
            lines += paragraph(doing.note, width, "muted", indent=indent)
    return lines or paragraph(NOT_POURED if view.page.planned else "Nothing was logged yet.", width)


def _when(view: JobView, doing: Doing) -> str:
    """Day and time; the year only where it is not the pour's, which stands in the title."""
    poured = view.page.line.poured_on
    return doing.when.replace(f" {poured.year}", "", 1) if poured else doing.when


def looked(view: JobView, width: int) -> list[Line]:
    """The readings, oldest first, in columns as wide as they need; a* and b* where there is room for them."""
    if not view.looks:
        return paragraph("No color read yet.", width)
    rows = [("", "", "", "L*", "a*", "b*", "", "± L*"), *(_cells(look) for look in view.looks)]
    for left_out in ((), (4, 5), (4, 5, 7), (1, 4, 5, 7)):
        lines = _columns(rows, left_out)
        if max(line.width for line in lines) <= width:
            break
    return [line.crop(width) for line in lines]


def _cells(look: Look) -> tuple[str, ...]:
    reading = look.reading
    figures = (f"{reading.L:.0f}", f"{reading.a:.1f}", f"{reading.b:.1f}")
    state = f"{'damp ' if reading.damp else ''}{'sealed' if reading.sealed else 'bare'}"
    sd = f"± {reading.sd_L:g}" if reading.sd_L is not None else ""
    spot = f"test slab {reading.sample}" if look.apart else reading.spot
    return (age(look), spot, look.name, *(f.replace("-", "−") for f in figures), state, sd)


def _columns(rows: list[tuple[str, ...]], left_out: tuple[int, ...]) -> list[Line]:
    """Figures end in one column; spot and name are what counts, the rest is muted."""
    filled = [any(row[at] for row in rows[1:]) for at in range(len(rows[0]))]
    shown = [at for at, some in enumerate(filled) if some and at not in left_out]
    widths = {at: max(cell_len(plain(row[at])) for row in rows) for at in shown}
    lines = []
    for row in rows:
        line = Line()
        for at in shown:
            gap = 2 if line.width else 0
            text = Line().put(row[at], "text" if at in (1, 2) else "muted")
            line.gap(gap).join(Line().facing(text, widths[at], 0) if at in (3, 4, 5) else text.to(widths[at]))
        lines.append(line)
    return lines


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
    none = NOT_YET if view.page.line.poured_on is None else "no coat logged"
    lines = lines or labeled("Sealer", none, width, "muted")
    for index, item in enumerate(job.buried):
        lines += labeled("" if index else "Buried", words.buried(item), width, mark="!")
    lines += labeled("Site", view.page.line.site, width)
    person = ", ".join(p for p in (job.customer.name, job.customer.phone, job.customer.email) if p)
    lines += labeled("Customer", person, width)
    lines += labeled("Handle", job.handle, width, "muted")
    if job.reference:
        lines += labeled("To match", job.reference, width)
    return [*lines, *(labeled("Note", job.note, width) if job.note else [])]
