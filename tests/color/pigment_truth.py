"""Truth for the blend: pigmented cement in 31 bands, which the three-band estimator cannot hold.

Kubelka-Munk with Saunderson from 400 to 700 nm, seen under D65 by the 2° observer (colour-science). Cement, pigments,
surface and saturation are drawn anew for every seed, the saturation in another form than the estimator's. The
noise is that of color-methods.md: a photo's sd L* 1.0, a* 0.5, b* 0.7, and 4 % outliers four times as wide.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
WAVES = np.arange(400, 701, 10).astype(float)
PHOTO_SD = np.array([1.0, 0.5, 0.7])
OUTLIERS, WIDER = 0.04, 4.0


@lru_cache
def _eye() -> tuple[Floats, Floats]:
    """Light times observer (31, 3), scaled so that white has Y = 1, and the white's XYZ."""
    import colour

    shape = colour.SpectralShape(400, 700, 10)
    light = colour.SDS_ILLUMINANTS["D65"].copy().align(shape).values
    observer = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"].copy().align(shape).values
    seen = light[:, None] * observer / (light @ observer[:, 1])
    return seen, seen.sum(axis=0)


def lab_of_spectrum(reflectance: Floats) -> Floats:
    """(n, 31) to L*a*b* (n, 3), relative to the perfect white under the same light."""
    seen, white = _eye()
    ratio = reflectance @ seen / white
    curved = np.where(ratio > 216 / 24389, np.cbrt(ratio), (24389 / 27 * ratio + 16) / 116)
    x, y, z = np.moveaxis(curved, -1, 0)
    return np.stack([116 * y - 16, 500 * (x - y), 200 * (y - z)], axis=-1)


def _edge(at: float, width: float, low: float, high: float) -> Floats:
    """Absorption that falls from `high` in the blue to `low` in the red, around `at` nm."""
    return low + (high - low) / (1 + np.exp((WAVES - at) / width))


def _red(rng: np.random.Generator) -> Floats:
    bump = 1 + rng.uniform(0.0, 0.25) * np.exp(-(((WAVES - 530) / 35) ** 2))
    return (
        _edge(rng.uniform(575, 592), rng.uniform(12, 20), rng.uniform(0.03, 0.09), rng.uniform(0.45, 0.8))
        * bump
    )


def _yellow(rng: np.random.Generator) -> Floats:
    bump = 1 + rng.uniform(0.0, 0.4) * np.exp(-(((WAVES - 650) / 40) ** 2))
    return (
        _edge(rng.uniform(512, 530), rng.uniform(14, 22), rng.uniform(0.03, 0.07), rng.uniform(0.3, 0.6))
        * bump
    )


def _black(rng: np.random.Generator) -> Floats:
    return rng.uniform(0.3, 0.6) * (1 + rng.uniform(-0.15, 0.1) * (WAVES - 550) / 150)


def _brown(rng: np.random.Generator) -> Floats:
    return _edge(rng.uniform(555, 585), rng.uniform(35, 55), rng.uniform(0.12, 0.22), rng.uniform(0.4, 0.65))


def _green(rng: np.random.Generator) -> Floats:
    dip = 1 - rng.uniform(0.55, 0.75) * np.exp(-(((WAVES - rng.uniform(525, 540)) / 38) ** 2))
    return rng.uniform(0.2, 0.35) * dip


KINDS: tuple[Callable[[np.random.Generator], Floats], ...] = (_red, _yellow, _black, _brown, _green)


def _saturations(rng: np.random.Generator) -> Callable[[Floats], Floats]:
    """How the doses' total tells, in one of three forms that level off around 4.5 to 7 percent."""
    c = rng.uniform(4.5, 7.0)
    forms: tuple[Callable[[Floats], Floats], ...] = (
        lambda total: c * np.tanh(total / c),
        lambda total: total / (1 + (total / c) ** 3) ** (1 / 3),
        lambda total: total / (1 + (total / c) ** 6) ** (1 / 6),
    )
    return forms[int(rng.integers(3))]


@dataclass(frozen=True)
class Truth:
    """One cement with its pigments."""

    cement: Floats  # K/S, (31,)
    pigments: Floats  # K/S per percent, (pigments, 31)
    k1: float
    k2: float
    saturate: Callable[[Floats], Floats]

    def lab(self, doses: Floats) -> Floats:
        """L*a*b* (n, 3) of doses (n, pigments) in percent."""
        doses = np.atleast_2d(doses)
        total = doses.sum(axis=1)
        share = self.saturate(total) / np.maximum(total, 1e-9)
        ratio = self.cement + (doses * share[:, None]) @ self.pigments
        inside = 1 + ratio - np.sqrt(ratio**2 + 2 * ratio)
        return lab_of_spectrum(self.k1 + (1 - self.k1) * (1 - self.k2) * inside / (1 - self.k2 * inside))


def draw(rng: np.random.Generator, pigments: int = 3) -> Truth:
    """A gray cement and so many pigments, all of different kinds."""
    k1, k2 = rng.uniform(0.01, 0.05), rng.uniform(0.2, 0.65)
    measured = rng.uniform(0.34, 0.5) * (1 + rng.uniform(0.02, 0.16) * (WAVES - 550) / 150)
    inside = (measured - k1) / (1 - k1 - k2 + k2 * measured)
    kinds = rng.choice(len(KINDS), pigments, replace=False)
    found = np.array([KINDS[kind](rng) for kind in kinds])
    scale = (1 - inside.mean()) ** 2 / (2 * inside.mean()) / 0.45
    return Truth((1 - inside) ** 2 / (2 * inside), found * scale, k1, k2, _saturations(rng))


def panel_doses(rng: np.random.Generator, pigments: int = 3) -> Floats:
    """Thirteen samples for three pigments: the plain one, three of each alone, three mixes; 0.3 to 8 percent."""
    rows = [np.zeros(pigments)]
    for pigment in range(pigments):
        for low, high in ((0.3, 1.2), (1.5, 3.5), (4.5, 8.0)):
            rows.append(rng.uniform(low, high) * np.eye(pigments)[pigment])
    rows += [mixed(rng, pigments) for _ in range(3)]
    return np.array(rows)


def mixed(rng: np.random.Generator, pigments: int = 3, low: float = 1.0, high: float = 8.0) -> Floats:
    """A mix of all pigments, its total between `low` and `high` percent."""
    return rng.uniform(low, high) * rng.dirichlet(np.full(pigments, 1.5))


def read(rng: np.random.Generator, lab: Floats, photos: int = 3) -> Floats:
    """What the photos read of these colors: their mean, outliers and all."""
    wide = np.where(rng.random((photos, len(lab), 1)) < OUTLIERS, WIDER, 1.0)
    return lab + (rng.normal(size=(photos, len(lab), 3)) * PHOTO_SD * wide).mean(axis=0)
