"""A photo with boxes and corners to move; colors are read again when they rest."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from textual.binding import BindingType
from textual.containers import Horizontal

from finishlog.errors import FinishlogError
from finishlog.tui import actions
from finishlog.tui.paint import wording
from finishlog.tui.paint.ink import Line
from finishlog.tui.photo import paint, picture, places
from finishlog.tui.photo.picture import Picture
from finishlog.tui.running.timers import once
from finishlog.tui.screens.frame import Frame
from finishlog.tui.widgets.canvas import Block
from finishlog.tui.widgets.entry import Entry
from finishlog.tui.widgets.pane import Pane

if TYPE_CHECKING:
    from textual.app import ComposeResult
    from textual.timer import Timer

    from finishlog.desk.photo.measured import Measured
    from finishlog.tui.photo.picture import Grid
    from finishlog.tui.photo.places import Corners, Spot

REST = 0.25
"""Seconds after the last move before reading again."""
ARROWS = {"left": (-1, 0), "right": (1, 0), "up": (0, -1), "down": (0, 1)}


class Table(Picture, can_focus=True):
    """The picture; it has the focus while boxes move."""


def bindings(scope: str) -> list[BindingType]:
    """A scope's keys, with the arrows."""
    return [
        *actions.bindings(scope),
        *((key, f"move('{key}')", "") for key in ARROWS),
        *((f"shift+{key}", f"size('{key}')", "") for key in ARROWS),
    ]


