"""A second truth for the cure forecast, of another family than the estimator's and than `cure_truth`.

Drying is log-logistic, hydration Avrami's; both run on the calendar. Batches scatter with heavy tails (Student-t, 4
degrees of freedom), recipes from skewed mixtures rather than bells. A visit reads one to three spots, whose errors
have a common part (light, camera, moisture of the day); bad visits spoil all their readings.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from tests.color.cure_truth import AGES, MOISTURE_SD, READING_SD, Floats, Shop, Slab

SHARED = 0.35
"""Part of a reading's variance that all readings of one visit share."""
SPOTS = (0.7, 0.2, 0.1)
"""How often a visit reads one, two, three spots."""
_TAIL = 4.0


class ShopTwo(Shop):
    """A shop whose slabs dry, hydrate and scatter otherwise; everything else as in `Shop`."""

    def _heavy(self, number: int) -> Floats:
        """Student-t scaled to sd 1."""
        drawn: Floats = self.rng.standard_t(_TAIL, number) / np.sqrt(_TAIL / (_TAIL - 2))
        return drawn

    def _recipe(self) -> Floats:
        """Light recipes dosed little and dark ones dosed much: the darker the less it lightens."""
        rng = self.rng
        light = rng.choice([66.0, 57.0, 47.0]) + rng.normal(0, 2.5)
        final = np.array([light, rng.gamma(2.0, 2.5), rng.gamma(4.0, 3.5)])
        rise = self.truth.lightening * np.exp(rng.normal(0, 0.2))
        start = np.array([rise, rng.uniform(-1.4, 1.4), 0.6 + rng.uniform(-1.8, 1.8)])
        return np.concatenate([final, start, [np.log(self.truth.tau) + rng.uniform(-0.4, 0.4)]])

    def _slab(self, recipe: str, missing: float) -> Slab:
        spread = np.array([1.4, 0.5, 0.7, 1.9, 0.5, 0.6, 0.2]) * self.truth.scatter
        curve = self._curve(self.recipes[recipe] + self._heavy(7) * spread)
        kept = [age for age in AGES if self.rng.random() >= missing] or [7.0]
        ages = np.array([age * np.exp(self.rng.normal(0, 0.05)) for age in kept])
        ages = np.repeat(ages, self.rng.choice([1, 2, 3], len(ages), p=SPOTS))
        return Slab(recipe, curve, ages, self._seen(curve, ages))

    def _curve(self, theta: Floats) -> Callable[[Floats], Floats]:
        rng, tau = self.rng, float(np.exp(theta[6]))
        dries, steep, drying = rng.uniform(0.5, 0.65) * tau, rng.uniform(2.0, 2.8), rng.uniform(0.5, 0.8)
        hydrates, order = rng.uniform(0.9, 1.2) * tau, rng.uniform(0.85, 1.3)

        def curve(when: Floats) -> Floats:
            days = np.asarray(when, float)
            dried = 1 / (1 + (days / dries) ** steep)
            fade = drying * dried + (1 - drying) * np.exp(-((days / hydrates) ** order))
            found: Floats = theta[:3] + fade[..., None] * theta[3:6]
            return found

        return curve

    def _seen(self, curve: Callable[[Floats], Floats], ages: Floats) -> Floats:
        visits, of = np.unique(ages, return_inverse=True)
        rng, sd = self.rng, READING_SD * self.truth.noise
        wide = np.where(rng.random(len(visits)) < self.truth.outliers, 4.0, 1.0)[of][:, None]
        common = rng.normal(0, 1, (len(visits), 3))[of] * np.sqrt(SHARED)
        own = rng.normal(0, 1, (len(ages), 3)) * np.sqrt(1 - SHARED)
        seen: Floats = curve(ages) + (common + own) * sd * wide
        seen[:, 0] += rng.normal(0, MOISTURE_SD, len(visits))[of]
        return seen
