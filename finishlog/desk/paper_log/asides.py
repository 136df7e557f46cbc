"""Non-pour rows of a paper log: totals, by name or by adding up, and year headings."""

from __future__ import annotations

import re
from collections.abc import Sequence
from fractions import Fraction

from finishlog.inputs.paper_log import cells as paper_cells
from finishlog.units import read_month

_TOTALS = re.compile(
    r"(?:grand |sub[ -]?|\w+ )?totals?(?: (?:for|of) [\w ]+)?:?|sums?:?|averages?:?|avg\.?:?", re.IGNORECASE
)
_YEAR = re.compile(r"(?:year |season )?((?:19|20)\d\d)(?: season| pours| jobs)?:?", re.ASCII | re.IGNORECASE)

_FEWEST = 2
"""Rows added up, and columns that must agree: of one row, or in one column, a sum may be chance."""


def is_total(filled: Sequence[str]) -> bool:
    """Whether a row calls itself a total: `Total`, `March total`, `Subtotal`, `Avg.`."""
    return any(_TOTALS.fullmatch(cell) for cell in filled[:2])


def year_of(filled: Sequence[str]) -> int | None:
    """The year that a heading names alone."""
    match = _YEAR.fullmatch(filled[0]) if len(filled) == 1 else None
    return int(match[1]) if match else None


class Sums:
    """What each column of a sheet adds up to since the last row of sums."""

    def __init__(self) -> None:
        self._sums: dict[int, Fraction] = {}
        self._rows = 0

    def is_sum(self, cells: Sequence[str]) -> bool:
        """Whether a row that names no pour adds up the rows above it; one that does not is added."""
        told = {place: number for place, cell in enumerate(cells) if (number := paper_cells.amount(cell))}
        agree = sum(self._sums.get(place) == number for place, number in told.items())
        month = bool(read_month(next((cell.strip() for cell in cells if cell.strip()), "")))
        if self._rows < _FEWEST or agree < (1 if month else _FEWEST):
            self.add(cells)
            return False
        self.reset()
        return True

    def reset(self) -> None:
        """A subtotal ends one block of rows; the next starts at zero."""
        self._sums, self._rows = {}, 0

    def add(self, cells: Sequence[str]) -> None:
        """Adds a row to the running sums; cells that hold no number are skipped."""
        self._rows += 1
        for place, cell in enumerate(cells):
            if number := paper_cells.amount(cell):
                self._sums[place] = self._sums.get(place, Fraction(0)) + number
