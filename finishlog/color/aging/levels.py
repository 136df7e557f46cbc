"""Two levels of expectation, slabs within recipes within the shop, and the messages that pass between them.

θ of a slab ~ N(its recipe's mean, `within`), a recipe's mean ~ N(`center`, `between`); see `cure` for θ. Each slab
sends its recipe a Gaussian message, so that its own readings can be removed before they are used for it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from typing import TYPE_CHECKING

import numpy as np

from finishlog.color.aging import cure
from finishlog.color.aging.cure import Prior, Stack, Track
from finishlog.color.priors import figures

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

START_FINAL = figures.FINAL.value
START_D = figures.LIGHTENING.value
START_TAU = figures.TAU.one
START_BETWEEN = np.diag(np.square(figures.OF_RECIPES))
START_WITHIN = np.diag(np.square(figures.OF_JOBS))
RECIPES_WORTH, SLABS_WORTH, NOISE_WORTH = figures.START_WORTH.value
_FEW = 4
_LEAST_LEFT = 1e-9
"""Of a prior's variance no reading leaves less: what is beyond is rounding."""
_ODD = 24.3
"""χ², 7 degrees of freedom, 99.9 %: a slab farther from the others teaches less."""


@dataclass(frozen=True, slots=True)
class PastSlab:
    """Dry bare readings of one slab of the log. `recipe` None: unlike any other.

    `dose` is its pigment in percent of cement, None where it is not known: with more of it a slab lightens less.
    """

    key: str
    recipe: str | None
    readings: Track
    dose: float | None = None

    @property
    def name(self) -> str:
        """The recipe, or a unique name for a slab without."""
        return self.recipe if self.recipe is not None else f"\n{self.key}"


@dataclass(frozen=True, slots=True)
class Learned:
    """Both levels and each slab's message to its recipe. θ is relative to `origin` (7,).

    center (7,), between and within (7, 7); told: for each slab its likelihood as precision (7, 7) and
    information (7,), by recipe and key. `slabs` is how many taught. `noise` multiplies the readings' sd, `widen`
    the sd of what is expected of a slab before it is read; both may be below 1. `lead`: by recipe what its dose
    adds to the D of L* expected of it.
    """

    origin: Floats
    center: Floats
    between: Floats
    within: Floats
    noise: float
    widen: float
    slabs: int
    told: Mapping[str, Mapping[str, tuple[Floats, Floats]]]
    lead: Mapping[str, float] = field(default_factory=dict)

    def of_recipe(self, recipe: str | None, without: Sequence[str] = ()) -> int:
        """How many slabs of this recipe taught."""
        return sum(key not in without for key in self.told.get(recipe or "", {}))

    def recipe(
        self, recipe: str | None, without: Sequence[str] = (), dose: float | None = None
    ) -> tuple[Floats, Floats]:
        """The recipe's mean as θ (7,) and its covariance (7, 7), the slabs `without` taken out.

        The covariance includes the center's uncertainty with few recipes. `dose` in percent of cement matters for a
        recipe whose own is not known.
        """
        sites = [site for key, site in self.told.get(recipe or "", {}).items() if key not in without]
        mean, cov = self.center.copy(), self.between * (1 + 1 / (len(self.told) + RECIPES_WORTH))
        mean[3] += self.lead.get(recipe or "", lead(dose))
        if sites:
            told = messages(np.array([s[0] for s in sites]), np.array([s[1] for s in sites]), self.within)
            mean, cov = joined(mean, cov, told[0].sum(axis=0), told[1].sum(axis=0))
        return self.origin + mean, cov

    def prior(
        self, recipe: str | None, without: Sequence[str] = (), first: Track | None = None,
        dose: float | None = None,
    ) -> Prior:  # fmt: skip
        """What to expect of a slab of this recipe.

        With nothing learned, the final color is expected near the last of the `first` readings.
        """
        mean, cov = self.recipe(recipe, without, dose)
        if not self.slabs and first is not None and len(first.ages):
            mean = np.concatenate([settled_guess(first), mean[3:]])
        few = few_factor(self.slabs)
        start = _start() if self.slabs else None
        return Prior(mean, _no_wider((cov + self.within) * self.widen**2, few), self.noise, few, start)


