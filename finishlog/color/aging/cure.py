"""How a slab's color settles: one slab's curve, fitted to its readings under a prior, with honest ranges.

`Lab(t) = final + D·exp(-t/τ)`, t in days from the end of the pour, dry and bare. A slab is seven numbers, θ =
(final L*, a*, b*, D of L*, a*, b*, log τ). Given log τ the curve is linear, so a grid in log τ with 6×6
solves gives the posterior without an optimizer. Form and numbers are fitted to readings, as no published
L*a*b* series exists; its shape (lighter with age, flat by six weeks) is that of Levinson & Akbari, LBNL,
2001.

Everything here works on many slabs at once: S slabs, K points of the grid, up to N readings each.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache
from importlib.resources import files
from math import erf, sqrt
from typing import TYPE_CHECKING

import numpy as np

from finishlog.color.notation.arrays import nine_in_ten
from finishlog.color.notation.space import delta_e_2000
from finishlog.color.priors import figures

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Floats = NDArray[np.float64]

MOISTURE_SD = np.array(figures.MOISTURE.sd)
"""L*a*b* sd from moisture in a dry slab."""
CURVE_SD = np.array(figures.CURVE.sd)
"""L*a*b* misfit of true curves to the exponential."""
LEARN_TO_DAY = figures.LEARN_TO.one
"""Later readings show weathering; see `weathering`."""
SD_RANGE = (0.05, 50.0)
"""No reading is believed nearer than this, whatever its sd says, and none as good as unread: for safe arithmetic."""
STIFF = 5.0
"""Degrees of freedom of a reading's Student-t."""
ABSURD = 100.0
"""Squared standardized residual beyond which a reading is rejected: ten sd."""
ODD = 9.0
"""Squared standardized distance beyond which a slab teaches less: three sd."""
UNLIKE = 14.1
"""χ², 7 degrees of freedom, 95 %: a slab beyond it does not fit its prior."""
_YIELDS = 4
_GRID = np.linspace(-3.2, 3.2, 31)
LOG_TAU_RANGE = (np.log(1.5), np.log(90.0))
NORMAL_90 = 1.6449


@dataclass(frozen=True, slots=True)
class Track:
    """Dry bare readings of one slab: ages (n,) in days from 0 up, L*a*b* (n, 3), their sd (n, 3), n from 0 up."""

    ages: Floats
    lab: Floats
    sd: Floats

    def only(self, kept: NDArray[np.bool_]) -> Track:
        """The readings of a mask (n,)."""
        return Track(self.ages[kept], self.lab[kept], self.sd[kept])

    def until(self, day: float) -> Track:
        """The readings up to and with that day."""
        return self.only(self.ages <= day)

    def since(self, day: float) -> Track:
        """The readings after that day."""
        return self.only(self.ages > day)


def track(ages: ArrayLike, lab: ArrayLike, sd: ArrayLike) -> Track:
    """Readings in any order, (n,), (n, 3), (n, 3), sorted by age.

    ValueError for an age below 0, an sd not above 0, or a non-number.
    """
    days = np.asarray(ages, float).reshape(-1)
    colors = np.asarray(lab, float).reshape(-1, 3)
    spread = np.broadcast_to(np.asarray(sd, float), colors.shape)
    if len(days) != len(colors):
        raise ValueError("every reading needs its age")
    if not (np.isfinite(days).all() and np.isfinite(colors).all() and np.isfinite(spread).all()):
        raise ValueError("ages, colors and their sd must be finite numbers")
    if (days < 0).any() or (spread <= 0).any():
        raise ValueError("an age is 0 or more, an sd above 0")
    order = np.argsort(days, kind="stable")
    return Track(days[order], colors[order], spread[order])


@dataclass(frozen=True, slots=True)
class Prior:
    """A slab's expectation before any reading: θ ~ N(mean (7,), cov (7, 7)).

    `noise` scales every reading's sd; `widen` (at least 1) a forecast's sd, except the curve's own error.
    `start` is the expectation without any log: no reading makes a range wider than that.
    """

    mean: Floats
    cov: Floats
    noise: float = 1.0
    widen: float = 1.0
    start: Prior | None = None


@dataclass(frozen=True, slots=True)
class Stack:
    """Readings of S slabs, padded to N with weight 0: ages (S, N), lab and variance (S, N, 3), there (S, N)."""

    ages: Floats
    lab: Floats
    variance: Floats
    there: Floats


