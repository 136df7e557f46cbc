"""How sure a box of a photo is, on frames and pictures so plain that it can be reckoned by hand."""

from __future__ import annotations

import numpy as np
import pytest

from finishlog.color.photo import frame
from finishlog.color.photo.frame import Box, Frame, cut, difference, of_gray, seen
from finishlog.color.photo.tone import Correction, decoded
from finishlog.errors import InputError

TRUE = Correction(np.zeros(3), np.ones(3), np.eye(3))
"""A photo that is right already."""
NONE = np.empty((0, 3))
WHOLE = Box(0, 0, 40, 40)


def of_patches(known: list[tuple[float, float, float]], missed: list[tuple[float, float, float]]) -> Frame:
    return Frame("card in the photo", TRUE, np.array(known, float), np.array(missed, float))


def gray(value: int) -> np.ndarray:
    return np.full((40, 40, 3), value, np.uint8)


EXACT = of_patches([(50, 0, 0), (80, 0, 0)], [(0, 0, 0)] * 2)


def test_a_patch_tells_of_its_own_color_and_a_far_one_hardly() -> None:
    """Two patches 60 apart, 3 sd: at the first it weighs 1 + .05, the other exp(-4.5) + .05."""
    two = of_patches([(20, 0, 0), (80, 0, 0)], [(1, 2, 0), (5, 2, 0)])
    far = np.exp(-4.5) + 0.05
    light = np.sqrt((1.05 * 1 + far * 25) / (1.05 + far) + 0.3**2)
    assert two.sd_at((20, 0, 0)) == pytest.approx((light, np.sqrt(4.09), 0.3))
    assert two.sd_at((50, 0, 0))[0] == pytest.approx(np.sqrt(13.09))


def test_errors_of_one_frame_are_the_less_alike_the_farther_their_colors_lie() -> None:
    """.96 of what two like colors are off by is common; ΔE 55 away it is .96/e."""
    assert frame.same_frame((40, 0, 0), (40, 0, 0)) == pytest.approx(0.96)
    assert frame.same_frame((40, 0, 0), (73, 44, 0)) == pytest.approx(0.96 / np.e)
    assert frame.same_frame((40, 0, 0), (95, 90, 90)) < 0.1


def test_between_two_colors_what_is_common_cancels() -> None:
    """Patches that are all off by (3, 4, 0): sd √(9 + .3²) and so on; of twice its square 1 - .96 stays."""
    sure = of_patches([(40, 0, 0), (60, 0, 0)], [(3, 4, 0)] * 2)
    whole = np.sqrt(np.array((9.09, 16.09, 0.09)))
    assert sure.sd_at((50, 0, 0)) == pytest.approx(whole)
    assert sure.difference_sd((50, 0, 0), (50, 0, 0)) == pytest.approx(whole * np.sqrt(2 * 0.04))
    assert sure.difference_sd((0, 0, 0), (55, 0, 0)) == pytest.approx(whole * np.sqrt(2 * (1 - 0.96 / np.e)))


def test_a_chip_of_known_color_makes_colors_near_it_surer() -> None:
    """At the chip 9 · .96² of the variance is told by a chip of sd .5 and .5 more, on top of a floor of .3."""
    card = of_patches([(40, 0, 0), (60, 0, 0)], [(3, 3, 3)] * 2)
    chip = frame.Chip((0.5, 0.5, 0.5), (50, 0, 0), (0.5, 0.5, 0.5))
    with_chip = Frame(card.source, TRUE, card.known, card.missed, (chip,))
    told = 9 / (9 + 0.5)
    assert with_chip.sd_at((50, 0, 0))[0] == pytest.approx(np.sqrt(9 * (1 - told * 0.96**2) + 0.09))
    assert with_chip.sd_at((20, 30, 60)) == pytest.approx(card.sd_at((20, 30, 60)), rel=0.1)


def test_a_gray_card_is_as_unsure_as_it_was_measured_to_be() -> None:
    card = Frame("gray card", TRUE, NONE, NONE)
    assert card.sd_at((50, 0, 0)) == pytest.approx(frame.GRAY_SD)
    whole = np.sqrt(2) * card.sd_at((50, 0, 0))
    common = frame.same_frame((0, 0, 0), (20, 0, 0))
    assert card.difference_sd((0, 0, 0), (20, 0, 0)) == pytest.approx(whole * np.sqrt(1 - common))


def test_a_gray_card_sets_every_channel_to_what_it_is_of_white() -> None:
    tinted = np.zeros((40, 40, 3), np.uint8)
    tinted[:] = (150, 120, 100)
    made = of_gray(tinted, WHOLE)
    assert made.correction.bands(np.array((150, 120, 100)) / 255) == pytest.approx([0.18] * 3)
    assert of_gray(tinted, WHOLE, 0.5).correction.bands(np.array((150, 120, 100)) / 255) == pytest.approx(
        [0.5] * 3
    )


@pytest.mark.parametrize(("blue", "gray_enough"), [(100, True), (98, False)])
def test_one_channel_may_be_four_times_another(blue: int, gray_enough: bool) -> None:
    """In linear light 187 is 4 times 100 to a hair, and more than that of 98. IEC 61966-2-1."""
    picture = np.zeros((40, 40, 3), np.uint8)
    picture[:] = (187, 150, blue)
    assert (decoded(np.array(187 / 255)) <= 4 * decoded(np.array(blue / 255))) == gray_enough
    if gray_enough:
        of_gray(picture, WHOLE)
    else:
        with pytest.raises(InputError, match="not gray") as refused:
            of_gray(picture, WHOLE)
        assert refused.value.where == "--gray"


