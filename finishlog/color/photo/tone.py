"""Undoes a photo's tone and color: fits the camera's values of known colors back to the truth.

After sRGB decoding, an offset and exponent per channel, then a 3×3 matrix. On real phone photographs of a
24-patch card this halves the error of a matrix alone, because it models the phone's tone curve. Photos
rendered with a tint cannot show that.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from finishlog.color.notation.bands import bands_of, lab_of, lab_slope
from finishlog.color.priors import figures

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Floats = NDArray[np.float64]
    Mask = NDArray[np.bool_]

OFFSET_SD, EXPONENT_SD = figures.TONE.sd
"""Priors of the per-channel offset (around 0) and exponent (around 1), from a study on real photographs."""
PATCH_SD = 2.0
"""Assumed error of one patch, alike in L*, a*, b*: sets the weight of the priors."""
LEAST = 1e-4
"""Floor of decoded light."""
_START = np.array([0.0] * 3 + [1.0] * 3)


@dataclass(frozen=True, slots=True)
class Correction:
    """From a photo's values to linear sRGB: `matrix` @ (decoded - `offset`) ** `exponent`; (3,), (3,), (3, 3)."""

    offset: Floats
    exponent: Floats
    matrix: Floats

    def bands(self, values: ArrayLike) -> Floats:
        """Linear sRGB of a photo's values, 0 to 1, shape (..., 3)."""
        light = np.maximum(decoded(values) - self.offset, LEAST)
        found: Floats = light**self.exponent @ self.matrix.T
        return found

    def lab(self, values: ArrayLike) -> Floats:
        """L*a*b* (D65, 2°) of a photo's values, 0 to 1, shape (..., 3)."""
        return lab_of(self.bands(values))


def decoded(values: ArrayLike) -> Floats:
    """Linear light of sRGB values, 0 to 1, any shape. Source: IEC 61966-2-1."""
    v = np.asarray(values, float)
    linear: Floats = np.where(v <= 0.04045, v / 12.92, ((np.maximum(v, 0.04045) + 0.055) / 1.055) ** 2.4)
    return linear


def fit(values: ArrayLike, lab: ArrayLike, start: Correction | None = None) -> Correction:
    """The correction that takes `values` (n, 3), 0 to 1, to their known `lab` (n, 3); n from `FEWEST` up.

    Least squares in L*a*b* with soft_l1, so that one bad patch does not dominate.
    """
    from scipy.optimize import least_squares

    light, target = decoded(values), np.asarray(lab, float)
    first = _packed(start or linear(light, target))
    with np.errstate(over="ignore"):
        found = least_squares(_misses, first, _slopes, args=(light, target), loss="soft_l1", max_nfev=60)
    return _unpacked(found.x)


def linear(light: Floats, target: Floats) -> Correction:
    """The 3×3 alone, from linear light (n, 3) to L*a*b* (n, 3); dark and light patches count alike."""
    bands = bands_of(target)
    weight = (1 / (0.05 + bands.mean(axis=1)))[:, None]
    matrix = np.linalg.lstsq(light * weight, bands * weight, rcond=None)[0].T
    return Correction(np.zeros(3), np.ones(3), matrix)


def leave_one_out(values: ArrayLike, lab: ArrayLike, whole: Correction) -> Floats:
    """Each patch's L*a*b* predicted by the others, less the true value: (n, 3)."""
    v, target = np.asarray(values, float), np.asarray(lab, float)
    rows = np.arange(len(v))
    return np.array([fit(v[rows != i], target[rows != i], whole).lab(v[i]) - target[i] for i in rows])


def _packed(start: Correction) -> Floats:
    return np.concatenate([start.offset, start.exponent, start.matrix.ravel()])


def _unpacked(theta: Floats) -> Correction:
    return Correction(theta[:3].copy(), theta[3:6].copy(), theta[6:].reshape(3, 3).copy())


def _prior(theta: Floats) -> Floats:
    off: Floats = (theta[:6] - _START) / np.repeat((OFFSET_SD, EXPONENT_SD), 3)
    return off


def _misses(theta: Floats, light: Floats, target: Floats) -> Floats:
    toned = np.maximum(light - theta[:3], LEAST) ** theta[3:6]
    off = (lab_of(toned @ theta[6:].reshape(3, 3).T) - target) / PATCH_SD
    return np.concatenate([off.ravel(), _prior(theta)])


def _slopes(theta: Floats, light: Floats, target: Floats) -> Floats:
    """The derivatives of `_misses`, (3 n + 6, 15)."""
    base = np.maximum(light - theta[:3], LEAST)
    toned, matrix = base ** theta[3:6], theta[6:].reshape(3, 3)
    steep = lab_slope(toned @ matrix.T) / PATCH_SD  # (n, 3 of Lab, 3 of bands)
    through = steep @ matrix  # by each toned channel
    by_offset = through * (-theta[3:6] * toned / base * (light - theta[:3] > LEAST))[:, None, :]
    by_exponent = through * (toned * np.log(base))[:, None, :]
    by_matrix = (steep[..., None] * toned[:, None, None, :]).reshape(len(light), 3, 9)
    patches = np.concatenate([by_offset, by_exponent, by_matrix], axis=2).reshape(-1, 15)
    prior = np.zeros((6, 15))
    prior[np.arange(6), np.arange(6)] = 1 / np.repeat((OFFSET_SD, EXPONENT_SD), 3)
    return np.concatenate([patches, prior])
