"""Two-level learning from the shop's own slabs: slabs within recipes within the shop.

θ of a slab ~ N(its recipe's mean, `within`), a recipe's mean ~ N(`center`, `between`); see `cure` for θ. Six EM-like
sweeps learn from the built-in start, to which both covariances are shrunk as if it were 6 slabs and 3 recipes.
Each slab sends its recipe a Gaussian message, so that its own readings can be removed before they are used for it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from itertools import zip_longest
from typing import TYPE_CHECKING

import numpy as np

from finishlog.color.aging import cure
from finishlog.color.aging.cure import LEARN_TO_DAY, Prior, Stack, Track
from finishlog.color.priors import figures

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

START_D = figures.LIGHTENING.value
START_TAU = figures.TAU.one
START_BETWEEN = np.diag(np.square(figures.OF_RECIPES))
START_WITHIN = np.diag(np.square(figures.OF_JOBS))
RECIPES_WORTH, SLABS_WORTH, NOISE_WORTH = figures.START_WORTH.value
USUAL_SQUARE = 2.463
"""Expected weight × square of a reading that scatters just as stated: of min(1, 8/(5+z))·z, z ~ χ²₃."""
SWEEPS, FOLDS = 6, 8
MOST = 160
"""The scatter is learned from this many newest slabs; older ones inform only their recipes."""
CUTS = (1.5, 3.5, 8.0, 16.0, 30.0)
"""Last day of readings given to a held-out slab when testing the ranges."""
LATE, CHI3_90, HELD, TRIALS_WORTH = 20.0, 6.2514, 0.91, 4.0
LADDER = (1.0, 1.1, 1.2, 1.35, 1.5, 1.75, 2.0, 2.5)
_FEW = 4
_ODD = 24.3
"""χ², 7 degrees of freedom, 99.9 %: a slab farther from the others teaches less."""
_BELIEVED = 0.05
"""A reading of lower weight neither tests the ranges nor teaches."""


@dataclass(frozen=True, slots=True)
class PastSlab:
    """Dry bare readings of one slab of the log. `recipe` None: unlike any other."""

    key: str
    recipe: str | None
    readings: Track


@dataclass(frozen=True, slots=True)
class Learned:
    """Both levels and each slab's message to its recipe. θ is relative to `origin` (7,).

    center (7,), between and within (7, 7); told: for each slab its likelihood as precision (7, 7) and
    information (7,), by recipe and key. `slabs` is how many taught. `noise` multiplies the readings' sd, `widen`
    the sd of what is expected of a slab before it is read.
    """

    origin: Floats
    center: Floats
    between: Floats
    within: Floats
    noise: float
    widen: float
    slabs: int
    told: Mapping[str, Mapping[str, tuple[Floats, Floats]]]

    def of_recipe(self, recipe: str | None, without: Sequence[str] = ()) -> int:
        """How many slabs of this recipe taught."""
        return sum(key not in without for key in self.told.get(recipe or "", {}))

    def recipe(self, recipe: str | None, without: Sequence[str] = ()) -> tuple[Floats, Floats]:
        """The recipe's mean as θ (7,) and its covariance (7, 7), the slabs `without` taken out.

        The covariance includes the center's uncertainty with few recipes.
        """
        sites = [site for key, site in self.told.get(recipe or "", {}).items() if key not in without]
        mean, cov = self.center, self.between * (1 + 1 / (len(self.told) + RECIPES_WORTH))
        if sites:
            told = messages(np.array([s[0] for s in sites]), np.array([s[1] for s in sites]), self.within)
            mean, cov = joined(mean, cov, told[0].sum(axis=0), told[1].sum(axis=0))
        return self.origin + mean, cov

    def prior(self, recipe: str | None, without: Sequence[str] = (), first: Track | None = None) -> Prior:
        """What to expect of a slab of this recipe.

        With nothing learned, the final color is expected near the last of the `first` readings.
        """
        mean, cov = self.recipe(recipe, without)
        if not self.slabs and first is not None and len(first.ages):
            mean = np.concatenate([_settled_guess(first), mean[3:]])
        few = few_factor(self.slabs)
        start = _start() if self.slabs else None
        return Prior(mean, _no_wider((cov + self.within) * self.widen**2, few), self.noise, few, start)


def _no_wider(cov: Floats, few: float) -> Floats:
    """The covariance (7, 7) with no sd above that of the built-in start, each as widened for few slabs."""
    start = np.diag(START_BETWEEN * (1 + 1 / RECIPES_WORTH) + START_WITHIN) * (few_factor(0) / few) ** 2
    shrink = np.minimum(1.0, np.sqrt(start / np.diag(cov)))
    return np.asarray(cov * shrink[:, None] * shrink)


@cache
def _start() -> Prior:
    """The expectation for a slab with nothing learned."""
    return learn(()).prior(None)


def few_factor(slabs: int) -> float:
    """Widening of ranges with few slabs: √(1 + 1.5/n + (6/n)²), n at least 4, then 6.

    The last term is ours: a few slabs correct a wrong start of τ and D only halfway (τ 20 after 7 slabs).
    """
    return float(np.sqrt(1 + 1.5 / max(slabs, _FEW) + (6 / max(slabs, 6)) ** 2))


def learn(slabs: Sequence[PastSlab]) -> Learned:
    """Everything learned from the log, oldest slab first.

    Readings after day 60 are left out; a slab without an earlier one teaches nothing.
    Forty slabs take about a second: everything is relearned eight times to test the ranges.
    """
    usable = [replace(slab, readings=slab.readings.until(LEARN_TO_DAY)) for slab in slabs]
    usable = [slab for slab in usable if len(slab.readings.ages)]
    before, newest = usable[:-MOST], usable[-MOST:]
    learned, state = _sweeps(newest)
    believed = _believed(newest, state)
    if any(kept is not slab for kept, slab in zip_longest(believed, newest)):
        learned, _ = _sweeps(believed)
    if len(believed) >= _FEW:
        learned = replace(learned, widen=_widening(believed))
    return told_too(learned, before) if before else learned


def _believed(slabs: Sequence[PastSlab], state: _State) -> list[PastSlab]:
    """The slabs without readings far off their own curve or the other slabs."""
    found = []
    for slab, weight, belief in zip(slabs, state.weight, state.belief, strict=True):
        kept = weight[: len(slab.readings.ages)] * belief >= _BELIEVED
        found.append(slab if kept.all() else replace(slab, readings=slab.readings.only(kept)))
    return [slab for slab in found if len(slab.readings.ages)]


def told_too(learned: Learned, slabs: Sequence[PastSlab]) -> Learned:
    """Adds more slabs' messages to their recipes; the scatter was learned without them."""
    slabs = [replace(slab, readings=slab.readings.until(LEARN_TO_DAY)) for slab in slabs]
    slabs = [slab for slab in slabs if len(slab.readings.ages)]
    if not slabs:
        return learned
    priors = [learned.prior(slab.recipe) for slab in slabs]
    mean, cov = np.array([prior.mean for prior in priors]), np.array([prior.cov for prior in priors])
    center, spread = cure.solve(stack_of(slabs), mean, cov, learned.noise).moments()
    sites = likelihood(center - learned.origin, spread, mean - learned.origin, cov)
    belief = _belief(center - mean, cov)
    sites = sites[0] * belief[:, None, None], sites[1] * belief[:, None]
    told = {recipe: dict(of) for recipe, of in learned.told.items()}
    for slab, precision, information in zip(slabs, *sites, strict=True):
        told.setdefault(_name(slab), {})[slab.key] = precision, information
    return replace(learned, told=told, slabs=learned.slabs + len(slabs))


