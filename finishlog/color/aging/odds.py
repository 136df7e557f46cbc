"""The odds that a new slab will look like an old one: P(ΔE00 < a limit), from both slabs jointly.

Both share their recipe's mean, so they are drawn together; the old slab's own readings are removed from that
mean before they are used for it. The limit is the shop's: published ones (Paravina et al. 2015: 0.8
perceptible, 1.8 acceptable) are of teeth, not of slabs.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, partial
from typing import TYPE_CHECKING, Literal

import numpy as np

from finishlog.color.aging import cure, learn
from finishlog.color.aging.cure import CURVE_SD, Track
from finishlog.color.aging.learn import Learned
from finishlog.color.aging.weathering import Look, Pace, effective_years, looked, sealed_colors
from finishlog.color.notation.arrays import nine_in_ten
from finishlog.color.notation.space import delta_e_2000

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

Lab = tuple[float, float, float]
DRAWS = 1500
LEAST_OWN = 0.1
"""Part of a reading's variance that is its own, whatever it shares with others."""
Factor = Literal["job_scatter", "old_slab", "recipe", "weathering", "curve", "change"]
FACTORS: tuple[Factor, ...] = ("job_scatter", "old_slab", "recipe", "weathering", "curve")
"""Causes of a miss; `change` only if the new slab's ingredients differ (see `Batch`)."""
SHOULD, CLOSE, TOO_WIDE = 0.85, 0.60, 4.0
Verdict = Literal["should match", "close: pour a sample first", "don't promise a match", "cannot tell yet"]


@dataclass(frozen=True, slots=True)
class Slab:
    """One of the two: its learned `key`, dry bare readings up to day 60, `late` ones (or bare equivalents).

    `variance` (n, 3) of the late ones, noise of the reading and of the sealer's removal. `dose` in percent of cement.
    """

    key: str
    early: Track
    late_ages: Floats
    late_lab: Floats
    late_variance: Floats
    dose: float | None = None


@dataclass(frozen=True, slots=True)
class Batch:
    """The new slab's ingredients compared to the old one's: lot, cement, plant.

    `shift` (3,) and `variance` (3,) of L*a*b* from what differs. `scatter` (3,): sd of jobs with the same
    ingredients. `off`: offsets of other slabs, by key, from the old one due to ingredients. `sample`: the
    final color (3,) of a sample of the new concrete with its covariance (3, 3), as an observation of the new
    slab's.
    """

    shift: Floats
    variance: Floats
    scatter: Floats
    off: Mapping[str, Floats]
    sample: tuple[Floats, Floats] | None = None


@dataclass(frozen=True)
class Matched:
    """ΔE00 draws at one age, summarized. `shares` is each factor's part of E[ΔE²], computed lazily as
    it costs more than everything else.

    Pairs are the expected L*a*b* of old and new slab, both bare or both sealed.
    """

    age_days: float
    probability: float
    probability_sealed: float
    radius90_de00: float
    share_out: Callable[[], tuple[tuple[Factor, float], ...]]
    bare_pair: tuple[Lab, Lab]
    sealed_pair: tuple[Lab, Lab]

    @cached_property
    def shares(self) -> tuple[tuple[Factor, float], ...]:
        """Each cause's part of the forecast's spread, 0 to 1."""
        return self.share_out()

    @property
    def dominant(self) -> Factor:
        """The factor with the largest share of the doubt."""
        return max(self.shares, key=lambda share: share[1])[0]

    @property
    def verdict(self) -> Verdict:
        """The odds as a word."""
        return verdict(self.probability, self.radius90_de00)


def verdict(probability: float, radius90_de00: float) -> Verdict:
    """In words. Too wide a range takes precedence over the odds."""
    if radius90_de00 > TOO_WIDE:
        return "cannot tell yet"
    if probability >= SHOULD:
        return "should match"
    return "close: pour a sample first" if probability >= CLOSE else "don't promise a match"