def test_a_flat_box_is_as_sure_as_its_frame() -> None:
    """sRGB 119 is L* 50.03: L* of Y = decoded light, CIE 15."""
    found = seen(gray(119), WHOLE, EXACT)
    assert found.lab == pytest.approx((50.03, 0, 0), abs=0.01)
    assert (found.sd, found.own_sd, found.clipped) == (pytest.approx((0.3,) * 3), pytest.approx((0,) * 3), 0)


def test_a_box_whose_light_falls_off_is_unsure_by_the_spread_of_its_parts() -> None:
    """Sixteen parts in four columns of L* l₀..l₃: their sd (n - 1) over √4."""
    picture = gray(0)
    columns = (100, 110, 120, 130)
    for k, value in enumerate(columns):
        picture[:, 10 * k : 10 * k + 10] = value
    lights = [seen(gray(value), WHOLE, EXACT).lab[0] for value in columns]
    found = seen(picture, WHOLE, EXACT)
    assert found.own_sd[0] == pytest.approx(np.std(np.repeat(lights, 4), ddof=1) / 2, rel=1e-6)
    assert found.sd[0] == pytest.approx(np.hypot(found.own_sd[0], 0.3), rel=1e-6)


def test_of_a_whole_box_its_light_is_averaged_and_not_its_numbers() -> None:
    picture = gray(60)
    picture[:10] = 200  # a quarter of it
    median, whole = (seen(picture, WHOLE, EXACT, whole=each).lab[0] for each in (False, True))
    assert median == pytest.approx(seen(gray(60), WHOLE, EXACT).lab[0])
    light = 0.75 * decoded(np.array(60 / 255)) + 0.25 * decoded(np.array(200 / 255))
    assert whole == pytest.approx(116 * np.cbrt(light) - 16, abs=1e-3)  # CIE 15


@pytest.mark.parametrize(("value", "cut_off"), [(249, False), (250, True), (5, False), (4, True)])
def test_what_the_camera_cut_off(value: int, cut_off: bool) -> None:
    picture = gray(119)
    picture[::4, ::2] = value  # an eighth of it
    found = seen(picture, WHOLE, EXACT)
    assert found.clipped == (0.125 if cut_off else 0)
    if cut_off:
        assert np.array(found.own_sd) ** 2 == pytest.approx(
            np.square(0.125 * np.array(frame.CLIPPED_SD)), rel=1e-6
        )


@pytest.mark.parametrize(("value", "word"), [(255, "bright"), (0, "dark")])
def test_a_box_is_read_up_to_half_of_it_cut_off(value: int, word: str) -> None:
    picture = gray(119)
    picture[:20] = value
    assert seen(picture, WHOLE, EXACT).clipped == 0.5
    picture[20, 0] = value
    with pytest.raises(InputError, match=word):
        seen(picture, WHOLE, EXACT)


def test_a_box_cut_off_at_both_ends_is_named_by_the_more() -> None:
    for bright, word in ((14, "bright"), (10, "dark")):  # of 24 rows in 40
        picture = gray(119)
        picture[:bright], picture[bright:24] = 255, 0
        with pytest.raises(InputError, match=f"too {word}") as refused:
            seen(picture, WHOLE, EXACT)
        assert "60% of it is clipped" in refused.value.cause


def test_a_difference_is_from_the_old_to_the_new_and_adds_what_each_box_is_unsure_of() -> None:
    old, new = (
        frame.Seen((50, 1, 2), (9, 9, 9), (0.3, 0, 0), 0),
        frame.Seen((53, 1, 6), (9, 9, 9), (0.4, 0, 1), 0),
    )
    apart, sd = difference(EXACT, old, new)
    assert apart == (3, 0, 4)
    between = EXACT.difference_sd((50, 1, 2), (53, 1, 6))
    assert sd == pytest.approx(np.hypot(between, (0.5, 0, 1)))
    assert between == pytest.approx([0.3 * np.sqrt(2 - 2 * frame.same_frame((0, 0, 0), (3, 0, 4)))] * 3)


@pytest.mark.parametrize(
    ("box", "inside"),
    [((0, 0, 40, 40), True), ((1, 0, 40, 40), False), ((0, 1, 40, 40), False), ((36, 36, 4, 4), True),
     ((-1, 0, 9, 9), False), ((0, -1, 9, 9), False), ((0, 0, 3, 9), False), ((0, 0, 9, 3), False)],
)  # fmt: skip
def test_a_box_is_within_the_picture_and_four_pixels_at_least(box: tuple[int, ...], inside: bool) -> None:
    if inside:
        assert cut(gray(9), Box(*box)).shape == (box[3], box[2], 3)
    else:
        with pytest.raises(InputError):
            cut(gray(9), Box(*box))


def test_a_very_large_box_is_thinned_out_to_a_quarter_of_a_million() -> None:
    picture = np.zeros((1000, 1001, 3), np.uint8)
    assert cut(picture, Box(0, 0, 500, 500)).shape[:2] == (500, 500)
    assert cut(picture, Box(0, 0, 1000, 1000)).shape[:2] == (500, 500)
    assert cut(picture, Box(0, 0, 1001, 1000)).shape[:2] == (334, 334)
