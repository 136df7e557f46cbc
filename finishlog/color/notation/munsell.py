"""Munsell notation of a color from our own table, in plain Python: the library's answer without its import.

The library inverts the renotation in a tenth of a second but takes over a second to load. The table
`finishlog/data/munsell.csv` holds its forward values, five times as fine in hue as the renotation, with
linear interpolation of chromaticity in hue, chroma and luminance. Tests compare the two.

Source: Newhall, Nickerson, Judd, JOSA 33(7):385-418, 1943 (renotation); ASTM D1535 (value).
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from importlib.resources import files
from math import hypot

FAMILIES = ("R", "YR", "Y", "GY", "G", "BG", "B", "PB", "P", "RP")
HUES, RINGS = 200, 6
"""Hues of the table, and its chromas: 2, 4 … 12."""
_UNIT = 1e6
NEUTRAL = (0.31006, 0.31616)
"""Illuminant C, CIE 1931 2°."""
# Bradford cone responses: Lam 1985, as printed in ICC.1 (Annex E), and their inverse.
_CONES = ((0.8951, 0.2664, -0.1614), (-0.7502, 1.7135, 0.0367), (0.0389, -0.0685, 1.0296))
_BACK = (
    (0.9869929055, -0.1470542564, 0.1599626517),
    (0.4323052697, 0.5183602715, 0.0492912282),
    (-0.0085286646, 0.0400428217, 0.9684866958),
)
_ROUNDS, _CLOSE = 40, 1e-7
_GRAY = 0.05

Point = tuple[float, float]
Net = tuple[tuple[Point | None, ...], ...]
"""Chromaticity by ring and hue at one value; None beyond the renotation."""


def notation(xyz: Sequence[float], white: Sequence[float]) -> str | None:
    """Like `9.6YR 6.1/2.5` or `N 4.9/`, of XYZ under a `white` (both Y = 1 for white), adapted to illuminant C.

    None outside the table: value below 1 or from 9 up, chroma above 12.
    """
    x, y, z = _adapted(xyz, white)
    total = x + y + z
    if not _luminance(1) <= 100 * y < _luminance(9) or total <= 0:
        return None
    value = _value(100 * y)
    low = int(value)
    share = (100 * y - _luminance(low)) / (_luminance(low + 1) - _luminance(low))
    found = _place(low, share, (x / total, y / total))
    return None if found is None else _written(*found, value)


def _adapted(xyz: Sequence[float], white: Sequence[float]) -> list[float]:
    """XYZ under illuminant C, by Bradford."""
    x, y = NEUTRAL
    here, there = _times(_CONES, white), _times(_CONES, (x / y, 1.0, (1 - x - y) / y))
    seen = _times(_CONES, xyz)
    return _times(_BACK, [cone * b / a for cone, a, b in zip(seen, here, there, strict=True)])


def _times(rows: Sequence[Sequence[float]], values: Sequence[float]) -> list[float]:
    return [sum(factor * value for factor, value in zip(row, values, strict=True)) for row in rows]


def _luminance(value: float) -> float:
    """Y in percent, ASTM D1535 quintic."""
    v = value
    return v * (1.1914 + v * (-0.22533 + v * (0.23352 + v * (-0.020484 + v * 0.00081939))))


def _value(luminance: float) -> float:
    """The quintic inverted by bisection."""
    low, high = 0.0, 10.0
    for _ in range(_ROUNDS):
        middle = (low + high) / 2
        low, high = (middle, high) if _luminance(middle) <= luminance else (low, middle)
    return (low + high) / 2


@cache
def _nets() -> dict[int, Net]:
    """The table by value."""
    text = files("finishlog").joinpath("data/munsell.csv").read_text(encoding="utf-8")
    found: dict[int, list[tuple[Point | None, ...]]] = {}
    for line in text.splitlines():
        if not line.startswith("#"):
            value, _, *cells = line.split(",")
            found.setdefault(int(value), []).append(tuple(map(_point, cells)))
    return {value: tuple(rings) for value, rings in found.items()}


def _point(cell: str) -> Point | None:
    if not cell:
        return None
    x, y = cell.split()
    return int(x) / _UNIT, int(y) / _UNIT


def _corner(low: int, share: float, ring: int, hue: int) -> Point | None:
    """Chromaticity of a knot of the net between two values; ring 0 is the neutral point."""
    if ring == 0:
        return NEUTRAL
    if ring > RINGS:
        return None
    below, above = (_nets()[value][ring - 1][hue % HUES] for value in (low, low + 1))
    if below is None or above is None:
        return None
    return below[0] + share * (above[0] - below[0]), below[1] + share * (above[1] - below[1])


def _place(low: int, share: float, wanted: Point) -> tuple[float, float] | None:
    """Hue, in steps of the table, and ring of a chromaticity, by Newton from cell to cell."""
    hue, ring = _start(low, share, wanted)
    for _ in range(_ROUNDS):
        i, k = int(hue // 1), int(ring)
        corners = [_corner(low, share, k + up, i + on) for up in (0, 1) for on in (0, 1)]
        if any(corner is None for corner in corners):
            return None
        off, along_hue, along_ring = _cell([c for c in corners if c], hue - i, ring - k, wanted)
        if abs(off[0]) + abs(off[1]) < _CLOSE:
            return hue, ring
        area = along_hue[0] * along_ring[1] - along_hue[1] * along_ring[0]
        if area == 0:
            return hue, ring
        more_hue = (off[0] * along_ring[1] - off[1] * along_ring[0]) / area
        more_ring = (along_hue[0] * off[1] - along_hue[1] * off[0]) / area
        hue += min(max(more_hue, -3.0), 3.0)
        ring = max(ring + min(max(more_ring, -1.0), 1.0), 0.0)
    return None


def _start(low: int, share: float, wanted: Point) -> tuple[float, float]:
    """The nearest knot of the two inner rings' directions: hue by angle, ring by how far out."""

    def lean(hue: int) -> float:
        x, y = _corner(low, share, 2, hue) or NEUTRAL
        a, b = (x - NEUTRAL[0], y - NEUTRAL[1]), (wanted[0] - NEUTRAL[0], wanted[1] - NEUTRAL[1])
        return (a[0] * b[0] + a[1] * b[1]) / max(hypot(*a), 1e-12)

    hue = max(range(HUES), key=lean)
    x, y = _corner(low, share, 2, hue) or NEUTRAL
    far = hypot(x - NEUTRAL[0], y - NEUTRAL[1])
    return hue + 0.5, min(max(2 * lean(hue) / max(far, 1e-12), 0.05), RINGS - 0.5)


