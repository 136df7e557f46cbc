"""What Jobs says if it has nothing to list."""

from __future__ import annotations

from typing import TYPE_CHECKING

from finishlog.tui.paint.ink import Line, paragraph

if TYPE_CHECKING:
    from finishlog.records.log import Page


def paint(page: Page, words: str, width: int) -> list[Line]:
    """A bold sentence, then what to do."""
    if not page.all_jobs:
        return [
            Line()
            .bold("No jobs yet. ")
            .put("n", "accent", bold=True, act="new")
            .put(" adds the first, ", act="new")
            .put("i", "accent", bold=True, act="app.bring_in")
            .put(" brings in a paper log.", act="app.bring_in")
            .crop(width),
            *paragraph("So does finishlog import FILE.csv.", width, "muted"),
            *paragraph("“finishlog demo” shows an invented shop; your log is not touched.", width),
        ]
    lines = paragraph(f"No match for “{words}”.", width, bold=True)
    if not page.nearest:
        return [*lines, *paragraph("Try fewer letters, or another scrap: a street, a shade, a year.", width)]
    lines += paragraph(f"Nearest: {' · '.join(page.nearest)}.", width)
    return [*lines, Line().bold("Enter", "accent").put(f" searches for {page.nearest[0]}").crop(width)]
