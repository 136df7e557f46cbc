"""Truth for the rinse helper by another way than `rinse_truth`: a film of uneven thickness, half stain and half powder.

Where release lies as powder, its light and the base's add up; where it has stained, their logarithms do (a filter).
Its thickness follows a gamma law; what it covers is 1 - exp(-thickness), and the truth is the mean of that. The frame
is off by a gain of each band and a veil of light, not by a step of L*a*b*; each patch's own error has heavy tails
(Student's t of 5, scaled to the sd said). Drying brings back a part of the lightening by how long it was blown at, and
unevenly over the spots.
"""

from __future__ import annotations

import numpy as np

from finishlog.color.notation.bands import bands_of, lab_of
from tests.color.rinse_truth import Floats, Scene

STAIN, POWDER = 0.5, 3000
"""Part of the release that stains; spots of a field."""


def draw(rng: np.random.Generator, contrast: float, patch_sd: float, dried: bool) -> Scene:
    """A scene whose release color is `contrast` (ΔE*ab) from the base as it is now, wet; dried or not."""
    now = np.array([rng.uniform(36, 56), rng.uniform(0, 8), rng.uniform(5, 18)])
    way = rng.normal([-1.0, 0.05, -0.1], [0.1, 0.15, 0.15])
    release = now + contrast * way / np.linalg.norm(way)
    to_come = np.array([rng.uniform(7, 14), rng.normal(-0.2, 0.6), rng.normal(0.2, 0.9)])
    back = 0.65 * (1 - np.exp(-rng.uniform(1.2, 3.5))) if dried else 0.0
    part = back + (0.01 * rng.normal(size=3) if dried else np.zeros(3))
    base, there, bare = (bands_of(now + each * to_come) for each in (back, *part[1:]))
    pure = bands_of(release)
    thick = rng.gamma(rng.uniform(0.3, 1.5), 1.0, POWDER)
    wanted = 1 / (1 + np.exp(-rng.normal(-1.3, 0.55)))
    cover = _covered(thick, wanted)
    mixes = [_seen(base, pure, cover), bare[None], _seen(there, pure, np.array([rng.uniform(0.95, 0.99)]))]
    gain, veil = np.exp(rng.normal(0, 0.03, 3) + rng.normal(0, 0.03)), abs(rng.normal(0, 0.003))
    own = rng.standard_t(5, size=(3, 3)) * np.sqrt(3 / 5) * patch_sd
    field, rinsed, unrinsed = (
        lab_of(mix.mean(axis=0) * gain + veil) + e for mix, e in zip(mixes, own, strict=True)
    )
    return Scene(float(cover.mean()), field, rinsed, unrinsed, now + to_come, release)


def _covered(thick: Floats, wanted: float) -> Floats:
    """1 - exp(-k · thickness), k so that the mean is as wanted."""
    low, high = 1e-3, 1e5
    for _ in range(50):
        k = np.sqrt(low * high)
        low, high = (k, high) if (1 - np.exp(-k * thick)).mean() < wanted else (low, k)
    cover: Floats = 1 - np.exp(-k * thick)
    return cover


def _seen(base: Floats, release: Floats, cover: Floats) -> Floats:
    """Linear sRGB of spots covered so far, (spots, 3): half powder, half stain."""
    part = cover[:, None]
    powder = base + part * (release - base)
    stain = np.exp((1 - part) * np.log(base) + part * np.log(release))
    mix: Floats = (1 - STAIN) * powder + STAIN * stain
    return mix
