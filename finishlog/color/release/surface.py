"""Release left at the final color from one photo: the field, and a rinsed and an unrinsed patch if present.

Light that falls off over the picture is taken out first (a plane in the logarithm of Y, fitted so that low spots and
joints do not lead), then the mean of the field's light is laid on the line between base and release color. A mixture
of two pixel colors is not enough: relief shades as release does. What lies in shadow
of its own, the field more than a smooth patch, looks like more release; so the field's light pixels, which are base,
are brought near the base patch first. What is left of it is .01 to .03 (simulation; no field data): ask for overcast
or open shade.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from finishlog.color.notation.bands import bands_of, lab_of
from finishlog.color.notation.reference import RGB_TO_XYZ
from finishlog.color.notation.space import Lab, as_lab
from finishlog.color.photo.frame import Box, Frame, cut
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
MODEL_SD, MODEL_CONTRAST = 0.025, 20.0
"""What relief, shadow and mottling do to release left, 0 to 1, at this contrast ΔE*ab, with both patches in the frame:
from simulation."""
ALIKE, APART = 0.75, (0.6, 1.5)
"""How far the field's light pixels are brought to the base patch, as a part of the way; only where light and dark ones
stand so many times as far apart as base and release color do."""
NO_PATCH_SD = 0.10
"""Least sd with neither base nor release color in the frame."""
LEVERAGE = 1.26
"""sd of release left = this · sd of a patch / contrast: both ends and the field are uncertain alike."""
FARTHEST = 1.0
"""Beyond the field the plane is believed for this many of its own widths or heights."""
CLOSEST_DE = 3.0
OUTSIDE = 0.15
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
    over = light.bands(picture, field, frame)
    ends = [_end(picture, frame, light, end) for end in (base, release)]
    rinsed, unrinsed = ends[0][0], ends[1][0]
    seen = over.mean(axis=0)
    if isinstance(base, Box):
        seen = seen / _brighter(over, light.bands(picture, base, frame), unrinsed)
    whole = rinsed + (unrinsed - rinsed) / (UNRINSED if isinstance(release, Box) else 1)
    contrast = float(np.linalg.norm(lab_of(whole) - lab_of(rinsed)))
    if contrast < CLOSEST_DE:
        raise InputError("Base and release color are too alike to tell release left.",
                         f"They are {contrast:.1f} apart.", where="--box")  # fmt: skip
    share = _share(seen, rinsed, whole)
    if not -OUTSIDE <= share <= 1 + OUTSIDE:
        raise InputError("The field is not between base and release color.",
                         "A shadow, a wet patch, or a box in the wrong place.", where="--box")  # fmt: skip
    flagged = not isinstance(base, Box) and not isinstance(release, Box)
    own = MODEL_SD * max(1.0, MODEL_CONTRAST / contrast)
    sd = float(np.hypot(own, LEVERAGE * max(off for _, off in ends) / contrast))
    return SurfaceLeft(
        share=min(max(share, 0.0), 1.0),
        sd=max(sd, NO_PATCH_SD) if flagged else sd,
        flagged=flagged,
        contrast_de=contrast,
        fall=(float(light.at[1]), float(light.at[2])),
        field=as_lab(lab_of(seen)),
    )


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


def _brighter(field: Floats, base: Floats, release: Floats) -> float:
    """Brightness of the field's base relative to the base patch: relief shades the two differently."""
    over, patch = (np.log(np.maximum(light @ _TO_Y, _LEAST)) for light in (field, base))
    middles = _class_middles(over)
    here, there = float(np.median(patch)), float(np.log(max(float(release @ _TO_Y), _LEAST)))
    apart = float(np.ptp(middles)) / max(abs(here - there), 1e-6)
    if not APART[0] <= apart <= APART[1]:
        return 1.0
    own = float(middles.max() if here > there else middles.min())
    return float(np.exp(ALIKE * (own - here)))


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
