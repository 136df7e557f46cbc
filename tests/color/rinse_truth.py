"""Truth for the rinse helper, from another family than the estimator's: no Gaussian line of mixes.

A slab is thousands of spots; each holds release by a beta law around the share left, under a little shading of the low
spots, so the field is an average over spots, not a mix of two patches. The un-rinsed patch is covered to 94 to 100
percent. On rinse day the base stands at a bi-exponential point of its way; drying brings back a share of
the lightening to come around the assumed 55 percent. The frame as a whole is off by a photo's error, each patch by
its own.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from finishlog.color.notation.space import lab_to_xyz, xyz_to_lab

Floats = NDArray[np.float64]
FRAME_SD = np.array([1.0, 0.5, 0.7])


@dataclass(frozen=True)
class Scene:
    """What a frame shows of one slab: field, rinsed and un-rinsed patch, and the truth behind."""

    left: float
    field: Floats
    rinsed: Floats
    unrinsed: Floats
    settled_base: Floats
    release: Floats


def draw(rng: np.random.Generator, contrast: float, patch_sd: float, dried: bool) -> Scene:
    """A scene whose release color is `contrast` (ΔE*ab) from the base as it is now, wet; dried or not."""
    release = np.array([rng.uniform(32, 48), rng.uniform(1, 6), rng.uniform(4, 11)])
    way = rng.normal([1.0, 0.0, -0.05], [0.06, 0.12, 0.12])
    now = release + contrast * way / np.linalg.norm(way)
    to_come = np.array([rng.normal(10.5, 1.8), rng.normal(0, 0.8), rng.normal(-0.5, 0.8)])
    back = np.clip(rng.normal(0.55, 0.05), 0.4, 0.7) if dried else 0.0
    base = now + back * to_come
    left = float(np.clip(rng.beta(2.2, 6.2), 0.01, 0.85))
    spots = rng.beta(*_law(left, rng.uniform(0.8, 3)), 4000)
    share = left + spots - spots.mean()
    shade = 1 - rng.uniform(0, 0.01) * share
    light = (1 - share)[:, None] * lab_to_xyz(base) + share[:, None] * lab_to_xyz(release)
    field = xyz_to_lab((light * shade[:, None]).mean(axis=0))
    cover = rng.uniform(0.94, 1.0)
    unrinsed = xyz_to_lab((1 - cover) * lab_to_xyz(base) + cover * lab_to_xyz(release))
    frame = rng.normal(size=3) * FRAME_SD
    seen = [patch + frame + rng.normal(size=3) * patch_sd for patch in (field, base, unrinsed)]
    return Scene(left, seen[0], seen[1], seen[2], now + to_come, release)


def _law(mean: float, concentration: float) -> tuple[float, float]:
    return mean * concentration, (1 - mean) * concentration
