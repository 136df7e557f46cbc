"""The 24-patch card by its colors: on drawn pictures, where truth is known. Real photographs: test_card_photos.py."""

from __future__ import annotations

import sys
from itertools import permutations

import colour
import numpy as np
import pytest
from coloraide import Color
from hypothesis import given, settings
from hypothesis import strategies as st

from finishlog.color.notation.bands import bands_of, lab_of
from finishlog.color.notation.space import card_labs, delta_e_2000
from finishlog.color.photo import card, card_finder, tone
from finishlog.color.photo.frame import Box, difference, of_gray, seen
from finishlog.color.photo.patches import homography, ordered
from finishlog.errors import InputError
from tests.color.card_drawing import CORNERS, SLAB, drawn, encoded, spot_of

KNOWN = np.array([lab for _, lab in card_labs()])
TRUE = tone.Correction(np.zeros(3), np.ones(3), np.eye(3))


def test_known_values_are_the_published_ones_brought_to_d65() -> None:
    """From the published L*a*b* under D50 (cards made after November 2014), by colour-science's own chain."""
    published = colour.CCS_COLOURCHECKERS["ColorChecker24 - After November 2014"]
    xyz = colour.xyY_to_XYZ(np.array(list(published.data.values())))
    lab50 = colour.XYZ_to_Lab(xyz, published.illuminant)
    # white 9.5 and black 2 as printed on the maker's data sheet of November 2014, from memory
    assert lab50[18] == pytest.approx((95.19, -1.03, 2.93), abs=0.02)
    assert lab50[23] == pytest.approx((20.64, 0.07, -0.46), abs=0.02)
    assert [name for name, _ in card_labs()][::6] == ["dark skin", "orange", "blue", "white 9.5"]
    assert np.abs(KNOWN[18:, 1:]).max() < 3.5


def test_bands_and_decoding_agree_with_coloraide() -> None:
    rng = np.random.default_rng(2)
    for value in rng.uniform(0, 1, (300, 3)):
        other = Color("srgb", list(value))
        assert tone.decoded(value) == pytest.approx(other.convert("srgb-linear").coords(), abs=1e-9)
        assert lab_of(tone.decoded(value)) == pytest.approx(other.convert("lab-d65").coords(), abs=1e-6)
        assert bands_of(lab_of(tone.decoded(value))) == pytest.approx(tone.decoded(value), abs=1e-9)


@pytest.mark.parametrize("roots", [False, True])
def test_slopes_are_the_derivatives(roots: bool) -> None:
    rng = np.random.default_rng(1)
    light, known = rng.uniform(0.05, 0.9, (24, 3)), tone.of_patches(np.zeros((24, 3)), KNOWN)
    used = tone.used_terms(roots)
    prior = tone._of_used(tone.generic(), used)
    theta = (prior.mean + rng.normal(0, 0.05, tone.TERMS)[used]) * 1.0
    slopes = tone._slopes(theta, light, known, prior, used)
    assert slopes.shape == (72 + used.sum(), used.sum())
    for i in range(used.sum()):
        step = np.zeros(used.sum())
        step[i] = 1e-6
        ahead, behind = (tone._misses(theta + sign * step, light, known, prior, used) for sign in (1, -1))
        assert slopes[:, i] == pytest.approx((ahead - behind) / 2e-6, rel=2e-4, abs=2e-4)


def test_terms_tell_a_correction_whole() -> None:
    """Gains and a matrix whose rows add to one say what any 3×3 says; root terms leave grays gray."""
    plain = tone.Correction(
        np.zeros(3), np.ones(3), np.array([(1.2, 0.2, 0), (0.1, 0.9, 0.1), (0, 0.1, 0.7)])
    )
    again = tone.of_terms(plain.terms)
    assert again.matrix.sum(axis=1) == pytest.approx([1] * 3)
    seen_as = np.random.default_rng(2).uniform(0, 1, (9, 3))
    assert again.bands(seen_as) == pytest.approx(plain.bands(seen_as))
    rooted = tone.Correction(np.zeros(3), np.ones(3), np.eye(3), np.ones(3), np.full((3, 3), 0.2))
    assert rooted.bands((0.5, 0.5, 0.5)) == pytest.approx(TRUE.bands((0.5, 0.5, 0.5)))
    assert rooted.bands((0.9, 0.5, 0.1)) != pytest.approx(TRUE.bands((0.9, 0.5, 0.1)), abs=0.01)


