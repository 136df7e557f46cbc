"""Release left at the final color from one photo: the field, and a rinsed and an unrinsed patch if present.

With both patches in the frame the field's light and what is left are found together (`field_light`): relief shades as
release does, so the field's mean alone is not enough, nor is the color of each pixel. Where a color is from elsewhere
its tint is not known well enough for that: then the mean of the field's light, its fall over the picture taken out, is
laid on the line between base and release color. Ask for overcast or open shade.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from finishlog.color.notation.bands import bands_of, lab_of
from finishlog.color.notation.reference import RGB_TO_XYZ
from finishlog.color.notation.space import Lab, as_lab
from finishlog.color.photo.frame import Box, Frame, cut
from finishlog.color.priors import figures
from finishlog.color.release.field_light import Spots, end_of, found
from finishlog.color.release.rinse import DRY_SD, FRAME_SD, UNRINSED
from finishlog.errors import InputError

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Picture = NDArray[np.uint8]

MOST_PIXELS = 60_000
"""Pixels of the field, to fit the fall of light."""
ROUNDS, HASTE, STILL = 40, 1.6, 0.001
"""Most rounds; each oversteps its update by this factor, until the update is smaller."""
ROBUST = 1.5
"""Pixels farther from the plane than this many robust standard deviations count less (Huber)."""
MODEL_SD, MODEL_CONTRAST = figures.SURFACE_MODEL.one_sd, 20.0
"""What relief, shadow and mottling do to release left, 0 to 1, at this contrast ΔE*ab, where a color is from
elsewhere: from simulation."""
ACROSS = 40
"""Spots along the field's shorter side."""
OTHER_LIGHT = 0.25
"""Light of field and patch farther apart than this, as a logarithm, is a shadow."""
NO_PATCH_SD = figures.NO_PATCH.one_sd
"""Least sd with neither base nor release color in the frame."""
LEVERAGE = 1.26
"""sd of release left = this · sd of a patch / contrast: both ends and the field are uncertain alike."""
FARTHEST = 1.0
"""Beyond the field the plane is believed for this many of its own widths or heights."""
CLOSEST_DE = 3.0
OUTSIDE = 0.15
BETWEEN = (
    "The field is not between base and release color.",
    "A shadow, a wet patch, or a box in the wrong place.",
)
_TO_Y = np.array(RGB_TO_XYZ[1])
_LEAST = 1e-4


@dataclass(frozen=True, slots=True)
class Elsewhere:
    """A base or release color from outside the frame: L*a*b* as read before, and its sd."""

    lab: Lab
    sd: Lab


@dataclass(frozen=True, slots=True)
class SurfaceLeft:
    """Release left, 0 to 1, and its sd. `flagged`: neither end is in the frame. `fall` is by how much the light

    changes over the field, across and down, as logarithms; `contrast_de` between base and release color, ΔE*ab.

    With both patches in the frame the sd rests on made-up photos alone, and is often under .01: there are no field
    data, and a real photo hardly tells release so closely. So it is not made narrower where 9 in 10 ranges hold more:
    .95 to 1.00 of photos of lit relief, .85 to .97 of drawings kept as JPEG.
    """

    share: float
    sd: float
    flagged: bool
    contrast_de: float
    fall: tuple[float, float]
    field: Lab


@dataclass(frozen=True, slots=True)
class _Light:
    """log Y = at · (1, u, v) around the field's center, in its own widths u and heights v."""

    box: Box
    at: Floats

    def bands(self, picture: Picture, box: Box, frame: Frame) -> Floats:
        """Linear sRGB of a box, (pixels, 3), as if the light were everywhere as at the field's center."""
        pixels = cut(picture, box)
        rows, columns = pixels.shape[:2]
        across = box.x + (np.arange(columns) + 0.5) * box.width / columns
        down = box.y + (np.arange(rows) + 0.5) * box.height / rows
        u = (across - self.box.x) / self.box.width - 0.5
        v = (down - self.box.y) / self.box.height - 0.5
        near = 0.5 + FARTHEST
        fall = self.at[1] * u.clip(-near, near)[None, :] + self.at[2] * v.clip(-near, near)[:, None]
        light: Floats = frame.correction.bands(pixels / 255) / np.exp(fall)[..., None]
        return light.reshape(-1, 3)


