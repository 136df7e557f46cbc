"""Undoes a photo's tone and color: fits the camera's values of known colors back to the truth.

After sRGB decoding, an offset, exponent and gain per channel, then a 3×3 matrix whose rows add to one, so that white
balance and exposure are the gains' and the matrix is the phone's. Where they help, three root terms (√RG, √GB, √BR,
each less the mean of its channels, so that grays stay gray) add nine coefficients: root-polynomial correction of
degree 2, which no exposure changes. Source: Finlayson, Mackiewicz, Hurlbert, IEEE Trans. Image Process.
24(5):1460-1470, 2015.

On real phone photographs of a 24-patch card the tone halves the error of a matrix alone. Photos rendered with a tint
cannot show that.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from finishlog.color.notation.bands import bands_of, lab_of, lab_slope
from finishlog.color.priors import figures

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Floats = NDArray[np.float64]
    Mask = NDArray[np.bool_]

PATCH_SD = figures.PATCH.one_sd
"""Assumed error of one patch, alike in L*, a*, b*: sets the weight of the priors."""
LEAST = 1e-4
"""Floor of decoded light."""
TERMS = 24
"""3 offsets, 3 exponents, 6 of the matrix beside its diagonal, 9 of the roots; last the photo's own 3 log gains."""
OWN = slice(21, 24)
"""The photo's own terms: exposure and white balance."""
ROOTS = slice(12, 21)
OFFSET_SD, EXPONENT_SD = figures.TONE.sd
"""Priors of the per-channel offset (around 0) and exponent (around 1), from a study on real photographs."""
MIX_SD, ROOT_SD, GAIN_SD = figures.TONE_TERMS.sd
"""Priors around 0 of the matrix beside its diagonal, the root terms and the log gains: weak, no source."""
_OFF = np.array([(0, 1), (0, 2), (1, 0), (1, 2), (2, 0), (2, 1)]).T
_ONE, _OTHER = np.array([0, 1, 2]), np.array([1, 2, 0])
_CLOSE = 1e-5
"""Tolerance of a fit that begins where the whole one ended: within .07 of L*a*b*, in half the time."""
_WILDEST = 1000.0
"""Bounds what colors that are no card's can make of the start."""


@dataclass(frozen=True, slots=True)
class Correction:
    """From a photo's values to linear sRGB.

    With u = `gain` · (decoded - `offset`) ** `exponent`, each (3,): `matrix` @ u + `roots` @ (√(uᵢuⱼ) - (uᵢ + uⱼ) / 2),
    each (3, 3), ij = RG, GB, BR.
    """

    offset: Floats
    exponent: Floats
    matrix: Floats
    gain: Floats = field(default_factory=lambda: np.ones(3))
    roots: Floats = field(default_factory=lambda: np.zeros((3, 3)))

    def bands(self, values: ArrayLike) -> Floats:
        """Linear sRGB of a photo's values, 0 to 1, shape (..., 3)."""
        toned = self.gain * np.maximum(decoded(values) - self.offset, LEAST) ** self.exponent
        found: Floats = toned @ self.matrix.T
        return found + _roots(toned) @ self.roots.T if self.roots.any() else found

    def lab(self, values: ArrayLike) -> Floats:
        """L*a*b* (D65, 2°) of a photo's values, 0 to 1, shape (..., 3)."""
        return lab_of(self.bands(values))

    @property
    def terms(self) -> Floats:
        """(TERMS,), for `of_terms`."""
        return _packed(self)


@dataclass(frozen=True, slots=True)
class Prior:
    """What is expected of a photo's terms before its card is seen.

    `mean` (TERMS,); `tight` (TERMS, TERMS): tight @ (terms - mean) has covariance one.
    """

    mean: Floats
    tight: Floats


def decoded(values: ArrayLike) -> Floats:
    """Linear light of sRGB values, 0 to 1, any shape. Source: IEC 61966-2-1."""
    v = np.asarray(values, float)
    linear: Floats = np.where(v <= 0.04045, v / 12.92, ((np.maximum(v, 0.04045) + 0.055) / 1.055) ** 2.4)
    return linear


