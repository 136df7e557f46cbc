"""Where a slab is jointed, against every layout there could be and lengths reckoned another way."""

from __future__ import annotations

import math
from fractions import Fraction as F

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from finishlog.records.quantities.order import FlatShape
from finishlog.records.shop import Shop
from finishlog.trade.pour import joints
from finishlog.trade.pour.takeoff import read_shape

SHOP = Shop.from_values({})
sides = st.integers(4, 60 * 12).map(lambda inches: F(inches, 12))
depths = st.sampled_from([F(3), F("3.5"), F(4), F(5), F(6), F(8)])


def rect(text: str, sign: int = 1):  # type: ignore[no-untyped-def]
    return read_shape("rect", text, sign)


def every_layout(length: F, width: F, spacing: F):  # type: ignore[no-untyped-def]
    """Each way to cut with no side over the spacing and none under 2 ft but where the slab itself is narrow."""

    def counts(side: F) -> range:
        fewest = next(n for n in range(1, 10_000) if side / n <= spacing)
        return range(fewest, max(fewest, math.floor(side / 2)) + 1)

    for along in counts(length):
        for across in counts(width):
            one, w = length / along, width / across
            yield max(one, w) / min(one, w), (along - 1) * width + (across - 1) * length


@settings(max_examples=300, deadline=None)
@given(sides, sides, depths)
def test_panels_keep_the_spacing_and_are_square_enough_where_any_layout_is(long: F, w: F, depth: F) -> None:
    spacing = min(depth * 30 / 12, F(18))
    along, across = joints.panels(long, w, spacing, F(3, 2))
    assert long / along <= spacing
    assert w / across <= spacing
    ratio = max(long / along, w / across) / min(long / along, w / across)
    feet = (along - 1) * w + (across - 1) * long
    layouts = list(every_layout(long, w, spacing))
    square = [other for r, other in layouts if r <= F(3, 2)]
    if square:
        assert ratio <= F(3, 2)
        assert feet == min(square)
    else:
        assert ratio == min(r for r, _ in layouts)


@given(sides, sides, st.integers(1, 40))
def test_a_slab_turned_around_is_cut_the_same(long: F, w: F, spacing: int) -> None:
    along, across = joints.panels(long, w, F(spacing), F(3, 2))
    turned = joints.panels(w, long, F(spacing), F(3, 2))
    assert (along - 1) * w + (across - 1) * long == (turned[1] - 1) * w + (turned[0] - 1) * long


def test_a_square_under_the_spacing_has_no_joint() -> None:
    found = joints.plan([rect("9x8")], F(4), SHOP)
    assert found is not None
    assert (found.joint_ft, found.panels) == (0, 1)


def test_a_walk_is_cut_square_though_it_is_shorter_than_the_spacing() -> None:
    assert joints.panels(F(9), F(3), F(10), F(3, 2)) == (2, 1)


def test_spacing_is_24_to_36_times_the_thickness_and_18_ft_at_most() -> None:
    four = joints.plan([rect("30x30")], F(4), SHOP)
    eight = joints.plan([rect("30x30")], F(8), SHOP)
    assert four is not None and eight is not None  # noqa: PT018
    assert (four.low_ft, four.spacing_ft, four.high_ft) == (8, 10, 12)
    assert (eight.low_ft, eight.spacing_ft, eight.high_ft) == (16, 18, 18)
    assert (four.saw_depth_in, eight.saw_depth_in) == (1, 2)


def test_the_feet_of_a_real_shape() -> None:
    """22×16 is 3 × 2 panels of 7 ft 4 by 8: two joints of 16 ft, one of 22. 8×3 is cut in two by one of 3 ft."""
    shapes = [rect("22x16"), rect("8x3"), rect("3x3", -1), rect("4x2", -1), read_shape("round", "4@2")]
    found = joints.plan(shapes, F(4), SHOP)
    assert found is not None
    assert [(p.along, p.across, p.joint_ft) for p in found.pieces] == [(3, 2, 54), (2, 1, 3)]
    assert (found.joint_ft, found.meet_ft) == (57, 8)
    assert found.corners == (2, 10)  # each cut-out 1 to 4, the joined rectangle up to 2


