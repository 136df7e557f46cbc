"""Effect of another lot, cement, plant or season on the final color: random effects from the shop's slabs.

A slab's final L*a*b* = its recipe's mean + one effect for each of what it was made with + the scatter of jobs. An
effect of one lot (cement, plant…) ~ N(0, its factor's variance), the same in every recipe. Axis by axis, each
variance by EM from the starting values below, which count as `WORTH` lots each.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

from finishlog.color.aging.learn import START_WITHIN
from finishlog.color.priors import figures
from finishlog.color.priors.figures import Figure

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

Factor = Literal["lot", "maker", "cement", "content", "plant", "season"]


STARTS: Mapping[Factor, Figure] = {
    "lot": figures.LOT, "maker": figures.MAKER, "cement": figures.CEMENT, "content": figures.CONTENT,
    "plant": figures.PLANT, "season": figures.SEASON,
}  # fmt: skip
"""Sd of one lot, cement… in L*, a*, b*, and its source."""
FACTORS: tuple[Factor, ...] = tuple(STARTS)
WORTH = figures.EFFECT_WORTH.one
SCATTER_WORTH = 6.0
ROUNDS = 30
LEAST = 0.05
"""Least sd of any part; none is ever exactly 0."""


@dataclass(frozen=True, slots=True)
class Made:
    """A slab: recipe, ingredients (factor → lot, kind…; unknowns left out), final color.

    `variance` (3,) of the color.
    """

    key: str
    recipe: str
    of: Mapping[Factor, str]
    lab: Floats
    variance: Floats


@dataclass(frozen=True, slots=True)
class Contrast:
    """A change's effect on L*a*b*: expected shift (3,) and its variance (3,)."""

    shift: Floats
    variance: Floats


@dataclass(frozen=True, slots=True)
class Effects:
    """The learned effects. `sd` of one lot, cement… (3,) by factor; `scatter` (3,) the sd of jobs without them.

    `names` are the effects that the slabs share, mean (n, 3) and covariance (3, n, n) theirs.
    """

    sd: Mapping[Factor, Floats]
    scatter: Floats
    slabs: int
    names: tuple[tuple[Factor, str], ...]
    mean: Floats
    cov: Floats
    recipes: Mapping[str, tuple[Mapping[Factor, str], ...]]

    def seen(self, recipe: str | None, factor: Factor, old: str, new: str) -> int:
        """Number of pairs of read slabs of one recipe with the one and the other."""
        of = [made.get(factor) for made in self.recipes.get(recipe or "", ())]
        return of.count(old) * of.count(new) if old != new else 0

    def change(self, steps: Sequence[tuple[Factor, str | None, str | None]]) -> Contrast:
        """Shift and variance of these changes together, each (factor, then, now); None is unknown."""
        weight = np.zeros(len(self.names))
        rest = np.zeros(3)
        for factor, old, new in steps:
            for sign, level in ((-1.0, old), (1.0, new)):
                if level is not None and (factor, level) in self.names:
                    weight[self.names.index((factor, level))] += sign
                else:
                    rest += self.sd[factor] ** 2
        variance = np.einsum("i,aij,j->a", weight, self.cov, weight) + rest
        return Contrast(weight @ self.mean, variance)

    def of_slab(self, made: Mapping[Factor, str], beside: Mapping[Factor, str]) -> Floats:
        """Expected color shift (3,) from one slab's ingredients to another's."""
        known = [(f, beside[f], level) for f, level in made.items() if f in beside and beside[f] != level]
        both = [(f, a, b) for f, a, b in known if (f, a) in self.names and (f, b) in self.names]
        return self.change(both).shift


