"""After the cure: weathering of a slab at its final color, and its look under a sealer.

Both start from assumed values (`figures`) and are learned from the log's later readings and from
bare/sealed pairs. All L*a*b*, D65, 2°.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from finishlog.color.aging.cure import ODD, counted, redescending, within_scale
from finishlog.color.priors import figures
from finishlog.color.priors.figures import Figure

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Floats = NDArray[np.float64]

SETTLED_DAY = 45.0
START_PACE, START_PACE_SD = np.array(figures.PACE.value), np.array(figures.PACE.sd)
"""L*, a*, b* per year from day 45 on, and the sd between slabs."""
SLOWS_IN_YEARS = figures.SLOWS.one
"""Weathering decays with this time constant, else an old slab would turn white."""
_SLABS_WORTH, _PAIRS_WORTH = figures.PACE_WORTH.one, figures.LOOK_WORTH.one
_ROUNDS = 20
_YEAR = 365.25
_OFFSET = np.array([16.0, 0.0, 0.0])  # Y goes with (L* + 16)³


@dataclass(frozen=True, slots=True)
class Pace:
    """Weathering per year, (3,) mean and sd between slabs; learned from `slabs`, 0: assumed."""

    mean: Floats
    sd: Floats
    slabs: int = 0


@dataclass(frozen=True, slots=True)
class Aged:
    """A slab read after day 60: effective years (n,), L*a*b* (n, 3), variances (n, 3).

    settled (3,) and its variance (3,): its color at day 45 from early readings and recipe.
    """

    years: Floats
    lab: Floats
    variance: Floats
    settled: Floats
    doubt: Floats


@dataclass(frozen=True, slots=True)
class Pair:
    """The same spot bare and sealed, (3,) each with its variance (3,)."""

    bare: Floats
    bare_variance: Floats
    sealed: Floats
    sealed_variance: Floats


@dataclass(frozen=True, slots=True)
class Look:
    """A sealer's log factors on Y and chroma, (2,), with their sd for one slab; `pairs` 0: assumed."""

    log_factors: Floats
    sd: Floats
    pairs: int = 0


def effective_years(ages_days: ArrayLike) -> Floats:
    """Years of weathering at ages in days: 0 up to day 45, slowing down over five years."""
    years = np.maximum(np.asarray(ages_days, float) - SETTLED_DAY, 0.0) / _YEAR
    return np.asarray(SLOWS_IN_YEARS * -np.expm1(-years / SLOWS_IN_YEARS))


def learn_pace(slabs: Sequence[Aged]) -> Pace:
    """The shop's pace: each slab's slope, weighted by precision, shrunk to a start worth three slabs."""
    if not slabs:
        return Pace(START_PACE, START_PACE_SD)
    slopes, doubts = (np.array(part) for part in zip(*(_slope(slab) for slab in slabs), strict=True))
    return Pace(*_pooled(slopes, doubts, START_PACE, START_PACE_SD, _SLABS_WORTH), len(slabs))


def _slope(slab: Aged) -> tuple[Floats, Floats]:
    """A slab's pace (3,) and its variance."""
    weight = slab.years[:, None] / slab.variance
    total = (weight * slab.years[:, None]).sum(axis=0)
    slope = (weight * (slab.lab - slab.settled)).sum(axis=0) / total
    lever = weight.sum(axis=0) / total
    return slope, 1 / total + lever**2 * slab.doubt


def _pooled(found: Floats, doubt: Floats, start: Floats, sd: Floats, worth: float) -> tuple[Floats, Floats]:
    """Mean and predictive sd of values (n, k) known to variances (n, k), shrunk to a start, by EM.

    An outlier against the others and the start is ignored; no sd exceeds the start's.
    """
    mean, between = start, sd**2
    for _ in range(_ROUNDS):
        total = between + doubt
        belief = redescending(((found - mean) ** 2 / total).max(axis=1), ODD)[:, None]
        trust = between / total
        each = mean + trust * (found - mean)
        count = worth + belief.sum()
        mean = (worth * start + (belief * each).sum(axis=0)) / count
        extra = belief * ((each - mean) ** 2 + trust * doubt)
        between = np.minimum((worth * sd**2 + extra.sum(axis=0)) / count, sd**2)
    known = worth / sd**2 + (belief / (between + doubt)).sum(axis=0)
    return mean, np.minimum(np.sqrt(between + 1 / known), sd)


def learn_look(pairs: Sequence[Pair], kind: Figure = figures.SEALED) -> Look:
    """The sealer's factors from pairs, shrunk to the start of its kind (`SEALED`, `PENETRATING`) worth two pairs.

    Grays say nothing of chroma.
    """
    start, sd = np.log(kind.value), np.array(kind.sd)
    if not pairs:
        return Look(start, sd)
    found, doubt = (np.array(part) for part in zip(*(_factors(pair) for pair in pairs), strict=True))
    return Look(*_pooled(found, doubt, start, sd, _PAIRS_WORTH), len(pairs))