def stack(tracks: Sequence[Track]) -> Stack:
    """Many slabs' readings in one array; the variance holds each reading's own sd (within `SD_RANGE`) and moisture."""
    most = max((len(one.ages) for one in tracks), default=0)
    shape = (len(tracks), max(most, 1))
    ages, there = np.zeros(shape), np.zeros(shape)
    lab, variance = np.zeros((*shape, 3)), np.ones((*shape, 3))
    for row, one in enumerate(tracks):
        n = len(one.ages)
        ages[row, :n], there[row, :n] = one.ages, 1.0
        lab[row, :n], variance[row, :n] = one.lab, np.clip(one.sd, *SD_RANGE) ** 2 + MOISTURE_SD**2
    return Stack(ages, lab, variance, there)


@dataclass(frozen=True, slots=True)
class Posterior:
    """θ of S slabs given their readings, as a mixture over log τ.

    log_tau (S, K); share (S, K), sums to 1; final and D together: mean (S, K, 6), cov (S, K, 6, 6);
    weight (S, N) is what each reading counts, 1 or less, an outlier near 0; square (S, N) its squared
    standardized residual over the three axes.
    """

    log_tau: Floats
    share: Floats
    mean: Floats
    cov: Floats
    weight: Floats
    square: Floats

    def moments(self) -> tuple[Floats, Floats]:
        """Mean (S, 7) and covariance (S, 7, 7) of θ."""
        theta = np.concatenate([self.mean, self.log_tau[..., None]], axis=-1)
        center = np.einsum("sk,ski->si", self.share, theta)
        off = theta - center[:, None]
        spread = np.einsum("sk,ski,skj->sij", self.share, off, off)
        spread[:, :6, :6] += np.einsum("sk,skij->sij", self.share, self.cov)
        return center, spread

    def expected(self, ages: Floats) -> Floats:
        """L*a*b* (S, M, 3) at ages (S, M) in days: the mean alone."""
        fade = np.exp(-ages[:, None] / _tau(self.log_tau))
        final = np.einsum("sk,ski->si", self.share, self.mean[..., :3])
        start = np.einsum("skm,ski->smi", self.share[..., None] * fade, self.mean[..., 3:])
        return np.asarray(final[:, None] + start)

    def colors(self, ages: Floats) -> tuple[Floats, Floats]:
        """L*a*b* at ages (S, M) or (M,) in days: mean (S, M, 3) and covariance (S, M, 3, 3)."""
        fade = np.exp(-np.broadcast_to(ages, (len(self.share), ages.shape[-1]))[:, None] / _tau(self.log_tau))
        final, start = self.mean[..., None, :3], self.mean[..., None, 3:]
        each = final + fade[..., None] * start
        center = np.einsum("sk,skmi->smi", self.share, each)
        off = each - center[:, None]
        cov, e = self.cov[..., None, :, :], fade[..., None, None]
        within = cov[..., :3, :3] + e * (cov[..., :3, 3:] + cov[..., 3:, :3]) + e**2 * cov[..., 3:, 3:]
        spread = np.einsum("sk,skmij->smij", self.share, within)
        return center, spread + np.einsum("sk,skmi,skmj->smij", self.share, off, off)


def _tau(log_tau: Floats) -> Floats:
    return np.exp(log_tau)[..., None]


def solve(
    readings: Stack,
    mean: Floats,
    cov: Floats,
    noise: float = 1.0,
    weight: Floats | None = None,
    rounds: int = 6,
) -> Posterior:
    """The posterior of S slabs under priors mean (S, 7) or (7,), cov (S, 7, 7) or (7, 7).

    Student-t readings, 5 degrees of freedom, by reweighting from `weight` (S, N) on: an outlier is kept and
    counts little. No reading counts more than its own sd says, else the ranges would be too narrow.
    """
    slabs = len(readings.ages)
    mean, cov = np.broadcast_to(mean, (slabs, 7)), np.broadcast_to(cov, (slabs, 7, 7))
    variance = readings.variance * noise**2
    weight = readings.there if weight is None else weight
    found, square = _weighted(readings, mean, cov, weight[..., None] / variance), np.zeros_like(weight)
    for left in reversed(range(rounds)):
        fitted = found.expected(readings.ages)
        square = (((readings.lab - fitted) ** 2) / variance).sum(axis=-1) * readings.there
        weight = readings.there * counted(square, absurd=rounds > 2 and left < 2)
        found = _weighted(readings, mean, cov, weight[..., None] / variance)
    return Posterior(found.log_tau, found.share, found.mean, found.cov, weight, square)


