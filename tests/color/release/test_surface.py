"""Release left on a settled surface, on made-up photos of another family than the estimator (surface_truth.py)."""

from __future__ import annotations

import numpy as np
import pytest

from finishlog.color.notation.bands import lab_of
from finishlog.color.photo.frame import GRAY_SD, Box, Frame
from finishlog.color.photo.tone import Correction
from finishlog.color.release import surface
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


# --- flat pictures, reckoned by hand ------------------------------------------------------------------

BASE, PURE = np.array([0.40, 0.34, 0.28]), np.array([0.16, 0.15, 0.14])
SIDE = 200
AREA, RINSED, UNRINSED = Box(0, 0, SIDE, SIDE), Box(SIDE, 0, 60, 60), Box(SIDE, 100, 60, 60)


def flat(field: np.ndarray, light: np.ndarray | float = 1.0) -> np.ndarray:
    """A field beside a rinsed patch and one that release covers to 97 percent, in linear light; as sRGB of 8 bits."""
    bands = np.tile(BASE, (SIDE, SIDE + 60, 1))
    bands[:, :SIDE] = field
    bands[100:, SIDE:] = BASE + 0.97 * (PURE - BASE)
    bands = bands * light
    return np.rint(
        255 * np.where(bands <= 0.0031308, 12.92 * bands, 1.055 * bands ** (1 / 2.4) - 0.055)
    ).astype(np.uint8)


def mix(share: float) -> np.ndarray:
    return BASE + share * (PURE - BASE)


CONTRAST = float(np.linalg.norm(lab_of(BASE) - lab_of(PURE)))


@pytest.mark.parametrize("share", [0.0, 0.1, 0.3, 0.8, 1.0])
def test_a_flat_mix_gives_its_share_back(share: float) -> None:
    found = release_left(flat(mix(share)), FRAME, AREA, RINSED, UNRINSED)
    assert found.share == pytest.approx(share, abs=0.012)  # 8 bits
    assert found.contrast_de == pytest.approx(CONTRAST, rel=0.02)
    assert found.sd == pytest.approx(np.hypot(0.025, 1.26 * 0.5 / found.contrast_de))
    assert found.fall == pytest.approx((0, 0), abs=1e-6)
    assert found.field == pytest.approx(tuple(lab_of(mix(share))), abs=0.4)


def test_a_field_of_base_and_release_is_the_mean_of_their_light() -> None:
    field = np.tile(BASE, (SIDE, SIDE, 1))
    field[::4] = PURE
    assert release_left(flat(field), FRAME, AREA, RINSED, UNRINSED).share == pytest.approx(0.25, abs=0.012)


def test_a_field_whose_base_is_brighter_than_the_patch_is_brought_three_quarters_of_the_way() -> None:
    """By a tenth brighter over all: of it 1.1^.25 is left, a part of the way from release to base and beyond."""
    field = np.tile(BASE, (SIDE, SIDE, 1))
    field[::4] = PURE
    bright = release_left(flat(1.1 * field), FRAME, AREA, RINSED, UNRINSED)
    left = 1.1**0.25 * mix(0.25)
    assert bright.field == pytest.approx(tuple(lab_of(left)), abs=0.3)


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
