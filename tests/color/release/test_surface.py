"""Release left on a settled surface, on made-up photos of another family than the estimator (surface_truth.py)."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np
import pytest

from finishlog.color.notation.bands import lab_of
from finishlog.color.photo.frame import GRAY_SD, Box, Frame
from finishlog.color.photo.tone import Correction
from finishlog.color.release import surface
from finishlog.color.release.surface import Elsewhere, SurfaceLeft, release_left
from finishlog.errors import InputError
from tests.color import drawn_truth, height_truth
from tests.color.drawn_truth import Drawn
from tests.color.height_truth import LOW, MID_SUN, SHADE, Day
from tests.color.surface_truth import (
    LOW_SUN,
    LOW_SUN_SMOOTH,
    MODERATE,
    MODERATE_SMOOTH,
    Light,
    Photo,
    Stones,
    photo,
)

PLAIN = Correction(np.zeros(3), np.ones(3), np.eye(3))
FRAME = Frame("card in the photo", PLAIN, np.empty((0, 3)), np.empty((0, 3)))
SEEDS = (11, 2_000, 30_000)


SOFT = (0.0, 0.06, 0.12)
"""How far release is smeared, as a part of the field's width."""
STONES: tuple[Stones, ...] = ("ashlar", "cobble", "seamless")
LIMITS = ((MODERATE, 0.035), (MODERATE_SMOOTH, 0.035), (LOW_SUN, 0.05), (LOW_SUN_SMOOTH, 0.05))


def told(made: Photo) -> SurfaceLeft:
    return release_left(made.picture, FRAME, made.field, made.base, made.release)


@dataclass(frozen=True)
class Trial:
    """Errors of release left on many photos, and the sd told."""

    off: np.ndarray
    sd: np.ndarray

    @property
    def rmse(self) -> float:
        return float(np.sqrt(np.mean(np.square(self.off))))

    @property
    def cover(self) -> float:
        """Part of the 90 percent ranges that hold."""
        return float(np.mean(np.abs(self.off) <= 1.645 * self.sd))

    def __str__(self) -> str:
        return (
            f"RMSE {self.rmse:.4f}, mean {self.off.mean():+.4f}, cover {self.cover:.3f}, "
            f"sd {self.sd.mean():.4f}, {len(self.off)} photos"
        )


def tried(photos: Iterable[Photo]) -> Trial:
    found = [(seen.share - made.left, seen.sd) for made in photos for seen in (told(made),)]
    return Trial(*np.array(found).T)


@pytest.mark.parametrize(("light", "limit"), LIMITS)
def test_release_left_of_three_photos(light: Light, limit: float) -> None:
    """Sharp, smeared and soft: one of each stone."""
    lights = [replace(light, stones=stones, blur=blur) for stones, blur in zip(STONES, SOFT, strict=True)]
    trial = tried(photo(4_100 + number, each) for number, each in enumerate(lights))
    print(f"\n{light}: {trial}")
    assert trial.rmse <= limit
    assert (np.abs(trial.off) < 4 * trial.sd).all()


EDGES = ((0.0, 0.0), (0.03, 0.0), (0.12, 0.0), (0.0, 0.03), (0.0, 0.06), (0.0, 0.12))
"""Softness by height and by smearing."""


@pytest.mark.long
@pytest.mark.parametrize(("light", "limit"), LIMITS)
def test_release_left_at_full_size(light: Light, limit: float) -> None:
    """Sharp and soft edges, three reliefs, three seeds: the error at each softness, the ranges over all."""
    trials = []
    for edge, blur in EDGES:
        made = (
            photo(seed + 100 * order + number, replace(light, stones=stones, edge=edge, blur=blur))
            for order, stones in enumerate(STONES)
            for seed in SEEDS
            for number in range(6)
        )
        trials.append(tried(made))
        print(
            f"\nrelief {light.relief}, smooth patches {light.smooth_patches}, edge {edge}, blur {blur}: {trials[-1]}"
        )
        assert trials[-1].rmse <= limit
    whole = Trial(*(np.concatenate([getattr(each, name) for each in trials]) for name in ("off", "sd")))
    print(f"\nin all: {whole}")
    assert 0.85 <= whole.cover <= 0.96


