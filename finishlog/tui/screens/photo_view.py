"""One photo as large as the window: a real picture where the terminal draws them, else in half blocks."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.binding import BindingType
from textual.containers import Vertical

from finishlog.tui import actions, real_pictures, wording
from finishlog.tui.ink import Line
from finishlog.tui.screens.frame import Frame
from finishlog.tui.text import plain
from finishlog.tui.widgets import picture
from finishlog.tui.widgets.canvas import Block

if TYPE_CHECKING:
    from textual.app import ComposeResult

    from finishlog.desk.photos import PhotoLine
    from finishlog.tui.widgets.picture import Grid

SIDE = 1280
"""Pixels of the longer side."""


class ViewScreen(Frame):
    """`lines` by age, `at` the one that is shown first."""

    SCOPE = "view"
    BINDINGS: ClassVar[list[BindingType]] = actions.bindings("view")

    def __init__(self, lines: tuple[PhotoLine, ...], at: int) -> None:
        super().__init__()
        self._lines, self._at = lines, at
        self._jpeg = b""
        self._grid: Grid = ()

    def compose_body(self) -> ComposeResult:
        yield Block(id="title")
        with Vertical(id="shown"):
            yield Block(id="whole")

    def on_mount(self) -> None:
        self.query_one("#title", Block).show(self._paint_title)
        self.query_one("#whole", Block).show(self._paint_whole)
        self._ask()

    def _ask(self) -> None:
        sha = self._lines[self._at].sha256
        self.ask("picture", lambda: self.desks.picture(sha, SIDE), self._came)

    def _came(self, jpeg: bytes) -> None:
        self._jpeg = jpeg
        self.call_after_refresh(self._draw)

    async def _draw(self) -> None:
        shown = self.query_one("#shown")
        if real_pictures.there():
            await shown.query(".real").remove()
            found = real_pictures.widget(self._jpeg)
            found.add_class("real")
            await shown.mount(found)
            return
        jpeg, cells, rows = self._jpeg, shown.size.width, shown.size.height
        if jpeg and cells and rows:
            self.ask("grid", lambda: picture.grid(jpeg, cells, rows), self._drawn)

    def _drawn(self, pixels: Grid) -> None:
        self._grid = pixels
        self.repaint()

    def resized(self, width: int) -> None:
        if not real_pictures.there():
            self.call_after_refresh(self._draw)
        super().resized(width)

    # painting

    @property
    def sentence(self) -> str:
        line = self._lines[self._at]
        return f"{line.age}, {line.taken}"

    def _paint_title(self, width: int) -> list[Line]:
        fact = f"{self._at + 1} of {len(self._lines)}"
        notes = () if real_pictures.there() else wording.cannot_show(self.house.depth, width)
        return self.head(plain(self._lines[self._at].name), fact, width, *notes)

    def _paint_whole(self, _width: int) -> list[Line]:
        return picture.paint(self._grid, {}, self.house.depth, self.house.palette.dark) if self._grid else []

    # keys

    def action_turn(self, by: int) -> None:
        """Another photo of the job, by age."""
        self._at = min(max(self._at + by, 0), len(self._lines) - 1)
        self.repaint()
        self._ask()