def _factors(pair: Pair) -> tuple[Floats, Floats]:
    """Log factors (2,) of a pair and their variances. Y goes with (L*+16)³ above L* 8."""
    light = 3 * np.log(_light(pair.sealed[0]) / _light(pair.bare[0]))
    light_doubt = 9 * (pair.sealed_variance[0] / _light(pair.sealed[0]) ** 2
                       + pair.bare_variance[0] / _light(pair.bare[0]) ** 2)  # fmt: skip
    bare, sealed = (max(float(np.hypot(lab[1], lab[2])), 0.5) for lab in (pair.bare, pair.sealed))
    doubt = pair.sealed_variance[1:].mean() / sealed**2 + pair.bare_variance[1:].mean() / bare**2
    return np.array([light, np.log(sealed / bare)]), np.array([light_doubt, doubt])


def _light(lightness: float) -> float:
    return max(float(lightness), 0.0) + 16


def sealed_colors(look: Look, lab: Floats) -> Floats:
    """Bare colors (..., 3) as they look under the sealer."""
    g, c = np.exp(look.log_factors[0] / 3), np.exp(look.log_factors[1])
    return np.asarray((lab + _OFFSET) * (g, c, c) - _OFFSET)


def bare_colors(look: Look, lab: Floats) -> Floats:
    """Sealed colors (..., 3) as they would look bare."""
    g, c = np.exp(look.log_factors[0] / 3), np.exp(look.log_factors[1])
    return np.asarray((lab + _OFFSET) / (g, c, c) - _OFFSET)


def sealed_look(look: Look, lab: Floats, cov: Floats) -> tuple[Floats, Floats]:
    """Bare colors (m, 3), covariances (m, 3, 3), under the sealer, including its uncertainty."""
    g, c = np.exp(look.log_factors[0] / 3), np.exp(look.log_factors[1])
    seen = sealed_colors(look, lab)
    turn = np.diag((g, c, c))
    spread = turn @ cov @ turn
    spread[:, 0, 0] += ((seen[:, 0] + 16) / 3 * look.sd[0]) ** 2
    chroma = seen[:, 1:] * look.sd[1]
    spread[:, 1:, 1:] += chroma[:, :, None] * chroma[:, None, :]
    return seen, spread


def look_variance(look: Look, sealed: Floats) -> Floats:
    """The variance (n, 3) that `bare_colors` of sealed readings (n, 3) carries from the sealer alone."""
    bare = bare_colors(look, sealed)
    return np.asarray(((bare + _OFFSET) * (look.sd[0] / 3, look.sd[1], look.sd[1])) ** 2)


@dataclass(frozen=True, slots=True)
class Settled:
    """A slab past its cure: settled color and pace together, mean (6,) and covariance (6, 6).

    weight (n,) is what each late reading counts, 1 or less.
    """

    mean: Floats
    cov: Floats
    weight: Floats

    def at(self, ages_days: ArrayLike) -> tuple[Floats, Floats]:
        """L*a*b* at ages (m,) in days from 45 on: expected (m, 3), covariance (m, 3, 3)."""
        look = _looks(effective_years(np.atleast_1d(ages_days)))
        return within_scale(look @ self.mean), look @ self.cov @ np.swapaxes(look, -1, -2)


def settle(lab: Floats, cov: Floats, pace: Pace, ages: Floats, read: Floats, variance: Floats) -> Settled:
    """A settled color (3,), (3, 3) with late readings: ages (n,) in days, L*a*b* (n, 3), variances (n, 3)."""
    mean, spread = np.concatenate([lab, pace.mean]), np.zeros((6, 6))
    spread[:3, :3], spread[3:, 3:] = cov, np.diag(pace.sd**2)
    return Settled(*looked(mean, spread, _looks(effective_years(ages)), read, variance))


def _looks(years: Floats) -> Floats:
    """Observation matrices (n, 3, 6) of final color and pace for readings after effective years (n,)."""
    here = np.broadcast_to(np.eye(3), (len(years), 3, 3))
    return np.concatenate([here, years[:, None, None] * here], axis=-1)


def looked(
    mean: Floats, cov: Floats, looks: Floats, seen: Floats, variance: Floats
) -> tuple[Floats, Floats, Floats]:
    """N(mean (k,), cov) after readings `looks (n, 3, k) @ x` of variance (n, 3), all at once, and their weights (n,).

    Student-t by reweighting, as in `cure.solve`: outliers count little, beyond ten sd nothing.
    """
    weight = np.ones(len(seen))
    if not len(seen):
        return mean, cov, weight
    tight = np.linalg.inv(cov)
    for left in reversed(range(_ROUNDS)):
        told = np.swapaxes(looks, -1, -2) * (weight[:, None] / variance)[:, None, :]
        spread = np.linalg.inv(tight + (told @ looks).sum(axis=0))
        found = mean + spread @ np.einsum("nkc,nc->k", told, seen - looks @ mean)
        square = ((seen - looks @ found) ** 2 / variance).sum(axis=-1)
        weight = counted(square, absurd=left < 3)
    return found, spread, weight