def learn(slabs: Sequence[Made]) -> Effects:
    """The effects from slabs of known final color. One no two slabs share stays in the scatter of jobs."""
    names = _shared(slabs)
    start = {factor: np.array(STARTS[factor].sd) ** 2 for factor in FACTORS}
    base = np.diag(START_WITHIN)[:3]
    sd = {factor: np.empty(3) for factor in FACTORS}
    scatter, mean, cov = np.empty(3), np.zeros((len(names), 3)), np.zeros((3, len(names), len(names)))
    design = _design(slabs, names)
    for axis in range(3):
        y = np.array([made.lab[axis] for made in slabs])
        noise = np.array([made.variance[axis] for made in slabs])
        first = {factor: float(value[axis]) for factor, value in start.items()}
        found = _axis(design, names, y, noise, first, float(base[axis]))
        for factor in FACTORS:
            sd[factor][axis] = found.variances[factor] ** 0.5
        scatter[axis], mean[:, axis], cov[axis] = found.scatter**0.5, found.mean, found.cov
    recipes: dict[str, tuple[Mapping[Factor, str], ...]] = {}
    for made in slabs:
        recipes[made.recipe] = (*recipes.get(made.recipe, ()), made.of)
    return Effects(sd, scatter, len(slabs), names, mean, cov, recipes)


def _shared(slabs: Sequence[Made]) -> tuple[tuple[Factor, str], ...]:
    """The effects of two slabs or more, of factors that vary."""
    counts: dict[tuple[Factor, str], int] = {}
    for made in slabs:
        for one in made.of.items():
            counts[one] = counts.get(one, 0) + 1
    return tuple(name for name, number in counts.items() if number > 1)


def _design(slabs: Sequence[Made], names: Sequence[tuple[Factor, str]]) -> tuple[Floats, Floats]:
    """Indicator matrices: slab by effect (S, n), slab by recipe (S, r)."""
    has = np.array([[made.of.get(factor) == level for factor, level in names] for made in slabs], float)
    recipes = list(dict.fromkeys(made.recipe for made in slabs))
    of = np.array([[made.recipe == recipe for recipe in recipes] for made in slabs], float)
    return has.reshape(len(slabs), len(names)), of.reshape(len(slabs), len(recipes))


@dataclass(frozen=True, slots=True)
class _Axis:
    variances: Mapping[Factor, float]
    scatter: float
    mean: Floats
    cov: Floats


def _axis(
    design: tuple[Floats, Floats], names: Sequence[tuple[Factor, str]], y: Floats, noise: Floats,
    start: Mapping[Factor, float], base: float,
) -> _Axis:  # fmt: skip
    """One axis by EM; recipes' means are free, so only slabs of one recipe tell of an effect."""
    has, of = design
    variances, scatter = dict(start), base
    own = {factor: np.array([name[0] == factor for name in names], bool) for factor in FACTORS}
    mean, cov = np.zeros(len(names)), np.zeros((0, 0))
    for _ in range(ROUNDS if len(y) else 0):
        prior = np.array([1 / variances[factor] for factor, _ in names])
        mean, cov, off, blur = _solved(has, of, y, 1 / (noise + scatter), prior)
        for factor, mine in own.items():
            told = float((mean[mine] ** 2 + np.diag(cov)[mine]).sum()) if mine.any() else 0.0
            variances[factor] = max((told + WORTH * start[factor]) / (mine.sum() + WORTH), LEAST**2)
        scatter = _scatter(off, blur, noise, scatter, base)
    return _Axis(variances, scatter, mean, cov)


def _solved(
    has: Floats, of: Floats, y: Floats, weight: Floats, prior: Floats
) -> tuple[Floats, Floats, Floats, Floats]:
    """Effects (n,) and covariance (n, n), residuals and what is not known of each slab's expectation (S,).

    A slab has one recipe: the recipes' block is diagonal and is eliminated, only the effects' is inverted.
    """
    count = of.T @ weight + 1e-6
    rows = of.argmax(axis=1)
    usual = ((of.T * weight) @ has) / count[:, None]
    apart = has - usual[rows]
    level = (of.T @ (weight * y)) / count
    cov = np.asarray(np.linalg.inv((has.T * weight) @ apart + np.diag(prior)), np.float64)
    mean = cov @ (apart.T @ (weight * y))
    off = y - level[rows] - apart @ mean
    blur = ((apart @ cov) * apart).sum(axis=1) + 1 / count[rows]
    return mean, cov, off, blur


def _scatter(off: Floats, blur: Floats, noise: Floats, scatter: float, base: float) -> float:
    """Updated scatter of jobs: each slab's residual less its reading error."""
    share = scatter / (scatter + noise)
    own = share**2 * (off**2 + blur) + share * noise
    return max(float(own.sum() + SCATTER_WORTH * base) / (len(off) + SCATTER_WORTH), LEAST**2)
