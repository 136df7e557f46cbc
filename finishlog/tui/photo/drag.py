"""What the mouse drags on a photo, in cells: a box, its lower right end, a corner, or a new box."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from finishlog.tui.photo.places import LEAST, Corners, Spot, drawn_at

How = Literal["move", "size", "draw", "corner"]
NEAR = 1.0
"""Cells from a corner at which it is still hit: it is a single sign."""


@dataclass(frozen=True, slots=True)
class Hold:
    """What was grabbed: index `at` over the boxes, then the corners.

    `box` is the box before the drag, None for a corner; `last` is the cell dragged to, None before a move.
    """

    at: int
    how: How
    column: int
    row: int
    box: Spot | None
    last: tuple[int, int] | None = None


def taken(
    boxes: Sequence[Spot], corners: Corners | None, chosen: int, at: tuple[int, int], size: tuple[int, int]
) -> Hold:
    """What is under the cell `at` of a picture of `size` cells: the marked thing, else the smallest.

    If nothing is, the marked box is redrawn from there, or the marked corner moves there.
    """
    column, row = at
    corner = _corner(corners or (), chosen - len(boxes), at, size)
    if corner is not None:
        return Hold(len(boxes) + corner, "corner", column, row, None, at)
    under = [number for number, box in enumerate(boxes) if box.there and _within(box, at, size)]
    if under:
        number = min(under, key=lambda one: (one != chosen, boxes[one].width * boxes[one].height))
        how: How = "size" if (column, row) == _ends(boxes[number], size)[1] else "move"
        return Hold(number, how, column, row, boxes[number], at)
    if chosen >= len(boxes):
        return Hold(chosen, "corner", column, row, None)
    return Hold(chosen, "draw", column, row, boxes[chosen])


def dragged(hold: Hold, box: Spot, at: tuple[int, int], size: tuple[int, int]) -> Spot:
    """The held box, with the pointer now on the cell `at`."""
    (column, row), (cells, rows) = at, size
    dx, dy = (column - hold.column) / cells, (row - hold.row) / rows
    if hold.how == "move":
        return box.moved(dx, dy)
    if hold.how == "size":
        return box.sized(dx, dy)
    if not (dx or dy):
        return centered(box, at, size)
    left, right = sorted((hold.column, column))
    top, bottom = sorted((hold.row, row))
    width, height = (right + 1 - left) / cells, (bottom + 1 - top) / rows
    return replace(box, x=left / cells, y=top / rows, width=max(width, LEAST), height=max(height, LEAST))


def centered(box: Spot, at: tuple[int, int], size: tuple[int, int]) -> Spot:
    """The box with its middle on the cell `at`, kept inside the picture."""
    x, y = middle(at, size)
    return box.moved(x - box.x - box.width / 2, y - box.y - box.height / 2)


def middle(at: tuple[int, int], size: tuple[int, int]) -> tuple[float, float]:
    """A cell's middle in shares of the picture."""
    return (at[0] + 0.5) / size[0], (at[1] + 0.5) / size[1]


def _corner(corners: Corners, chosen: int, at: tuple[int, int], size: tuple[int, int]) -> int | None:
    off = [
        (abs(x * size[0] - at[0] - 0.5), abs(y * size[1] - at[1] - 0.5), number)
        for number, (x, y) in enumerate(corners)
    ]
    near = [(number != chosen, dx + dy, number) for dx, dy, number in off if max(dx, dy) <= NEAR]
    return min(near)[-1] if near else None


def _within(box: Spot, at: tuple[int, int], size: tuple[int, int]) -> bool:
    (left, top), (right, bottom) = _ends(box, size)
    return left <= at[0] <= right and top <= at[1] <= bottom


def _ends(box: Spot, size: tuple[int, int]) -> tuple[tuple[int, int], tuple[int, int]]:
    """The box's upper left and lower right cell, as it is drawn."""
    left, top, right, bottom = drawn_at(box, *size)
    return (left, top), (right, bottom)
