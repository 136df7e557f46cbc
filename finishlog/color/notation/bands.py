"""Three light bands (the linear sRGB primaries) as arrays: to L*a*b*, back, and the slope.

Fitting thousands of colors is too slow through the library; the constants are those of `space`, and a test
compares the two.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from finishlog.color.notation.reference import RGB_TO_XYZ, WHITE, XYZ_TO_RGB

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Floats = NDArray[np.float64]

_EDGE, _STEEP = 216 / 24389, 24389 / 27 / 116
_TO_RATIOS = np.array(RGB_TO_XYZ) / np.array(WHITE)[:, None]
_FROM_RATIOS = np.array(XYZ_TO_RGB) * np.array(WHITE)
_TO_LAB = np.array([[0.0, 116.0, 0.0], [500.0, -500.0, 0.0], [0.0, 200.0, -200.0]])


def lab_of(bands: ArrayLike) -> Floats:
    """L*a*b* (D65, 2°) of linear sRGB, shape (..., 3), any finite values. Source: IEC 61966-2-1; CIE 015."""
    ratios = np.asarray(bands, float) @ _TO_RATIOS.T
    curved = np.where(ratios > _EDGE, np.cbrt(np.maximum(ratios, _EDGE)), _STEEP * ratios + 16 / 116)
    lab: Floats = curved @ _TO_LAB.T
    lab[..., 0] -= 16
    return lab


def bands_of(lab: ArrayLike) -> Floats:
    """Linear sRGB of L*a*b* (D65, 2°), shape (..., 3); outside the gamut below 0 or above 1."""
    L, a, b = np.moveaxis(np.asarray(lab, float), -1, 0)
    y = (L + 16) / 116
    curved = np.stack([y + a / 500, y, y - b / 200], axis=-1)
    ratios = np.where(curved**3 > _EDGE, curved**3, (curved - 16 / 116) / _STEEP)
    found: Floats = ratios @ _FROM_RATIOS.T
    return found


def lab_slope(bands: ArrayLike) -> Floats:
    """d(L*a*b*) / d(linear sRGB), shape (..., 3 of Lab, 3 of bands). Source: derived from `lab_of`."""
    ratios = np.asarray(bands, float) @ _TO_RATIOS.T
    steep = np.where(ratios > _EDGE, 1 / (3 * np.cbrt(np.maximum(ratios, _EDGE)) ** 2), _STEEP)
    slope: Floats = np.einsum("ij,...j,jk->...ik", _TO_LAB, steep, _TO_RATIOS)
    return slope