def generic() -> Prior:
    """The prior of a camera of which nothing is known."""
    mean = np.zeros(TERMS)
    mean[3:6] = 1.0
    sd = np.repeat((OFFSET_SD, EXPONENT_SD, MIX_SD, ROOT_SD, GAIN_SD), (3, 3, 6, 9, 3))
    return Prior(mean, np.diag(1 / sd))


@dataclass(frozen=True, slots=True)
class Known:
    """Colors of the photo that are known: `values` (n, 3), 0 to 1, their `lab` (n, 3) and its sd (n, 3)."""

    values: Floats
    lab: Floats
    sd: Floats

    def __getitem__(self, rows: Mask) -> Known:
        return Known(self.values[rows], self.lab[rows], self.sd[rows])


def of_patches(values: ArrayLike, lab: ArrayLike) -> Known:
    """Patches of a card, (n, 3) each, as sure as patches are."""
    target = np.asarray(lab, float)
    return Known(np.asarray(values, float), target, np.full(target.shape, PATCH_SD))


def fit(
    known: Known, start: Correction | None = None, prior: Prior | None = None, *, roots: bool = False,
    tolerance: float = 1e-8,
) -> Correction:  # fmt: skip
    """The correction that takes the values of known colors to their L*a*b*; with the `roots` or without.

    Least squares in L*a*b* with soft_l1, so that one bad patch does not dominate; few patches lean on the prior.
    """
    from scipy.optimize import least_squares

    light, used = decoded(known.values), used_terms(roots)
    expected = _of_used(prior or generic(), used)
    first = _packed(start or linear(light, known.lab))[used]
    with np.errstate(over="ignore", invalid="ignore"):
        found = least_squares(_misses, first, _slopes, args=(light, known, expected, used), loss="soft_l1",
                              max_nfev=60, ftol=tolerance, xtol=tolerance)  # fmt: skip
    return of_terms(_whole(found.x, used))


def used_terms(roots: bool) -> Mask:
    """Which terms are fitted, (TERMS,)."""
    used = np.ones(TERMS, bool)
    used[ROOTS] = roots
    return used


def linear(light: Floats, target: Floats) -> Correction:
    """The 3×3 alone, from linear light (n, 3) to L*a*b* (n, 3); dark and light patches count alike."""
    bands = bands_of(target)
    weight = (1 / (0.05 + bands.mean(axis=1)))[:, None]
    matrix = np.linalg.lstsq(light * weight, bands * weight, rcond=None)[0].T
    return Correction(np.zeros(3), np.ones(3), matrix)


def leave_one_out(
    known: Known, whole: Correction, prior: Prior | None = None, *, roots: bool = False
) -> Floats:
    """Each color's L*a*b* predicted by the others, less the true value: (n, 3)."""
    rows = np.arange(len(known.values))
    without = (fit(known[rows != i], whole, prior, roots=roots, tolerance=_CLOSE) for i in rows)
    return np.array([one.lab(known.values[i]) - known.lab[i] for i, one in enumerate(without)])


def information(known: Known, found: Correction) -> Floats:
    """What the known colors alone say of the terms near `found`, (TERMS, TERMS): inverse covariance, no prior in it.

    A color far off counts less, as in the fit (soft_l1: by 1/√(1 + z²)).
    """
    light, used = decoded(known.values), used_terms(True)
    prior, count = generic(), known.lab.size
    off = _misses(found.terms, light, known, prior, used)[:count]
    slope = _slopes(found.terms, light, known, prior, used)[:count]
    whole: Floats = (slope / np.sqrt(1 + off**2)[:, None]).T @ slope
    return whole


