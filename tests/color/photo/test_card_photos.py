"""Two real phone photographs of a 24-patch card (their README names source and license), and what can befall them."""

from __future__ import annotations

import io
from collections.abc import Iterator
from functools import cache
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageDraw, ImageEnhance, ImageOps

from finishlog.color.notation.space import card_labs, delta_e_2000
from finishlog.color.photo import card, card_finder, profile, tone
from finishlog.color.photo.card import Card
from finishlog.color.photo.frame import Frame
from finishlog.errors import InputError

PHOTOS = Path(__file__).parents[4] / "shared" / "photos"
LIMITS = {"desk": 2.4, "floor": 3.2}
"""Leave-one-out median ΔE00 that was asked for; without root terms it is 2.8 and 3.5."""

pytestmark = pytest.mark.skipif(not PHOTOS.is_dir(), reason="the photographs are not beside this checkout")
both = pytest.mark.parametrize("name", LIMITS)


@pytest.fixture(autouse=True)
def _needs_extra() -> None:
    pytest.importorskip("cv2", reason="the extra finishlog[card] is not installed")


@cache
def photo(name: str) -> Image.Image:
    """Kept small: what is tried here does not need eight megapixels."""
    image = whole(name)
    image.thumbnail((1200, 1200))
    return image


def whole(name: str) -> Image.Image:
    with Image.open(PHOTOS / f"card_on_{name}.jpg") as image:
        return ImageOps.exif_transpose(image).convert("RGB")


@cache
def found_in(name: str) -> Card:
    return found(photo(name))


def found(image: Image.Image) -> Card:
    picture = np.asarray(image)
    return card.anywhere(picture, card_finder.candidates(picture))


def between(image: Image.Image, corners: object) -> Card:
    return card.between(np.asarray(image), corners)


@both
def test_the_card_is_found_at_full_size(name: str) -> None:
    of_card = found(whole(name))
    print(f"{name}: leave-one-out median {of_card.loo_median_de00:.2f}, p90 {of_card.loo_p90_de00:.2f} ΔE00")
    assert of_card.loo_median_de00 <= LIMITS[name]
    assert not of_card.clipped


@both
def test_corners_by_hand_do_as_well(name: str) -> None:
    """Moved by up to a tenth of a patch, as a hand would, and in another order."""
    by_itself = found_in(name)
    corners = np.array(by_itself.corners)
    patch = np.linalg.norm(corners[1] - corners[0]) / 6
    rng = np.random.default_rng(1)
    for _ in range(6):
        moved = corners + rng.uniform(-0.1, 0.1, (4, 2)) * patch
        by_hand = between(photo(name), moved[rng.permutation(4)])
        assert by_hand.loo_median_de00 <= by_itself.loo_median_de00 + 0.5
        assert by_hand.loo_median_de00 <= LIMITS[name]


@both
@pytest.mark.parametrize(
    "turn", [90, pytest.param(180, marks=pytest.mark.long), pytest.param(270, marks=pytest.mark.long)]
)
def test_it_is_found_any_way_up(name: str, turn: int) -> None:
    turned = photo(name).rotate(turn, expand=True)
    assert found(turned).loo_median_de00 <= LIMITS[name]


@both
@pytest.mark.parametrize("share", [pytest.param(0.7, marks=pytest.mark.long), 0.5])
def test_it_is_found_in_a_smaller_photo(name: str, share: float) -> None:
    image = photo(name)
    small = image.resize((int(image.width * share), int(image.height * share)), Image.Resampling.LANCZOS)
    assert found(small).loo_median_de00 <= LIMITS[name]


@both
@pytest.mark.parametrize("quality", [pytest.param(85, marks=pytest.mark.long), 50])
def test_it_is_found_in_a_squeezed_photo(name: str, quality: int) -> None:
    out = io.BytesIO()
    photo(name).save(out, "JPEG", quality=quality)
    assert found(Image.open(out).convert("RGB")).loo_median_de00 <= LIMITS[name] + 0.3


@both
@pytest.mark.parametrize("brightness", [0.4, pytest.param(0.7, marks=pytest.mark.long), 1.05])
def test_it_is_found_in_another_light(name: str, brightness: float) -> None:
    lit = ImageEnhance.Brightness(photo(name)).enhance(brightness)
    assert found(lit).loo_median_de00 <= LIMITS[name] + 0.5


@both
def test_it_is_found_in_a_part_of_the_photo(name: str) -> None:
    corners = np.array(found_in(name).corners)
    low, high = corners.min(axis=0), corners.max(axis=0)
    rim = 0.4 * (high - low)
    left, top = np.maximum(low - rim, 0)
    part = photo(name).crop((int(left), int(top), *(int(value) for value in high + rim)))
    assert found(part).loo_median_de00 <= LIMITS[name]


def covered(name: str, half: int, color: object) -> Image.Image:
    """The photo with half of its card painted over: 0 the first columns, 1 the last, 2 the upper rows, 3 the lower."""
    a, b, c, d = (np.array(corner) for corner in found_in(name).corners)
    halves = ((a, (a + b) / 2, (c + d) / 2, d), ((a + b) / 2, b, c, (c + d) / 2),
              (a, b, (b + c) / 2, (a + d) / 2), ((a + d) / 2, (b + c) / 2, c, d))  # fmt: skip
    image = photo(name).copy()
    ImageDraw.Draw(image).polygon([tuple(point) for point in halves[half]], fill=color)
    return image


@both
@pytest.mark.parametrize("half", range(4))
@pytest.mark.parametrize("color", ["white", "black", (200, 150, 120)])
def test_a_half_covered_card_is_refused_between_its_corners(name: str, half: int, color: object) -> None:
    with pytest.raises(InputError, match="covered"):
        between(covered(name, half, color), found_in(name).corners)


