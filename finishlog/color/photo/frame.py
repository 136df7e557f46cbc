"""One photo's colors with their own uncertainty: boxes of its pixels as L*a*b*, and differences between two.

A reading's uncertainty comes from its own photo, never a constant: prediction errors of the card's patches
near its color, spread within the box, clipping. Between two boxes of one frame most of it cancels, the more
so the closer their colors.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

from finishlog.color.notation.space import Lab
from finishlog.color.priors import figures
from finishlog.errors import InputError

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from finishlog.color.photo.tone import Correction

    Floats = NDArray[np.float64]
    Picture = NDArray[np.uint8]

Source = Literal["card in the photo", "gray card"]
NEAR = 20.0
"""Range over which a patch's error informs a color, ΔE*ab, as a standard deviation."""
ANYHOW = 0.05
"""Least weight of the farthest patch, so that a color far from all does not look certain."""
FLOOR_SD = figures.PHOTO_FLOOR.one_sd
CHIP_SD = figures.CHIP.one_sd
"""What light and box add to the sd of a chip's color."""
CAMERA_SHARE = figures.CAMERA.value
"""Part of a reading's variance, L*, a*, b*, that is common to one camera's photos of a card: the rest is what differs
between two of them. Of simulated phones, in like and other light; much of it is the card's print and the concrete's
spectrum."""
FRAME_SHARE, FRAME_REACH, FRAME_BEND = figures.ONE_FRAME.value
"""Correlation of the errors of two colors of one frame, `share` · exp(-(ΔE*ab / reach)^bend): measured with pairs of
patches left out of two phone photographs (without white, black and cyan, which nothing surrounds) and with slabs seen
by simulated phones; both agree from ΔE 8 to 40, below it the simulation alone tells."""
GRAY_SD = figures.GRAY_CARD.sd
"""What a gray-card correction is off by, L*, a*, b*: measured with the middle gray patch and the thirteen patches of
weak color of two cards in phone photographs, the larger of both. It knows nothing of the phone's tone curve."""
GRAY_REFLECTANCE = 0.18
"""Default reflectance of a gray card: common practice, no source."""
GRAYEST = 4.0
"""Largest ratio between channels of a gray object in linear light; more means it is colored."""
BRIGHTEST, DARKEST = 250, 4
MOST_CLIPPED = 0.5
CLIPPED_SD = figures.CLIPPED.sd
"""Possible error of a fully clipped box, L*, a*, b*: a guess, scaled by the clipped share."""
PARTS = 4
"""A box is split into this many parts across and down."""
MOST_PIXELS = 250_000
SMALLEST = 4
"""The least side of a box, pixels."""


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle of the upright picture: left, top, width, height in whole pixels."""

    x: int
    y: int
    width: int
    height: int

    def __str__(self) -> str:
        return f"{self.x},{self.y},{self.width},{self.height}"


@dataclass(frozen=True, slots=True)
class Seen:
    """A box's color, L*a*b* (D65, 2°), and its sd: of itself, and (`own_sd`) of what a same-frame difference keeps.

    `clipped` is the part of its pixels that is cut off, 0 to 1.
    """

    lab: Lab
    sd: Lab
    own_sd: Lab
    clipped: float


@dataclass(frozen=True, slots=True)
class Chip:
    """A piece of concrete of known color in the frame: its `value` in the photo (3,), 0 to 1, L*a*b* and their sd."""

    value: Lab
    lab: Lab
    sd: Lab


@dataclass(frozen=True, slots=True)
class Frame:
    """A photo's correction and how it is known: `known` L*a*b* (n, 3) of patches, and by how much the others miss them.

    Both are empty for a gray card and a camera that is not known. `chips` make colors near them surer.
    """

    source: Source
    correction: Correction
    known: Floats
    missed: Floats
    chips: tuple[Chip, ...] = ()

    @property
    def is_plain_gray(self) -> bool:
        """Whether nothing but a gray card is known: not even the camera."""
        return not len(self.known)

    def sd_at(self, lab: ArrayLike) -> Floats:
        """One sd of L*, a*, b* (3,) at a color: the leave-one-out errors of patches near it, less what chips tell."""
        if self.is_plain_gray:
            return np.array(GRAY_SD)
        at = np.asarray(lab, float)
        variance = self._card_sd(at) ** 2
        for chip in self.chips:
            there = self._card_sd(np.asarray(chip.lab))
            told = there**2 / (there**2 + np.square(chip.sd) + CHIP_SD**2)
            variance = variance * (1 - told * same_frame(at, chip.lab) ** 2)
        return np.sqrt(variance + FLOOR_SD**2)

    def difference_sd(self, one: ArrayLike, other: ArrayLike) -> Floats:
        """Error left between two colors of this frame, (3,): less than both together, the less the closer they are."""
        first, second = self.sd_at(one), self.sd_at(other)
        common = same_frame(one, other) * first * second
        return np.sqrt(np.maximum(first**2 + second**2 - 2 * common, 0))

    def _card_sd(self, at: Floats) -> Floats:
        off = np.linalg.norm(self.known - at, axis=1)
        weight = np.exp(-0.5 * (off / NEAR) ** 2) + ANYHOW
        near: Floats = weight @ self.missed**2 / weight.sum()
        return np.sqrt(near)


def same_frame(one: ArrayLike, other: ArrayLike) -> float:
    """Correlation of the errors of two colors read off one frame, 0 to `FRAME_SHARE`."""
    apart = float(np.linalg.norm(np.asarray(one, float) - np.asarray(other, float)))
    return FRAME_SHARE * float(np.exp(-((apart / FRAME_REACH) ** FRAME_BEND)))


def of_gray(picture: Picture, box: Box, reflectance: float = GRAY_REFLECTANCE) -> Frame:
    """The frame that a gray card's box tells, `reflectance` 0 to 1: each channel to what it is of white, no more.

    Raises InputError for a box that is clipped, outside, or no gray.
    """
    from finishlog.color.photo.tone import Correction, decoded

    light = decoded(gray_value(picture, box))
    none = np.empty((0, 3))
    return Frame("gray card", Correction(np.zeros(3), np.ones(3), np.diag(reflectance / light)), none, none)


def gray_value(picture: Picture, box: Box) -> Floats:
    """What the photo shows of a gray card, (3,) of 0 to 1. Raises InputError as `of_gray`."""
    from finishlog.color.photo.tone import decoded

    pixels = cut(picture, box).reshape(-1, 3)
    _refuse_clipped(pixels, "--gray")
    value: Floats = np.median(pixels, axis=0) / 255
    light = decoded(value)
    if light.max() > GRAYEST * light.min():
        title = "The gray box is not gray."
        raise InputError(
            title, "One channel is many times another.", where="--gray", example="--gray 900,400,80,80"
        )
    return value


def chip_of(picture: Picture, box: Box, lab: Lab, sd: Lab) -> Chip:
    """The chip of known color in a box. Raises InputError for one that is outside, too small or mostly clipped."""
    pixels = cut(picture, box).reshape(-1, 3)
    _refuse_clipped(pixels, "--chip")
    return Chip(_lab(np.median(pixels, axis=0) / 255), lab, sd)


def seen(picture: Picture, box: Box, frame: Frame, *, whole: bool = False) -> Seen:
    """A box's color: the median of its pixels, or of the `whole` of it the mean of its light (base and release mixed).

    Raises InputError for a box that is not in the picture, too small, or mostly clipped.
    """
    pixels = cut(picture, box)
    clipped = _refuse_clipped(pixels, "--box")
    lab = _color(pixels, frame, whole)
    own = np.sqrt(_spread(pixels, frame, whole) ** 2 + (clipped * np.array(CLIPPED_SD)) ** 2)
    sd = np.sqrt(frame.sd_at(lab) ** 2 + own**2)
    return Seen(_lab(lab), _lab(sd), _lab(own), clipped)


def difference(frame: Frame, old: Seen, new: Seen) -> tuple[Lab, Lab]:
    """L*a*b* from one box of a frame to another, and its sd; the frame's common error cancels."""
    apart = np.asarray(new.lab) - np.asarray(old.lab)
    own = np.square(old.own_sd) + np.square(new.own_sd)
    return _lab(apart), _lab(np.sqrt(frame.difference_sd(old.lab, new.lab) ** 2 + own))


