"""Reflectance of colored concrete: Kubelka-Munk and the Saunderson correction.

Reflectances are fractions 0 to 1, of one band or of arrays of any shape. No published Kubelka-Munk values
were found for cementitious systems, so the formulas are fitted to the shop's own samples.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Floats = NDArray[np.float64]


def absorption_to_scatter(reflectance: ArrayLike) -> Floats:
    """K/S = (1 - R)² / 2R of a layer too thick to see through; 0 < R <= 1, answers from 0 up.

    Source: Kubelka & Munk 1931; Allen 1980 (Optical Radiation Measurements vol. 2, ch. 7) eq. 20.
    """
    r = np.asarray(reflectance, float)
    return np.asarray((1 - r) ** 2 / (2 * r))


def reflectance(ratio: ArrayLike) -> Floats:
    """R = 1 + K/S - sqrt((K/S)² + 2 K/S), written so that a large K/S loses no digits; K/S from 0 up.

    Source: Kubelka & Munk 1931; Allen 1980 eq. 19.
    """
    q = np.asarray(ratio, float)
    return np.asarray(1 / (1 + q + np.sqrt(q * (q + 2))))


def reflectance_slope(ratio: ArrayLike) -> Floats:
    """dR / d(K/S), below 0; K/S above 0. Source: derived from `reflectance`."""
    q = np.asarray(ratio, float)
    return np.asarray(-reflectance(q) / np.sqrt(q * (q + 2)))


def with_surface(inside: ArrayLike, k1: ArrayLike, k2: ArrayLike) -> Floats:
    """What is measured of an inner reflectance R: k1 + (1 - k1)(1 - k2) R / (1 - k2 R).

    `k1` is what the outer surface throws back, `k2` what it throws back inwards, 0 up to 1 each.
    Source: Saunderson 1942; Allen 1980 eq. 24 (the formula from memory, k2 usually 0.4 to 0.6).
    """
    r, outer, inner = (np.asarray(value, float) for value in (inside, k1, k2))
    return np.asarray(outer + (1 - outer) * (1 - inner) * r / (1 - inner * r))


def surface_slope(inside: ArrayLike, k1: ArrayLike, k2: ArrayLike) -> Floats:
    """d(measured) / dR of `with_surface`; the same domain. Source: derived."""
    r, outer, inner = (np.asarray(value, float) for value in (inside, k1, k2))
    return np.asarray((1 - outer) * (1 - inner) / (1 - inner * r) ** 2)


def without_surface(measured: ArrayLike, k1: ArrayLike, k2: ArrayLike) -> Floats:
    """The inner reflectance of a measured one: (Rm - k1) / (1 - k1 - k2 + k2 Rm); Rm above k1.

    Source: Saunderson 1942; Allen 1980 eq. 26.
    """
    r, outer, inner = (np.asarray(value, float) for value in (measured, k1, k2))
    return np.asarray((r - outer) / (1 - outer - inner + inner * r))
