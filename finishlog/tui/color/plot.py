"""A curve over time in half-blocks: band, line, readings, vertical lines.

A cell is an upper and a lower pixel. Half-blocks, not braille: a braille cell has one color, so no band could
show behind the line.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from itertools import groupby

from finishlog.tui.paint.glyphs import Piece
from finishlog.tui.paint.ink import Line
from finishlog.tui.paint.theme import Depth

GROUND, BAND, LINE = 0, 1, 2
TONES = ("ground", "band", "text")
DASH, PERIOD = 2, 4
"""A forecast's dash: columns drawn, and the columns it takes with its gap."""
SHADE = "░"
"""The band without colors: light, without half cells, which would read as two more lines."""
_SHADED = {
    (GROUND, GROUND): " ", (BAND, BAND): "░", (BAND, GROUND): "░", (GROUND, BAND): "░",
    (LINE, LINE): "█", (LINE, GROUND): "▀", (LINE, BAND): "▀", (GROUND, LINE): "▄", (BAND, LINE): "▄",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Point:
    """The curve at an age in days: the expected value and its range."""

    age: float
    low: float
    value: float
    high: float


@dataclass(frozen=True, slots=True)
class Mark:
    """A reading at an age in days; `off` is half of its 90 % range."""

    age: float
    value: float
    off: float


@dataclass(frozen=True, slots=True)
class Upright:
    """A vertical line at an age in days."""

    age: float
    tone: str
    glyph: str = "│"


@dataclass(frozen=True, slots=True)
class Plot:
    """`points` by age, at least one; solid up to `known` days; the value axis runs from `bottom` to `top`."""

    points: tuple[Point, ...]
    marks: tuple[Mark, ...]
    uprights: tuple[Upright, ...]
    known: float
    bottom: float
    top: float

    @property
    def last(self) -> float:
        """Age in days of the last point; where the curve ends."""
        return self.points[-1].age


def column(plot: Plot, age: float, cells: int) -> int:
    """The column of an age; outside 0 to `cells` - 1 if it is off the plot."""
    return round(age / plot.last * (cells - 1))


def row(plot: Plot, value: float, rows: int) -> int:
    """The row of a value, 0 at the top."""
    return _pixel(plot, value, rows) // 2


def draw(plot: Plot, cells: int, rows: int, depth: Depth) -> list[Line]:
    """The plot as `rows` lines of `cells` cells."""
    pixels = [_column(plot, x, cells, rows) for x in range(cells)]
    grid = [[_cell(pixels[x][2 * y], pixels[x][2 * y + 1], depth) for x in range(cells)] for y in range(rows)]
    for line in plot.uprights:
        _upright(grid, column(plot, line.age, cells), line)
    for mark in plot.marks:
        _mark(grid, plot, mark, cells, rows)
    return [_joined(cells_of) for cells_of in grid]


def at(plot: Plot, age: float) -> Point:
    """The curve at any age, interpolated linearly."""
    after = min(max(bisect_right([p.age for p in plot.points], age), 1), len(plot.points) - 1)
    one, other = plot.points[max(after - 1, 0)], plot.points[after]
    part = (age - one.age) / (other.age - one.age) if other.age > one.age else 0.0
    low, value, high = (
        a + part * (b - a)
        for a, b in ((one.low, other.low), (one.value, other.value), (one.high, other.high))
    )
    return Point(age, low, value, high)


def _pixel(plot: Plot, value: float, rows: int) -> int:
    part = (plot.top - value) / (plot.top - plot.bottom)
    return min(max(round(part * (2 * rows - 1)), 0), 2 * rows - 1)


def _column(plot: Plot, x: int, cells: int, rows: int) -> list[int]:
    """A column's pixels from the top: the band, and over it the line with its step from the last column."""
    here, before = (at(plot, plot.last * max(i, 0) / (cells - 1)) for i in (x, x - 1))
    found = [GROUND] * (2 * rows)
    for y in range(_pixel(plot, here.high, rows), _pixel(plot, here.low, rows) + 1):
        found[y] = BAND
    if here.age <= plot.known or x % PERIOD < DASH:
        level, step = _pixel(plot, here.value, rows), _pixel(plot, before.value, rows)
        for y in range(level, max(step, level + 1)):
            found[y] = LINE
    return found


def _cell(upper: int, lower: int, depth: Depth) -> Piece:
    if depth == "glyphs":
        return Piece(_SHADED[upper, lower], "text" if LINE in (upper, lower) else "band")
    if upper == lower:
        return Piece(" ", back="" if upper == GROUND else TONES[upper])
    return Piece("▀", TONES[upper], back="" if lower == GROUND else TONES[lower]) if upper else Piece(
        "▄", TONES[lower]
    )  # fmt: skip


def _plain(cell: Piece) -> bool:
    """Whether both pixels of a cell agree and none is the line."""
    return cell.text in f" {SHADE}" and cell.back != "text"


def _upright(grid: list[list[Piece]], x: int, line: Upright) -> None:
    for cells in grid:
        if 0 <= x < len(cells) and _plain(cells[x]):
            cells[x] = Piece(line.glyph, line.tone, back=cells[x].back)


def _mark(grid: list[list[Piece]], plot: Plot, mark: Mark, cells: int, rows: int) -> None:
    """Draw the error bar over uniform cells, the reading over anything."""
    x = column(plot, mark.age, cells)
    if not 0 <= x < cells:
        return
    top, bottom = (row(plot, mark.value + off, rows) for off in (mark.off, -mark.off))
    for y in range(top, bottom + 1):
        cell = grid[y][x]
        if _plain(cell) or cell.text in "│║":
            grid[y][x] = Piece("│", "text", back=cell.back)
    y = row(plot, mark.value, rows)
    back = "band" if grid[y][x].back or grid[y][x].tone == "band" else ""
    grid[y][x] = Piece("●", "text", bold=True, back="" if grid[y][x].text == SHADE else back)


def _joined(cells: list[Piece]) -> Line:
    """Merge equal neighbors into one piece."""
    line = Line()
    for look, same in groupby(cells, key=lambda cell: cell[1:]):
        line.join(Line(Piece("".join(cell.text for cell in same), *look)))
    return line
