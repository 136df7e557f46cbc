"""Truth for a coat that nobody logged: a slab of any shop is sealed on some day and read on as if it were bare.

`DryingShop` is of another family than `cure_truth`: what the slab has lost of its water and what has hydrated, each
on a clock of its own, and readings whose scatter is Student's with three degrees of freedom.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from finishlog.color.aging import cure
from finishlog.color.aging.weathering import Look, sealed_colors
from tests.color.cure_truth import READING_SD, Floats, Shop, Slab

FROM_DAY, TO_DAY = 10.0, 40.0
LIGHT, DEEP = (float(np.log(0.70)), 0.12), (float(np.log(1.2)), 0.10)
"""Log factors on Y and chroma, mean and sd: between the assumed look and a wet-look film (Y about .6)."""


class DryingShop(Shop):
    """A shop whose slabs dry by a power law while they hydrate along a logistic in log time."""

    def _curve(self, theta: Floats) -> Callable[[Floats], Floats]:
        half = np.exp(theta[6]) * self.rng.uniform(0.6, 0.8)
        power, steep, wet = self.rng.uniform(1.6, 2.4), self.rng.uniform(1.8, 2.6), self.rng.uniform(0.3, 0.7)

        def curve(when: Floats) -> Floats:
            s = np.maximum(when, 1e-3) / half
            fade = wet * (1 + s / power) ** -power + (1 - wet) / (1 + s**steep)
            found: Floats = theta[:3] + fade[..., None] * theta[3:6]
            return found

        return curve

    def _seen(self, curve: Callable[[Floats], Floats], ages: Floats) -> Floats:
        tails = self.rng.standard_t(3, (len(ages), 3)) / np.sqrt(3)
        seen: Floats = curve(ages) + tails * READING_SD * 1.1 * self.truth.noise
        return seen


def coated(slab: Slab, rng: np.random.Generator) -> tuple[Slab, int]:
    """The same slab sealed between two of its readings, and the place of the first reading on the coat."""
    places = [at for at, age in enumerate(slab.ages) if at and age > FROM_DAY and slab.ages[at - 1] < TO_DAY]
    first = int(rng.choice(places))
    look = Look(np.array([rng.normal(*LIGHT), rng.normal(*DEEP)]), np.zeros(2))
    true, lab = slab.curve(slab.ages), slab.lab.copy()
    lab[first:] = sealed_colors(look, true)[first:] + (slab.lab - true)[first:]
    return replace(slab, lab=lab), first


def whole(slab: Slab) -> cure.Track:
    """All readings of a slab, as the crew logged them: dry and bare."""
    return cure.track(slab.ages, slab.lab, READING_SD)
