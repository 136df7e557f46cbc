"""What the list of jobs says when there is nothing to list."""

from __future__ import annotations

from typing import TYPE_CHECKING

from finishlog.tui.ink import Line, paragraph

if TYPE_CHECKING:
    from finishlog.records.log import Page


def paint(page: Page, words: str, width: int) -> list[Line]:
    """One bold sentence that says so, and what to do about it."""
    if not page.all_jobs:
        return [
            *paragraph("No jobs yet.", width, bold=True),
            Line()
            .bold("n", "accent")
            .put("  writes down a job from memory: who, where, how large")
            .crop(width),
            Line()
            .bold("i", "accent")
            .put("  takes a paper log in; so does finishlog import FILE.csv")
            .crop(width),
            *paragraph("“finishlog demo” shows an invented shop; your log is not touched.", width),
        ]
    lines = paragraph(f"Nothing fits “{words}”.", width, bold=True)
    if not page.nearest:
        return [*lines, *paragraph("Try fewer letters, or another scrap: a street, a shade, a year.", width)]
    lines += paragraph(f"Nearest: {' · '.join(page.nearest)}.", width)
    return [*lines, Line().bold("Enter", "accent").put(f" looks for {page.nearest[0]}").crop(width)]