@dataclass(frozen=True, slots=True)
class _Joint:
    """Both slabs as Gaussians: the old one's ten numbers, the recipe given those, the new one given both."""

    old: Floats
    old_root: Floats
    recipe: Floats
    pull: Floats
    recipe_root: Floats
    new_of_recipe: Floats
    new_own: Floats
    new_root: Floats
    origin: Floats
    change_root: Floats | None = None
    shared: tuple[Floats, Floats, Floats] | None = None
    """By an sd of the common error of each axis: how old (3, 10), recipe (3, 7), new (3, 7) move."""


def odds(
    learned: Learned, recipe: str | None, new: Slab, old: Slab, pace: Pace, look: Look,
    ages: Sequence[tuple[float, float]], limit: float, draws: int = DRAWS, batch: Batch | None = None,
    common: Floats | None = None,
) -> tuple[Matched, ...]:  # fmt: skip
    """The odds at each (age of the new slab, age of the old one then), both in days; `limit` in ΔE00.

    A `batch` is for a new slab without readings. `common` (3,): sd of an error in L*, a*, b* that all readings of both
    share, being read by one camera; it is a part of their sd. Readings that scatter less than stated are
    no surer for it then: what does not scatter is that error.
    """
    scattered = learned if common is None else replace(learned, noise=max(learned.noise, 1.0))
    made = partial(_joint, scattered, recipe, pace=pace, batch=batch)
    joint = made(new, old) if common is None else _sharing(made, new, old, common)
    widen = learn.few_factor(learned.slabs)
    drawn = cure.normals(draws, 10 + 7 + 7 + 6 + (0 if batch is None else 3) + (0 if common is None else 3))
    return tuple(_matched(joint, widen, drawn, look, pair, limit) for pair in ages)


def _sharing(made: Callable[[Slab, Slab], _Joint], new: Slab, old: Slab, common: Floats) -> _Joint:
    """The joint by each reading's own error, and where one sd of the common one moves it, axis by axis."""
    own = [_less(slab, common) for slab in (new, old)]
    joint = made(*own)
    moved = [made(*(_moved(slab, step) for slab in own)) for step in np.diag(common)]
    return replace(
        joint,
        shared=(
            np.array([each.old - joint.old for each in moved]),
            np.array([each.recipe - joint.recipe for each in moved]),
            np.array([each.new_own - joint.new_own for each in moved]),
        ),
    )


def _less(slab: Slab, common: Floats) -> Slab:
    """Without the common part of its readings' variance, of which a tenth stays at least."""
    left = np.maximum(slab.early.sd**2 - common**2, slab.early.sd**2 * LEAST_OWN)
    late = np.maximum(slab.late_variance - common**2, slab.late_variance * LEAST_OWN)
    return replace(slab, early=replace(slab.early, sd=np.sqrt(left)), late_variance=late)


def _moved(slab: Slab, step: Floats) -> Slab:
    return replace(slab, early=replace(slab.early, lab=slab.early.lab + step), late_lab=slab.late_lab + step)


def _joint(
    learned: Learned, recipe: str | None, new: Slab, old: Slab, pace: Pace, batch: Batch | None
) -> _Joint:
    learned = learned if batch is None else _leveled(learned, recipe, batch)
    learned = replace(learned, within=learned.within * learned.widen)  # squared, a forecast's safety
    origin, within = learned.origin, learned.within
    mean, cov = learned.recipe(recipe, (new.key, old.key), old.dose)
    mean, cov = mean - origin, cov * learned.widen
    new_precision, new_information = _site(learned, new.early, mean, cov)
    message = learn.messages(new_precision, new_information, within)
    mean, cov = learn.joined(mean, cov, *message)
    change = None if batch is None else _change(batch, origin)
    if change is not None:
        mean, cov = learn.joined(mean, cov, *change.told)
    site = _site(learned, old.early, mean, cov)
    center, spread = _with_weather(site, mean, cov + within, pace)
    center, spread = _with_late(center, spread, old, origin, learned.noise)
    pull = cov @ np.linalg.inv(cov + within)
    tight = np.linalg.inv(within)
    own = np.asarray(np.linalg.inv(tight + new_precision), np.float64)
    joint = _Joint(
        old=center, old_root=_root(spread), recipe=mean, pull=pull,
        recipe_root=_root(cov - pull @ (cov + within) @ pull.T),
        new_of_recipe=own @ tight, new_own=own @ new_information, new_root=_root(own),
        origin=origin,
    )  # fmt: skip
    if change is None:
        return joint
    return replace(joint, new_of_recipe=change.of_recipe, new_own=change.own, change_root=change.root)