@pytest.mark.long
@pytest.mark.parametrize("day", [SHADE, MID_SUN, LOW], ids=["shade", "sun", "low sun"])
@pytest.mark.parametrize("soft", [0.02, 0.15, 0.4])
def test_release_left_on_a_slab_of_another_make(day: Day, soft: float) -> None:
    """A blue sky and mottled tint, which the field's model knows nothing of."""
    trial = tried(
        height_truth.photo(seed + number, replace(day, soft=soft, smooth_patches=bool(number % 2)))
        for seed in SEEDS
        for number in range(20)
    )
    print(f"\n{day.sun}° of sun, softness {soft}: {trial}")
    assert trial.rmse <= 0.05
    assert trial.cover >= 0.85


DRAWN = [Drawn(grain, *jpeg) for grain in (0.005, 0.02, 0.05) for jpeg in ((95,), (90,), (80, True))]


def drawn(seed: int, number: int, look: Drawn) -> Iterable[Photo]:
    """So many drawings with little to much release."""
    return (drawn_truth.photo(seed + k, look, (0.05, 0.12, 0.2, 0.3, 0.5)[k % 5]) for k in range(number))


def test_a_jpeg_smears_its_colors_over_what_lies_beside_them() -> None:
    """Read as a little release all over the stones, it gave .03 to .05 more than there was, called sure."""
    trial = tried(drawn(700, 8, Drawn()))
    assert trial.rmse <= 0.03
    assert trial.cover >= 0.75


@pytest.mark.long
@pytest.mark.parametrize("look", DRAWN, ids=str)
def test_release_left_on_a_drawing(look: Drawn) -> None:
    """Another make again, on which the smear was found: few colors, sharp joints, grain alike in all bands, a JPEG."""
    trial = tried(drawn(9000, 60, look))
    print(f"\n{look}: {trial}")
    assert trial.rmse <= 0.035
    assert trial.cover >= 0.85


def test_the_fall_of_light_is_taken_out() -> None:
    made = photo(5, Light(relief=0.1, gradient=0.0, occlusion=0.0))
    dimmed = made.picture * np.linspace(1.0, 0.8, made.picture.shape[1])[None, :, None]
    found = release_left(np.rint(dimmed).astype(np.uint8), FRAME, made.field, made.base, made.release)
    assert found.fall[0] < -0.2
    assert found.share == pytest.approx(told(made).share, abs=0.03)