def _name(slab: PastSlab) -> str:
    """The recipe, or a unique one for a slab without."""
    return slab.recipe if slab.recipe is not None else f"\n{slab.key}"


def unlearned() -> Learned:
    """The built-in start, for a log without readings."""
    return _sweeps([])[0]


def _settled_guess(readings: Track) -> Floats:
    """The last reading extrapolated along the built-in curve."""
    return np.asarray(readings.lab[-1] - np.array(START_D) * np.exp(-readings.ages[-1] / START_TAU))


@dataclass(slots=True)
class _State:
    """State of a sweep; θ relative to the origin."""

    center: Floats
    between: Floats
    within: Floats
    noise: float
    precision: Floats  # (S, 7, 7), the slabs' likelihoods
    information: Floats  # (S, 7)
    weight: Floats  # (S, N), what each reading counts
    belief: Floats  # (S,), what each slab counts among the others


def _sweeps(slabs: Sequence[PastSlab]) -> tuple[Learned, _State]:
    names = [_name(slab) for slab in slabs]
    recipes = list(dict.fromkeys(names))
    member = np.array([[name == recipe for name in names] for recipe in recipes], float).reshape(
        len(recipes), len(slabs)
    )
    readings = stack_of(slabs)
    origin = _origin(slabs, member)
    state = _State(np.zeros(7), START_BETWEEN, START_WITHIN, 1.0,
                   np.zeros((len(slabs), 7, 7)), np.zeros((len(slabs), 7)), readings.there,
                   np.ones(len(slabs)))  # fmt: skip
    for _ in range(SWEEPS if slabs else 0):
        _sweep(state, readings, origin, member)
    told: dict[str, dict[str, tuple[Floats, Floats]]] = {recipe: {} for recipe in recipes}
    for row, (slab, name) in enumerate(zip(slabs, names, strict=True)):
        told[name][slab.key] = state.precision[row], state.information[row]
    learned = Learned(origin, state.center, state.between, state.within, state.noise, 1.0, len(slabs), told)
    return learned, state