def _leveled(learned: Learned, recipe: str | None, batch: Batch) -> Learned:
    """The learned state reduced to the old slab's ingredients: other slabs shifted back, less scatter."""
    own = np.sqrt(np.diag(learned.within))[:3]
    shrink = np.append(np.minimum(1.0, batch.scatter / own), np.ones(4))
    within = learned.within * shrink[:, None] * shrink
    if recipe is None or recipe not in learned.told:  # a name without slabs would count as one recipe more
        return replace(learned, within=within)
    told = {
        key: (precision, information - precision[:, :3] @ batch.off.get(key, np.zeros(3)))
        for key, (precision, information) in learned.told[recipe].items()
    }
    return replace(learned, within=within, told={**learned.told, recipe: told})


@dataclass(frozen=True, slots=True)
class _Change:
    """What the new slab is of its recipe's mean: of_recipe @ mean + own, root @ normals more on L*a*b*.

    `told`: what a sample says of the recipe's mean, as precision (7, 7) and information (7,).
    """

    of_recipe: Floats
    own: Floats
    root: Floats
    told: tuple[Floats, Floats]


def _change(batch: Batch, origin: Floats) -> _Change:
    spread = np.diag(batch.variance)
    of_recipe, own = np.eye(7), np.zeros(7)
    precision, information = np.zeros((7, 7)), np.zeros(7)
    own[:3] = batch.shift
    if batch.sample is not None:
        seen, doubt = batch.sample
        tight = np.linalg.inv(spread + doubt)
        gain, off = spread @ tight, seen - origin[:3] - batch.shift
        of_recipe[:3, :3] -= gain
        own[:3] += gain @ off
        precision[:3, :3], information[:3] = tight, tight @ off
        spread = spread - gain @ spread
    return _Change(of_recipe, own, _root(spread), (precision, information))


def _site(learned: Learned, early: Track, mean: Floats, cov: Floats) -> tuple[Floats, Floats]:
    """Gaussian likelihood (7, 7), (7,) of a slab's early readings, relative to the origin."""
    if not len(early.ages):
        return np.zeros((7, 7)), np.zeros(7)
    prior = cov + learned.within
    found = cure.solve(cure.stack([early]), learned.origin + mean, prior, learned.noise)
    center, spread = found.moments()
    precision, information = learn.likelihood(center - learned.origin, spread, mean[None], prior[None])
    return precision[0], information[0]


def _with_weather(
    site: tuple[Floats, Floats], mean: Floats, prior: Floats, pace: Pace
) -> tuple[Floats, Floats]:
    """The old slab's θ and its pace of weathering, ten numbers: mean (10,), covariance (10, 10)."""
    center, spread = learn.joined(mean, prior, *site)
    whole = np.zeros((10, 10))
    whole[:7, :7], whole[7:, 7:] = spread, np.diag(pace.sd**2)
    return np.concatenate([center, pace.mean]), whole


def _with_late(
    center: Floats, spread: Floats, old: Slab, origin: Floats, noise: float
) -> tuple[Floats, Floats]:
    """The same after the late readings, each a linear observation of final color and weathering."""
    if not len(old.late_ages):
        return center, spread
    looks = np.zeros((len(old.late_ages), 3, 10))
    looks[:, :, :3] = np.eye(3)
    looks[:, :, 7:] = effective_years(old.late_ages)[:, None, None] * np.eye(3)
    own = old.late_variance * noise**2 + CURVE_SD**2
    return looked(center, spread, looks, old.late_lab - origin[:3], own)[:2]