def counted(square: Floats, absurd: bool) -> Floats:
    """Weights of readings by squared standardized residual; `absurd`: zero beyond ten sd.

    Not at first: until the others converge, a good reading may look as far off as a bad one.
    """
    weight = np.minimum(1.0, (STIFF + 3) / (STIFF + square))
    return weight * redescending(square, ABSURD) if absurd else weight


def redescending(square: Floats, limit: float) -> Floats:
    """Weight at a squared standardized distance: 1 up to the limit, then quickly to 0."""
    return np.asarray((limit / np.maximum(square, limit)) ** 4)


def within_scale(lab: Floats) -> Floats:
    """L*a*b* (..., 3) with L* clipped to 0 to 100."""
    return np.concatenate([np.clip(lab[..., :1], 0.0, 100.0), lab[..., 1:]], axis=-1)


def _weighted(readings: Stack, mean: Floats, cov: Floats, precision: Floats) -> Posterior:
    """The posterior at fixed precisions (S, N, 3) of the readings."""
    sd = np.sqrt(cov[:, 6, 6])
    log_tau = np.clip(mean[:, 6:] + sd[:, None] * _GRID, *LOG_TAU_RANGE)
    slope = cov[:, :6, 6] / cov[:, 6:, 6]
    expected = mean[:, None, :6] + (log_tau - mean[:, 6:])[..., None] * slope[:, None]
    left = cov[:, :6, :6] - slope[:, :, None] * cov[:, None, 6, :6]
    tight = np.linalg.inv(left)
    fade = np.exp(-readings.ages[:, None] / _tau(log_tau))
    told = _information(fade, precision)
    residual = readings.lab[:, None] - expected[..., None, :3] - fade[..., None] * expected[..., None, 3:]
    weighted = precision[:, None] * residual
    pull = _pull(fade, weighted)
    spread, volume = _inverted(tight[:, None] + told)
    move = (spread @ pull[..., None])[..., 0]
    fit = (weighted * residual).sum(axis=(2, 3)) - (pull * move).sum(axis=-1)
    log_share = 0.5 * volume - 0.5 * fit - 0.5 * _GRID**2
    share = np.exp(log_share - log_share.max(axis=1, keepdims=True))
    share /= share.sum(axis=1, keepdims=True)
    empty = np.zeros(readings.ages.shape)
    return Posterior(log_tau, share, expected + move, spread, empty, empty)


def _information(fade: Floats, precision: Floats) -> Floats:
    """HᵀWH (S, K, 6, 6) of H = [I, fade·I]."""
    found = np.zeros((*fade.shape[:2], 6, 6))
    once, twice = fade @ precision, fade**2 @ precision
    for axis in range(3):
        found[..., axis, axis] = precision[:, None, :, axis].sum(axis=-1)
        found[..., axis, axis + 3] = found[..., axis + 3, axis] = once[..., axis]
        found[..., axis + 3, axis + 3] = twice[..., axis]
    return found


def _inverted(tight: Floats) -> tuple[Floats, Floats]:
    """Inverses of positive definite matrices (S, K, d, d) and the logs of the inverses' determinants (S, K).

    By Gauss and Jordan on all at once: thousands of small matrices cost a call of LAPACK each otherwise.
    """
    left = np.ascontiguousarray(np.moveaxis(tight, (2, 3), (0, 1)))
    volume = np.zeros(tight.shape[:2])
    for turn in range(len(left)):
        pivot = left[turn, turn].copy()
        row, column = left[turn] / pivot, left[:, turn].copy()
        left -= column[:, None] * row
        left[turn], left[:, turn] = row, -column / pivot
        left[turn, turn] = 1 / pivot
        volume -= np.log(pivot)
    return np.ascontiguousarray(np.moveaxis(left, (0, 1), (2, 3))), volume


def _pull(fade: Floats, weighted: Floats) -> Floats:
    """HᵀWr (S, K, 6)."""
    faded = (fade[:, :, None] @ weighted)[:, :, 0]
    return np.concatenate([weighted.sum(axis=2), faded], axis=-1)