class PhotoTable(Frame):
    """Override `picture_of`, `measured_of`, `pixels` and `heading`; `at` is the box marked first."""

    def __init__(self, boxes: tuple[Spot, ...], at: int = 0) -> None:
        super().__init__()
        self._boxes, self._at = boxes, at
        self._corners: Corners | None = None
        self._found: Corners | None = None
        self._jpeg = b""
        self._grid: Grid = ()
        self._measured: Measured | None = None
        self._wrong = ""
        self._moving: Timer | None = None

    def picture_of(self) -> bytes:
        """A small upright JPEG. Called in a worker."""
        raise NotImplementedError

    def measured_of(self, boxes: list[str], corners: str, gray: str) -> Measured:
        """The boxes' readings. Called in a worker."""
        raise NotImplementedError

    @property
    def pixels(self) -> tuple[int, int]:
        """Width and height of the upright photo."""
        raise NotImplementedError

    @property
    def heading(self) -> tuple[str, str]:
        """The title and its fact."""
        raise NotImplementedError

    def compose_body(self) -> ComposeResult:
        yield Block(id="title")
        with Horizontal(id="number"):
            yield Block(id="number-label")
            yield Entry()
        with Horizontal(id="picture-row"):
            yield Table(id="picture")
            with Pane(id="told", can_focus=False):
                yield Block(id="spots-told")

    def on_mount(self) -> None:
        self.query_one("#title", Block).show(self._paint_title)
        self.query_one("#picture", Block).show(self._paint_picture)
        self.query_one("#spots-told", Block).show(self._paint_told)
        self.query_one(Table).focus()
        self.ask("picture", self.picture_of, self._pictured)
        self._measure()

    @property
    def resting(self) -> bool:
        return self._moving is None

    # the picture

    def _pictured(self, jpeg: bytes) -> None:
        self._jpeg = jpeg
        self.call_after_refresh(self._draw)

    def resized(self, width: int) -> None:
        self._draw()
        super().resized(width)

    def _draw(self) -> None:
        room = self.query_one("#picture-row").size
        cells, rows = self.query_one(Table).size.width, room.height
        if self._jpeg and cells > 1 and rows > 1:
            jpeg = self._jpeg
            self.ask("grid", lambda: picture.grid(jpeg, cells - 1, rows), self._drawn)

    def _drawn(self, pixels: Grid) -> None:
        self._grid = pixels
        self.query_one(Table).repaint()

    # reading

    @property
    def there(self) -> list[str]:
        """The boxes to read, as `inputs.boxes` reads them; without the gray card."""
        return [box.text for box in self._boxes if box.there and box.shows != places.GRAY]

    @property
    def _gray(self) -> str:
        """The gray card's place; empty to use a 24-patch card."""
        return next((box.place for box in self._boxes if box.shows == places.GRAY), "")

    @property
    def _typed_corners(self) -> str:
        return places.written(self._corners) if self._corners and not self._gray else ""

    def _measure(self) -> None:
        self._moving = None
        boxes, corners, gray = self.there, self._typed_corners, self._gray
        self.ask("measure", lambda: self.measured_of(boxes, corners, gray), self._read, self._not_read)

    def _read(self, measured: Measured) -> None:
        if not self.resting:
            return
        self._measured, self._wrong = measured, ""
        if measured.card is not None and self._corners is None:
            size = measured.width, measured.height
            self._found = places.from_top_left(measured.card.corners, *size)
        self.repaint()

    def _not_read(self, error: Exception) -> None:
        if not isinstance(error, FinishlogError):
            self.fail(error)
            return
        if not self.resting:
            return
        self._measured, self._wrong = None, paint.refused(error)
        self.repaint()

    def _later(self) -> None:
        """Drop the old readings, and read again once nothing moves."""
        self._measured = None
        if self._moving is not None:
            self._moving.stop()
        self._moving = once(self, REST, self._measure)
        self.repaint()

    # painting

    @property
    def sentence(self) -> str:
        if self._wrong:
            return self._wrong
        return paint.sentence(self._measured) if self._measured else "Reading the boxes…"

    def _paint_title(self, width: int) -> list[Line]:
        return self.head(*self.heading, width, *wording.cannot_show(self.house.depth, width))

    @property
    def _shown_corners(self) -> Corners | None:
        """Corners set by hand, else found, else the initial ones. A gray card has none."""
        if self._gray:
            return None
        if self._corners or self._found:
            return self._corners or self._found
        return places.CARD if self._wrong else None

    def _paint_picture(self, width: int) -> list[Line]:
        if not self._grid:
            return []
        cells, rows = len(self._grid[0]), len(self._grid) // 2
        marks = places.marks(self._boxes, self._shown_corners, self._at, cells, rows)
        return picture.paint(self._grid, marks, self.house.depth, self.house.palette.dark)

    def _paint_told(self, width: int) -> list[Line]:
        look = self.house.depth, self.house.palette.dark
        return paint.told(self._boxes, self._at, self._measured, width, *look)

    # moving

    @property
    def _on_corner(self) -> int | None:
        at = self._at - len(self._boxes)
        return at if at >= 0 else None

    def action_next(self, by: int) -> None:
        self._at = (self._at + by) % (len(self._boxes) + (0 if self._gray else 4))
        if self._on_corner is not None and self._shown_corners is None:
            self._found = places.CARD
        self.repaint()

    def _step(self, key: str) -> tuple[float, float]:
        dx, dy = ARROWS[key]
        cells, rows = (len(self._grid[0]), len(self._grid) // 2) if self._grid else (40, 15)
        return dx / cells, dy / rows

    def action_move(self, key: str) -> None:
        corner = self._on_corner
        if corner is None:
            self._put(self._boxes[self._at].moved(*self._step(key)))
        else:
            corners = self._shown_corners or places.CARD
            self._corner(places.corner_moved(corners, corner, *self._step(key)))

    def action_size(self, key: str) -> None:
        if self._on_corner is None:
            self._put(self._boxes[self._at].sized(*self._step(key)))

    def _put(self, box: places.Spot) -> None:
        self._set_box(replace(box, there=True))
        self._later()

    def _set_box(self, box: places.Spot) -> None:
        self._boxes = (*self._boxes[: self._at], box, *self._boxes[self._at + 1 :])

    def _corner(self, corners: Corners | None) -> None:
        self._corners = corners
        self._later()

    def action_take(self) -> None:
        """Put the marked box in or out of the picture; on a corner, search for the card again."""
        if self._on_corner is not None:
            self._found = None
            self._corner(None)
            return
        box = self._boxes[self._at]
        if box.shows == places.GRAY:
            self.action_gray()
            return
        self._set_box(replace(box, there=not box.there))
        self._later()

    def action_gray(self) -> None:
        """Switch to a gray card, its box marked, or back to a 24-patch card."""
        boxes = tuple(box for box in self._boxes if box.shows != places.GRAY)
        off = len(boxes) < len(self._boxes)
        self._boxes = boxes if off else (*boxes, places.A_GRAY_CARD)
        self._at = 0 if off else len(boxes)
        self._later()
