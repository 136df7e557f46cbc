"""One photo as large as the window: a real picture if the terminal can, else half-blocks."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.binding import BindingType

from finishlog.tui import actions
from finishlog.tui.paint import wording
from finishlog.tui.paint.ink import Line
from finishlog.tui.paint.text import plain
from finishlog.tui.photo.picture_pane import PicturePane
from finishlog.tui.running import real_pictures
from finishlog.tui.screens.frame import Frame
from finishlog.tui.widgets.canvas import Block

if TYPE_CHECKING:
    from textual.app import ComposeResult

    from finishlog.desk.photo.photos import PhotoLine

SIDE = 1280
"""Longer side in pixels."""


class ViewScreen(Frame):
    """`lines` are by age; `at` is the one shown first."""

    SCOPE = "view"
    BINDINGS: ClassVar[list[BindingType]] = actions.bindings("view")

    def __init__(self, lines: tuple[PhotoLine, ...], at: int) -> None:
        super().__init__()
        self._lines, self._at = lines, at

    def compose_body(self) -> ComposeResult:
        yield Block(id="title")
        yield PicturePane(id="shown")

    def on_mount(self) -> None:
        self.query_one("#title", Block).show(self._paint_title)
        self._ask()

    def _ask(self) -> None:
        sha = self._lines[self._at].sha256
        self.ask("picture", lambda: self.desks.picture(sha, SIDE), self.query_one(PicturePane).show)

    # painting

    @property
    def sentence(self) -> str:
        line = self._lines[self._at]
        return f"{line.age}, {line.taken}"

    def _paint_title(self, width: int) -> list[Line]:
        fact = f"{self._at + 1} of {len(self._lines)}"
        notes = () if real_pictures.there() else wording.cannot_show(self.house.depth, width)
        return self.head(plain(self._lines[self._at].name), fact, width, *notes)

    # keys

    def action_turn(self, by: int) -> None:
        """Show the next or previous photo by age."""
        self._at = min(max(self._at + by, 0), len(self._lines) - 1)
        self.repaint()
        self._ask()
