"""Phones as a spectral generator, a family the fit does not belong to: what a card and slabs come out as in a photo.

A phone has sensitivities, a 3×3 of its maker, an S-shaped tone in encoded values and a chroma boost; a photo has
a light, a white balance that is a little off, an exposure, veiling glare and uneven light. Card spectra: Ohta 1997, by
colour-science. Slabs: gray cement with iron oxides whose absorption falls at their edge (shape from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np

from finishlog.color.notation.bands import bands_of
from finishlog.color.notation.space import xyz_to_lab
from tests.color.card_drawing import encoded

WAVES = np.arange(400, 701, 10.0)
LIGHTS = ("D50", "D55", "D60", "D65", "D75", "FL4", "FL8", "LED-B3", "LED-B4")
_YCC = np.array([(0.299, 0.587, 0.114), (-0.168736, -0.331264, 0.5), (0.5, -0.418688, -0.081312)])


@dataclass(frozen=True)
class Phone:
    """`seen` (waves, 3); `matrix` (3, 3) to linear sRGB; tone: bend and shoulder in encoded values; chroma boost."""

    seen: np.ndarray
    matrix: np.ndarray
    bend: float
    lift: float
    boost: float


@dataclass(frozen=True)
class Photo:
    """One picture's light and settings."""

    light: np.ndarray
    gains: np.ndarray
    veil: np.ndarray
    slope: np.ndarray
    noise: float


def phone(rng: np.random.Generator) -> Phone:
    peak = np.array((600, 540, 460)) + rng.normal(0, 6, 3)
    wide = np.array((36, 38, 30)) * np.exp(rng.normal(0, 0.12, 3))
    seen = np.exp(-0.5 * ((WAVES[:, None] - peak) / wide) ** 2) + 0.02
    raw = card_spectra() @ (seen * light("D65")[:, None])
    raw /= (seen * light("D65")[:, None]).sum(axis=0)
    matrix = np.linalg.lstsq(raw, bands_of(known()), rcond=None)[0].T
    matrix = matrix + rng.normal(0, 0.03, (3, 3))
    return Phone(seen, matrix / matrix.sum(axis=1)[:, None], rng.uniform(0, 0.1), rng.uniform(0, 0.5),
                 rng.uniform(1.0, 1.3))  # fmt: skip


def photo(rng: np.random.Generator, name: str | None = None) -> Photo:
    gains = np.exp(rng.normal(-0.12, 0.1) + rng.normal(0, 0.06, 3))
    veil = rng.uniform(0.002, 0.03) * np.exp(rng.normal(0, 0.15, 3))
    return Photo(light(name or str(rng.choice(LIGHTS))), gains, veil, rng.normal(0, 0.05, 2), 0.002)


def values(
    rng: np.random.Generator, of: Phone, at: Photo, spectra: np.ndarray, place: np.ndarray
) -> np.ndarray:
    """0 to 255 as a float median of many pixels, (n, 3); `place` (n, 2) from -.5 to .5 across the picture."""
    power = of.seen * at.light[:, None]
    raw = spectra @ power / power.sum(axis=0)
    linear = (raw @ of.matrix.T) * at.gains * np.exp(place @ at.slope)[:, None] + at.veil
    v = encoded(np.clip(linear, 0, 1.0))
    v = v + of.lift * v * (1 - v) - of.bend * np.sin(2 * np.pi * v) / 2
    ycc = v @ _YCC.T
    ycc[:, 1:] *= of.boost
    shown = np.clip(ycc @ np.linalg.inv(_YCC).T + rng.normal(0, at.noise, v.shape), 0, 1)
    return np.rint(255 * shown)


def card_place() -> np.ndarray:
    """The card in the left half of the picture."""
    row, column = np.divmod(np.arange(24), 6)
    return np.stack([-0.45 + 0.08 * column, -0.15 + 0.1 * row], axis=1)


def slab(red: float, yellow: float, black: float, gray: float = 0.55) -> np.ndarray:
    """Reflectance (waves,) of concrete: Kubelka-Munk of gray cement and three oxides, by their amounts."""
    falls = 1 / (1 + np.exp((WAVES - 580) / 14)), 1 / (1 + np.exp((WAVES - 515) / 16))
    base = (1 - gray) ** 2 / (2 * gray) * (WAVES / 550) ** -0.5
    ks = base + red * (falls[0] + 0.08) + yellow * (falls[1] + 0.02) + black
    return 1 + ks - np.sqrt(ks**2 + 2 * ks)


def lab(spectra: np.ndarray) -> np.ndarray:
    """L*a*b* (D65, 2°) of reflectances (..., waves)."""
    power = observer() * light("D65")[:, None]
    return xyz_to_lab((spectra @ power / power[:, 1].sum()) * WHITE_FIX())


@cache
def observer() -> np.ndarray:
    import colour

    shape = colour.SpectralShape(400, 700, 10)
    return colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"].copy().align(shape).values


@cache
def WHITE_FIX() -> np.ndarray:
    from finishlog.color.notation.reference import WHITE

    power = observer() * light("D65")[:, None]
    return np.asarray(WHITE) / (power.sum(axis=0) / power[:, 1].sum())


@cache
def light(name: str) -> np.ndarray:
    import colour

    shape = colour.SpectralShape(400, 700, 10)
    return colour.SDS_ILLUMINANTS[name].copy().align(shape).values


@cache
def card_spectra() -> np.ndarray:
    import colour

    shape = colour.SpectralShape(400, 700, 10)
    found = colour.SDS_COLOURCHECKERS["ColorChecker N Ohta"]
    return np.array([each.copy().align(shape).values for each in found.values()])


@cache
def known() -> np.ndarray:
    """The card's own L*a*b*: of its spectra, which are another printing's than `card_labs`."""
    return lab(card_spectra())
