"""How colored concrete sends light back: Kubelka-Munk, the Saunderson correction, the wet look.

Reflectances are fractions 0 to 1, of one band or of arrays of any shape. For cementitious systems no published
Kubelka-Munk values were found, so what is made of these formulas is fitted to the shop's own samples.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Floats = NDArray[np.float64]

ANGLES = 2000
"""Steps of the Fresnel integral; the answer holds to six digits."""


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


def surface_reflection(index: float) -> float:
    """The share of light a smooth surface of this refractive index (above 1) throws back, met head on.

    Source: Fresnel.
    """
    return ((index - 1) / (index + 1)) ** 2


def inner_reflection(index: float) -> float:
    """The share of diffuse light from within that such a surface throws back inwards; index above 1.

    Source: the Fresnel integral over all angles from outside, and 1 - p = (1 - p_outside) / index².
    """
    angle = (np.arange(ANGLES) + 0.5) * (math.pi / 2 / ANGLES)
    cos_out = np.cos(angle)
    cos_in = np.sqrt(1 - (np.sin(angle) / index) ** 2)
    across = ((cos_out - index * cos_in) / (cos_out + index * cos_in)) ** 2
    along = ((index * cos_out - cos_in) / (index * cos_out + cos_in)) ** 2
    outside = float(np.sum((across + along) / 2 * np.sin(2 * angle)) * (math.pi / 2 / ANGLES))
    return 1 - (1 - outside) / index**2


def wetted(dry: ArrayLike, index: float = 1.33) -> Floats:
    """Reflectance under a film of water (index 1.33) or clear sealer (about 1.5), of the dry one.

    Only the light that the film throws back inwards is counted, so the true fall is larger: a sign and a bound,
    no forecast. Source: Lekner & Dorf, Appl. Opt. 27:1278, 1988 (definitions; the sum of the series derived);
    Zhang & Voss, Applied Optics: neither this nor Twomey 1986 is sufficient.
    """
    absorbed = 1 - np.asarray(dry, float)
    into = 1 - surface_reflection(index)
    return 1 - into * absorbed / (1 - inner_reflection(index) * (1 - absorbed))