@given(st.integers(2, 30), depths)
def test_the_joints_of_a_round_slab_are_its_chords(radius: int, depth: F) -> None:
    found = joints.plan([read_shape("circle", str(radius))], depth, SHOP)
    assert found is not None
    (piece,) = found.pieces
    step = 2 * radius / piece.along
    chords = (2 * radius * math.sin(math.acos(-1 + step * at / radius)) for at in range(1, piece.along))
    assert float(piece.joint_ft) == pytest.approx(2 * sum(chords), abs=0.01)
    assert piece.along == piece.across


def test_the_inside_corner_of_an_l_is_seen_and_its_joints_end_at_the_edge() -> None:
    """An L of 20×20 with 10×10 missing: lines at 10 each way, 10 of each length on the edge of what is missing."""
    found = joints.plan([read_shape("polygon", "0,0 20,0 20,10 10,10 10,20 0,20")], F(4), SHOP)
    assert found is not None
    assert found.corners == (1, 1)
    assert found.pieces[0].along == found.pieces[0].across == 2
    assert found.joint_ft == 20


@given(sides, sides, depths)
def test_a_rectangle_as_a_polygon_has_the_same_joints(long: F, w: F, depth: F) -> None:
    box = FlatShape("polygon", 1, (F(0), F(0), long, F(0), long, w, F(0), w))
    plain = FlatShape("rect", 1, (long, w))
    one, other = joints.plan([box], depth, SHOP), joints.plan([plain], depth, SHOP)
    assert one is not None and other is not None  # noqa: PT018
    assert one.joint_ft == other.joint_ft
    assert one.corners == (0, 0)


def test_a_hole_of_any_form_has_an_inside_corner_at_each_of_its_own() -> None:
    hole = read_shape("polygon", "0,0 2,0 2,2 0,2", -1)
    assert joints.inside_corners([rect("20x20"), hole]) == (1, 4)
    assert joints.inside_corners([rect("20x20"), read_shape("circle", "2", -1)]) == (0, 0)


def test_steps_alone_have_no_panels() -> None:
    assert joints.plan([], F(4), SHOP) is None


def test_the_shop_sets_the_spacing() -> None:
    found = joints.plan([rect("30x30")], F(4), Shop.from_values({"joint_times": "24"}))
    assert found is not None
    assert (found.spacing_ft, found.pieces[0].along) == (8, 4)


def test_a_panel_of_just_two_feet_is_made_to_be_square() -> None:
    """A band of 2 ft by 3.5: over 1.5 to 1, so cut once, though its panels are 2 by 1.75; of 1.9 by 2.9 not."""
    assert joints.panels(F(4), F(2), F(10), F(3, 2)) == (2, 1)
    assert joints.panels(F("3.9"), F(2), F(10), F(3, 2)) == (1, 1)


def test_a_rounded_corner_or_a_hole_is_no_piece_and_a_joint_on_the_spacing_is_none() -> None:
    found = joints.plan([rect("20x10"), rect("4x2", -1), read_shape("round", "4@2")], F(4), SHOP)
    assert found is not None
    assert [(p.along, p.across, p.joint_ft, p.length_ft, p.width_ft) for p in found.pieces] == [
        (2, 1, 10, 20, 10)
    ]
    assert found.ratio == F(3, 2)


def test_every_piece_but_the_largest_and_the_round_ones_meets_what_it_is_joined_to() -> None:
    found = joints.plan([rect("9x9"), rect("8x3"), rect("2x6"), read_shape("circle", "2")], F(4), SHOP)
    assert found is not None
    assert found.meet_ft == 8 + 6


def test_a_slanted_side_cuts_a_joint_where_it_crosses_it() -> None:
    """A right triangle of 20 by 10: the line at 10 is 5 long, whichever way round it is told; across none at 10."""
    for text in ("0,0 20,0 0,10", "0,10 20,0 0,0", "20,0 0,10 0,0"):
        found = joints.plan([read_shape("polygon", text)], F(4), SHOP)
        assert found is not None
        assert (found.pieces[0].along, found.pieces[0].across, found.joint_ft) == (2, 1, 5)
        assert found.corners == (0, 0)


def test_a_hole_is_turned_against_the_slab_whichever_way_round_it_is_told() -> None:
    for text in ("0,0 4,0 4,4 2,1 0,4", "0,4 2,1 4,4 4,0 0,0"):
        assert joints.inside_corners([read_shape("polygon", text)]) == (1, 1)
        assert joints.inside_corners([rect("20x20"), read_shape("polygon", text, -1)]) == (1, 4)
    assert joints.inside_corners([rect("20x20"), rect("2x2"), read_shape("circle", "3")]) == (0, 2)