def test_a_tone_curve_and_a_tint_are_undone() -> None:
    values = np.clip((bands_of(KNOWN) @ np.diag([1.0, 0.8, 0.6])).clip(0.001) ** 0.75 * 0.8 + 0.01, 0, 1)
    seen_as = encoded(values)
    found = tone.fit(tone.of_patches(seen_as, KNOWN))
    assert np.median(delta_e_2000(found.lab(seen_as), KNOWN)) < 0.5
    assert found.exponent == pytest.approx([1 / 0.75] * 3, abs=0.1)


def test_corners_in_any_order_and_any_way_up() -> None:
    slab = drawn()
    for turns in range(4):
        picture = np.rot90(slab, turns)
        height, width = picture.shape[:2]
        corners = np.array(CORNERS, float)
        for _ in range(turns):
            corners = np.stack(
                [corners[:, 1], (slab.shape[1] if _ % 2 == 0 else slab.shape[0]) - corners[:, 0]], 1
            )
        assert (corners >= 0).all()
        assert (corners <= (width, height)).all()
        for order in list(permutations(range(4)))[turns::8]:  # others for each turn: half of all there are
            found = card.between(picture, corners[list(order)])
            assert found.loo_median_de00 < 1.0
            assert np.allclose(found.corners[0], corners[0])


def test_corners_of_patches_and_their_centers_serve_too() -> None:
    frame = np.array(CORNERS, float)
    middle = frame.mean(axis=0)
    for share in (0.97, 0.84, 1.08):
        assert card.between(drawn(), middle + share * (frame - middle)).loo_median_de00 < 1.5


@pytest.mark.parametrize(
    ("corners", "reason"),
    [
        ([(-5, 10), (700, 10), (700, 400), (10, 400)], "outside the picture"),
        ([(100, 100), (5_000, 100), (700, 400), (10, 400)], "outside the picture"),
        ([(100, 100), (250, 250), (400, 400), (700, 100)], "on a line"),
        ([(100, 100), (100, 100), (400, 400), (700, 100)], "on a line"),
        ([(100, 100), (700, 100), (400, 400), (400, 250)], "around the fourth"),
        ([(100, 100), (112, 100), (112, 108), (100, 108)], "too small"),
        ([(100, 100), (700, 100), (400, 500)], "four corners"),
        ([(float("nan"), 100), (700, 100), (400, 500), (100, 400)], "four corners"),
    ],
)
def test_corners_that_are_none_are_refused(corners: list[tuple[float, float]], reason: str) -> None:
    with pytest.raises(InputError) as refused:
        card.between(drawn(), corners)
    assert reason in refused.value.cause


@given(st.lists(st.tuples(st.floats(10, 590), st.floats(10, 390)), min_size=4, max_size=4))
@settings(max_examples=200, deadline=None)
def test_whatever_the_corners_the_answer_is_a_card_or_a_reason(corners: list[tuple[float, float]]) -> None:
    try:
        found = ordered(corners, 600, 400)
    except InputError:
        return
    there = homography(np.array([(0, 0), (1, 0), (1, 1), (0, 1)], float), found)
    assert np.isfinite(there).all()
    off = found - found.mean(axis=0)
    assert (np.diff(np.arctan2(off[:, 1], off[:, 0])) > 0).all()


def test_clipped_patches_are_named_and_left_out() -> None:
    found = card.between(drawn(gain=1.12), CORNERS)
    assert "white 9.5" in found.clipped
    assert len(found.clipped) <= card.MOST_CLIPPED
    assert np.isnan(found.loo_de00).sum() == len(found.clipped)
    assert found.loo_median_de00 < 1.0


def test_an_overexposed_card_is_refused_and_its_patches_named() -> None:
    with pytest.raises(InputError, match="overexposed") as refused:
        card.between(drawn(gain=3.0), CORNERS)
    assert "white 9.5" in refused.value.cause
    assert "yellow" in refused.value.cause


def test_a_dark_card_is_refused() -> None:
    with pytest.raises(InputError, match="too dark"):
        card.between(drawn(gain=0.015), CORNERS)


