"""What a column may be: a list that gets shorter as one types, the likeliest first."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.binding import BindingType
from textual.containers import Horizontal
from textual.widgets import Input

from finishlog.tui import actions
from finishlog.tui.paint.ink import Line, paragraph
from finishlog.tui.paint.text import plain
from finishlog.tui.screens.frame import Frame
from finishlog.tui.widgets.canvas import Block
from finishlog.tui.widgets.entry import Entry
from finishlog.tui.widgets.pane import Pane

if TYPE_CHECKING:
    from collections.abc import Callable

    from textual.app import ComposeResult

Choice = tuple[str, str, str]
"""Value, title and what it means."""


class PickScreen(Frame):
    SCOPE = "import_pick"
    BINDINGS: ClassVar[list[BindingType]] = actions.bindings("import_pick")

    def __init__(
        self, header: str, samples: tuple[str, ...], asked: str, choices: tuple[Choice, ...],
        chosen: Callable[[str], object],
    ) -> None:  # fmt: skip
        super().__init__()
        self._header, self._samples, self._asked = header, samples, asked
        self._choices, self._chosen = choices, chosen
        self._mark = 0

    def compose_body(self) -> ComposeResult:
        yield Block(id="title")
        with Horizontal(id="find-row"):
            yield Block(id="find-label")
            yield Entry(id="kind")
        yield Block(id="gap")
        with Pane(can_focus=False):
            yield Block(id="kinds")

    def on_mount(self) -> None:
        self.query_one("#title", Block).show(self._paint_title)
        self.query_one("#find-label", Block).show(lambda _: [Line().bold("Is")])
        self.query_one("#gap", Block).show(lambda _: [] if self.low else [Line()])
        self.query_one("#kinds", Block).show(self._paint_choices)
        self.query_one(Entry).focus()

    @property
    def sentence(self) -> str:
        cells = ", ".join(f"“{plain(text)[:24]}”" for text in self._samples)
        return self._asked or (f"Which column? It holds {cells}." if cells else "Which column? It is empty.")

    @property
    def fitting(self) -> list[Choice]:
        """Those with a word that begins as typed; those that begin so themselves come first."""
        typed = self.query_one(Entry).value.strip().casefold()
        found = [one for one in self._choices if f" {typed}" in f" {one[1]} {one[2]}".casefold()]
        return sorted(found, key=lambda one: not one[1].casefold().startswith(typed)) if typed else found

    def _paint_title(self, width: int) -> list[Line]:
        return self.head(f"Column · {plain(self._header)}", "", width)

    def _paint_choices(self, width: int) -> list[Line]:
        lines = []
        wide = max((len(title) for _, title, _ in self.fitting), default=0)
        for at, (_, title, told) in enumerate(self.fitting):
            here = at == self._mark
            line = Line().put("▌ " if here else "  ", "accent")
            line.put(title, bold=here, act=f"pick({at})").to(min(max(wide + 4, 20), 36))
            lines.append(line.muted(told).crop(width).on("cursor" if here else "ground", width))
        return lines or paragraph("No field matches. Backspace shows all.", width, "muted")

    # keys

    @on(Input.Changed)
    def _typed(self) -> None:
        self._move(0)

    @on(Entry.Down)
    def _down(self) -> None:
        self._move(self._mark + 1)

    @on(Entry.Up)
    def _up(self) -> None:
        self._move(self._mark - 1)

    def _move(self, at: int) -> None:
        self._mark = max(0, min(at, len(self.fitting) - 1))
        self.repaint()
        pane = self.query_one(Pane)
        low = self._mark - max(pane.size.height - 2, 0)
        if pane.scroll_offset.y > self._mark or pane.scroll_offset.y < low:
            pane.scroll_to(y=max(low, 0), animate=False)

    def action_pick(self, at: int) -> None:
        self._mark = at
        self.action_open()

    @on(Input.Submitted)
    def action_open(self) -> None:
        found = self.fitting
        if self._mark < len(found):
            self.app.pop_screen()
            self._chosen(found[self._mark][0])