# --- one slab -----------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Fit:
    """One slab's fitted curve. `unlike`: the readings overruled the prior."""

    readings: Track
    prior: Prior
    posterior: Posterior
    unlike: bool = False

    def at(self, ages: ArrayLike) -> tuple[Floats, Floats]:
        """L*a*b* at ages (m,) in days: expected (m, 3), covariance (m, 3, 3) with all error terms."""
        center, spread = self.posterior.colors(np.atleast_1d(np.asarray(ages, float)))
        cov = spread[0] * self.prior.widen**2 + np.diag(CURVE_SD**2)
        if self.unlike and self.prior.start is not None:
            cov = _no_wider(cov, fit(self.readings.until(-1.0), self.prior.start).at(ages)[1])
        return within_scale(center[0]), cov

    def weights(self) -> Floats:
        """Weight of each reading, (n,); below about 0.3 it is an outlier."""
        return self.posterior.weight[0, : len(self.readings.ages)]


def fit(readings: Track, prior: Prior) -> Fit:
    """The curve of one slab; readings after day 60 are left out. About a millisecond.

    If the readings together contradict the prior, the prior is widened.
    """
    early = readings.until(LEARN_TO_DAY)
    stacked, cov = stack([early]), prior.cov
    found = solve(stacked, prior.mean, cov, prior.noise)
    for _ in range(_YIELDS):
        off = found.moments()[0][0] - prior.mean
        wider = float(off @ np.linalg.solve(prior.cov, off)) / UNLIKE
        if wider <= 1:
            break
        cov = prior.cov * wider
        found = solve(stacked, prior.mean, cov, prior.noise)
    return Fit(early, replace(prior, cov=cov), found, unlike=cov is not prior.cov)


def _no_wider(cov: Floats, most: Floats) -> Floats:
    """Covariances (m, 3, 3) with no sd above that of `most` (m, 3, 3)."""
    shrink = np.sqrt(np.minimum(1.0, np.einsum("mii->mi", most) / np.einsum("mii->mi", cov)))
    return np.asarray(cov * shrink[:, :, None] * shrink[:, None, :])


def radius90(lab: Floats, cov: Floats, draws: int = 512) -> Floats:
    """ΔE00 (m,) that holds the true color in 90 of 100 cases, for colors (m, 3), covariances (m, 3, 3)."""
    spread = np.linalg.cholesky(cov + 1e-9 * np.eye(3))
    drawn = lab[:, None] + np.einsum("mij,dj->mdi", spread, _even_normals(draws))
    return nine_in_ten(delta_e_2000(drawn, lab[:, None]))


@cache
def _even_normals(draws: int) -> Floats:
    """Standard normal points (draws, 3), spread evenly by distance and direction.

    The radius of 512 drawn by chance holds .87 to .92 of a color, as their directions fall; of these .89 to .905.
    Directions: Roberts' even sequence, 2018, of 1/g and 1/g² with g³ = g + 1.
    """
    g = 1.324717957244746
    place = np.arange(draws)
    up, turn = 1 - 2 * ((0.5 + (place + 1) / g) % 1), 2 * np.pi * ((0.5 + (place + 1) / g**2) % 1)
    reach = np.linspace(0.0, 6.0, 601)
    within = np.array([erf(r / sqrt(2)) for r in reach]) - np.sqrt(2 / np.pi) * reach * np.exp(
        -(reach**2) / 2
    )
    flat = np.sqrt(1 - up**2)
    way = np.stack([flat * np.cos(turn), flat * np.sin(turn), up], axis=1)
    return np.asarray(np.interp((place + 0.5) / draws, within, reach)[:, None] * way)


def normals(draws: int, width: int) -> Floats:
    """Fixed standard normal draws, (draws, width), scaled to mean 0 and variance 1.

    The 54,000 that the odds need are kept in a file: an answer need not wait for numpy's generator to load.
    """
    drawn, count = _kept_normals(), draws * width
    if count > len(drawn):
        drawn = np.random.default_rng(2026).standard_normal(count)
    drawn = drawn[:count].reshape(draws, width)
    drawn = drawn - drawn.mean(axis=0)
    found: Floats = drawn / drawn.std(axis=0)
    return found


@cache
def _kept_normals() -> Floats:
    """What `default_rng(2026).standard_normal` drew, (54000,): `tests/color/make_normals.py`."""
    with files("finishlog").joinpath("data/normals.npy").open("rb") as kept:
        found: Floats = np.load(kept)
    return found


def settled_from(made: Fit, last: int = 120) -> int | None:
    """The first whole day with less than one ΔE00 of expected change left; None if not by `last`."""
    days = np.arange(1, last + 1, dtype=float)
    colors, _ = made.at(np.append(days, 1000.0))
    still = delta_e_2000(colors[:-1], colors[-1])
    return next((int(day) for day, rest in zip(days, still, strict=True) if rest < 1.0), None)