def _cell(corners: Sequence[Point], u: float, t: float, wanted: Point) -> tuple[Point, Point, Point]:
    """Residual to `wanted` at (u, t) of a cell, and its slopes along hue and ring."""
    (ax, ay), (bx, by), (cx, cy), (dx, dy) = corners
    x = (1 - t) * (ax + u * (bx - ax)) + t * (cx + u * (dx - cx))
    y = (1 - t) * (ay + u * (by - ay)) + t * (cy + u * (dy - cy))
    along_hue = ((1 - t) * (bx - ax) + t * (dx - cx), (1 - t) * (by - ay) + t * (dy - cy))
    along_ring = (cx - ax + u * (dx - cx - bx + ax), cy - ay + u * (dy - cy - by + ay))
    return (wanted[0] - x, wanted[1] - y), along_hue, along_ring


def _written(hue: float, ring: float, value: float) -> str:
    """To a tenth, as the book writes it: `10.0YR`, never `0.0Y`; `N` if no chroma is left."""
    chroma = 2 * ring
    if chroma < _GRAY:
        return f"N {value:.1f}/"
    step = round((hue + 1) * 100 / HUES % 100, 1) % 100
    family, within = int(step // 10), step % 10
    if round(within, 1) in (0.0, 10.0):
        family, within = (round(step / 10) - 1) % 10, 10.0
    return f"{within:.1f}{FAMILIES[family]} {value:.1f}/{chroma:.1f}"
