"""Joint layout: spacing by thickness, panels nearly square, inside corners first.

Spacing 24 to 36 times the thickness, 18 ft at most (ACI 302.1R-96), a panel's sides not over 1.5 to 1 (ACI
302.1R-80 §2.3.2): both as quoted by a trade magazine's question column; the guide itself was not at hand.
Lengths in ft.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction

from finishlog.records.quantities.order import FlatShape
from finishlog.records.quantities.pour_day import JointPiece, JointPlan
from finishlog.records.shop import Shop
from finishlog.trade.stages.joint import cut_depth_in

F = Fraction
TIMES = F(24), F(36)
LEAST_PANEL_FT = F(2)
"""No panel is narrowed below this just to be square: a band is jointed with its field (ours)."""
Point = tuple[Fraction, Fraction]


def spacing_ft(depth_in: Fraction, times: Fraction, most_ft: Fraction) -> Fraction:
    """Largest joint spacing in ft for a slab `depth_in` inches thick."""
    return min(depth_in * times / 12, most_ft)


def panels(length: Fraction, width: Fraction, spacing: Fraction, ratio: Fraction) -> tuple[int, int]:
    """Panels along length and width with the fewest feet of joint.

    No side exceeds `spacing`, nor `ratio` times the other, unless that needs panels under
    `LEAST_PANEL_FT`; then as near to square as possible.
    """
    if length < width:
        across, along = panels(width, length, spacing, ratio)
        return along, across
    least_across, most_across = _counts(width, spacing)
    least_along, most_along = _counts(length, spacing)
    for across in range(least_across, most_across + 1):
        # more across never means fewer along: the first one square enough has the least joint
        panel = width / across
        along = max(least_along, math.ceil(length / (panel * ratio)))
        if along <= most_along and length / along * ratio >= panel:
            return along, across
    ends = ((along, across) for along in (least_along, most_along) for across in (least_across, most_across))
    return min(ends, key=lambda cut: _ratio(length / cut[0], width / cut[1]))


def _ratio(one: Fraction, other: Fraction) -> Fraction:
    return max(one, other) / min(one, other)


def _counts(side: Fraction, spacing: Fraction) -> tuple[int, int]:
    least = math.ceil(side / spacing)
    return least, max(least, int(side / LEAST_PANEL_FT))


def plan(shapes: Iterable[FlatShape], depth_in: Fraction, shop: Shop) -> JointPlan | None:
    """Joints of a slab's pieces; None if none is flat. Cut-outs only add inside corners."""
    every = tuple(shapes)
    whole = [shape for shape in every if shape.sign > 0 and shape.kind != "round"]
    if not whole:
        return None
    apart = spacing_ft(depth_in, shop.joint_times, shop.joint_most_ft)
    pieces = tuple(_piece(shape, apart, shop.joint_ratio) for shape in whole)
    low, high = (spacing_ft(depth_in, times, shop.joint_most_ft) for times in TIMES)
    return JointPlan(
        low_ft=low,
        high_ft=high,
        spacing_ft=apart,
        depth_in=depth_in,
        saw_depth_in=cut_depth_in(depth_in),
        ratio=shop.joint_ratio,
        pieces=pieces,
        joint_ft=sum((piece.joint_ft for piece in pieces), F(0)),
        meet_ft=_meeting(pieces),
        corners=inside_corners(every),
    )


def _piece(shape: FlatShape, spacing: Fraction, ratio: Fraction) -> JointPiece:
    (left, low), (right, high) = _box(shape)
    length, width = right - left, high - low
    along, across = panels(length, width, spacing, ratio)
    if shape.kind == "rect":
        feet = (along - 1) * width + (across - 1) * length
    elif shape.kind == "circle":
        radius = shape.sizes_ft[0]
        feet = sum((_chord(radius, at) for n in (along, across) for at in _lines(-radius, radius, n)), F(0))
    else:
        corners = _corners(shape)
        flipped = [(y, x) for x, y in corners]
        feet = sum((_inside(corners, at) for at in _lines(left, right, along)), F(0))
        feet += sum((_inside(flipped, at) for at in _lines(low, high, across)), F(0))
    return JointPiece(shape.kind, length, width, along, across, feet)


def _box(shape: FlatShape) -> tuple[Point, Point]:
    """The corners of the rectangle around a shape."""
    if shape.kind == "rect":
        return (F(0), F(0)), (shape.sizes_ft[0], shape.sizes_ft[1])
    if shape.kind == "circle":
        return (F(0), F(0)), (2 * shape.sizes_ft[0], 2 * shape.sizes_ft[0])
    xs, ys = zip(*_corners(shape), strict=True)
    return (min(xs), min(ys)), (max(xs), max(ys))


def _corners(shape: FlatShape) -> list[Point]:
    points = list(zip(shape.sizes_ft[::2], shape.sizes_ft[1::2], strict=True))
    return points[:-1] if points[0] == points[-1] else points


def _lines(start: Fraction, end: Fraction, count: int) -> Iterator[Fraction]:
    return (start + (end - start) * number / count for number in range(1, count))


def _chord(radius: Fraction, at: Fraction) -> Fraction:
    return F(str(round(2 * math.sqrt(radius * radius - at * at), 4)))


def _inside(corners: Sequence[Point], at: Fraction) -> Fraction:
    """How much of the line x = `at` lies in a polygon; a side is crossed from its left end up to before its right."""
    crossed = sorted(
        ay + (by - ay) * (at - ax) / (bx - ax)
        for (ax, ay), (bx, by) in zip(corners, [*corners[1:], corners[0]], strict=True)
        if min(ax, bx) <= at < max(ax, bx)
    )
    return sum((high - low for low, high in zip(crossed[::2], crossed[1::2], strict=True)), F(0))


def _meeting(pieces: Sequence[JointPiece]) -> Fraction:
    """A piece shares at most its longer side with the largest piece, which the others join."""
    by_size = sorted(pieces, key=lambda piece: piece.length_ft * piece.width_ft)
    return sum(
        (max(piece.length_ft, piece.width_ft) for piece in by_size[:-1] if piece.kind != "circle"), F(0)
    )


def inside_corners(shapes: Iterable[FlatShape]) -> tuple[int, int]:
    """Least and most inside (re-entrant) corners: those of a polygon are seen, the rest hang on where pieces lie.

    A cut-out rectangle has one at the slab's corner, two at its edge, four within it. A rectangle that is added
    makes none along a full side, two in the middle of one.
    """
    every = tuple(shapes)
    low = high = 0
    for shape in every:
        if shape.kind == "polygon":
            turning = _turning(_corners(shape), inward=shape.sign > 0)
            low, high = low + (turning if shape.sign > 0 else min(turning, 1)), high + turning
        elif shape.kind == "rect" and shape.sign < 0:
            low, high = low + 1, high + 4
    added = sum(shape.sign > 0 and shape.kind in ("rect", "polygon") for shape in every) - 1
    return low, high + 2 * max(added, 0)


def _turning(corners: Sequence[Point], *, inward: bool) -> int:
    """Corners of a polygon that turn against its direction (`inward`), or with it: those of a hole."""
    around = list(zip([corners[-1], *corners[:-1]], corners, [*corners[1:], corners[0]], strict=True))
    turns = [(b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0]) for a, b, c in around]
    way = sum((a[0] * b[1] - b[0] * a[1] for a, b, _ in around), F(0))
    return sum((turn * way < 0) if inward else (turn * way > 0) for turn in turns)