def lead(dose: float | None) -> float:
    """What a dose in percent of cement adds to the D of L* that is expected; 0 where it is not known."""
    return 0.0 if dose is None else START_D[0] * (figures.lightening_at(dose) - 1)


def _no_wider(cov: Floats, few: float) -> Floats:
    """The covariance (7, 7) with no sd above that of the built-in start, each as widened for few slabs."""
    start = np.diag(START_BETWEEN * (1 + 1 / RECIPES_WORTH) + START_WITHIN) * (few_factor(0) / few) ** 2
    shrink = np.minimum(1.0, np.sqrt(start / np.diag(cov)))
    return np.asarray(cov * shrink[:, None] * shrink)


def unlearned() -> Learned:
    """The built-in start, for a log without readings."""
    origin = np.concatenate([START_FINAL, START_D, [np.log(START_TAU)]])
    return Learned(origin, np.zeros(7), START_BETWEEN, START_WITHIN, 1.0, 1.0, 0, {})


@cache
def _start() -> Prior:
    """The expectation for a slab with nothing learned."""
    return unlearned().prior(None)


def few_factor(slabs: int) -> float:
    """Widening of ranges with few slabs: √(1 + 1.5/n + (4/n)²), n at least 4, then 6.

    The last term is ours: a few slabs correct a wrong start of τ and D only halfway (τ 20 after 7 slabs).
    """
    return float(np.sqrt(1 + 1.5 / max(slabs, _FEW) + (4 / max(slabs, 6)) ** 2))


def settled_guess(readings: Track) -> Floats:
    """The last reading extrapolated along the built-in curve."""
    return np.asarray(readings.lab[-1] - np.array(START_D) * np.exp(-readings.ages[-1] / START_TAU))


def stack_of(slabs: Sequence[PastSlab]) -> Stack:
    """The slabs' readings, padded to one length."""
    return cure.stack([slab.readings for slab in slabs])


def messages(precision: Floats, information: Floats, within: Floats) -> tuple[Floats, Floats]:
    """Messages of slabs (S, 7, 7), (S, 7) on their recipe's mean, including scatter between slabs."""
    tight = np.linalg.inv(within)
    share = tight @ np.linalg.inv(tight + precision)
    return tight - share @ tight, np.einsum("...ij,...j->...i", share, information)


def joined(mean: Floats, cov: Floats, precision: Floats, information: Floats) -> tuple[Floats, Floats]:
    """N(mean (..., 7), cov (7, 7)) times Gaussian likelihoods (..., 7, 7), (..., 7)."""
    tight = np.linalg.inv(cov)
    spread = np.asarray(np.linalg.inv(tight + precision), np.float64)
    return np.einsum("...ij,...j->...i", spread, mean @ tight + information), spread


def likelihood(mean: Floats, cov: Floats, expected: Floats, prior: Floats) -> tuple[Floats, Floats]:
    """The Gaussian likelihood that takes prior to posterior; directions the data blur carry nothing."""
    root = np.linalg.cholesky(prior)
    inverse = np.linalg.inv(root)
    values, vectors = np.linalg.eigh(_white(cov, inverse))
    values = np.maximum(values, _LEAST_LEFT)
    gain = np.maximum(1 / values - 1, 0.0)
    basis = np.swapaxes(inverse, -1, -2) @ vectors
    moved = np.einsum("sij,sj->si", np.swapaxes(vectors, -1, -2) @ inverse, mean - expected)
    pull = np.where(gain > 0, moved / values, 0.0)
    precision = np.einsum("sij,sj,skj->sik", basis, gain, basis)
    information = np.einsum("sij,sj->si", basis, pull) + np.einsum("sij,sj->si", precision, expected)
    return precision, information


def _white(cov: Floats, inverse: Floats) -> Floats:
    return inverse @ cov @ np.swapaxes(inverse, -1, -2)


def belief(off: Floats, cov: Floats) -> Floats:
    """Weights of slabs or recipes off by (n, 7) among others of covariance (n, 7, 7) or (7, 7)."""
    square = np.einsum("ni,nij,nj->n", off, np.broadcast_to(np.linalg.inv(cov), (len(off), 7, 7)), off)
    return cure.redescending(square, _ODD)
