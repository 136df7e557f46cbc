"""The pane beside the list: the marked job, its slab the strongest thing on the screen."""

from __future__ import annotations

from typing import TYPE_CHECKING

from finishlog.tui.jobs.paint import NOT_YET
from finishlog.tui.paint import swatch, wording
from finishlog.tui.paint.ink import Line, clip, hanging, paragraph

if TYPE_CHECKING:
    from finishlog.records.log import JobLine
    from finishlog.tui.desks.views import JobView
    from finishlog.tui.paint.theme import Depth

LABEL = 10


def paint(
    line: JobLine,
    view: JobView | None,
    width: int,
    depth: Depth,
    dark: bool,
    system: str = "us",
    *,
    plans: bool = True,
) -> list[Line]:
    """Shows the line's facts at once, the rest once the view is read."""
    lines = clip(paragraph(wording.name(line), width, bold=True), 2, width)
    lines += [Line().muted(wording.poured(view) if view else wording.when(line)), Line()]
    if line.base_hex is not None:
        share = line.release_left_percent
        lines += swatch.mottle(line.base_hex, line.release_hex, share, width, 6, depth, dark)
        lines.append(Line())
    lines.append(Line().bold(wording.color(line, depth)))
    if line.release_color_name:
        lines.append(Line().muted("in the low spots: ").put(line.release_color_name))
    if view is None:
        return lines
    if (look := next((one for one in view.looks if one.stands), None)) is not None:
        lines.append(wording.measured(look))
    told = [*lines, Line(), *_facts(view, width, system), *_buried(view, width)]
    return [*told, Line(), _plans(view)] if plans else told


def _facts(view: JobView, width: int, system: str) -> list[Line]:
    from finishlog.desk import words
    from finishlog.desk.placed import still_to_come

    lines: list[Line] = []
    for placed in view.page.placed[:1]:
        when = still_to_come.for_area(view.page.to_come, placed.area.uid)
        for fact in words.placed_lines(placed, system, to_come=when):
            if view.page.line.poured_on is None and (fact.warn or fact.text == "not logged"):
                lines += [Line().muted(fact.label).to(LABEL).muted(NOT_YET)] if fact.label else []
                continue
            text = ", ".join(part for part in (fact.text, fact.figure) if part)
            head = Line().muted(fact.label).to(LABEL)
            lines += clip(hanging(head.put("! ", "warn") if fact.warn else head, text, width), 2, width)
    return lines


def _buried(view: JobView, width: int) -> list[Line]:
    from finishlog.desk import words

    lines: list[Line] = []
    for item in view.page.job.buried:
        lines += hanging(Line().bold("" if lines else "Buried", "warn").to(LABEL), words.buried(item), width)
    return [Line(), *lines] if lines else []


def _plans(view: JobView) -> Line:
    return Line().put("m", "accent", bold=True, act="match").put(" plans a matching addition", act="match")