def test_no_light_falls_off_where_only_the_release_is_uneven() -> None:
    """All release on one half: that is no darker light."""
    made = photo(6, Light(relief=0.1, gradient=0.0, occlusion=0.0))
    picture = made.picture.copy()
    side, patch = made.field.width, made.release
    dark = picture[patch.y : patch.y + patch.height, patch.x : patch.x + patch.width].reshape(-1, 3)
    light = picture[made.base.y : made.base.y + patch.height, patch.x : patch.x + patch.width].reshape(-1, 3)
    rng = np.random.default_rng(0)
    picture[:side, : side // 2] = rng.choice(dark, (side, side // 2))
    picture[:side, side // 2 : side] = rng.choice(light, (side, side - side // 2))
    found = release_left(picture, FRAME, made.field, made.base, made.release)
    assert max(map(abs, found.fall)) < 0.05
    assert found.share == pytest.approx(0.97 * 0.5, abs=0.03)


def test_without_an_unrinsed_patch_the_known_release_color_serves_and_is_less_sure() -> None:
    made = photo(7, MODERATE)
    known = Elsewhere(made.release_lab, (1.0, 0.5, 0.7))
    found = release_left(made.picture, FRAME, made.field, made.base, known)
    assert not found.flagged
    assert found.sd > told(made).sd
    assert abs(found.share - made.left) < 2 * found.sd


def test_without_any_patch_it_is_flagged() -> None:
    made = photo(8, MODERATE)
    base, release = (Elsewhere(lab, (1.0, 0.5, 0.7)) for lab in (made.base_lab, made.release_lab))
    found = release_left(made.picture, FRAME, made.field, base, release)
    assert found.flagged
    assert found.sd >= 0.10


def test_two_colors_too_alike_tell_nothing() -> None:
    made = photo(9, MODERATE, contrast=1.0)
    with pytest.raises(InputError, match="too alike"):
        told(made)


def test_a_field_beside_the_line_is_refused() -> None:
    made = photo(10, MODERATE)
    with pytest.raises(InputError, match="not between"):
        release_left(made.picture // 3, FRAME, made.field, Elsewhere(made.base_lab, (1, 1, 1)),
                     Elsewhere(made.release_lab, (1, 1, 1)))  # fmt: skip


def test_a_box_outside_is_refused() -> None:
    made = photo(10, MODERATE)
    with pytest.raises(InputError, match="outside the picture"):
        release_left(made.picture, FRAME, Box(0, 0, 5_000, 10), made.base, made.release)


# --- flat pictures, reckoned by hand ------------------------------------------------------------------

BASE, PURE = np.array([0.40, 0.34, 0.28]), np.array([0.16, 0.15, 0.14])
SIDE = 200
AREA, RINSED, UNRINSED = Box(0, 0, SIDE, SIDE), Box(SIDE, 0, 60, 60), Box(SIDE, 100, 60, 60)


def flat(field: np.ndarray, light: np.ndarray | float = 1.0, noise: float = 0.7) -> np.ndarray:
    """A field beside a rinsed patch and one that release covers to 97 percent, in linear light; as sRGB of 8 bits, with

    a sensor's `noise` in steps of them: without it rounding would be an error of its own.
    """
    bands = np.tile(BASE, (SIDE, SIDE + 60, 1))
    bands[:, :SIDE] = field
    bands[100:, SIDE:] = BASE + 0.97 * (PURE - BASE)
    bands = bands * light
    codes = 255 * np.where(bands <= 0.0031308, 12.92 * bands, 1.055 * bands ** (1 / 2.4) - 0.055)
    return np.rint(codes + np.random.default_rng(0).normal(0, noise, codes.shape)).astype(np.uint8)


def mix(share: float) -> np.ndarray:
    return BASE + share * (PURE - BASE)


CONTRAST = float(np.linalg.norm(lab_of(BASE) - lab_of(PURE)))


@pytest.mark.parametrize("share", [0.0, 0.1, 0.3, 0.8, 1.0])
def test_a_flat_mix_gives_its_share_back(share: float) -> None:
    found = release_left(flat(mix(share)), FRAME, AREA, RINSED, UNRINSED)
    assert found.share == pytest.approx(share, abs=0.012)
    assert found.contrast_de == pytest.approx(CONTRAST, rel=0.02)
    assert found.sd < 0.03
    assert found.fall == pytest.approx((0, 0), abs=1e-3)
    assert found.field == pytest.approx(tuple(lab_of(mix(share))), abs=0.4)


def test_a_field_of_base_and_release_is_the_mean_of_their_light() -> None:
    field = np.tile(BASE, (SIDE, SIDE, 1))
    field[::4] = PURE
    assert release_left(flat(field), FRAME, AREA, RINSED, UNRINSED).share == pytest.approx(0.25, abs=0.012)


def test_what_whole_numbers_of_a_drawing_round_off_is_no_knowledge() -> None:
    """A drawing without noise: half a step of 8 bits is .05 of the way from base to release by tint."""
    found = release_left(flat(mix(0.3), noise=0.0), FRAME, AREA, RINSED, UNRINSED)
    assert 0.02 < found.sd < 0.1
    assert abs(found.share - 0.3) < 2.5 * found.sd


@pytest.mark.parametrize("brighter", [0.9, 1.1])
def test_a_field_of_other_brightness_than_the_patch_is_told_by_its_tint(brighter: float) -> None:
    """By a tenth over all: no release, and none less."""
    field = np.tile(BASE, (SIDE, SIDE, 1))
    field[::4] = PURE
    found = release_left(flat(brighter * field), FRAME, AREA, RINSED, UNRINSED)
    assert found.share == pytest.approx(0.25, abs=0.015)
    assert found.field == pytest.approx(tuple(lab_of(mix(0.25))), abs=0.4)


def test_base_and_release_of_one_tint_are_told_by_brightness_and_less_surely() -> None:
    """Light of the same hue, so nothing tells shade from release but what is believed of light."""
    rng, pure = np.random.default_rng(1), 0.45 * BASE
    field = BASE + (rng.random((SIDE, SIDE, 1)) < 0.25) * (pure - BASE)
    picture = flat(field)
    picture[100:, SIDE:] = flat(np.tile(BASE + 0.97 * (pure - BASE), (SIDE, SIDE, 1)))[: SIDE - 100, :60]
    blind = release_left(picture, FRAME, AREA, RINSED, UNRINSED)
    plain = release_left(flat(np.where(field < BASE, PURE, BASE)), FRAME, AREA, RINSED, UNRINSED)
    assert blind.sd > 2 * plain.sd
    assert abs(blind.share - 0.25) < 2 * blind.sd


def test_a_field_in_shadow_is_refused_where_its_tint_says_so() -> None:
    """Darker by a third than its patches, and of the base's tint."""
    with pytest.raises(InputError, match="not between"):
        release_left(flat(0.67 * mix(0.1)), FRAME, AREA, RINSED, UNRINSED)


def test_light_that_falls_off_is_a_plane_in_its_logarithm() -> None:
    """By exp(.2) across the field and exp(-.1) down it; the patches beyond it are brought to the field's middle."""
    y, x = (np.mgrid[:SIDE, : SIDE + 60] + 0.5) / SIDE - 0.5
    light = np.exp(0.2 * x - 0.1 * y)[..., None]
    found = release_left(flat(mix(0.3), light), FRAME, AREA, RINSED, UNRINSED)
    assert found.fall == pytest.approx((0.2, -0.1), abs=0.004)
    assert found.share == pytest.approx(0.3, abs=0.01)


def test_a_color_from_elsewhere_costs_what_the_frame_is_off_by() -> None:
    """Beside the patch's own sd the frame's 1 ΔE, and what the correction is unsure of at that color."""
    missed = Frame("card in the photo", PLAIN, np.array([[50.0, 0, 0]]), np.array([[2.0, 1.0, 1.0]]))
    picture = flat(mix(0.3))
    for sd, own in (((0.4, 0.5, 0.6), 1.0), ((1.0, 1.5, 0.6), 1.5)):
        off = np.sqrt(own**2 + 2.0**2 + 0.3**2)
        known = Elsewhere(tuple(lab_of(PURE)), sd)
        found = release_left(picture, missed, AREA, RINSED, known)
        assert (found.share, found.flagged) == (pytest.approx(0.3, abs=0.012), False)
        assert found.sd == pytest.approx(np.hypot(0.025, 1.26 * off / found.contrast_de))


def test_without_any_patch_in_the_frame_it_is_never_surer_than_a_tenth() -> None:
    exact = Frame("card in the photo", PLAIN, np.array([[50.0, 0, 0]]), np.zeros((1, 3)))
    ends = [Elsewhere(tuple(lab_of(color)), (0.1, 0.1, 0.1)) for color in (BASE, PURE)]
    found = release_left(flat(mix(0.3)), exact, AREA, *ends)
    assert (found.sd, found.flagged) == (0.10, True)


def test_the_model_is_less_sure_where_there_is_little_contrast() -> None:
    near = BASE + 0.4 * (PURE - BASE)
    ends = [Elsewhere(tuple(lab_of(color)), (0.5, 0.5, 0.5)) for color in (BASE, near)]
    found = release_left(flat(mix(0.2)), FRAME, AREA, *ends)
    assert found.share == pytest.approx(0.5, abs=0.015)
    assert found.contrast_de < 20
    off = np.sqrt(1 + max(GRAY_SD) ** 2)
    assert found.sd == pytest.approx(np.hypot(0.025 * 20, 1.26 * off) / found.contrast_de)


@pytest.mark.parametrize("share", [-0.2, 0.0, 0.3012, 0.4977, 1.1])
def test_the_share_is_told_finer_than_the_grid_it_is_sought_on(share: float) -> None:
    assert surface._share(mix(share), BASE, PURE) == pytest.approx(share, abs=3e-5)
