"""A pane filled by one picture in its own shape: a real picture if the terminal can, else half-blocks."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

from textual.containers import Vertical

from finishlog.tui.photo import picture
from finishlog.tui.running import real_pictures
from finishlog.tui.widgets.canvas import Block

if TYPE_CHECKING:
    from textual.app import ComposeResult

    from finishlog.tui.paint.ink import Line
    from finishlog.tui.photo.picture import Grid
    from finishlog.tui.screens.frame import Frame


class PicturePane(Vertical):
    """`show` takes a JPEG; an empty one clears the pane."""

    def __init__(self, *, id: str) -> None:
        super().__init__(id=id)
        self.grid: Grid = ()
        self._jpeg = b""

    def compose(self) -> ComposeResult:
        yield Block(classes="whole")

    def on_mount(self) -> None:
        self.query_one(".whole", Block).show(self._paint)

    def on_resize(self) -> None:
        if not real_pictures.there():
            self.call_after_refresh(self._draw)

    def show(self, jpeg: bytes) -> None:
        """Does nothing if it is the picture shown."""
        if jpeg != self._jpeg:
            self._jpeg = jpeg
            self.call_after_refresh(self._draw)

    async def _draw(self) -> None:
        if not self.is_attached:
            return
        if real_pictures.there():
            await self.query(".real").remove()
            if self._jpeg:
                found = real_pictures.widget(self._jpeg)
                found.add_class("real")
                await self.mount(found)
            return
        jpeg, cells, rows = self._jpeg, self.size.width, self.size.height
        if not jpeg:
            self._drawn(())
        elif cells and rows:
            frame = cast("Frame", self.screen)
            frame.ask("grid", lambda: picture.grid(jpeg, cells, rows), self._drawn)

    def _drawn(self, pixels: Grid) -> None:
        self.grid = pixels
        self.query_one(".whole", Block).repaint()

    def _paint(self, _width: int) -> list[Line]:
        house = self.query_one(".whole", Block).house
        return picture.paint(self.grid, {}, house.depth, house.palette.dark) if self.grid else []
