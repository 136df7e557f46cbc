"""A photo in cells of two pixels, with boxes and corners drawn over it."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import TYPE_CHECKING, Literal, NamedTuple

from textual.message import Message

from finishlog.tui.paint import swatch
from finishlog.tui.paint.glyphs import Piece
from finishlog.tui.paint.ink import Line
from finishlog.tui.widgets.canvas import Block

if TYPE_CHECKING:
    from textual import events

    from finishlog.tui.paint.theme import Depth

Pointing = Literal["press", "drag", "release"]
Grid = tuple[tuple[str, ...], ...]
"""Pixel rows in sRGB hex, two per cell."""
SINGLE, DOUBLE = "┌┐└┘─│", "╔╗╚╝═║"


class Mark(NamedTuple):
    """A sign over a cell."""

    sign: str
    chosen: bool = False


Marks = Mapping[tuple[int, int], Mark]
"""By column and row."""


def grid(jpeg: bytes, cells: int, rows: int) -> Grid:
    """The picture fitted into so many cells. Slow, it decodes: call in a worker."""
    from io import BytesIO

    from PIL import Image

    with Image.open(BytesIO(jpeg)) as image:
        width, height = fitting(image.width, image.height, cells, rows)
        data = image.convert("RGB").resize((width, height * 2)).tobytes()
    pixels = [f"#{data[at]:02x}{data[at + 1]:02x}{data[at + 2]:02x}" for at in range(0, len(data), 3)]
    return tuple(tuple(pixels[y * width : (y + 1) * width]) for y in range(height * 2))


def fitting(width: int, height: int, cells: int, rows: int) -> tuple[int, int]:
    """Columns and rows of a picture fitted into this room; a cell is twice as high as wide."""
    scale = min(cells / width, rows * 2 / height)
    return max(round(width * scale), 1), max(round(height * scale / 2), 1)


def frame(
    left: int, top: int, right: int, bottom: int, word: str, chosen: bool
) -> dict[tuple[int, int], Mark]:
    """A box over these cells, ends included, with its name in the upper edge if it fits."""
    signs = DOUBLE if chosen else SINGLE
    found = {}
    for x in range(left, right + 1):
        found[x, top] = found[x, bottom] = Mark(signs[4], chosen)
    for y in range(top, bottom + 1):
        found[left, y] = found[right, y] = Mark(signs[5], chosen)
    ends = ((left, top), (right, top), (left, bottom), (right, bottom))
    for corner, sign in zip(ends, signs[:4], strict=True):
        found[corner] = Mark(sign, chosen)
    for at, letter in enumerate(word[: max(right - left - 1, 1)]):
        found[left + 1 + at, top] = Mark(letter, chosen)
    return found


def paint(pixels: Grid, marks: Marks, depth: Depth, dark: bool) -> list[Line]:
    """The picture with its marks, darkened behind each mark."""
    lines = []
    for y in range(len(pixels) // 2):
        line = Line()
        for x, (upper, lower) in enumerate(zip(pixels[2 * y], pixels[2 * y + 1], strict=True)):
            mark = marks.get((x, y))
            line.join(Line(_marked(mark, upper, lower, depth) if mark else _cell(upper, lower, depth, dark)))
        lines.append(_joined(line))
    return lines


@lru_cache(maxsize=8192)
def _cell(upper: str, lower: str, depth: Depth, dark: bool) -> Piece:
    if depth == "glyphs":
        return Piece(swatch.glyph(upper, dark), "muted")
    return Piece("▀", swatch.ink(upper, depth), back=swatch.ink(lower, depth))


def _marked(mark: Mark, upper: str, lower: str, depth: Depth) -> Piece:
    if depth == "glyphs":
        return Piece(mark.sign, "text", mark.chosen)
    back = "#" + "".join(
        f"{(int(upper[i : i + 2], 16) + int(lower[i : i + 2], 16)) // 6:02x}" for i in (1, 3, 5)
    )
    return Piece(mark.sign, "#ffffff", mark.chosen, back=swatch.ink(back, depth))


def _joined(line: Line) -> Line:
    """Merge equal neighbors into one piece."""
    found: list[Piece] = []
    for piece in line.pieces:
        if found and found[-1][1:] == piece[1:]:
            found[-1] = found[-1]._replace(text=found[-1].text + piece.text)
        else:
            found.append(piece)
    return Line(*found)


class Picture(Block):
    """A block that reports the mouse: press, drag, release."""

    class Pointed(Message):
        """Column and row of a cell; outside the picture if dragged there."""

        def __init__(self, what: Pointing, column: int, row: int) -> None:
            super().__init__()
            self.what, self.column, self.row = what, column, row

    _last: tuple[int, int] | None = None

    async def on_mouse_down(self, event: events.MouseDown) -> None:
        if event.button == 1:
            event.stop()
            self.capture_mouse()
            self._point("press", event)

    async def on_mouse_move(self, event: events.MouseMove) -> None:
        if self._last is not None and self._last != (event.x, event.y):
            event.stop()
            self._point("drag", event)

    async def on_mouse_up(self, event: events.MouseUp) -> None:
        if self._last is not None:
            event.stop()
            self._point("release", event)
            self.let_go()

    def let_go(self) -> None:
        """End the drag without moving anything."""
        self._last = None
        self.release_mouse()

    def _point(self, what: Pointing, event: events.MouseEvent) -> None:
        self._last = event.x, event.y
        self.post_message(self.Pointed(what, event.x, event.y))

    async def on_click(self, event: events.Click) -> None:
        event.stop()