def of_terms(terms: Floats) -> Correction:
    """The correction with these terms, (TERMS,)."""
    matrix = np.eye(3)
    matrix[tuple(_OFF)] = terms[6:12]
    matrix[np.arange(3), np.arange(3)] = 1 - terms[6:12].reshape(3, 2).sum(axis=1)
    return Correction(
        terms[:3].copy(), terms[3:6].copy(), matrix, np.exp(terms[OWN]), terms[ROOTS].reshape(3, 3).copy()
    )


def _packed(start: Correction) -> Floats:
    """The terms; of a matrix whose rows do not add to one the gains are taken out first."""
    matrix = start.matrix * start.gain
    try:
        white = np.linalg.solve(matrix, np.ones(3))
    except np.linalg.LinAlgError:
        white = 1 / np.maximum(np.abs(np.diag(matrix)), 1 / _WILDEST)
    gain = 1 / np.clip(white, 1 / _WILDEST, _WILDEST)
    off = np.clip((matrix / gain)[tuple(_OFF)], -_WILDEST, _WILDEST)
    return np.concatenate([start.offset, start.exponent, off, start.roots.ravel(), np.log(gain)])


def _whole(theta: Floats, used: Mask) -> Floats:
    terms = np.zeros(TERMS)
    terms[used] = theta
    return terms


def _of_used(prior: Prior, used: Mask) -> Prior:
    """The prior of the terms in use, whatever the others are."""
    if used.all():
        return prior
    spread = np.linalg.inv(prior.tight.T @ prior.tight)[np.ix_(used, used)]
    return Prior(prior.mean[used], np.linalg.cholesky(np.linalg.inv(spread)).T)


def _roots(toned: Floats) -> Floats:
    one, other = toned[..., _ONE], toned[..., _OTHER]
    found: Floats = np.sqrt(one * other) - (one + other) / 2
    return found


def _misses(theta: Floats, light: Floats, known: Known, prior: Prior, used: Mask) -> Floats:
    made = of_terms(_whole(theta, used))
    toned = made.gain * np.maximum(light - made.offset, LEAST) ** made.exponent
    bands = toned @ made.matrix.T + _roots(toned) @ made.roots.T
    off = (lab_of(bands) - known.lab) / known.sd
    return np.asarray(np.nan_to_num(np.concatenate([off.ravel(), prior.tight @ (theta - prior.mean)])))


def _slopes(theta: Floats, light: Floats, known: Known, prior: Prior, used: Mask) -> Floats:
    """The derivatives of `_misses`, (3 n + terms, terms)."""
    made = of_terms(_whole(theta, used))
    base = np.maximum(light - made.offset, LEAST)
    toned = made.gain * base**made.exponent
    bands = toned @ made.matrix.T + _roots(toned) @ made.roots.T
    steep = lab_slope(bands) / known.sd[..., None]  # (n, 3 of Lab, 3 of bands)
    through = steep @ (made.matrix + made.roots @ _root_slopes(toned))  # by each toned channel
    by_offset = through * (-made.exponent * toned / base * (light - made.offset > LEAST))[:, None, :]
    by_exponent = through * (toned * np.log(base))[:, None, :]
    row, column = _OFF
    by_mix = steep[:, :, row] * (toned[:, column] - toned[:, row])[:, None, :]
    by_root = (steep[..., None] * _roots(toned)[:, None, None, :]).reshape(len(light), 3, 9)
    by_gain = through * toned[:, None, :]
    patches = np.concatenate([by_offset, by_exponent, by_mix, by_root, by_gain], axis=2).reshape(-1, TERMS)
    return np.asarray(np.nan_to_num(np.concatenate([patches[:, used], prior.tight])))


def _root_slopes(toned: Floats) -> Floats:
    """d(root terms) / d(toned), (n, 3 of roots, 3 of channels)."""
    slope = np.zeros((*toned.shape, 3))
    safe = np.maximum(toned, 1e-12)
    ratio = np.sqrt(safe[:, _OTHER] / safe[:, _ONE])
    slope[:, _ONE, _ONE] = ratio / 2 - 0.5
    slope[:, _ONE, _OTHER] = 1 / ratio / 2 - 0.5
    return slope
