"""Where the patches lie between four corners: a card of 16.75 × 11.25 units, 40 pixels each, as a map of itself."""

from __future__ import annotations

import numpy as np
import pytest

from finishlog.color.photo import patches
from finishlog.errors import InputError

UNIT = 40
WIDE, HIGH = round(16.75 * UNIT), round(11.25 * UNIT)
FRAME = np.array([(0, 0), (WIDE, 0), (WIDE, HIGH), (0, HIGH)], float)


def card() -> np.ndarray:
    """Each pixel's own place: x and y in steps of 3 pixels."""
    y, x = np.mgrid[:HIGH, :WIDE] // 3
    return np.stack([x, y, 0 * x], axis=-1).astype(np.uint8)


def test_the_middle_half_of_each_patch_is_looked_at() -> None:
    """A patch is 2.5 units, a quarter from the next: their middles are 1.5 and on by 2.75; half of 2.5 is ± .625."""
    seen = patches.sampled(card(), FRAME)
    assert seen.shape == (24, 441, 3)
    for k, patch in enumerate(seen):
        row, column = divmod(k, 6)
        for axis, place in ((0, column), (1, row)):
            low, high = (int((1.5 + 2.75 * place + off) * UNIT) for off in (-0.625, 0.625))
            assert (patch[:, axis].min(), patch[:, axis].max()) == (low // 3, high // 3)


@pytest.mark.parametrize(("inset", "edge"), list(zip(patches.INSETS, (0.0, 0.25, 1.5, -0.75), strict=True)))
def test_corners_of_frame_patches_centers_and_rim_name_the_same_card(inset: float, edge: float) -> None:
    """The patches begin a quarter unit in; the corner patches' middles lie at 1.5; a rim is three quarters wide."""
    inwards = np.array([(1, 1), (-1, 1), (-1, -1), (1, -1)]) * edge * UNIT
    seen = patches.sampled(card(), FRAME + inwards, inset).astype(int)
    assert np.abs(seen - patches.sampled(card(), FRAME)).max() <= 1


def test_a_card_that_reaches_over_the_picture_is_read_at_its_edge() -> None:
    seen = patches.sampled(card(), np.add(FRAME, (400, 300)))
    assert seen[23, :, 0].min() == (WIDE - 1) // 3
    assert seen[23, :, 1].min() == (HIGH - 1) // 3


def test_the_four_ways_begin_at_each_corner_and_go_on_clockwise() -> None:
    first = [turned[0].tolist() for turned in patches.rotations(FRAME)]
    assert first == FRAME.tolist()
    assert np.allclose(patches.rotations(FRAME)[1], FRAME[[1, 2, 3, 0]])


@pytest.mark.parametrize(("side", "fits"), [(18, True), (17.9, False)])
def test_a_card_is_at_least_three_patches_of_six_pixels_high(side: float, fits: bool) -> None:
    corners = [(0, 0), (90, 0), (90, side), (0, side)]
    if fits:
        assert len(patches.ordered(corners, 90, 60)) == 4
    else:
        with pytest.raises(InputError):
            patches.ordered(corners, 90, 60)


@pytest.mark.parametrize("corner", [(90.5, 60), (90, 60.5), (-0.5, 60)])
def test_a_corner_lies_on_the_picture_or_its_edge(corner: tuple[float, float]) -> None:
    assert len(patches.ordered([(0, 0), (90, 0), (90, 60), (0, 60)], 90, 60)) == 4
    with pytest.raises(InputError):
        patches.ordered([(0, 0), (90, 0), corner, (0, 60)], 90, 60)