def release_left(
    picture: Picture, frame: Frame, field: Box, base: Box | Elsewhere, release: Box | Elsewhere
) -> SurfaceLeft:
    """Release left on the `field` of a settled, dry surface.

    `picture` (height, width, 3) of 0 to 255; `base` a fully rinsed patch and `release` an un-rinsed one in it, or
    their colors from elsewhere. Raises InputError where base and release color are too alike, the field lies far
    beside the line between them, or a box is outside.
    """
    light = _light(picture, frame, field)
    ends = [_end(picture, frame, light, end) for end in (base, release)]
    rinsed, unrinsed = ends[0][0], ends[1][0]
    whole = rinsed + (unrinsed - rinsed) / (UNRINSED if isinstance(release, Box) else 1)
    contrast = float(np.linalg.norm(lab_of(whole) - lab_of(rinsed)))
    if contrast < CLOSEST_DE:
        raise InputError("Base and release color are too alike to tell release left.",
                         f"They are {contrast:.1f} apart.", where="--box")  # fmt: skip
    if isinstance(base, Box) and isinstance(release, Box):
        return _together(_Scene(picture, frame, field), light, base, release, contrast)
    seen = light.bands(picture, field, frame).mean(axis=0)
    share = _within(_share(seen, rinsed, whole))
    flagged = not isinstance(base, Box) and not isinstance(release, Box)
    own = MODEL_SD * max(1.0, MODEL_CONTRAST / contrast)
    sd = float(np.hypot(own, LEVERAGE * max(off for _, off in ends) / contrast))
    return SurfaceLeft(
        share=share,
        sd=max(sd, NO_PATCH_SD) if flagged else sd,
        flagged=flagged,
        contrast_de=contrast,
        fall=(float(light.at[1]), float(light.at[2])),
        field=as_lab(lab_of(seen)),
    )


