"""Areas and volumes against worked examples in print."""

from __future__ import annotations

import math
from fractions import Fraction as F

import pytest
from hypothesis import given
from hypothesis import strategies as st

from finishlog.errors import InputError
from finishlog.records.quantities.order import Extra, FlatShape
from finishlog.trade.pour import takeoff


def shape(kind: str, text: str, sign: int = 1) -> FlatShape:
    return takeoff.read_shape(kind, text, sign)


def test_school_example_thirty_by_sixty_by_four_inches() -> None:
    # Agricultural-mechanics lesson "Estimating Concrete Construction and Material Cost": 600 ft3.
    take = takeoff.take_off([shape("rect", "30x60")], F(4))
    assert take.volume_yd3 * 27 == 600


def test_navy_example() -> None:
    # NAVEDTRA 14070, fig. 5-2: 527.40 ft3, x 1.10 = 580.14 ft3. Dimensions inferred from the printed
    # products, 0.33 ft as printed. The manual prints 21 yd3; 580.14/27 is 21.487, so 21 would run short.
    parts = ("32x2x0.67ft", "18.67x2x0.67ft", "33.33x2x1ft", "17.33x2x1ft")
    edges = [takeoff.read_extra("edge", part) for size in parts for part in (size, size)]
    printed = [float(takeoff.extra_yd3(takeoff.read_extra("edge", part)) * 54) for part in parts]
    assert printed == pytest.approx([85.76, 50.04, 133.32, 69.32], abs=0.005)
    take = takeoff.take_off([shape("rect", "18.67x30.67")], F("0.33") * 12, edges)
    assert float(take.slab_yd3 * 27) == pytest.approx(188.96, abs=0.005)
    assert float(take.volume_yd3 * 27) == pytest.approx(527.40, abs=0.01)
    assert float(take.volume_yd3 * 27 * F("1.10")) == pytest.approx(580.14, abs=0.01)
    assert float(take.volume_yd3 * F("1.10")) == pytest.approx(21.487, abs=0.001)


def test_rounded_corners() -> None:
    # Plane geometry, exact: 20 x 12 ft, r = 2 ft: 236.56637 ft2.
    area = takeoff.area_ft2([shape("rect", "20x12"), shape("round", "4@2")])
    assert float(area) == pytest.approx(236.56637, abs=1e-5)
    assert float(1 - takeoff.PI / 4) == pytest.approx(0.2146018366, abs=1e-10)


@pytest.mark.parametrize("sign", [1, -1])
def test_rounding_a_corner_always_takes_away(sign: int) -> None:
    assert takeoff.shape_ft2(shape("round", "1@2", sign)) < 0


def test_the_issues_example() -> None:
    shapes = [shape("rect", "24x18"), shape("rect", "6x4"), shape("rect", "3x3", -1), shape("round", "4@2")]
    take = takeoff.take_off(shapes, F(4))
    assert float(take.area_ft2) == pytest.approx(443.566, abs=0.0005)
    assert float(take.volume_yd3) == pytest.approx(5.476, abs=0.0005)


def test_shapes_as_they_are_written() -> None:
    assert shape("rect", "24'6\" x 18'").sizes_ft == (F(49, 2), F(18))
    assert shape("rect", "7.5 m × 3 m").sizes_ft == (F("7.5") / F("0.3048"), 3 / F("0.3048"))
    assert shape("rect", "24 by 18").sizes_ft == (F(24), F(18))
    assert shape("rect", "24X18").sizes_ft == (F(24), F(18))
    assert float(takeoff.shape_ft2(shape("circle", "6"))) == pytest.approx(36 * math.pi, rel=1e-12)
    assert takeoff.read_extra("edge", "40x1x8in").sizes_ft == (F(40), F(1), F(2, 3))
    assert takeoff.read_extra("edge", "40x1x8").sizes_ft == (F(40), F(1), F(2, 3))


def test_polygons() -> None:
    assert takeoff.shape_ft2(shape("polygon", "0,0 24,0 24,18 0,18")) == 432
    assert takeoff.shape_ft2(shape("polygon", "0,0 24,0 24,18 0,18 0,0")) == 432
    assert takeoff.shape_ft2(shape("polygon", "0,18 24,18 24,0 0,0")) == 432
    assert takeoff.shape_ft2(shape("polygon", "-3,0 3,0; 0,4'6\"")) == F(27, 2)
    assert takeoff.shape_ft2(shape("polygon", "0,0 10,0 10,10 5,10 5,5 0,5")) == 75


@given(
    st.fractions(min_value=1, max_value=500, max_denominator=64),
    st.fractions(min_value=1, max_value=500, max_denominator=64),
    st.fractions(min_value=-100, max_value=100, max_denominator=64),
)
def test_a_rectangle_is_the_same_by_its_corners(length: F, width: F, away: F) -> None:
    corners = (away, away, away + length, away, away + length, away + width, away, away + width)
    assert takeoff.polygon_ft2(corners) == length * width


@pytest.mark.parametrize(
    ("kind", "text"),
    [
        ("polygon", "0,0 10,10 10,0 0,10"),
        ("polygon", "0,0 1,1"),
        ("polygon", "0,0 1,1 2"),
        ("polygon", "0,0 1,1 2,2,2"),
        ("polygon", "0,0 1,NaN 2,2"),
        ("polygon", " ".join(f"{i},{i * i}" for i in range(101))),
        ("rect", "24"),
        ("rect", "24x18x2"),
        ("rect", "24x0"),
        ("rect", "0x10"),
        ("rect", "-24x18"),
        ("rect", "6,5x3"),
        ("rect", "24 lb x 18"),
        ("rect", "\x1b[31mx3"),
        ("rect", "9" * 400 + "x3"),
        ("circle", "0"),
        ("round", "4"),
        ("round", "4@0"),
        ("round", "0@2"),
        ("round", "1.5@2"),
        ("heart", "4"),
    ],
)
def test_shapes_that_are_none(kind: str, text: str) -> None:
    with pytest.raises(InputError) as caught:
        shape(kind, text)
    assert caught.value.line().isprintable()