def stack_of(slabs: Sequence[PastSlab]) -> Stack:
    """The slabs' readings, padded to one length."""
    return cure.stack([slab.readings for slab in slabs])


def _origin(slabs: Sequence[PastSlab], member: Floats) -> Floats:
    """The built-in center: final colors at the middle of the recipes' last readings."""
    final = np.array(figures.FINAL.value)
    if slabs:
        last = np.array([_settled_guess(slab.readings) for slab in slabs])
        final = np.median([np.median(last[of > 0], axis=0) for of in member], axis=0)
    return np.concatenate([final, START_D, [np.log(START_TAU)]])


def _sweep(state: _State, readings: Stack, origin: Floats, member: Floats) -> None:
    told = messages(state.precision, state.information, state.within)
    expected, spread = _cavities(state, told, member)
    prior = spread + state.within
    found = cure.solve(readings, origin + expected, prior, state.noise, state.weight, rounds=2)
    state.weight = found.weight
    mean, cov = found.moments()
    state.precision, state.information = likelihood(mean - origin, cov, expected, prior)
    _, doubt = found.colors(readings.ages)
    state.belief = np.ones(len(mean))
    _believe(state, _belief(mean - origin - expected, prior))
    _believe(state, _belief(_parted(state, member)[0], state.within))
    _maximize(state, member)
    state.noise = _noise(state.noise, readings, found, doubt)


def _cavities(state: _State, told: tuple[Floats, Floats], member: Floats) -> tuple[Floats, Floats]:
    """Each slab's recipe mean from the other slabs: (S, 7), (S, 7, 7)."""
    others = member.T @ member - np.eye(member.shape[1])
    precision = np.einsum("st,tij->sij", others, told[0])
    return joined(state.center, state.between, precision, others @ told[1])


def messages(precision: Floats, information: Floats, within: Floats) -> tuple[Floats, Floats]:
    """Messages of slabs (S, 7, 7), (S, 7) on their recipe's mean, including scatter between slabs."""
    tight = np.linalg.inv(within)
    share = tight @ np.linalg.inv(tight + precision)
    return tight - share @ tight, np.einsum("...ij,...j->...i", share, information)


def joined(mean: Floats, cov: Floats, precision: Floats, information: Floats) -> tuple[Floats, Floats]:
    """N(mean, cov) times Gaussian likelihoods (..., 7, 7), (..., 7)."""
    tight = np.linalg.inv(cov)
    spread = np.asarray(np.linalg.inv(tight + precision), np.float64)
    return np.einsum("...ij,...j->...i", spread, tight @ mean + information), spread


def likelihood(mean: Floats, cov: Floats, expected: Floats, prior: Floats) -> tuple[Floats, Floats]:
    """The Gaussian likelihood that takes prior to posterior; directions the data blur carry nothing."""
    root = np.linalg.cholesky(prior)
    inverse = np.linalg.inv(root)
    values, vectors = np.linalg.eigh(_white(cov, inverse))
    gain = np.maximum(1 / values - 1, 0.0)
    basis = np.swapaxes(inverse, -1, -2) @ vectors
    moved = np.einsum("sij,sj->si", np.swapaxes(vectors, -1, -2) @ inverse, mean - expected)
    pull = np.where(gain > 0, moved / values, 0.0)
    precision = np.einsum("sij,sj,skj->sik", basis, gain, basis)
    information = np.einsum("sij,sj->si", basis, pull) + np.einsum("sij,sj->si", precision, expected)
    return precision, information


def _white(cov: Floats, inverse: Floats) -> Floats:
    return inverse @ cov @ np.swapaxes(inverse, -1, -2)


def _belief(off: Floats, cov: Floats) -> Floats:
    """Weights of slabs or recipes off by (n, 7) among others of covariance (n, 7, 7) or (7, 7)."""
    square = np.einsum("ni,nij,nj->n", off, np.broadcast_to(np.linalg.inv(cov), (len(off), 7, 7)), off)
    return cure.redescending(square, _ODD)


def _believe(state: _State, belief: Floats) -> None:
    state.belief = state.belief * belief
    state.precision = state.precision * belief[:, None, None]
    state.information = state.information * belief[:, None]


def _maximize(state: _State, member: Floats) -> None:
    """Updated center and covariances, shrunk to the start."""
    off, blur, means, spreads = _parted(state, member)
    within = np.einsum("s,si,sj->ij", state.belief, off, off) + np.einsum("s,sij->ij", state.belief, blur)
    state.within = (within + SLABS_WORTH * START_WITHIN) / (state.belief.sum() + SLABS_WORTH)
    belief = _belief(means - state.center, state.between)
    state.center = belief @ means / (belief.sum() + 1)
    apart = means - state.center
    between = np.einsum("r,ri,rj->ij", belief, apart, apart) + np.einsum("r,rij->ij", belief, spreads)
    state.between = (between + RECIPES_WORTH * START_BETWEEN) / (belief.sum() + RECIPES_WORTH)