@both
@pytest.mark.parametrize(
    ("half", "color"),
    [
        (0, "gray"),
        *(pytest.param(*each, marks=pytest.mark.long) for each in ((1, "white"), (2, "tan"), (3, "black"))),
    ],
)
def test_a_half_covered_card_is_not_found(name: str, half: int, color: object) -> None:
    with pytest.raises(InputError) as refused:
        found(covered(name, half, color))
    assert "covered" in refused.value.line()


@both
@pytest.mark.parametrize(
    "brightness", [1.5, *(pytest.param(each, marks=pytest.mark.long) for each in (2.2, 3.0))]
)
def test_an_overexposed_card_is_refused(name: str, brightness: float) -> None:
    bright = ImageEnhance.Brightness(photo(name)).enhance(brightness)
    with pytest.raises(InputError) as refused:
        found(bright)
    assert "overexposed" in refused.value.line()
    with pytest.raises(InputError, match="overexposed") as refused:
        between(bright, found_in(name).corners)
    assert "white 9.5" in refused.value.cause


@both
def test_a_photo_without_a_card_is_refused(name: str) -> None:
    image = photo(name)
    top = int(min(y for _, y in found_in(name).corners)) - 20
    with pytest.raises(InputError, match=r"No 24-patch card|not the colors of a 24-patch card"):
        found(image.crop((0, 0, image.width, top)))


@both
def test_what_lies_beside_the_card_is_no_card_between_corners(name: str) -> None:
    corners = np.array(found_in(name).corners)
    beside = corners + np.array([1.3 * np.ptp(corners[:, 0]), 0])
    with pytest.raises(
        InputError, match=r"not the colors of a 24-patch card|overexposed"
    ):  # in one lies white paper
        between(photo(name), beside)


KNOWN = np.array([lab for _, lab in card_labs()])
OUTMOST = {"white 9.5", "black 2", "cyan"}
"""Patches that no others surround: left out, they say what no slab's color would."""


@both
def test_root_terms_are_taken(name: str) -> None:
    plain = tone.of_patches(np.array(found_in(name).values) / 255, KNOWN)
    without = tone.leave_one_out(plain, tone.fit(plain))
    off = float(np.median(delta_e_2000(KNOWN + without, KNOWN)))
    print(f"{name}: {off:.2f} without root terms, {found_in(name).loo_median_de00:.2f} with them")
    assert found_in(name).roots
    assert found_in(name).loo_median_de00 < 0.85 * off


def pairs_left_out(name: str, reach: float) -> Iterator[tuple[np.ndarray, np.ndarray, tuple[str, str]]]:
    """Patches read with neither of a pair in the fit: by how much their difference is off, and its sd."""
    names = [each for each, _ in card_labs()]
    known = tone.of_patches(np.array(found_in(name).values) / 255, KNOWN)
    whole = tone.fit(known, roots=True)
    missed = tone.leave_one_out(known, whole, roots=True)
    inner = [i for i, each in enumerate(names) if each not in OUTMOST]
    for i, j in combinations(inner, 2):
        if np.linalg.norm(KNOWN[i] - KNOWN[j]) < reach:
            others = ~np.isin(np.arange(24), (i, j))
            made = tone.fit(known[others], whole, roots=True, tolerance=1e-5)
            one, other = made.lab(known.values[[i, j]])
            frame = Frame("card in the photo", made, KNOWN[others], missed[others])
            yield (other - one) - (KNOWN[j] - KNOWN[i]), frame.difference_sd(one, other), (names[i], names[j])


def test_nine_in_ten_differences_of_neighbors_lie_within_their_range() -> None:
    """Pairs of patches up to ΔE*ab 45 apart in both photos, axis by axis; those of dark brown by themselves."""
    held, brown = [], []
    for name in LIMITS:
        for off, sd, names in pairs_left_out(name, 45.0):
            within = np.abs(off) <= 1.645 * sd
            held.append(within)
            if "dark skin" in names:
                brown.append(within)
    print(f"{len(held)} pairs: {np.mean(held):.3f}; {len(brown)} with dark brown: {np.mean(brown):.3f}")
    assert 0.85 <= np.mean(held) <= 0.95
    assert np.mean(brown) >= 0.85


@pytest.mark.parametrize(("name", "other"), [("desk", "floor"), ("floor", "desk")])
def test_the_other_photo_of_the_same_phone_helps(name: str, other: str) -> None:
    """Both name the same camera. One photo is too little to read by a gray card alone, and is not taken for enough."""
    known = profile.pooled([found_in(other).values])
    assert known is not None
    fitted = card.best(tone.of_patches(np.array(found_in(name).values) / 255, KNOWN), known.prior)
    off = float(np.median(fitted.loo_de00))
    print(f"{name}: {off:.2f} ΔE00 with the other's profile")
    assert off <= LIMITS[name]
    gray = np.array(found_in(name).values[profile.MIDDLE_GRAY]) / 255
    assert profile.of_gray(gray, 0.19, [found_in(other).values]) is None
    by_gray = profile._by_gray(gray, KNOWN[profile.MIDDLE_GRAY], known.prior)
    plain = tone.Correction(np.zeros(3), np.ones(3), np.diag(0.19 / tone.decoded(gray)))
    values = np.array(found_in(name).values) / 255
    errors = [float(np.median(delta_e_2000(one.lab(values), KNOWN))) for one in (plain, by_gray)]
    print(f"{name} by gray alone: {errors[0]:.1f}, with the other's profile {errors[1]:.1f}")
    assert errors[1] < 0.7 * errors[0]
