"""Paints a job's page: what went in, what was done, looks, care."""

from __future__ import annotations

from typing import TYPE_CHECKING

from finishlog.records.when import poured_once
from finishlog.tui.jobs.done import PLAIN, Shades, looked, was_done
from finishlog.tui.paint.ink import Line, heading, paragraph
from finishlog.tui.paint.layout import beside, fact, labeled

if TYPE_CHECKING:
    from finishlog.tui.desks.views import JobView

_PARTS = ("Went in", "Was done", "Looked", "Care")
PLAN = "Plan"
NOT_YET = "not yet"


def parts(view: JobView | None) -> tuple[str, ...]:
    """The page's parts; the plan comes first if planned, last once poured."""
    if view is None or view.page.planned is None:
        return _PARTS
    return (PLAN, *_PARTS) if view.page.line.poured_on is None else (*_PARTS, PLAN)


def plan(view: JobView, width: int, system: str, since: tuple[str, ...], *, wide: bool = False) -> list[Line]:
    """The saved plan, its date, and how it would differ now."""
    from finishlog.desk.match import kept as kept_plan
    from finishlog.tui.match import paint

    kept = view.page.planned
    if kept is None:
        return []
    poured = view.page.line.poured_on is not None
    changed = "" if poured else kept_plan.since_words(since)
    lines = [
        *paragraph(kept_plan.given_words(kept), width, "muted"),
        *(paragraph(changed, width, "warn") if changed else []),
    ]
    body = paint.wide if wide else paint.whole
    return [*lines, Line(), *body(kept.plan, width, system)]


def wide(
    view: JobView, width: int, mark: int | None = None, system: str = "us", since: tuple[str, ...] = (),
    shades: Shades = PLAIN,
) -> list[Line]:  # fmt: skip
    """From 110 columns: what went in beside what was done, then looks and care."""
    page = _laid(view, width, mark, system, shades)
    if view.page.planned is None:
        return page
    planned = plan(view, width, system, since, wide=True)
    if view.page.line.poured_on is None:
        return [*planned, Line(), *page] if view.page.doings else [*planned, Line(), *_last(view, width)]
    return [*page, Line(), *heading("As planned", width), *planned]


def _last(view: JobView, width: int) -> list[Line]:
    return [*heading("Care", width), *care(view, width)]


def _laid(view: JobView, width: int, mark: int | None, system: str, shades: Shades) -> list[Line]:
    column = width // 2 + 1
    left = [*heading("Went in", column - 5), *went_in(view, column - 5, system)]
    right = [*heading("Was done", width - column), *was_done(view, width - column, mark, shades)]
    both = beside(left, right, column)
    return [
        *both,
        Line(),
        *heading("Looked", width),
        *looked(view, width, shades),
        Line(),
        *_last(view, width),
    ]


def part(
    view: JobView,
    index: int,
    width: int,
    mark: int | None = None,
    system: str = "us",
    since: tuple[str, ...] = (),
    shades: Shades = PLAIN,
) -> list[Line]:
    """The page's part at `index`; `mark` is an entry number, `since` what a plan would change."""
    name = parts(view)[index]
    if name == PLAN:
        return plan(view, width, system, since)
    if name == "Was done":
        return was_done(view, width, mark, shades)
    if name == "Went in":
        return went_in(view, width, system)
    return looked(view, width, shades) if name == "Looked" else care(view, width)


def went_in(view: JobView, width: int, system: str = "us") -> list[Line]:
    """As placed, by area. A missing fact is named in place of its figure."""
    from finishlog.desk import words
    from finishlog.desk.placed import still_to_come

    lines: list[Line] = []
    several = len(view.page.placed) > 1
    planned = view.page.line.poured_on is None and not poured_once(view.page.job)
    for placed in view.page.placed:
        size = words.area_title(placed.area, system)
        lines += [Line()] if lines else []
        lines += paragraph(size, width, bold=several, tone="text" if several else "muted")
        when = still_to_come.for_area(view.page.to_come, placed.area.uid)
        for one in words.placed_lines(placed, system, to_come=when):
            if planned and (one.warn or one.text == "not logged"):
                lines += labeled(one.label, NOT_YET, width, "muted") if one.label else []
            else:
                lines += fact(one.label, one.text, one.figure, width, warn=one.warn)
    return lines or paragraph("Nothing logged on it.", width)


def care(view: JobView, width: int) -> list[Line]:
    """Coats, what is buried, site, contact, note."""
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
