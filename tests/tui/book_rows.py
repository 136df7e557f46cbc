"""The rows of a book of reseals as the Care screen paints them, for its tests."""

from __future__ import annotations

from dataclasses import replace

from finishlog.records.care import Book
from finishlog.tui.due import care_paint
from finishlog.tui.paint.ink import Line


def painted(held: Book, width: int) -> list[Line]:
    """The list of a book of one month, its first line marked."""
    whole = replace(held, total=len(held.lines), starts=((held.lines[0].month, 0),))
    rows = range(care_paint.height(whole, width))
    return [care_paint.row(whole, y, held.lines.__getitem__, 0, width)[0] for y in rows]
