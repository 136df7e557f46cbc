"""Outlines to be drawn hold the area that was measured."""

from __future__ import annotations

from fractions import Fraction

import pytest

from finishlog.trade.pour import takeoff
from finishlog.trade.pour.outline import Outline, outlines


def area(one: Outline) -> float:
    pairs = zip(one.corners, (*one.corners[1:], one.corners[0]), strict=True)
    return abs(sum(a[0] * b[1] - b[0] * a[1] for a, b in pairs)) / 2


@pytest.mark.parametrize(
    ("kind", "text", "off"),
    [("rect", "22x16", 1e-9), ("polygon", "-2,1 24,0 24,18 3,20", 1e-9), ("circle", "6", 1)],
)
def test_an_outline_holds_the_area_that_was_measured(kind: str, text: str, off: float) -> None:
    shape = takeoff.read_shape(kind, text)
    (one,) = outlines([shape])
    assert area(one) == pytest.approx(float(takeoff.shape_ft2(shape)), abs=off)
    assert min(x for x, _ in one.corners) == pytest.approx(0)
    assert min(y for _, y in one.corners) == pytest.approx(0)
    assert max(x for x, _ in one.corners) == pytest.approx(one.width_ft)
    assert max(y for _, y in one.corners) == pytest.approx(one.height_ft)


def test_four_rounded_corners_are_those_of_a_slab_that_is_one_rectangle() -> None:
    slab, corners = outlines([takeoff.read_shape("rect", "22x16"), takeoff.read_shape("round", "4@2")])
    whole = takeoff.area_ft2([takeoff.read_shape("rect", "22x16"), takeoff.read_shape("round", "4@2")])
    assert (slab.corner_radius_ft, corners.closed) == (2.0, False)
    assert area(slab) == pytest.approx(float(whole), abs=0.2)
    assert max(x for x, _ in slab.corners) == pytest.approx(22)


@pytest.mark.parametrize("shapes", [(("rect", "22x16"), ("round", "3@2")), (("rect", "3x16"), ("round", "4@2")),
                                    (("rect", "22x16"), ("rect", "8x3"), ("round", "4@2"))])  # fmt: skip
def test_corners_that_may_lie_anywhere_are_drawn_apart(shapes: tuple[tuple[str, str], ...]) -> None:
    found = outlines([takeoff.read_shape(*each) for each in shapes])
    assert [one.corner_radius_ft for one in found] == [0.0] * len(shapes)
    assert found[-1].kind == "round"


def test_what_is_cut_out_follows_what_is_added() -> None:
    cut, added = takeoff.read_shape("rect", "3x3", -1), takeoff.read_shape("rect", "9x9")
    assert [one.sign for one in outlines([cut, added])] == [1, -1]
    assert outlines([added])[0].width_ft == Fraction(9)


def test_a_rectangle_with_rounded_corners_goes_around_from_the_left() -> None:
    slab, _ = outlines([takeoff.read_shape("rect", "22x4"), takeoff.read_shape("round", "4@2")])
    assert slab.corner_radius_ft == 2.0  # twice the radius is just the width
    assert len(slab.corners) == 4 * 9
    for k, corner in enumerate([(0, 2), (20, 0), (22, 2), (2, 4)]):
        assert slab.corners[9 * k] == pytest.approx(corner)
    assert [slab.corners[9 * k + 8] for k in range(4)] == [
        pytest.approx(each) for each in [(2, 0), (22, 2), (20, 4), (0, 2)]
    ]


def test_a_corner_that_lies_anywhere_is_a_quarter_of_a_circle() -> None:
    (corner,) = outlines([takeoff.read_shape("round", "1@2")])
    assert (corner.width_ft, corner.height_ft, corner.sign) == (2, 2, -1)
    assert corner.corners[0] == pytest.approx((0, 2))
    assert corner.corners[-1] == pytest.approx((2, 0))
    assert all((x - 2) ** 2 + (y - 2) ** 2 == pytest.approx(4) for x, y in corner.corners)


def test_a_circle_has_thirty_two_sides_from_its_right() -> None:
    (one,) = outlines([takeoff.read_shape("circle", "3")])
    assert (len(one.corners), one.width_ft, one.height_ft) == (32, 6, 6)
    assert one.corners[0] == pytest.approx((6, 3))
    assert one.corners[8] == pytest.approx((3, 6))


def test_a_polygon_is_drawn_with_y_downward() -> None:
    (one,) = outlines([takeoff.read_shape("polygon", "1,1 5,1 5,4")])
    assert one.corners == ((0, 3), (4, 3), (4, 0))
    assert (one.width_ft, one.height_ft) == (4, 3)
