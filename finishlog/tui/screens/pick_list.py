"""A list narrowed by typing: the arrows mark, Enter takes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual import on
from textual.containers import Horizontal
from textual.widgets import Input

from finishlog.tui.paint.ink import Line
from finishlog.tui.screens.frame import Frame
from finishlog.tui.widgets.canvas import Block
from finishlog.tui.widgets.entry import Entry
from finishlog.tui.widgets.pane import Pane

if TYPE_CHECKING:
    from collections.abc import Sequence

    from textual.app import ComposeResult


class PickList(Frame):
    """A choice is its value, then the words it is found by, title first."""

    LABEL = ""

    def __init__(self) -> None:
        super().__init__()
        self._choices: Sequence[tuple[str, ...]] = ()
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
        self.query_one("#title", Block).show(lambda width: self.head(self.named, "", width))
        self.query_one("#find-label", Block).show(lambda _: [Line().bold(self.LABEL)])
        self.query_one("#gap", Block).show(self.paint_gap)
        self.query_one("#kinds", Block).show(self.paint_choices)
        self.query_one(Entry).focus()
        self.begin()

    @property
    def named(self) -> str:
        """The title."""
        raise NotImplementedError

    def begin(self) -> None:
        """Called on mount: ask for the choices, unless they are known."""

    def paint_gap(self, _width: int) -> list[Line]:
        """The rows between box and choices."""
        return [Line()]

    def paint_choices(self, width: int) -> list[Line]:
        """A row per fitting choice, or a hint if none fits."""
        raise NotImplementedError

    def take(self, value: str) -> None:
        """Enter or a click chose this value. The override closes the screen."""
        raise NotImplementedError

    def mark_after(self, typed: str) -> int:
        """Index to mark for this text."""
        return 0

    @property
    def fitting(self) -> Sequence[tuple[str, ...]]:
        """Choices with a word that starts as typed; titles that do come first."""
        typed = self.query_one(Entry).value.strip().casefold()
        found = [one for one in self._choices if f" {typed}" in f" {' '.join(one[1:])}".casefold()]
        return sorted(found, key=lambda one: not one[1].casefold().startswith(typed)) if typed else found

    # keys

    @on(Input.Changed)
    def _typed(self) -> None:
        self._mark = self.mark_after(self.query_one(Entry).value)
        self.show_mark()

    @on(Entry.Down)
    def _down(self) -> None:
        self._mark = min(self._mark + 1, max(len(self.fitting) - 1, 0))
        self.show_mark()

    @on(Entry.Up)
    def _up(self) -> None:
        self._mark = max(self._mark - 1, 0)
        self.show_mark()

    def show_mark(self) -> None:
        """Repaint and scroll to the marked row."""
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
            self.take(found[self._mark][0])
