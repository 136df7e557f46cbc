"""Photos of a settled stamped surface, made up: relief of noise at three scales, with or without joints, release in
its low spots, with sharp edges or soft ones.

Light comes aslant: slopes shade, low spots lie in shadow, and it falls off over the frame; the base mottles. Beside
the field lie a rinsed and an un-rinsed patch, of the same relief or smooth. What is true of release left is the mean
of the mask, not anything that the estimator computes.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from scipy.ndimage import gaussian_filter
from scipy.spatial import cKDTree

from finishlog.color.notation.bands import bands_of, lab_of
from finishlog.color.photo.frame import Box

UNRINSED = 0.97
Stones = Literal["ashlar", "cobble", "seamless"]


@dataclass(frozen=True)
class Light:
    """How the light falls, and on what. `edge` is how soft release ends, as a part of all heights; `blur` is by how

    much of the field's width it is smeared besides: what no relief leads.
    """

    relief: float
    gradient: float
    occlusion: float
    smooth_patches: bool = False
    stones: Stones = "ashlar"
    edge: float = 0.03
    blur: float = 0.0


MODERATE = Light(relief=0.12, gradient=0.15, occlusion=0.08)
LOW_SUN = Light(relief=0.25, gradient=0.35, occlusion=0.20)
MODERATE_SMOOTH, LOW_SUN_SMOOTH = (replace(light, smooth_patches=True) for light in (MODERATE, LOW_SUN))


@dataclass(frozen=True)
class Photo:
    picture: np.ndarray
    field: Box
    base: Box
    release: Box
    base_lab: tuple[float, float, float]
    release_lab: tuple[float, float, float]
    left: float


def photo(seed: int, light: Light, contrast: float = 20.0, size: int = 300) -> Photo:
    """One photo, size × 1.4 size pixels, without any camera curve: sRGB of 8 bits with noise."""
    rng = np.random.default_rng(seed)
    height, width = size, round(1.4 * size)
    relief = _relief(rng, height, width, light.stones)
    base_lab, release_lab = _ends(rng, contrast)
    mask, share = _mask(rng, relief, size, light)
    base, release = bands_of(base_lab), bands_of(release_lab)
    bands = base + mask[..., None] * (release - base)
    bands = bands * _shade(rng, relief, light)[..., None] * _mottle(rng, height, width)[..., None]
    noisy = np.clip(bands + rng.normal(0, 0.004, bands.shape), 0, 1)
    encoded = np.where(noisy <= 0.0031308, 12.92 * noisy, 1.055 * noisy ** (1 / 2.4) - 0.055)
    side = round(0.28 * size)
    x = round(1.06 * size)
    return Photo(
        np.rint(255 * encoded).astype(np.uint8),
        Box(0, 0, size, size),
        Box(x, round(0.1 * size), side, side),
        Box(x, round(0.6 * size), side, side),
        base_lab,
        release_lab,
        share,
    )


def _ends(rng: np.random.Generator, contrast: float):
    base = np.array([rng.uniform(52, 68), rng.uniform(2, 10), rng.uniform(8, 22)])
    turn = np.array([-1.0, rng.normal(0, 0.25), rng.normal(-0.2, 0.35)])
    return tuple(base), tuple(base + contrast * turn / np.linalg.norm(turn))


def _relief(rng: np.random.Generator, height: int, width: int, stones: Stones) -> np.ndarray:
    """Heights 0 to 1, as ranks would be: stones, pits, and joints cut into them."""
    rough = sum(
        weight * _unit(gaussian_filter(rng.normal(size=(height, width)), scale))
        for weight, scale in ((1.0, 9), (0.6, 3), (0.25, 1))
    )
    pitch = int(rng.integers(60, 100))
    if stones == "ashlar":
        rows, columns = np.mgrid[:height, :width]
        joint = np.minimum(rows % pitch, (columns + pitch // 2 * (rows // pitch % 2)) % pitch) < 3
        rough = rough - 2.5 * joint
    elif stones == "cobble":
        rough = 0.6 * rough + 2.5 * _cobbles(rng, height, width, pitch / 2)
    rough = gaussian_filter(rough, 0.7)
    return rough.argsort(axis=None).argsort().reshape(rough.shape) / rough.size


def _cobbles(rng: np.random.Generator, height: int, width: int, pitch: float) -> np.ndarray:
    """Round heads, -1 in the joints and 0 on top: how much nearer the nearest center is than the second nearest."""
    rows, columns = np.mgrid[-pitch : height + pitch : pitch, -pitch : width + pitch : pitch]
    centers = np.stack([rows.ravel(), columns.ravel()], axis=1)
    near = cKDTree(centers + rng.uniform(-0.3, 0.3, centers.shape) * pitch)
    spots = np.stack(np.mgrid[:height, :width], axis=-1).reshape(-1, 2)
    first, second = near.query(spots, k=2)[0].T
    return -np.exp(-np.square((second - first) / (0.35 * pitch))).reshape(height, width)


def _mask(rng: np.random.Generator, relief: np.ndarray, size: int, light: Light) -> tuple[np.ndarray, float]:
    """Where release stays: the lower, the more, and some at random; the patches on the right."""
    wanted = rng.uniform(0.08, 0.40)
    uneven = relief + 0.08 * _unit(gaussian_filter(rng.normal(size=relief.shape), 2))
    edge = np.quantile(uneven[:, :size], wanted)
    mask = 1 / (1 + np.exp(((uneven - edge) / max(light.edge, 1e-6)).clip(-50, 50)))
    if light.blur:
        mask[:, :size] = gaussian_filter(mask[:, :size], light.blur * size)
    share = float(mask[:, :size].mean())
    mask[: relief.shape[0] // 2, size:] = 0.0
    mask[relief.shape[0] // 2 :, size:] = UNRINSED
    return mask, share


def _shade(rng: np.random.Generator, relief: np.ndarray, light: Light) -> np.ndarray:
    rows, columns = relief.shape
    down, across = np.gradient(gaussian_filter(relief, 1.5))
    turn = rng.uniform(0, 2 * np.pi)
    slope = across * np.cos(turn) + down * np.sin(turn)
    flat = np.arange(columns)[None, :] >= rows if light.smooth_patches else np.zeros((1, columns), bool)
    sides = np.maximum(1 + light.relief * slope / (2 * slope.std()), 0.2)
    shadow = 1 - light.occlusion * (1 - relief) ** 2
    sides, shadow = np.where(flat, 1.0, sides), np.where(flat, 1.0, shadow)
    v, u = np.meshgrid(np.linspace(-0.5, 0.5, rows), np.linspace(-0.5, 0.5, columns), indexing="ij")
    turn = rng.uniform(0, 2 * np.pi)
    along = u * np.cos(turn) + v * np.sin(turn)
    return sides * shadow * (1 + light.gradient * along + 0.1 * light.gradient * along**2)


def _mottle(rng: np.random.Generator, height: int, width: int) -> np.ndarray:
    return np.exp(0.03 * _unit(gaussian_filter(rng.normal(size=(height, width)), 6)))


def _unit(values: np.ndarray) -> np.ndarray:
    return (values - values.mean()) / values.std()


def contrast_of(one, other) -> float:
    return float(np.linalg.norm(lab_of(bands_of(one)) - lab_of(bands_of(other))))
