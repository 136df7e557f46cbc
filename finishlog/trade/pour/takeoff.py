"""Take-off: areas of flat shapes, volumes of slabs, thickened edges and solid stairs (plane geometry, exact).

Lengths in ft, depths in inches as named; `finishlog.units` reads the text.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from fractions import Fraction

from finishlog import units
from finishlog.errors import InputError
from finishlog.records.quantities.order import Extra, FlatShape, TakeOff

PI = Fraction(math.pi)
MOST_CORNERS = 100
SHAPES = {
    "rect": "24x18 or 24'6\" x 18'",
    "circle": "6 or 1.8 m (the radius)",
    "polygon": "0,0 24,0 24,18",
    "round": "4r2 (corners, r, radius)",
    "edge": "40x1x8in (length x width x depth below the slab)",
    "stairs": "3x4ftx7inx11in (steps x width x rise x run)",
}
"""Measurable shapes, each with a sample of its notation."""


def read_shape(kind: str, text: str, sign: int = 1) -> FlatShape:
    """A flat shape from its text (`SHAPES`); `sign` -1 cuts it out, as `round` always does. InputError."""
    if kind == "rect":
        return FlatShape(kind, sign, units.read_product(text, ("length_ft", "length_ft"), SHAPES[kind]))
    if kind == "circle":
        return FlatShape(kind, sign, (units.read_length_ft(text),))
    if kind == "polygon":
        return FlatShape(kind, sign, _read_polygon(text))
    if kind == "round":
        count, between, radius = (text if "@" in text else text.lower()).partition(
            "@" if "@" in text else "r"
        )
        if not between:
            cause = "Give the number of corners, an r, and the radius."
            raise InputError(f"“{units.shown(text)}” was not understood.", cause, example="4r2")
        return FlatShape(
            kind, -1, (Fraction(units.read_count(count, high=1000)), units.read_length_ft(radius))
        )
    raise InputError(f"No shape “{units.shown(kind)}”.", f"Shapes are {', '.join(SHAPES)}.")


def read_extra(kind: str, text: str) -> Extra:
    """Extra concrete from its text: an edge or stairs (`SHAPES`). Raises InputError."""
    if kind == "edge":
        length, width, depth = units.read_product(text, ("length_ft", "length_ft", "depth_in"), SHAPES[kind])
        return Extra(kind, (length, width, depth / 12))
    steps, times, rest = text.partition("x")
    if kind != "stairs" or not times:
        raise InputError(f"“{units.shown(text)}” was not understood.", example=SHAPES["stairs"])
    width, rise, run = units.read_product(rest, ("length_ft", "depth_in", "depth_in"), SHAPES["stairs"])
    if rise > 24 or run > 120:
        raise InputError("No step is that big.", "A bare rise or run is inches.", example=SHAPES["stairs"])
    return Extra(kind, (Fraction(units.read_count(steps, high=1000)), width, rise / 12, run / 12))


def _read_polygon(text: str) -> tuple[Fraction, ...]:
    pairs = [pair.split(",") for pair in text.replace(";", " ").split()]
    if not 3 <= len(pairs) <= MOST_CORNERS or any(len(pair) != 2 for pair in pairs):
        cause = f"A polygon is 3 to {MOST_CORNERS} corners, each x,y in feet, with spaces between them."
        raise InputError(f"“{units.shown(text)}” was not understood.", cause, example=SHAPES["polygon"])
    sizes = tuple(units.read_length_ft(number, signed=True) for pair in pairs for number in pair)
    if _meets_itself(_corners(sizes)) or not polygon_ft2(sizes):
        cause = (
            "Its sides cross or touch each other, or lie on one line: give the corners in order around the edge, "
            "and split what joins only at a corner into two polygons."
        )
        raise InputError(f"The polygon “{units.shown(text)}” has no area.", cause, example=SHAPES["polygon"])
    return sizes


Point = tuple[Fraction, Fraction]


def _corners(sizes: Sequence[Fraction]) -> list[Point]:
    points = list(zip(sizes[::2], sizes[1::2], strict=True))
    return points[:-1] if points[0] == points[-1] else points


def _turn(a: Point, b: Point, c: Point) -> int:
    cross = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
    return (cross > 0) - (cross < 0)


def _meets_itself(points: list[Point]) -> bool:
    """Whether non-adjacent sides share a point, in which case the shoelace may cancel parts."""
    corners = [point for point, last in zip(points, points[-1:] + points[:-1], strict=True) if point != last]
    sides = list(zip(corners, corners[1:] + corners[:1], strict=True))
    return any(
        _meet(side, other)
        for index, side in enumerate(sides)
        for later, other in enumerate(sides[index + 2 :], index + 2)
        if (index, later) != (0, len(sides) - 1)
    )


def _meet(one: tuple[Point, Point], other: tuple[Point, Point]) -> bool:
    (a, b), (c, d) = one, other
    if _turn(a, b, c) * _turn(a, b, d) < 0 and _turn(c, d, a) * _turn(c, d, b) < 0:
        return True
    return any(_lies_on(end, side) for side, ends in ((one, other), (other, one)) for end in ends)


def _lies_on(point: Point, side: tuple[Point, Point]) -> bool:
    (ax, ay), (bx, by) = side
    within = min(ax, bx) <= point[0] <= max(ax, bx) and min(ay, by) <= point[1] <= max(ay, by)
    return within and _turn(*side, point) == 0


def polygon_ft2(sizes_ft: Sequence[Fraction]) -> Fraction:
    """Area of a simple polygon (shoelace) from x, y, x, y … in ft."""
    points = _corners(sizes_ft)
    pairs = zip(points, points[1:] + points[:1], strict=True)
    return abs(sum((a[0] * b[1] - b[0] * a[1] for a, b in pairs), Fraction(0))) / 2


def shape_ft2(shape: FlatShape) -> Fraction:
    """Signed area of a shape in ft2; rounding a square corner always takes (1 - π/4) r² off."""
    sizes = shape.sizes_ft
    if shape.kind == "rect":
        area = sizes[0] * sizes[1]
    elif shape.kind == "circle":
        area = PI * sizes[0] ** 2
    elif shape.kind == "polygon":
        area = polygon_ft2(sizes)
    else:
        return -sizes[0] * (1 - PI / 4) * sizes[1] ** 2
    return shape.sign * area


def extra_yd3(extra: Extra) -> Fraction:
    """Volume of an edge, or of solid stairs: n steps of rise h and run t hold n(n+1)/2 · h · t · width."""
    if extra.kind == "edge":
        length, width, depth = extra.sizes_ft
        return length * width * depth / 27
    steps, width, rise, run = extra.sizes_ft
    return steps * (steps + 1) / 2 * rise * run * width / 27


def area_ft2(shapes: Iterable[FlatShape]) -> Fraction:
    """Area of all shapes together in ft2. Raises InputError if nothing remains."""
    pieces = tuple(shapes)
    total = sum((shape_ft2(shape) for shape in pieces), Fraction(0))
    if pieces and total <= 0:
        cause = "The cut-outs and corners take away all of it, or more."
        raise InputError("No area is left.", cause, example="--rect 24x18 --less-rect 3x3")
    return total


def take_off(shapes: Iterable[FlatShape], depth_in: Fraction, extras: Iterable[Extra] = ()) -> TakeOff:
    """Area and neat volume (no waste) of a slab `depth_in` inches deep. Raises InputError if it is empty."""
    area = area_ft2(shapes)
    edges = sum((extra_yd3(extra) for extra in extras), Fraction(0))
    if area == 0 and edges == 0:
        raise InputError("Nothing measured.", "A slab needs at least one shape.", example="--rect 24x18")
    return TakeOff(area, depth_in, area * depth_in / 324, edges)