def _parted(state: _State, member: Floats) -> tuple[Floats, Floats, Floats, Floats]:
    """Offsets of slabs from recipe means, (S, 7) with covariance, and the means (R, 7) with theirs."""
    precision, information = messages(state.precision, state.information, state.within)
    means, spreads = joined(
        state.center, state.between, np.einsum("rs,sij->rij", member, precision), member @ information
    )
    tight = np.linalg.inv(state.within)
    own = np.linalg.inv(tight + state.precision)
    back = own @ tight - np.eye(7)
    off = np.einsum("sij,sj->si", back, member.T @ means) + np.einsum("sij,sj->si", own, state.information)
    blur = own + back @ np.einsum("rs,rij->sij", member, spreads) @ np.swapaxes(back, -1, -2)
    return off, blur, means, spreads


def _noise(noise: float, readings: Stack, found: cure.Posterior, doubt: Floats) -> float:
    """Factor (at least 1) by which readings scatter more than stated, moved one step."""
    blur = np.einsum("snii,snii->sn", doubt, (1 / (readings.variance * noise**2))[..., None] * np.eye(3))
    total = float((found.weight * (found.square + blur)).sum()) * noise**2
    count = USUAL_SQUARE * float(readings.there.sum())
    worth = USUAL_SQUARE * NOISE_WORTH
    return float(np.sqrt(max(1.0, (total + worth) / (count + worth))))


# --- do the ranges hold? ------------------------------------------------------------------------------


def _widening(slabs: Sequence[PastSlab]) -> float:
    """The least factor (at least 1) on the prior's sd with which 90 % of the ranges would have held.

    Cross-validated: everything is relearned without the held-out slabs. Tests the full range and that of L*
    alone, the largest part of a visible difference.
    """
    folds = min(FOLDS, len(slabs))
    trials = [trial for fold in range(folds) if (trial := _trial(slabs, fold, folds)) is not None]
    if not trials:
        return 1.0
    needed = next((factor for factor in LADDER if _held(trials, factor) >= HELD), LADDER[-1])
    return float(np.sqrt((needed**2 * len(slabs) + TRIALS_WORTH) / (len(slabs) + TRIALS_WORTH)))


@dataclass(frozen=True, slots=True)
class _Trial:
    """Held-out slabs: early readings with their prior, and late readings."""

    early: Stack
    late: Stack
    mean: Floats
    cov: Floats
    noise: float
    few: float


def _trial(slabs: Sequence[PastSlab], fold: int, folds: int) -> _Trial | None:
    out = [slab for row, slab in enumerate(slabs) if row % folds == fold]
    cuts = [(slab, cut) for slab in out for cut in CUTS if _can_be_tried(slab.readings, cut)]
    if not cuts:
        return None
    learned, _ = _sweeps([slab for row, slab in enumerate(slabs) if row % folds != fold])
    priors = [learned.prior(slab.recipe, (slab.key,)) for slab, _ in cuts]
    return _Trial(
        cure.stack([slab.readings.until(cut) for slab, cut in cuts]),
        cure.stack([slab.readings.since(max(LATE, cut)) for slab, cut in cuts]),
        np.array([prior.mean for prior in priors]),
        np.array([prior.cov for prior in priors]),
        learned.noise,
        few_factor(learned.slabs),
    )


def _can_be_tried(readings: Track, cut: float) -> bool:
    return bool(readings.ages[0] <= cut and readings.ages[-1] > max(LATE, cut))


def _held(trials: Sequence[_Trial], factor: float) -> float:
    """Share of trials that held, in full or in L*, whichever is less."""
    ratios = np.concatenate([_ratios(trial, factor) for trial in trials])
    return float(min(np.mean(ratios.sum(axis=1) <= CHI3_90), np.mean(ratios[:, 0] <= cure.NORMAL_90**2)))


def _ratios(trial: _Trial, factor: float) -> Floats:
    """(n, 3): squared errors of the mean late readings over the variance claimed for them."""
    found = cure.solve(trial.early, trial.mean, trial.cov * factor**2, trial.noise)
    color, cov = found.colors(trial.late.ages)
    there = trial.late.there[..., None]
    count = there.sum(axis=1)
    off = ((trial.late.lab - color) * there).sum(axis=1) / count
    claimed = (np.einsum("snii->sni", cov) * there).sum(axis=1) / count * trial.few**2 + cure.CURVE_SD**2
    noise = (trial.late.variance * there).sum(axis=1) / count**2 * trial.noise**2
    return np.asarray(off**2 / (claimed + noise))
