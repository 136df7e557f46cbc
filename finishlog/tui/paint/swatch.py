"""Slabs drawn in cells: chip, mottle, joint, strip. A plain color name is always beside them.

True color on 24-bit terminals, a gray of the same lightness on 256 colors, else shade glyphs.
"""

from __future__ import annotations

from functools import lru_cache

from finishlog.tui.paint.glyphs import Piece
from finishlog.tui.paint.ink import Line
from finishlog.tui.paint.theme import Depth, gray_of, lightness

CHIP = 6
UNKNOWN_LEFT = 30.0
"""Percent of release color drawn if not measured: about a third (common practice, no source)."""
APART = 1009
"""Offset in columns between two slabs' patterns."""
_SHADES = "░▒▓█"
_STEPS = (42.0, 53.0, 64.0)
"""L* limits of the shade glyphs: slabs run from about 30 to 75."""


def ink(color: str, depth: Depth) -> str:
    """The color as this terminal can show it."""
    return gray_of(color) if depth == "gray" else color


def shaded(color: str) -> str:
    """A little darker, for the low spots of a one-color stamped slab."""
    return "#" + "".join(f"{int(color[i : i + 2], 16) * 93 // 100:02x}" for i in (1, 3, 5))


def glyph(color: str, dark: bool, *, steps_darker: int = 0) -> str:
    """A color's shade glyph; reversed on a light background."""
    step = max(sum(lightness(color) >= edge for edge in _STEPS) - steps_darker, 0)
    return _SHADES[step if dark else 3 - step]


def solid(color: str, cells: int, depth: Depth, dark: bool, *, steps_darker: int = 0) -> Line:
    """One row of a one-color slab."""
    if depth == "glyphs":
        return Line(Piece(glyph(color, dark, steps_darker=steps_darker) * cells, "muted"))
    return Line(Piece(" " * cells, back=ink(color, depth)))


def half(color: str, cells: int, depth: Depth, dark: bool, *, lower: bool = True) -> Line:
    """The lower or upper half of a row. Shade glyphs have no halves."""
    if depth == "glyphs":
        return Line().gap(cells) if lower else solid(color, cells, depth, dark, steps_darker=1)
    return Line(Piece(("▄" if lower else "▀") * cells, ink(color, depth)))


def split(left_percent: float | None, cells: int = CHIP) -> int:
    """Cells of a chip in the release color; at least one if any is left."""
    if not left_percent:
        return 0
    return min(max(round(cells * left_percent / 100), 1), cells - 1)


def chip(
    base: str | None, release: str | None, left_percent: float | None, depth: Depth, dark: bool
) -> tuple[Line, Line]:
    """Two rows of six cells, one and a half rows high: base, then the share of release color left."""
    if base is None:
        return Line().gap(CHIP), Line().muted("·" * CHIP)
    cells = split(left_percent if left_percent is not None else UNKNOWN_LEFT) if release else 0
    upper = half(base, CHIP - cells, depth, dark)
    lower = solid(base, CHIP - cells, depth, dark)
    if release and cells:
        darker = 1 if depth == "glyphs" else 0
        upper.join(half(release, cells, depth, dark))
        lower.join(solid(base if darker else release, cells, depth, dark, steps_darker=darker))
    return upper, lower


def mottle(
    base: str,
    release: str | None,
    left_percent: float | None,
    width: int,
    rows: int,
    depth: Depth,
    dark: bool,
    *,
    seed: int = 0,
) -> list[Line]:
    """The slab with release color scattered over the share that is left.

    The same on every repaint; `seed` varies the slab.
    """
    share = left_percent if left_percent is not None else UNKNOWN_LEFT
    spots = _spots(width, rows * 2, share if release else 0.0, seed)
    if depth == "glyphs":
        marks = (glyph(base, dark), glyph(base, dark, steps_darker=1))
        return [
            Line(Piece("".join(marks[spots[2 * y][x]] for x in range(width)), "muted")) for y in range(rows)
        ]
    inks = (ink(base, depth), ink(release or base, depth))
    lines = []
    for y in range(rows):
        upper, lower = spots[2 * y], spots[2 * y + 1]
        lines.append(_runs([(inks[upper[x]], inks[lower[x]]) for x in range(width)]))
    return lines


def _runs(cells: list[tuple[str, str]]) -> Line:
    """Merge equal neighbors into one piece."""
    line, start = Line(), 0
    for at in range(1, len(cells) + 1):
        if at == len(cells) or cells[at] != cells[start]:
            upper, lower = cells[start]
            line.join(Line(Piece("▀" * (at - start), upper, back=lower)))
            start = at
    return line


@lru_cache(maxsize=32)
def _spots(width: int, height: int, percent: float, seed: int = 0) -> tuple[tuple[int, ...], ...]:
    """A fixed pattern of low spots: exactly this share of pixels is 1."""
    values = {(x, y): _noise(x + APART * seed, y) for y in range(height) for x in range(width)}
    ranked = sorted(values, key=lambda at: (values[at], at))
    low = frozenset(ranked[: round(len(ranked) * percent / 100)])
    return tuple(tuple(int((x, y) in low) for x in range(width)) for y in range(height))


def _noise(x: int, y: int) -> float:
    """Smooth noise from two grids of fixed random values, wider than high like stamped joints."""
    return 0.55 * _grid(x / 3.0, y / 1.7, 1) + 0.45 * _grid(x / 1.3, y / 0.8, 2)


def _grid(x: float, y: float, seed: int) -> float:
    left, top = int(x), int(y)
    u, v = x - left, y - top
    upper = _random(left, top, seed) * (1 - u) + _random(left + 1, top, seed) * u
    lower = _random(left, top + 1, seed) * (1 - u) + _random(left + 1, top + 1, seed) * u
    return upper * (1 - v) + lower * v


def _random(x: int, y: int, seed: int) -> float:
    """A fixed value from 0 to 1 for a point: an integer hash (multiply and shift), no generator needed."""
    h = (x * 374761393 + y * 668265263 + seed * 974634617) & 0xFFFFFFFF
    h = ((h ^ (h >> 13)) * 1274126177) & 0xFFFFFFFF
    return ((h ^ (h >> 16)) & 0xFFFF) / 0xFFFF


def strip(colors: list[str], cells: int, rows: int, depth: Depth, dark: bool) -> list[Line]:
    """Readings side by side without a gap, as the slab lightens."""
    lines = []
    for _ in range(rows):
        line = Line()
        for color in colors:
            line.join(solid(color, cells, depth, dark))
        lines.append(line)
    return lines
