"""Two-level learning from the shop's own slabs: what a log teaches of the color of the next slab.

The levels and their messages stand in `levels`, how they are learned in `sweeps`, whether their ranges hold in
`ranges`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import zip_longest

import numpy as np

from finishlog.color.aging import cure, levels
from finishlog.color.aging.cure import LEARN_TO_DAY
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
from finishlog.color.aging.sweeps import State, swept

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
_TRIED = 4
_BELIEVED = 0.05
"""A reading of lower weight neither tests the ranges nor teaches."""


def learn(slabs: Sequence[PastSlab]) -> Learned:
    """Everything learned from the log, oldest slab first.

    Readings after day 60 are left out; a slab without an earlier one teaches nothing.
    Forty slabs take about half a second: everything is relearned eight times to test the ranges.
    """
    usable = _usable(slabs)
    before, newest = usable[:-MOST], usable[-MOST:]
    learned, state = swept(newest)
    believed = _believed(newest, state)
    if any(kept is not slab for kept, slab in zip_longest(believed, newest)):
        learned, _ = swept(believed)
    if len(believed) >= _TRIED:
        learned = replace(learned, widen=widening(believed))
    return told_too(learned, before) if before else learned


def _usable(slabs: Sequence[PastSlab]) -> list[PastSlab]:
    early = [replace(slab, readings=slab.readings.until(LEARN_TO_DAY)) for slab in slabs]
    return [slab for slab in early if len(slab.readings.ages)]


def _believed(slabs: Sequence[PastSlab], state: State) -> list[PastSlab]:
    """The slabs without readings far off their own curve or the other slabs."""
    found = []
    for slab, weight, belief in zip(slabs, state.weight, state.belief, strict=True):
        kept = weight[: len(slab.readings.ages)] * belief >= _BELIEVED
        found.append(slab if kept.all() else replace(slab, readings=slab.readings.only(kept)))
    return [slab for slab in found if len(slab.readings.ages)]


def told_too(learned: Learned, slabs: Sequence[PastSlab]) -> Learned:
    """Adds more slabs' messages to their recipes; the scatter was learned without them."""
    slabs = _usable(slabs)
    if not slabs:
        return learned
    priors = [learned.prior(slab.recipe) for slab in slabs]
    mean, cov = np.array([prior.mean for prior in priors]), np.array([prior.cov for prior in priors])
    center, spread = cure.solve(levels.stack_of(slabs), mean, cov, learned.noise).moments()
    sites = likelihood(center - learned.origin, spread, mean - learned.origin, cov)
    belief = levels.belief(center - mean, cov)
    sites = sites[0] * belief[:, None, None], sites[1] * belief[:, None]
    told = {recipe: dict(of) for recipe, of in learned.told.items()}
    for slab, precision, information in zip(slabs, *sites, strict=True):
        told.setdefault(slab.name, {})[slab.key] = precision, information
    return replace(learned, told=told, slabs=learned.slabs + len(slabs))
