"""An area's shapes drawn in characters, to one scale, measures under each."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from rich.cells import cell_len

from finishlog.tui.paint.ink import Line

if TYPE_CHECKING:
    from finishlog.desk.shape_words import Drawn
    from finishlog.trade.pour.outline import Outline

ROWS = 7
GAP = 3
_ADDED, _ROUND, _CUT = "┌─┐│└┘", "╭─╮│╰╯", "┌┄┐┆└┘"


def sketch(shapes: Sequence[Drawn], width: int, rows: int = ROWS) -> list[Line]:
    """Outlines at most `rows` high, side by side, wrapped at the width.

    A cell is about twice as high as it is wide.
    """
    if not shapes:
        return []
    scale = min(
        2 * rows / max(one.outline.height_ft for one in shapes),
        (width - GAP) * 0.7 / max(one.outline.width_ft for one in shapes),
    )
    lines: list[Line] = []
    band: list[Drawn] = []
    for one in shapes:
        if band and _wide([*band, one], scale) > width:
            lines += [*_band(band, scale, width), Line()]
            band = []
        band.append(one)
    return [*lines, *_band(band, scale, width)]


def _wide(band: Sequence[Drawn], scale: float) -> int:
    return sum(_column(one, scale) for one in band) + GAP * (len(band) - 1)


def _column(one: Drawn, scale: float) -> int:
    return max(_cells(one.outline, scale)[0], cell_len(one.label))


def _cells(outline: Outline, scale: float) -> tuple[int, int]:
    """Columns and rows of a shape, never less than can be drawn."""
    return max(3, round(outline.width_ft * scale)), max(2, round(outline.height_ft * scale / 2))


def _band(band: Sequence[Drawn], scale: float, width: int) -> list[Line]:
    """Shapes side by side on one base line, measures under them."""
    drawn = [_shape(one.outline, *_cells(one.outline, scale)) for one in band]
    high = max(map(len, drawn))
    lines = [Line() for _ in range(high + 1)]
    at = 0
    for one, rows in zip(band, drawn, strict=True):
        tone = "text" if one.outline.sign > 0 else "muted"
        for line, row in zip(lines[high - len(rows) :], (*rows, one.label), strict=True):
            line.gap(at - line.width).put(row, tone)
        at += _column(one, scale) + GAP
    return [line.crop(width) for line in lines]


def _shape(outline: Outline, columns: int, rows: int) -> list[str]:
    if outline.kind == "round":
        return ["╭─", "│"]
    if outline.kind == "rect":
        return _box(
            columns, rows, _CUT if outline.sign < 0 else _ROUND if outline.corner_radius_ft else _ADDED
        )
    return _dotted(outline, columns, rows)


def _box(columns: int, rows: int, signs: str) -> list[str]:
    left, across, right, down, low_left, low_right = tuple(signs)
    middle = f"{down}{' ' * (columns - 2)}{down}"
    top, bottom = left + across * (columns - 2) + right, low_left + across * (columns - 2) + low_right
    return [top, *[middle] * (rows - 2), bottom]


def _dotted(outline: Outline, columns: int, rows: int) -> list[str]:
    """Any outline: a dot in every cell a side crosses."""
    cells = [[" "] * columns for _ in range(rows)]
    across, down = (columns - 1) / outline.width_ft, (rows - 1) / outline.height_ft
    corners = outline.corners
    for (x, y), (to_x, to_y) in zip(corners, (*corners[1:], corners[0]), strict=True):
        steps = max(1, round(2 * max(abs(to_x - x) * across, abs(to_y - y) * down)))
        for step in range(steps + 1):
            share = step / steps
            row, column = round((y + (to_y - y) * share) * down), round((x + (to_x - x) * share) * across)
            cells[row][column] = "·"
    return ["".join(row).rstrip() for row in cells]