@pytest.mark.parametrize("text", ["40x1", "40x1x0", "x", "", "40x1x8 lb", "3"])
@pytest.mark.parametrize("kind", ["edge", "stairs"])
def test_extras_that_are_none(kind: str, text: str) -> None:
    with pytest.raises(InputError):
        takeoff.read_extra(kind, text)


def test_steps_are_solid_prisms() -> None:
    # Three steps of 7 in by 11 in, 4 ft wide: 1 + 2 + 3 blocks of one step each.
    stairs = takeoff.read_extra("stairs", "3x4x7x11")
    assert takeoff.extra_yd3(stairs) * 27 == 6 * F(7, 12) * F(11, 12) * 4
    one = Extra("stairs", (F(1), F(4), F(7, 12), F(11, 12)))
    assert takeoff.extra_yd3(one) * 27 == F(7, 12) * F(11, 12) * 4


def test_a_step_in_feet_is_asked_back() -> None:
    with pytest.raises(InputError, match="step"):
        takeoff.read_extra("stairs", "3x4x7ftx11")


def test_nothing_measured_and_nothing_left() -> None:
    with pytest.raises(InputError, match="Nothing measured"):
        takeoff.take_off([], F(4))
    with pytest.raises(InputError, match="No area is left"):
        takeoff.take_off([shape("rect", "3x3"), shape("rect", "3x3", -1)], F(4))
    with pytest.raises(InputError, match="has no area"):
        takeoff.take_off([shape("polygon", "0,0 1,1 2,2")], F(4))


@pytest.mark.parametrize(
    "text",
    [
        "0,0 2,2 4,4 4,0 2,2 0,3",  # a bow tie: its halves would count against each other
        "0,0 4,0 4,4 2,0 0,4",  # a corner on another side
        "0,0 6,0 6,4 3,4 3,0 0,4",
        "0,0 4,0 4,4 0,4 0,0 -4,0 -4,-4",  # two pieces that hang together at a corner
    ],
)
def test_a_polygon_that_touches_itself_is_two(text: str) -> None:
    with pytest.raises(InputError, match="has no area"):
        shape("polygon", text)


@pytest.mark.parametrize(
    "text", ["0,0 2,0 4,0 4,3 0,3", "0,0 4,0 4,0 4,3 0,3 0,0", "0,0 4,0 4,3 1,3 1,1 0,3"]
)
def test_a_corner_on_the_way_or_said_twice_is_no_touch(text: str) -> None:
    assert takeoff.shape_ft2(shape("polygon", text)) > 0


@pytest.mark.parametrize("text", ["4r2", "4R2", "4 r 2 ft", "4@2", "4 @ 24 in"])
def test_rounded_corners_are_written_with_an_r_and_read_as_they_were_written_before(text: str) -> None:
    assert takeoff.read_shape("round", text) == takeoff.read_shape("round", "4@2")


@pytest.mark.parametrize("text", ["4", "r2", "4x2", "r", "4 of 2"])
def test_other_ways_to_write_corners_are_refused_with_an_example(text: str) -> None:
    with pytest.raises(InputError) as refused:
        takeoff.read_shape("round", text)
    assert "@" not in refused.value.line()


@pytest.mark.parametrize(
    ("text", "fits"), [("3x4x24x120", True), ("3x4x24.5x11", False), ("3x4x7x120.5", False)]
)
def test_a_step_is_at_most_two_feet_high_and_ten_deep(text: str, fits: bool) -> None:
    if fits:
        assert takeoff.read_extra("stairs", text).sizes_ft == (3, 4, 2, 10)
    else:
        with pytest.raises(InputError, match="step"):
            takeoff.read_extra("stairs", text)


def test_a_polygon_has_three_to_a_hundred_corners() -> None:
    around = [(math.cos(2 * math.pi * i / 100), math.sin(2 * math.pi * i / 100)) for i in range(100)]
    text = " ".join(f"{90 * x + 100:.3f},{90 * y + 100:.3f}" for x, y in around)
    assert float(takeoff.shape_ft2(shape("polygon", text))) == pytest.approx(math.pi * 90**2, rel=0.001)
    assert takeoff.shape_ft2(shape("polygon", "0,0 6,0 0,5")) == 15


def test_as_many_corners_and_steps_as_a_thousand() -> None:
    assert shape("round", "1000r2").sizes_ft == (1000, 2)
    assert takeoff.read_extra("stairs", "1000x4x7x11").sizes_ft[0] == 1000
    for wrong in (lambda: shape("round", "1001r2"), lambda: takeoff.read_extra("stairs", "1001x4x7x11")):
        with pytest.raises(InputError):
            wrong()


def test_sides_that_touch_in_one_point_meet_and_those_that_only_come_near_do_not() -> None:
    """A corner on another side from within, and a hundredth of a foot from it."""
    with pytest.raises(InputError, match="has no area"):
        shape("polygon", "0,0 10,0 10,10 5,0 0,10")
    assert takeoff.shape_ft2(shape("polygon", "0,0 10,0 10,10 5,0.01 0,10")) == F("50.05")
    with pytest.raises(InputError, match="has no area"):
        shape("polygon", "0,0 0,10 10,10 0,5 10,0")
    assert takeoff.shape_ft2(shape("polygon", "0,0 0,10 10,10 0.01,5 10,0")) == F("50.05")