def _root(cov: Floats) -> Floats:
    """Lower triangular root, so that later numbers add to earlier ones; repairs a lost rank."""
    even = (cov + cov.T) / 2
    return np.asarray(
        np.linalg.cholesky(even + 1e-9 * np.diag(np.abs(np.diag(even)) + 1e-9)), dtype=np.float64
    )


def _matched(
    joint: _Joint, widen: float, drawn: Floats, look: Look, ages: tuple[float, float], limit: float
) -> Matched:
    first, second = _pair(joint, widen, drawn, ages)
    apart = delta_e_2000(first, second)
    first_sealed, second_sealed = sealed_colors(look, first), sealed_colors(look, second)
    sealed = delta_e_2000(first_sealed, second_sealed)
    radius = float(nine_in_ten(delta_e_2000(first, first.mean(axis=0))))
    shares = partial(_shares, joint, widen, drawn, ages, float((apart**2).mean()))
    return Matched(
        ages[0],
        float((apart < limit).mean()),
        float((sealed < limit).mean()),
        radius,
        shares,
        (_mean(second), _mean(first)),
        (_mean(second_sealed), _mean(first_sealed)),
    )


def _mean(drawn: Floats) -> Lab:
    L, a, b = map(float, cure.within_scale(drawn.mean(axis=0)))
    return L, a, b


_BLOCKS: dict[Factor, tuple[slice, ...]] = {
    "old_slab": (slice(0, 7),), "weathering": (slice(7, 10),), "recipe": (slice(10, 17),),
    "job_scatter": (slice(17, 24),), "curve": (slice(24, 30),), "change": (slice(30, 33),),
}  # fmt: skip


def _shares(
    joint: _Joint, widen: float, drawn: Floats, ages: tuple[float, float], whole: float
) -> tuple[tuple[Factor, float], ...]:
    """For each factor 1 - E[ΔE² | the factor frozen] / E[ΔE²]."""
    found = []
    for factor in FACTORS if joint.change_root is None else (*FACTORS, "change"):
        frozen = drawn.copy()
        for block in _BLOCKS[factor]:
            frozen[:, block] = 0.0
        left = float((delta_e_2000(*_pair(joint, widen, frozen, ages)) ** 2).mean())
        found.append((factor, max(0.0, 1 - left / whole)))
    return tuple(found)


def _pair(joint: _Joint, widen: float, drawn: Floats, ages: tuple[float, float]) -> tuple[Floats, Floats]:
    """L*a*b* of the new and the old slab at their ages, (draws, 3) each."""
    by_old, by_recipe, by_new = (0.0, 0.0, 0.0) if joint.shared is None else _by_common(joint.shared, drawn)
    old = joint.old + by_old + widen * drawn[:, :10] @ joint.old_root.T
    recipe = joint.recipe + by_recipe
    mean = recipe + (old[:, :7] - recipe) @ joint.pull.T + widen * drawn[:, 10:17] @ joint.recipe_root.T
    new = mean @ joint.new_of_recipe.T + joint.new_own + by_new + widen * drawn[:, 17:24] @ joint.new_root.T
    if joint.change_root is not None:
        new[:, :3] += widen * drawn[:, 30:33] @ joint.change_root.T
    first = _color(new + joint.origin, ages[0]) + drawn[:, 24:27] * CURVE_SD
    second = _color(old[:, :7] + joint.origin, ages[1]) + drawn[:, 27:30] * CURVE_SD
    return first, second + old[:, 7:] * effective_years(ages[1])


def _by_common(shared: tuple[Floats, Floats, Floats], drawn: Floats) -> tuple[Floats, Floats, Floats]:
    """By draw, how the common error (the last three numbers) moves old, recipe and new."""
    old, recipe, new = (drawn[:, -3:] @ each for each in shared)
    return old, recipe, new


def _color(theta: Floats, age: float) -> Floats:
    tau = np.exp(np.clip(theta[:, 6:], *cure.LOG_TAU_RANGE))
    return np.asarray(theta[:, :3] + theta[:, 3:6] * np.exp(-age / tau))
