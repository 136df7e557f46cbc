"""Photos of a settled slab by another way than `surface_truth`: a height field lit by a sun and a sky.

The sun shines by Lambert's law and casts shadows; the sky, bluer, is seen less from low spots. Release lies in them as
a continuous function of height and depth below the neighborhood, with specks anywhere. The base mottles in tint, too.
Stones, joints and noise are of other shapes than there. What is true is the mean of what lies on the field.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.ndimage import gaussian_filter, maximum_filter

from finishlog.color.notation.bands import bands_of
from finishlog.color.photo.frame import Box
from tests.color.surface_truth import UNRINSED, Photo

SKY = np.array([0.90, 1.00, 1.14])
"""The blue of the sky beside the sun's light, band by band: made up."""


@dataclass(frozen=True)
class Day:
    """`sun` degrees above the slab, part of the light that is the sky's, height of the relief in pixels, how softly

    release ends (a part of all heights), whether patches are of the same relief, whether the sky is blue.
    """

    sun: float
    sky: float
    deep: float
    soft: float = 0.15
    smooth_patches: bool = False
    blue: bool = True


SHADE, MID_SUN, LOW = Day(50, 0.85, 3.0), Day(55, 0.30, 2.0), Day(25, 0.25, 2.0)


def photo(seed: int, day: Day, contrast: float = 20.0, size: int = 280) -> Photo:
    """One photo, size × 1.4 size pixels: sRGB of 8 bits with noise."""
    rng = np.random.default_rng(seed)
    height, width = size, round(1.4 * size)
    relief = _relief(rng, height, width)
    base = np.array([rng.uniform(52, 68), rng.uniform(1, 9), rng.uniform(6, 20)])
    turn = np.array([-1.0, rng.normal(0, 0.2), rng.normal(-0.25, 0.3)])
    release = base + contrast * turn / np.linalg.norm(turn)
    mask = _pooled(rng, relief, day.soft)
    share = float(mask[:, :size].mean())
    mask[: height // 2, size:], mask[height // 2 :, size:] = 0.0, UNRINSED
    lit = _lit(rng, np.where((np.arange(width) >= size) & day.smooth_patches, 0.5, relief), day)
    spots = gaussian_filter(rng.normal(size=(height, width, 3)), (9, 9, 0))
    mottle = np.exp(spots / spots.std() * 0.006 + 0.03 * spots[..., :1] / spots.std())
    bands = (bands_of(base) + mask[..., None] * (bands_of(release) - bands_of(base))) * lit * mottle
    noisy = np.clip(bands + rng.normal(0, 0.004, bands.shape), 0, 1)
    encoded = np.where(noisy <= 0.0031308, 12.92 * noisy, 1.055 * noisy ** (1 / 2.4) - 0.055)
    side, x = round(0.28 * size), round(1.06 * size)
    boxes = (
        Box(0, 0, size, size),
        Box(x, round(0.1 * size), side, side),
        Box(x, round(0.6 * size), side, side),
    )
    return Photo(np.rint(255 * encoded).astype(np.uint8), *boxes, tuple(base), tuple(release), share)


def _relief(rng: np.random.Generator, height: int, width: int) -> np.ndarray:
    """Heights about 0 to 1: ridges of waves, slabs of random pitch with rounded joints, and grain."""
    v, u = np.mgrid[:height, :width].astype(float)
    waves = np.zeros((height, width))
    for _ in range(14):
        turn, pitch = rng.uniform(0, np.pi), np.exp(rng.uniform(np.log(12), np.log(60)))
        waves += (
            np.sin(2 * np.pi * (u * np.cos(turn) + v * np.sin(turn)) / pitch + rng.uniform(0, 7)) * pitch / 40
        )
    rows, columns = (np.cumsum(rng.uniform(35, 110, 40)) - rng.uniform(0, 60) for _ in range(2))
    near = np.minimum(np.abs(v[..., None] - rows).min(axis=-1), np.abs(u[..., None] - columns).min(axis=-1))
    grain = gaussian_filter(rng.normal(size=(height, width)), 1.2)
    whole = waves / waves.std() - 2.0 * np.exp(-np.square(near / 3)) + 0.35 * grain / grain.std()
    low, high = np.quantile(whole, (0.01, 0.99))
    return (whole - low) / (high - low)


def _pooled(rng: np.random.Generator, relief: np.ndarray, soft: float) -> np.ndarray:
    """Release by depth: of the height itself and below the neighborhood's mean; specks besides."""
    depth = 0.6 * (0.5 - relief) + 0.4 * (gaussian_filter(relief, 15) - relief) / 0.5
    level = np.quantile(depth, 1 - rng.uniform(0.05, 0.35))
    lain = 0.5 + 0.5 * np.tanh((depth - level) / max(soft, 1e-6))
    specks = maximum_filter(rng.random(relief.shape) < 0.0015, 3)
    return np.where(specks, np.maximum(lain, 0.85), lain) * rng.uniform(0.85, 1.0)


def _lit(rng: np.random.Generator, relief: np.ndarray, day: Day) -> np.ndarray:
    """Light on each pixel, three bands, about one on a level plane."""
    heights = gaussian_filter(relief, 0.8) * day.deep
    down, across = np.gradient(heights)
    turn, up = rng.uniform(0, 2 * np.pi), np.radians(day.sun)
    toward = np.array([np.cos(turn), np.sin(turn)]) * np.cos(up)
    slope = 1 / np.sqrt(1 + across**2 + down**2)
    sun = np.maximum((np.sin(up) - toward[0] * across - toward[1] * down) * slope, 0) / np.sin(up)
    sun = sun * (1 - _cast(heights, turn, np.tan(up)))
    sky = slope * (1 - 0.5 * np.clip((gaussian_filter(heights, 6) - heights) / day.deep, 0, 1))
    v, u = np.mgrid[: relief.shape[0], : relief.shape[1]] / relief.shape[0] - 0.5
    fall = 1 + rng.normal(0, 0.08) * u + rng.normal(0, 0.08) * v + rng.normal(0, 0.02) * u * v
    color = SKY if day.blue else np.ones(3)
    light = (1 - day.sky) * sun[..., None] + day.sky * sky[..., None] * color
    return light * fall[..., None] / ((1 - day.sky) + day.sky * color)


def _cast(heights: np.ndarray, turn: float, steep: float) -> np.ndarray:
    """Part in shadow, 0 to 1: whether anything toward the sun stands above the ray, to 24 pixels away."""
    hidden = np.zeros(heights.shape)
    for far in np.arange(1.0, 24.0):
        dy, dx = round(far * np.sin(turn)), round(far * np.cos(turn))
        other = np.roll(heights, (-dy, -dx), axis=(0, 1))
        hidden = np.maximum(hidden, np.clip((other - heights - far * steep) / 0.15, 0, 1))
    return gaussian_filter(hidden, 0.7)
