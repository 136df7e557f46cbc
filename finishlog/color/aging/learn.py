"""Two-level learning from the shop's own slabs: what a log teaches of the color of the next slab.

The levels and their messages stand in `levels`, how they are learned in `sweeps`, whether their ranges hold in
`ranges`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import zip_longest
from typing import TYPE_CHECKING

import numpy as np

from finishlog.color.aging import cure, levels
from finishlog.color.aging.levels import (
    RECIPES_WORTH,
    START_WITHIN,
    Learned,
    PastSlab,
    few_factor,
    joined,
    likelihood,
    messages,
    unlearned,
)
from finishlog.color.aging.ranges import widening
from finishlog.color.aging.sound import usable
from finishlog.color.aging.sweeps import State, leads, swept

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from finishlog.color.aging.cure import Prior

    Floats = NDArray[np.float64]

__all__ = [
    "MOST",
    "RECIPES_WORTH",
    "START_WITHIN",
    "Learned",
    "PastSlab",
    "few_factor",
    "joined",
    "learn",
    "likelihood",
    "messages",
    "told_too",
    "unlearned",
]

MOST = 160
"""The scatter is learned from this many newest slabs; older ones inform only their recipes."""
_TRIED, _AT_ONCE = 4, 256
_BELIEVED = 0.05
"""A reading of lower weight neither tests the ranges nor teaches."""


def learn(slabs: Sequence[PastSlab]) -> Learned:
    """Everything learned from the log, oldest slab first.

    Readings after day 60 are left out; a slab without an earlier one teaches nothing.
    Forty slabs take about half a second: everything is relearned eight times to test the ranges.
    ValueError for a value that cannot be and for a slab that comes twice.
    """
    early = usable(slabs)
    before, newest = early[:-MOST], early[-MOST:]
    learned, state = swept(newest)
    believed = _believed(newest, state)
    if any(kept is not slab for kept, slab in zip_longest(believed, newest)):
        learned, _ = swept(believed)
    if len(believed) >= _TRIED:
        learned = replace(learned, widen=widening(believed))
    return told_too(learned, before) if before else learned


def _believed(slabs: Sequence[PastSlab], state: State) -> list[PastSlab]:
    """The slabs without readings far off their own curve or the other slabs."""
    found = []
    for slab, weight, belief in zip(slabs, state.weight, state.belief, strict=True):
        kept = weight[: len(slab.readings.ages)] * belief >= _BELIEVED
        found.append(slab if kept.all() else replace(slab, readings=slab.readings.only(kept)))
    return [slab for slab in found if len(slab.readings.ages)]


def told_too(learned: Learned, slabs: Sequence[PastSlab]) -> Learned:
    """Adds more slabs' messages to their recipes; the scatter was learned without them.

    A slab that had taught before tells anew: its message is replaced. ValueError as of `learn`.
    """
    slabs = usable(slabs)
    if not slabs:
        return learned
    learned = replace(learned, lead={**leads(slabs), **learned.lead})
    mean, cov = _expected(learned, slabs)
    center, spread = _moments(slabs, mean, cov, learned.noise)
    sites = likelihood(center - learned.origin, spread, mean - learned.origin, cov)
    belief = levels.belief(center - mean, cov)
    sites = sites[0] * belief[:, None, None], sites[1] * belief[:, None]
    told = {recipe: dict(of) for recipe, of in learned.told.items()}
    new = sum(slab.key not in told.get(slab.name, {}) for slab in slabs)
    for slab, precision, information in zip(slabs, *sites, strict=True):
        told.setdefault(slab.name, {})[slab.key] = precision, information
    return replace(learned, told=told, slabs=learned.slabs + new)


def _moments(slabs: Sequence[PastSlab], mean: Floats, cov: Floats, noise: float) -> tuple[Floats, Floats]:
    """θ of each slab once it is read: (S, 7), (S, 7, 7); some hundred at once, for the memory they take."""
    parts = []
    for k in range(0, len(slabs), _AT_ONCE):
        some = slice(k, k + _AT_ONCE)
        parts.append(cure.solve(levels.stack_of(slabs[some]), mean[some], cov[some], noise).moments())
    return np.concatenate([part[0] for part in parts]), np.concatenate([part[1] for part in parts])


def _expected(learned: Learned, slabs: Sequence[PastSlab]) -> tuple[Floats, Floats]:
    """Of each slab before it is read: mean (S, 7), covariance (S, 7, 7); one prior for all new slabs of a recipe."""
    known: dict[str | None, Prior] = {}
    found = []
    for slab in slabs:
        if slab.key in learned.told.get(slab.name, {}) or slab.recipe is None:
            found.append(learned.prior(slab.recipe, (slab.key,), dose=slab.dose))
        else:
            if slab.recipe not in known:
                known[slab.recipe] = learned.prior(slab.recipe)
            found.append(known[slab.recipe])
    return np.array([prior.mean for prior in found]), np.array([prior.cov for prior in found])
