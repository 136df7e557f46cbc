"""Outlines of measured shapes for drawing. Their relative positions were not measured."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from finishlog.records.quantities.order import FlatShape

Point = tuple[float, float]
ARC = 8
"""Sides of a rounded corner; a circle has four times as many."""
SQUARE_CORNERS = 4


@dataclass(frozen=True, slots=True)
class Outline:
    """One shape in ft, its box at 0, 0; `corners` in order, y downward. An open one has no surface.

    `corner_radius_ft` applies to a rectangle with all corners rounded.
    """

    kind: str
    sign: int
    width_ft: float
    height_ft: float
    corners: tuple[Point, ...]
    corner_radius_ft: float = 0.0
    closed: bool = True


def outlines(shapes: Sequence[FlatShape]) -> tuple[Outline, ...]:
    """Each shape alone: additions first, then cut-outs, then rounded corners.

    Four rounded corners belong to a slab that is one rectangle; any others may lie anywhere.
    """
    added = [shape for shape in shapes if shape.sign > 0]
    cut = [shape for shape in shapes if shape.sign < 0 and shape.kind != "round"]
    rounds = [shape for shape in shapes if shape.kind == "round"]
    radius = _of_all_corners(added, rounds)
    return tuple(_outline(shape, radius if shape in added else 0.0) for shape in (*added, *cut, *rounds))


def _of_all_corners(added: Sequence[FlatShape], rounds: Sequence[FlatShape]) -> float:
    if len(added) != 1 or added[0].kind != "rect" or len(rounds) != 1:
        return 0.0
    count, radius = rounds[0].sizes_ft
    fits = 2 * radius <= min(added[0].sizes_ft)
    return float(radius) if count == SQUARE_CORNERS and fits else 0.0


def _outline(shape: FlatShape, radius: float) -> Outline:
    sizes = tuple(map(float, shape.sizes_ft))
    if shape.kind == "rect":
        width, height = sizes
        return Outline("rect", shape.sign, width, height, _rect(width, height, radius), radius)
    if shape.kind == "circle":
        turns = [2 * math.pi * step / (4 * ARC) for step in range(4 * ARC)]
        around = tuple((sizes[0] * (1 + math.cos(a)), sizes[0] * (1 + math.sin(a))) for a in turns)
        return Outline("circle", shape.sign, 2 * sizes[0], 2 * sizes[0], around)
    if shape.kind == "round":
        return Outline(
            "round", -1, sizes[1], sizes[1], _arc((sizes[1], sizes[1]), sizes[1], math.pi), closed=False
        )
    xs, ys = sizes[::2], sizes[1::2]
    left, top = min(xs), max(ys)
    points = tuple((x - left, top - y) for x, y in zip(xs, ys, strict=True))
    return Outline("polygon", shape.sign, max(xs) - left, top - min(ys), points)


def _arc(middle: Point, radius: float, start: float) -> tuple[Point, ...]:
    """A quarter of a circle from the angle `start` on, clockwise as drawn."""
    turns = [start + math.pi / 2 * step / ARC for step in range(ARC + 1)]
    return tuple((middle[0] + radius * math.cos(a), middle[1] + radius * math.sin(a)) for a in turns)


def _rect(width: float, height: float, radius: float) -> tuple[Point, ...]:
    if not radius:
        return ((0.0, 0.0), (width, 0.0), (width, height), (0.0, height))
    middles = (
        (radius, radius), (width - radius, radius), (width - radius, height - radius), (radius, height - radius)
    )  # fmt: skip
    starts = (math.pi, 1.5 * math.pi, 0.0, 0.5 * math.pi)
    return tuple(
        point for at, start in zip(middles, starts, strict=True) for point in _arc(at, radius, start)
    )
