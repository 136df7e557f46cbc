"""Truth for the cure forecast, from another family than the estimator's.

Each slab lightens along a random mix of a stretched exponential and a bi-exponential, read off a hidden weather
clock that runs faster in good sun and slower in the cold. Magnitudes are those of color-methods.md: readings sd L* 1.0,
a* 0.5, b* 0.7, moisture 0.5 L*, 4 % outliers four times as wide. `Truth` holds what a shop might differ in.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
AGES = (1.0, 3.0, 7.0, 14.0, 28.0, 45.0)
READING_SD = np.array([1.0, 0.5, 0.7])


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
    clock: bool = True
    shape: str = "mix"  # mix, exponential, power


@dataclass(frozen=True)
class Slab:
    recipe: str
    curve: object
    ages: Floats
    lab: Floats

    def true(self, days: Floats) -> Floats:
        return self.curve(np.asarray(days, float))  # type: ignore[operator,no-any-return]


class Shop:
    """A shop with its recipes: `log` are its past slabs, `new` draws more (a share of them of new recipes)."""

    def __init__(self, seed: int, truth: Truth = Truth()) -> None:
        self.rng = np.random.default_rng(seed)
        self.truth = truth
        self.recipes = [self._recipe() for _ in range(truth.recipes)]
        picks = self.rng.integers(0, truth.recipes, truth.jobs)
        self.log = [self.slab(f"r{pick}", self.recipes[pick]) for pick in picks]

    def _recipe(self) -> Floats:
        rng, t = self.rng, self.truth
        final = np.array([58.0, 5.0, 13.0]) + rng.normal(0, 1, 3) * (8, 4, 6)
        start = np.array([t.lightening, 0.0, 0.6]) + rng.normal(0, 1, 3) * (2.5, 0.8, 1.0)
        return np.concatenate([final, start, [np.log(t.tau) + rng.normal(0, 0.25)]])

    def slab(self, name: str, recipe: Floats) -> Slab:
        rng, t = self.rng, self.truth
        theta = recipe.copy()
        theta[:3] += rng.normal(0, 1, 3) * (1.4, 0.5, 0.7) * t.scatter
        theta[3:6] += rng.normal(0, 1, 3) * (1.8, 0.5, 0.6) * t.scatter
        theta[6] += rng.normal(0, 0.2) * t.scatter
        curve = self._curve(theta)
        ages = np.array([age * np.exp(rng.normal(0, 0.05)) for age in AGES if rng.random() > t.missing])
        if not len(ages):
            ages = np.array([7.0])
        return Slab(name, curve, ages, self._read(curve, ages))

    def new(self, number: int, fresh: float = 0.2) -> list[Slab]:
        """New slabs, read at every age; `fresh` is the share of new recipes."""
        found = []
        for i in range(number):
            if self.rng.random() < fresh:
                found.append(self.full(f"new{i}", self._recipe()))
            else:
                pick = int(self.rng.integers(0, self.truth.recipes))
                found.append(self.full(f"r{pick}", self.recipes[pick]))
        return found

    def full(self, name: str, recipe: Floats) -> Slab:
        made = self.slab(name, recipe)
        ages = np.array(AGES)
        return Slab(name, made.curve, ages, self._read(made.curve, ages))

    def _curve(self, theta: Floats) -> object:
        rng = self.rng
        days = np.arange(0, 801.0)
        rate = np.ones(len(days))
        if self.truth.clock:
            weather = np.zeros(len(days))
            for i in range(1, len(days)):
                weather[i] = 0.8 * weather[i - 1] + rng.normal(0, 0.21)
            rate = np.exp(weather - 0.06)
        clock = np.concatenate([[0.0], np.cumsum(rate)[:-1]])
        tau = np.exp(theta[6])
        beta, share, quick, slow = (
            rng.uniform(0.8, 1.1),
            rng.uniform(0.2, 0.5),
            rng.uniform(0.3, 0.6),
            rng.uniform(1.1, 1.4),
        )
        mix = rng.random()
        if self.truth.shape == "exponential":
            beta, mix = 1.0, 1.0

        def curve(when: Floats) -> Floats:
            s = np.interp(when, days, clock) / tau
            stretched = np.exp(-(s**beta))
            double = share * np.exp(-s / quick) + (1 - share) * np.exp(-s / slow)
            fade = mix * stretched + (1 - mix) * double
            return theta[:3] + fade[..., None] * theta[3:6]

        return curve

    def _read(self, curve: object, ages: Floats) -> Floats:
        rng, t = self.rng, self.truth
        sd = READING_SD * t.noise
        wide = np.where(rng.random(len(ages)) < t.outliers, 4.0, 1.0)[:, None]
        seen = curve(ages) + rng.normal(0, 1, (len(ages), 3)) * sd * wide  # type: ignore[operator]
        seen[:, 0] += rng.normal(0, 0.5, len(ages))
        return seen  # type: ignore[no-any-return]
