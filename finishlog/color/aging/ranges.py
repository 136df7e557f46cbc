"""Do the ranges hold? One factor on what is expected of a slab, from slabs that were held out.

Everything is relearned without the held-out slabs; how far their late readings lie from what was forecast, over the
variance claimed for it, tells of the factor. Its logarithm is shrunk to 0 by a prior worth several slabs, so that
chance alone moves it little; a slab that is odd moves it little too, and is flagged instead.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from finishlog.color.aging import cure
from finishlog.color.aging.cure import Stack, Track
from finishlog.color.aging.levels import PastSlab, few_factor
from finishlog.color.aging.sweeps import USUAL_SQUARE, swept

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

FOLDS = 8
CUTS = (1.5, 3.5, 8.0, 16.0, 30.0)
"""Last day of readings given to a held-out slab when testing the ranges."""
LATE = 20.0
FACTORS = np.array([0.7, 0.85, 1.0, 1.2, 1.45, 1.75, 2.1, 2.5])
FACTOR, FACTOR_SD = 1.15, 0.15
"""What the factor is before a slab is tried, and the sd of its logarithm: chosen on two families of simulated slabs."""
SLAB_WORTH = 1.3
"""Trials that one slab counts as: its cuts share its late readings, so they err together."""
_FINE = np.linspace(np.log(FACTORS[0]), np.log(FACTORS[-1]), 161)


def widening(slabs: Sequence[PastSlab]) -> float:
    """The factor on the prior's sd: the mean of its logarithm after what the held-out slabs tell, exponentiated.

    1 where no slab can be tried: few slabs are widened by `few_factor` alone.
    """
    folds = min(FOLDS, len(slabs))
    trials = [trial for fold in range(folds) if (trial := _trial(slabs, fold, folds)) is not None]
    if not trials:
        return 1.0
    told = np.array([sum(_log_likelihood(trial, factor) for trial in trials) for factor in FACTORS])
    found = np.interp(_FINE, np.log(FACTORS), told) - 0.5 * ((_FINE - np.log(FACTOR)) / FACTOR_SD) ** 2
    share = np.exp(found - found.max())
    return float(np.exp(share @ _FINE / share.sum()))


@dataclass(frozen=True, slots=True)
class Trial:
    """Held-out slabs: early readings with their prior, late readings, what each trial counts."""

    early: Stack
    late: Stack
    mean: Floats
    cov: Floats
    noise: float
    few: float
    worth: Floats


def _trial(slabs: Sequence[PastSlab], fold: int, folds: int) -> Trial | None:
    out = [slab for row, slab in enumerate(slabs) if row % folds == fold]
    of = {slab.key: [cut for cut in CUTS if _can_be_tried(slab.readings, cut)] for slab in out}
    cuts = [(slab, cut) for slab in out for cut in of[slab.key]]
    if not cuts:
        return None
    learned, _ = swept([slab for row, slab in enumerate(slabs) if row % folds != fold])
    priors = {slab.key: learned.prior(slab.recipe, (slab.key,), dose=slab.dose) for slab in out}
    return Trial(
        cure.stack([slab.readings.until(cut) for slab, cut in cuts]),
        cure.stack([slab.readings.since(max(LATE, cut)) for slab, cut in cuts]),
        np.array([priors[slab.key].mean for slab, _ in cuts]),
        np.array([priors[slab.key].cov for slab, _ in cuts]),
        learned.noise,
        few_factor(learned.slabs),
        np.array([SLAB_WORTH / len(of[slab.key]) for slab, _ in cuts]),
    )


def _can_be_tried(readings: Track, cut: float) -> bool:
    return bool(readings.ages[0] <= cut and readings.ages[-1] > max(LATE, cut))


def _log_likelihood(trial: Trial, factor: float) -> float:
    """Of the late readings where what was expected has its sd times the factor; far-off ones count less."""
    off, claimed = errors(trial, factor)
    square = (off**2 / claimed).sum(axis=1)
    return float(trial.worth @ (-0.5 * (_cost(square) + np.log(claimed).sum(axis=1))))


def _cost(square: Floats) -> Floats:
    """The squared distance over three axes, from 3 on growing as its logarithm (as readings count in `cure`).

    Scaled so that errors just as claimed ask for no factor.
    """
    far = 3 + 8 * np.log((5 + np.maximum(square, 3.0)) / 8)
    return np.asarray(3 / USUAL_SQUARE * np.where(square <= 3.0, square, far))


def errors(trial: Trial, factor: float) -> tuple[Floats, Floats]:
    """(n, 3) each: the mean late readings' errors, and the variance claimed for them."""
    found = cure.solve(trial.early, trial.mean, trial.cov * factor**2, trial.noise, rounds=4)
    color, cov = found.colors(trial.late.ages)
    there = trial.late.there[..., None]
    count = there.sum(axis=1)
    off = ((trial.late.lab - color) * there).sum(axis=1) / count
    claimed = (np.einsum("snii->sni", cov) * there).sum(axis=1) / count * trial.few**2 + cure.CURVE_SD**2
    noise = (trial.late.variance * there).sum(axis=1) / count**2 * trial.noise**2
    return off, claimed + noise
