"""Release left on a settled surface, on made-up photos of another family than the estimator (surface_truth.py)."""

from __future__ import annotations

import numpy as np
import pytest

from finishlog.color.photo.frame import Box, Frame
from finishlog.color.photo.tone import Correction
from finishlog.color.release.surface import Elsewhere, SurfaceLeft, release_left
from finishlog.errors import InputError
from tests.color.surface_truth import LOW_SUN, LOW_SUN_SMOOTH, MODERATE, MODERATE_SMOOTH, Light, Photo, photo

PLAIN = Correction(np.zeros(3), np.ones(3), np.eye(3))
FRAME = Frame("card in the photo", PLAIN, np.empty((0, 3)), np.empty((0, 3)))
SEEDS = (11, 2_000, 30_000)


accept = pytest.mark.parametrize(
    ("light", "limit"),
    [(MODERATE, 0.035), (MODERATE_SMOOTH, 0.035), (LOW_SUN, 0.05), (LOW_SUN_SMOOTH, 0.05)],
)


def told(made: Photo) -> SurfaceLeft:
    return release_left(made.picture, FRAME, made.field, made.base, made.release)


def rmse(light: Light, photos: int) -> float:
    """Over `photos` photos of each seed."""
    off = [
        told(made).share - made.left
        for seed in SEEDS
        for number in range(photos)
        for made in (photo(seed + number, light),)
    ]
    print(
        f"{light}: RMSE {np.sqrt(np.mean(np.square(off))):.4f}, mean {np.mean(off):+.4f}, {len(off)} photos"
    )
    return float(np.sqrt(np.mean(np.square(off))))


@accept
def test_release_left_of_nine_photos(light: Light, limit: float) -> None:
    assert rmse(light, 3) <= limit


@pytest.mark.long
@accept
def test_release_left_at_full_size(light: Light, limit: float) -> None:
    assert rmse(light, 100) <= limit


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
