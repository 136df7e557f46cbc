"""How good we were: how many 90 % ranges held against later readings, and how many promises."""

from __future__ import annotations

from typing import TYPE_CHECKING

from finishlog.tui.paint.ink import Line, heading, paragraph
from finishlog.tui.screens.frame import Frame
from finishlog.tui.widgets.canvas import Block
from finishlog.tui.widgets.pane import Pane

if TYPE_CHECKING:
    from textual.app import ComposeResult

    from finishlog.records.color import Tried
    from finishlog.tui.desks.color import GoodView


class HowGoodScreen(Frame):
    """Over all jobs: hit rates of past forecasts and of promised matches."""

    SCOPE = "how_good"
    FOLLOWS = True

    def __init__(self) -> None:
        super().__init__()
        self._view: GoodView | None = None

    def compose_body(self) -> ComposeResult:
        yield Block(id="title")
        with Pane():
            yield Block(id="good")

    def on_mount(self) -> None:
        self.query_one("#title", Block).show(self._paint_title)
        self.query_one("#good", Block).show(self._paint)
        self.query_one(Pane).focus()
        self.reread()

    def reread(self) -> None:
        self.ask("good", self.desks.how_good, self._came)

    def _came(self, view: GoodView) -> None:
        self._view = view
        self.repaint()

    @property
    def sentence(self) -> str:
        return self._view.sentence if self._view is not None else ""

    def _paint_title(self, width: int) -> list[Line]:
        return self.head("How good we were", "color forecasts, all jobs", width)

    def _paint(self, width: int) -> list[Line]:
        if self._view is None:
            return []
        found = self._view.found
        return [
            *tried("Saved forecasts, range of L*", found.kept, width), Line(),
            *by_day(self._view, width), Line(),
            *promised(self._view, width), Line(),
            Line().muted(f"Learned from {found.history_jobs} of your jobs.").crop(width),
        ]  # fmt: skip


def by_day(view: GoodView, width: int) -> list[Line]:
    """Forecasts made afterwards, by the day they were made at: how many later readings fell inside, by axis."""
    lines = heading("Made afterwards: later readings inside the 9-in-10 range", width)
    if not view.held:
        return [*lines, *paragraph("None checked by a later reading yet.", width, "muted")]
    columns = range(len(view.held[0]))
    widths = [max(len(row[at]) for row in view.held) for at in columns]
    gap = 2 if sum(widths) + 2 * len(widths) + len(" too few") <= width else 1
    for row in view.held:
        cells = [*(row[at].rjust(widths[at]) for at in columns), *row[len(widths) :]]
        lines.append(
            Line().put((" " * gap).join(cells), "muted" if row is view.held[0] else "text").crop(width)
        )
    return [*lines, *(line for note in view.notes for line in paragraph(note, width, "muted"))]


def promised(view: GoodView, width: int) -> list[Line]:
    """Plans whose slabs have been read: what was promised, and how many matched."""
    lines = heading("Match odds saved with a plan", width)
    if not view.promises:
        return [
            *lines,
            *paragraph("No slab of a saved plan has been read on day 20 or later.", width, "muted"),
        ]
    return [*lines, *(line for one in view.promises for line in paragraph(one, width))]


def tried(title: str, one: Tried, width: int) -> list[Line]:
    """One kind of forecast: a point per range that held, a cross per miss."""
    lines = heading(title, width)
    if not one.ranges:
        return [*lines, *paragraph("None checked by a later reading yet.", width, "muted")]
    marks = "●" * one.held + "×" * (one.ranges - one.held)
    lines += [Line().put(marks[at : at + width]) for at in range(0, len(marks), width)]
    lines += paragraph(f"{one.held} of {one.ranges} held; 9 in 10 should.", width)
    if one.median_de00 is not None:
        lines += paragraph(f"Half were within ΔE00 {one.median_de00:.1f}.", width, "muted")
    return lines