def test_one_covered_patch_is_named_and_left_out_and_five_are_too_many() -> None:
    one = drawn(hidden=[7])
    found = card.between(one, CORNERS)
    assert found.strange == ("purplish blue",)
    assert len(found.frame.known) == 23
    with pytest.raises(InputError, match="covered"):
        card.between(drawn(hidden=[2, 3, 8, 9, 14, 15]), CORNERS)


def test_without_the_extra_corners_are_asked_for(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "cv2", None)
    with pytest.raises(InputError, match="search for") as refused:
        card.anywhere(drawn(), card_finder.candidates(drawn()))
    assert "finishlog[card]" in refused.value.cause
    assert refused.value.where == "--corners"
    assert card.between(drawn(), CORNERS).loo_median_de00 < 1.0


def test_opencv_4_is_asked_in_its_own_way() -> None:
    """The older call takes the kind of card with the picture; it is not installed here, so its shape is."""
    cv2 = pytest.importorskip("cv2", reason="the extra finishlog[card] is not installed")
    asked = []

    class Older:
        def process(self, image: np.ndarray, kind: object, most: int) -> bool:
            asked.append((image.shape, kind, most))
            return True

    assert card_finder._looked(Older(), drawn())
    assert asked == [((420, 760, 3), cv2.mcc.MCC24, 1)]


def test_a_box_is_read_with_its_own_uncertainty() -> None:
    picture = drawn()
    found = card.between(picture, CORNERS)
    plain = seen(picture, Box(*SLAB), found.frame)
    assert plain.lab == pytest.approx((58, 9, 17), abs=1.5)
    assert all(sd >= 0.3 for sd in plain.sd)
    speckled = picture.copy()
    x, y, width, height = SLAB
    speckled[y : y + height // 2, x : x + width] = speckled[y : y + height // 2, x : x + width] // 3 * 2
    assert seen(speckled, Box(*SLAB), found.frame).sd[0] > plain.sd[0] + 1


def test_a_worse_photo_has_a_wider_uncertainty() -> None:
    good, bad = drawn(), drawn(scatter=0.06)
    sds = [seen(each, Box(*SLAB), card.between(each, CORNERS).frame).sd for each in (good, bad)]
    assert sds[1][0] > 2 * sds[0][0]


def test_within_a_frame_a_difference_is_surer_than_each_color() -> None:
    picture = drawn(scatter=0.06)
    found = card.between(picture, CORNERS)
    x, y, width, height = SLAB
    one = seen(picture, Box(x, y, width // 2, height), found.frame)
    other = seen(picture, Box(x + width // 2, y, width // 2, height), found.frame)
    apart, sd = difference(found.frame, one, other)
    assert apart == pytest.approx((0, 0, 0), abs=0.5)
    assert max(sd) < min(one.sd)


@pytest.mark.parametrize(
    ("box", "reason"), [((5, 5, 5_000, 20), "outside the picture"), ((5, 5, 2, 2), "too small")]
)
def test_boxes_that_cannot_be_read(box: tuple[int, int, int, int], reason: str) -> None:
    found = card.between(drawn(), CORNERS)
    with pytest.raises(InputError, match=reason):
        seen(drawn(), Box(*box), found.frame)


def test_a_clipped_box_is_refused_and_a_partly_clipped_one_is_less_sure() -> None:
    picture = drawn()
    found = card.between(picture, CORNERS)
    x, y, width, height = SLAB
    sure = seen(picture, Box(*SLAB), found.frame)
    picture[y : y + height // 4, x : x + width] = 255
    assert seen(picture, Box(*SLAB), found.frame).sd[0] > sure.sd[0] + 1
    picture[y : y + height, x : x + width] = 255
    with pytest.raises(InputError, match="too bright"):
        seen(picture, Box(*SLAB), found.frame)


def test_a_gray_card_alone_reads_and_is_less_sure() -> None:
    picture = drawn(gain=0.8)
    gray = of_gray(picture, Box(*spot_of(21)), 0.19)  # neutral 5, Y .19
    found = seen(picture, Box(*SLAB), gray)
    assert found.lab == pytest.approx((58, 9, 17), abs=3)
    assert min(found.sd) > max(seen(picture, Box(*SLAB), card.between(picture, CORNERS).frame).sd)


def test_a_colored_gray_card_is_refused() -> None:
    picture = drawn()
    picture[:50, :50] = (200, 60, 40)
    with pytest.raises(InputError, match="not gray"):
        of_gray(picture, Box(5, 5, 30, 30))