def cut(picture: Picture, box: Box) -> NDArray[np.uint8]:
    """The pixels of a box, (rows, columns, 3), subsampled if very many. Raises InputError."""
    height, width = picture.shape[:2]
    inside = min(box.x, box.y) >= 0 and box.x + box.width <= width and box.y + box.height <= height
    if not inside:
        cause = f"The picture is {width} × {height} pixels, upright."
        raise InputError(
            f"The box {box} is outside the picture.", cause, where="--box", example="base=400,300,200,150"
        )
    if min(box.width, box.height) < SMALLEST:
        raise InputError(f"The box {box} is too small.", f"At least {SMALLEST} × {SMALLEST} pixels.", where="--box",
                         example="base=400,300,200,150")  # fmt: skip
    step = max(1, int(np.ceil(np.sqrt(box.width * box.height / MOST_PIXELS))))
    return picture[box.y : box.y + box.height : step, box.x : box.x + box.width : step]


def _refuse_clipped(pixels: NDArray[np.uint8], where: str) -> float:
    """The clipped share, 0 to 1. Raises InputError if it is most of the box."""
    bright = float((pixels >= BRIGHTEST).any(axis=-1).mean())
    clipped = bright + float((pixels <= DARKEST).all(axis=-1).mean())
    if clipped > MOST_CLIPPED:
        title = f"The box is too {'bright' if bright > clipped / 2 else 'dark'} to be read."
        raise InputError(title, f"{clipped:.0%} of it is clipped by the camera.", where=where)
    return clipped


def _color(pixels: NDArray[np.uint8], frame: Frame, whole: bool) -> Floats:
    from finishlog.color.notation.bands import lab_of

    flat = pixels.reshape(-1, 3)
    if whole:
        return lab_of(frame.correction.bands(flat / 255).mean(axis=0))
    return frame.correction.lab(np.median(flat, axis=0) / 255)


def _spread(pixels: NDArray[np.uint8], frame: Frame, whole: bool) -> Floats:
    """Difference between the parts of a box, (3,): uneven light does not average out."""
    rows = [part for part in np.array_split(pixels, PARTS, axis=0) if part.size]
    parts = [part for row in rows for part in np.array_split(row, PARTS, axis=1) if part.size]
    colors = np.array([_color(part, frame, whole) for part in parts])
    return np.asarray(colors.std(axis=0, ddof=1) / np.sqrt(PARTS))


def _lab(values: ArrayLike) -> Lab:
    L, a, b = (float(value) for value in np.asarray(values, float))
    return L, a, b