@dataclass(frozen=True, slots=True)
class _Scene:
    picture: Picture
    frame: Frame
    field: Box

    def spots(self, box: Box) -> Spots:
        """Means of light over spots as large as a part of the field, in rows and columns."""
        pixels = cut(self.picture, box)
        bands = self.frame.correction.bands(pixels / 255)
        side = min(self.field.width, self.field.height) / ACROSS * pixels.shape[1] / box.width
        side = min(max(1, int(side)), *pixels.shape[:2])
        rows, columns = (size // side for size in pixels.shape[:2])
        means = bands[: rows * side, : columns * side].reshape(rows, side, columns, side, 3).mean(axis=(1, 3))
        down = (np.arange(rows) + 0.5) * side * box.height / pixels.shape[0] + box.y - self.field.y
        across = (np.arange(columns) + 0.5) * side * box.width / pixels.shape[1] + box.x - self.field.x
        v, u = np.meshgrid(down / self.field.height - 0.5, across / self.field.width - 0.5, indexing="ij")
        return Spots(np.log(np.maximum(means, _LEAST)), np.stack([u, v], axis=-1), _rounding(pixels))

    def mean(self, box: Box) -> Floats:
        """Linear sRGB of a box, (3,)."""
        mean: Floats = self.frame.correction.bands(cut(self.picture, box) / 255).reshape(-1, 3).mean(axis=0)
        return mean


def _rounding(pixels: Picture) -> float:
    """What is left in the mean of a channel, as a logarithm of its light, of a step's 1/√12.

    Noise of s steps leaves exp(-2π²s²) of it (Widrow & Kollár, Quantization Noise, 2008): of a drawing all.
    """
    codes = pixels.astype(float)
    noise = np.diff(codes, axis=1).std() / np.sqrt(2)
    step = 2.4 / (float(codes.mean()) + 0.055 * 255)  # of sRGB
    return float(step / np.sqrt(12) * np.exp(-2 * (np.pi * noise) ** 2))


def _together(scene: _Scene, light: _Light, base: Box, release: Box, contrast: float) -> SurfaceLeft:
    """The field's light and what is left in it, found together. Raises InputError where it lies in shadow."""
    rinsed = scene.mean(base)
    whole = rinsed + (scene.mean(release) - rinsed) / UNRINSED
    here, there = end_of(scene.spots(base), rinsed), end_of(scene.spots(release), whole)
    told = found(scene.spots(scene.field), here, there, light.at[1:])
    lit = _Light(scene.field, np.array([0.0, *told.plane]))
    seen = lit.bands(scene.picture, scene.field, scene.frame).mean(axis=0) / np.exp(told.bright)
    _within(_share(seen, *(end.bands * np.exp(-end.at @ told.plane) for end in (here, there))))
    if abs(told.bright) > OTHER_LIGHT:
        raise InputError(*BETWEEN, where="--box")
    fall = float(told.plane[0]), float(told.plane[1])
    return SurfaceLeft(told.left, told.sd, False, contrast, fall, as_lab(lab_of(seen)))


def _within(share: float) -> float:
    """0 to 1. Raises InputError where it is farther out than error explains."""
    if not -OUTSIDE <= share <= 1 + OUTSIDE:
        raise InputError(*BETWEEN, where="--box")
    return min(max(share, 0.0), 1.0)


def _light(picture: Picture, frame: Frame, field: Box) -> _Light:
    """The plane of log Y over the field, fitted within classes: light pixels among light, dark among dark.

    Release lies where chance put it; one plane through all pixels would mistake a corner with more of it for
    a darker one.
    """
    pixels = cut(picture, field)
    step = max(1, int(np.ceil(np.sqrt(pixels.shape[0] * pixels.shape[1] / MOST_PIXELS))))
    luminance = frame.correction.bands(pixels[::step, ::step] / 255) @ _TO_Y
    heights = np.log(np.maximum(luminance, _LEAST)).ravel()
    down, across = ((np.arange(n) + 0.5) / n - 0.5 for n in luminance.shape)
    v, u = np.meshgrid(down, across, indexing="ij")
    return _Light(field, _leveled(np.stack([np.ones(u.size), u.ravel(), v.ravel()], axis=1), heights))


def _leveled(design: Floats, heights: Floats) -> Floats:
    """The plane (3,) that leaves no slope within either of two classes of pixels, by iterated weights (Huber)."""
    at = np.zeros(3)
    for _ in range(ROUNDS):
        level = heights - design @ at
        off = level - _class_middles(level)
        scale = 1.4826 * float(np.median(np.abs(off))) + 1e-6
        weight = np.minimum(1.0, ROBUST * scale / np.maximum(np.abs(off), 1e-9))
        turn = np.linalg.solve(design.T @ (design * weight[:, None]), design.T @ (off * weight))
        at[1:] += HASTE * turn[1:]
        if np.abs(turn[1:]).max() < STILL:
            break
    return at


def _class_middles(level: Floats) -> Floats:
    """Each value's class median, with two classes split midway between their medians."""
    cut_at = float(np.mean(level))
    low = high = cut_at
    for _ in range(8):
        below = level < cut_at
        if not below.any() or below.all():
            return np.full(len(level), float(np.median(level)))
        low, high = float(np.median(level[below])), float(np.median(level[~below]))
        cut_at = (low + high) / 2
    return np.where(level < cut_at, low, high)


def _end(picture: Picture, frame: Frame, light: _Light, end: Box | Elsewhere) -> tuple[Floats, float]:
    """Linear sRGB of one end of the line, and how far it is off against the field, ΔE*ab."""
    if isinstance(end, Box):
        return light.bands(picture, end, frame).mean(axis=0), DRY_SD
    own, alien = np.square(end.sd).max(), np.square(FRAME_SD).max()
    return bands_of(end.lab), float(np.sqrt(max(own, alien) + np.square(frame.sd_at(end.lab)).max()))


def _share(seen: Floats, base: Floats, release: Floats) -> float:
    """Where on the line from base to release color the field's light lies nearest, in L*a*b* steps, 0 to 1 inside."""
    grid = np.arange(-0.5, 1.5001, 0.005)
    line = lab_of(np.maximum(base + grid[:, None] * (release - base), _LEAST))
    off = np.square(line - lab_of(seen)).sum(axis=1)
    at = int(off.argmin())
    if not 0 < at < len(grid) - 1:
        return float(grid[at])
    before, here, after = off[at - 1 : at + 2]
    bend = before - 2 * here + after
    return float(grid[at] + 0.005 * 0.5 * (before - after) / bend) if bend > 0 else float(grid[at])
