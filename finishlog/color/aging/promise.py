"""What may be promised for an unpoured slab, given its ingredients.

With everything the same, the odds are those of like jobs. A change the log has seen shifts them by its past
effect. An unknown one widens them, and no more than `CAP` is promised. A read sample of the new concrete
shows the change's effect; batch-to-batch scatter remains.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from finishlog.color.aging import cure
from finishlog.color.aging.effects import Effects, Factor, Made
from finishlog.color.aging.learn import Learned, PastSlab
from finishlog.color.aging.odds import Batch
from finishlog.color.priors import figures

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from finishlog.color.aging.cure import Track

    Floats = NDArray[np.float64]

CAP = 0.5
"""The most promised with an unknown change: a coin toss."""
SAMPLE_SD = figures.SAMPLE.sd
"""Sd of a sample against the slab it represents, L*, a*, b*."""
OPEN_SD = 20.0
"""A flat prior on the final color, so that only the readings decide it."""
FINAL_DAY = 45.0

Step = tuple[Factor, str | None, str | None]
"""Then and now; None is unknown."""


def settled(
    learned: Learned, recipe: str | None, key: str, readings: Track, dose: float | None = None
) -> tuple[Floats, Floats]:
    """Final color (3,) and covariance (3, 3) from a slab's own readings; only the lightening is shared.

    `dose` in percent of cement, as of `Learned.recipe`.
    """
    prior = learned.prior(recipe, (key,), dose=dose)
    wide = prior.cov.copy()
    wide[:3, :3] += OPEN_SD**2 * np.eye(3)
    lab, cov = cure.fit(readings, replace(prior, cov=wide)).at([FINAL_DAY])
    return lab[0], cov[0]


def made(learned: Learned, slabs: Sequence[PastSlab], of: Mapping[str, Mapping[Factor, str]]) -> list[Made]:
    """Slabs of a recipe with their ingredients and final colors."""
    found = []
    for slab in slabs:
        if slab.recipe is not None and len(slab.readings.ages):
            lab, cov = settled(learned, slab.recipe, slab.key, slab.readings, slab.dose)
            found.append(Made(slab.key, slab.recipe, of.get(slab.key, {}), lab, np.diag(cov).copy()))
    return found


def batch(
    effects: Effects,
    of: Mapping[str, Mapping[Factor, str]],
    old_key: str,
    steps: Sequence[Step],
    sample: tuple[Floats, Floats] | None = None,
    expected: Sequence[float] | None = None,
) -> Batch:
    """The new slab's ingredients compared to the old one's.

    `sample` as from `settled`, `expected` the new slab's color without it: a sample farther off than changes
    usually go is believed all the same.
    """
    then = of.get(old_key, {})
    change = effects.change(steps)
    off = {key: effects.of_slab(levels, then) for key, levels in of.items()}
    if sample is None:
        return Batch(change.shift, change.variance, effects.scatter, off)
    lab, doubt = look(effects, sample)
    far = np.zeros(3) if expected is None else (lab - np.asarray(expected, float)) ** 2 - np.diag(doubt)
    return Batch(change.shift, np.maximum(change.variance, far), effects.scatter, off, (lab, doubt))


def look(effects: Effects, sample: tuple[Floats, Floats]) -> tuple[Floats, Floats]:
    """A sample's color as an observation of another batch of the same concrete."""
    lab, cov = sample
    return lab, cov + np.diag(np.square(SAMPLE_SD) + effects.scatter**2)


def like(lab: Sequence[float]) -> tuple[Floats, Floats]:
    """A hypothetical sample of this color, read at three ages."""
    return np.asarray(lab, float), np.diag(np.array([1.0, 0.25, 0.5]) / 3 + cure.CURVE_SD**2)
