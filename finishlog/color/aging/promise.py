"""What may be promised of a slab that is not poured yet, by what its concrete is made of.

With everything the same the odds are of jobs made of the same. A change that the log has read before shifts them by
what it did then. An unknown one widens them, and no more than `CAP` is promised. A sample of the new concrete, read,
tells what the change does; the scatter from one batch to the next stays.
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

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from finishlog.color.aging.cure import Track

    Floats = NDArray[np.float64]

CAP = 0.5
"""The most that is promised with an unknown change: as much as a coin knows."""
SAMPLE_SD = (1.0, 0.4, 0.5)
"""How far a sample may lie off the slab it stands for, L*, a*, b*: assumed, from memory."""
OPEN_SD = 20.0
"""Nothing is known of a settled color before it is read, so that it stands for itself."""
FINAL_DAY = 45.0

Step = tuple[Factor, str | None, str | None]
"""What was then, and what is now; None is unknown."""


def settled(learned: Learned, recipe: str | None, key: str, readings: Track) -> tuple[Floats, Floats]:
    """The settled color (3,) and covariance (3, 3) that a slab's own readings tell; only how it lightens is shared."""
    prior = learned.prior(recipe, (key,))
    wide = prior.cov.copy()
    wide[:3, :3] += OPEN_SD**2 * np.eye(3)
    lab, cov = cure.fit(readings, replace(prior, cov=wide)).at([FINAL_DAY])
    return lab[0], cov[0]


def made(learned: Learned, slabs: Sequence[PastSlab], of: Mapping[str, Mapping[Factor, str]]) -> list[Made]:
    """Slabs of a recipe with what they were made with, each with its settled color."""
    found = []
    for slab in slabs:
        if slab.recipe is not None and len(slab.readings.ages):
            lab, cov = settled(learned, slab.recipe, slab.key, slab.readings)
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
    """What the new slab is made of beside the old one.

    `sample` as `settled` tells it, `expected` the new slab's color without it: what lies farther off than changes
    are thought to go is believed all the same.
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
    """A sample's color as a look at a slab of another batch of the same concrete."""
    lab, cov = sample
    return lab, cov + np.diag(np.square(SAMPLE_SD) + effects.scatter**2)


def like(lab: Sequence[float]) -> tuple[Floats, Floats]:
    """A sample still to pour that comes out at this color, read at three ages."""
    return np.asarray(lab, float), np.diag(np.array([1.0, 0.25, 0.5]) / 3 + cure.CURVE_SD**2)
