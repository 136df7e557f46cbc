"""A drawn picture of a 24-patch card beside a slab, seen a little aslant. It says nothing of a real camera."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

import numpy as np

from finishlog.color.notation.bands import bands_of
from finishlog.color.notation.space import card_labs
from finishlog.color.photo.patches import HEIGHT, WIDTH, homography

CORNERS = ((120, 60), (560, 80), (540, 370), (130, 350))
"""Of the black frame, pixels, the dark brown patch's first, clockwise."""
SLAB = (600, 60, 120, 300)
SLAB_LAB = (58.0, 9.0, 17.0)
_FLAT = np.array([(0, 0), (WIDTH, 0), (WIDTH, HEIGHT), (0, HEIGHT)])


def drawn(gain: float = 0.85, scatter: float = 0.0, hidden: Sequence[int] = ()) -> np.ndarray:
    """(420, 760, 3) of 0 to 255. `gain` in linear light; `scatter` of patches as a part of their light."""
    known = bands_of([lab for _, lab in card_labs()])
    rng = np.random.default_rng(4)
    patches = np.clip(known, 0.002, None) * np.exp(rng.normal(0, scatter, known.shape) if scatter else 0)
    patches[list(hidden)] = (0.5, 0.32, 0.2)
    table = np.vstack([patches, [(0.02, 0.02, 0.02), (0.35, 0.3, 0.25)], [bands_of(SLAB_LAB)]])
    light = np.clip(gain * table[_which()], 0, 1)
    noise = rng.normal(0, 0.002, light.shape)
    return np.rint(255 * encoded(np.clip(light + noise * (light < 1), 0, 1))).astype(np.uint8)


def spot_of(patch: int) -> tuple[int, int, int, int]:
    """A small box in the middle of a patch."""
    ahead = homography(_FLAT, np.array(CORNERS, float))
    x, y, w = ahead @ (1.5 + 2.75 * (patch % 6), 1.5 + 2.75 * (patch // 6), 1.0)
    return round(x / w) - 10, round(y / w) - 10, 20, 20


def encoded(light: np.ndarray) -> np.ndarray:
    return np.where(light <= 0.0031308, 12.92 * light, 1.055 * np.maximum(light, 1e-9) ** (1 / 2.4) - 0.055)


@cache
def _which() -> np.ndarray:
    """For each pixel: 0 to 23 the patch, 24 the frame, 25 the ground, 26 the slab."""
    back = homography(np.array(CORNERS, float), _FLAT)
    y, x = np.mgrid[:420, :760] + 0.5
    at = np.stack([x, y, np.ones_like(x)], axis=-1) @ back.T
    u, v = at[..., 0] / at[..., 2], at[..., 1] / at[..., 2]
    column, row = np.floor((u - 0.125) / 2.75), np.floor((v - 0.125) / 2.75)
    inside = (u > 0) & (u < WIDTH) & (v > 0) & (v < HEIGHT)
    on_patch = ((u - 0.25) % 2.75 < 2.5) & ((v - 0.25) % 2.75 < 2.5) & (u > 0.25) & (v > 0.25)
    which = np.where(inside, np.where(on_patch, row.clip(0, 3) * 6 + column.clip(0, 5), 24), 25).astype(int)
    left, top, width, height = SLAB
    which[top : top + height, left : left + width] = 26
    return which
