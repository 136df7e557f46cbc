"""Truth for the cure forecast, from another family than the estimator's.

Each slab lightens along a random mix of a stretched exponential and a bi-exponential, read off a hidden weather
clock that runs faster in good sun and slower in the cold. Magnitudes are those of color-methods.md: readings sd
L* 1.0, a* 0.5, b* 0.7, moisture 0.5 L*, 4 % outliers four times as wide. `Truth` is how a shop may differ.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from finishlog.color.aging import cure
from finishlog.color.aging.learn import PastSlab

Floats = NDArray[np.float64]
AGES = (1.0, 3.0, 7.0, 14.0, 28.0, 45.0)
READING_SD = np.array([1.0, 0.5, 0.7])
MOISTURE_SD = 0.5


@dataclass(frozen=True)
class Truth:
    jobs: int = 40
    recipes: int = 8
    tau: float = 11.0
    lightening: float = -12.0
    noise: float = 1.0
    scatter: float = 1.0
    outliers: float = 0.04
    missing: float = 0.15


@dataclass(frozen=True)
class Slab:
    """A slab's recipe, its true color by day, and its readings."""

    recipe: str
    curve: Callable[[Floats], Floats]
    ages: Floats
    lab: Floats

    def true(self, day: float) -> Floats:
        return self.curve(np.array([day]))[0]

    def read(self, until: float = 60.0) -> cure.Track:
        return cure.track(self.ages, self.lab, READING_SD).until(until)


class Shop:
    """A shop with its recipes; `log` are its past slabs."""

    def __init__(self, seed: int, truth: Truth | None = None) -> None:
        self.rng = np.random.default_rng(seed)
        self.truth = truth or Truth()
        self.recipes = {f"r{i}": self._recipe() for i in range(self.truth.recipes)}
        self.log = [self._slab(self._pick(), missing=self.truth.missing) for _ in range(self.truth.jobs)]

    def past(self) -> list[PastSlab]:
        return [PastSlab(f"j{i}", slab.recipe, slab.read()) for i, slab in enumerate(self.log)]

    def new(self, number: int, fresh: float = 0.2) -> list[Slab]:
        """New slabs, read at every age; `fresh` is the share of new recipes."""
        return [self.another(None if self.rng.random() < fresh else self._pick()) for _ in range(number)]

    def another(self, recipe: str | None) -> Slab:
        """One more slab of that recipe, None: of a new one."""
        name = recipe or f"new{len(self.recipes)}"
        self.recipes.setdefault(name, self._recipe())
        return self._slab(name, missing=0.0)

    def _pick(self) -> str:
        return f"r{self.rng.integers(0, self.truth.recipes)}"

    def _recipe(self) -> Floats:
        final = np.array([58.0, 5.0, 13.0]) + self.rng.normal(0, 1, 3) * (8, 4, 6)
        start = np.array([self.truth.lightening, 0.0, 0.6]) + self.rng.normal(0, 1, 3) * (2.8, 0.9, 1.1)
        return np.concatenate([final, start, [np.log(self.truth.tau) + self.rng.normal(0, 0.25)]])

    def _slab(self, recipe: str, missing: float) -> Slab:
        spread = np.array([1.4, 0.5, 0.7, 1.9, 0.5, 0.6, 0.2]) * self.truth.scatter
        curve = self._curve(self.recipes[recipe] + self.rng.normal(0, 1, 7) * spread)
        kept = [age for age in AGES if self.rng.random() >= missing] or [7.0]
        ages = np.array([age * np.exp(self.rng.normal(0, 0.05)) for age in kept])
        return Slab(recipe, curve, ages, self._seen(curve, ages))

    def _curve(self, theta: Floats) -> Callable[[Floats], Floats]:
        rng = self.rng
        days, clock = self._clock()
        beta, mix, share = rng.uniform(0.8, 1.1), rng.random(), rng.uniform(0.2, 0.5)
        quick, slow = rng.uniform(0.3, 0.6), rng.uniform(1.1, 1.4)

        def curve(when: Floats) -> Floats:
            s = np.interp(when, days, clock) / np.exp(theta[6])
            double = share * np.exp(-s / quick) + (1 - share) * np.exp(-s / slow)
            fade = mix * np.exp(-(s**beta)) + (1 - mix) * double
            found: Floats = theta[:3] + fade[..., None] * theta[3:6]
            return found

        return curve

    def _clock(self) -> tuple[Floats, Floats]:
        """Days, and how far the color has come by then: spells of weather some days long."""
        days, weather = np.arange(0, 401.0), np.zeros(401)
        push = self.rng.normal(0, 0.21, 401)
        for day in range(1, 401):
            weather[day] = 0.8 * weather[day - 1] + push[day]
        return days, np.concatenate([[0.0], np.cumsum(np.exp(weather - 0.06))[:-1]])

    def _seen(self, curve: Callable[[Floats], Floats], ages: Floats) -> Floats:
        wide = np.where(self.rng.random(len(ages)) < self.truth.outliers, 4.0, 1.0)[:, None]
        seen = curve(ages) + self.rng.normal(0, 1, (len(ages), 3)) * READING_SD * self.truth.noise * wide
        seen[:, 0] += self.rng.normal(0, MOISTURE_SD, len(ages))
        return seen
