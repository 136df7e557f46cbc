"""How the two levels are learned: six EM-like sweeps from the built-in start.

Both covariances are shrunk to the start as if it were 6 slabs and 3 recipes, the noise to what is stated.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

import numpy as np

from finishlog.color.aging import cure, levels
from finishlog.color.aging.cure import Stack
from finishlog.color.aging.levels import (
    NOISE_WORTH,
    RECIPES_WORTH,
    SLABS_WORTH,
    START_BETWEEN,
    START_WITHIN,
    Learned,
    PastSlab,
    joined,
    likelihood,
    messages,
)

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

USUAL_SQUARE = 2.463
"""Expected weight × square of a reading that scatters just as stated: of min(1, 8/(5+z))·z, z ~ χ²₃."""
LEAST_NOISE = 0.5
"""Readings are believed to scatter no less than half of what is stated: what is left may be a shared error."""
CORRELATIONS_WORTH = 30.0
SWEEPS = 6


@dataclass(slots=True)
class State:
    """State of a sweep; θ relative to the origin. `lead` (R, 7): what is expected of each recipe beyond the center."""

    center: Floats
    between: Floats
    within: Floats
    noise: float
    lead: Floats
    precision: Floats  # (S, 7, 7), the slabs' likelihoods
    information: Floats  # (S, 7)
    weight: Floats  # (S, N), what each reading counts
    belief: Floats  # (S,), what each slab counts among the others


def swept(slabs: Sequence[PastSlab]) -> tuple[Learned, State]:
    """What these slabs teach, not yet widened, and the state of the last sweep. No slabs: the start."""
    names = [slab.name for slab in slabs]
    recipes = list(dict.fromkeys(names))
    member = np.array([[name == recipe for name in names] for recipe in recipes], float).reshape(
        len(recipes), len(slabs)
    )
    readings = levels.stack_of(slabs)
    origin, ahead_of = _origin(slabs, member), leads(slabs)
    ahead = np.zeros((len(recipes), 7))
    ahead[:, 3] = [ahead_of.get(recipe, 0.0) for recipe in recipes]
    state = State(np.zeros(7), START_BETWEEN, START_WITHIN, 1.0, ahead,
                  np.zeros((len(slabs), 7, 7)), np.zeros((len(slabs), 7)), readings.there,
                  np.ones(len(slabs)))  # fmt: skip
    for _ in range(SWEEPS if slabs else 0):
        _sweep(state, readings, origin, member)
    told: dict[str, dict[str, tuple[Floats, Floats]]] = {recipe: {} for recipe in recipes}
    for row, (slab, name) in enumerate(zip(slabs, names, strict=True)):
        told[name][slab.key] = state.precision[row], state.information[row]
    learned = Learned(
        origin, state.center, state.between, state.within, state.noise, 1.0, len(slabs), told, ahead_of
    )
    return learned, state


def leads(slabs: Sequence[PastSlab]) -> dict[str, float]:
    """By recipe what the mean of its known doses adds to the D of L*."""
    doses: dict[str, list[float]] = {}
    for slab in slabs:
        if slab.dose is not None:
            doses.setdefault(slab.name, []).append(slab.dose)
    return {name: levels.lead(float(np.mean(of))) for name, of in doses.items()}


def _origin(slabs: Sequence[PastSlab], member: Floats) -> Floats:
    """The built-in center: final colors at the middle of the recipes' last readings."""
    origin = levels.unlearned().origin
    if slabs:
        last = np.array([levels.settled_guess(slab.readings) for slab in slabs])
        origin[:3] = np.median([np.median(last[of > 0], axis=0) for of in member], axis=0)
    return origin


def _sweep(state: State, readings: Stack, origin: Floats, member: Floats) -> None:
    told = messages(state.precision, state.information, state.within)
    expected, spread = _cavities(state, told, member)
    prior = spread + state.within
    found = cure.solve(readings, origin + expected, prior, state.noise, state.weight, rounds=2)
    state.weight = found.weight
    mean, cov = found.moments()
    state.precision, state.information = likelihood(mean - origin, cov, expected, prior)
    _, doubt = found.colors(readings.ages)
    state.belief = np.ones(len(mean))
    _believe(state, levels.belief(mean - origin - expected, prior))
    _believe(state, levels.belief(_parted(state, member)[0], state.within))
    _maximize(state, member)
    state.noise = _noise(state.noise, readings, found, doubt)


def _cavities(state: State, told: tuple[Floats, Floats], member: Floats) -> tuple[Floats, Floats]:
    """Each slab's recipe mean from the other slabs: (S, 7), (S, 7, 7)."""
    others = member.T @ member - np.eye(member.shape[1])
    precision = np.einsum("st,tij->sij", others, told[0])
    return joined(state.center + member.T @ state.lead, state.between, precision, others @ told[1])


def _believe(state: State, belief: Floats) -> None:
    state.belief = state.belief * belief
    state.precision = state.precision * belief[:, None, None]
    state.information = state.information * belief[:, None]


def _maximize(state: State, member: Floats) -> None:
    """Updated center and covariances, shrunk to the start."""
    off, blur, means, spreads = _parted(state, member)
    within = np.einsum("s,si,sj->ij", state.belief, off, off) + np.einsum("s,sij->ij", state.belief, blur)
    state.within = _shrunk(within, state.belief.sum(), START_WITHIN, SLABS_WORTH)
    own = means - state.lead
    belief = levels.belief(own - state.center, state.between)
    state.center = belief @ own / (belief.sum() + 1)
    apart = own - state.center
    between = np.einsum("r,ri,rj->ij", belief, apart, apart) + np.einsum("r,rij->ij", belief, spreads)
    state.between = _shrunk(between, belief.sum(), START_BETWEEN, RECIPES_WORTH)


def _shrunk(total: Floats, number: float, start: Floats, worth: float) -> Floats:
    """A covariance (7, 7) from a sum of squares, shrunk to the start, its correlations further to none.

    Seven numbers have 21 correlations: what few slabs happen to show of them makes every range too narrow.
    """
    found = (total + worth * start) / (number + worth)
    own = np.diag(np.diag(found))
    return np.asarray(own + (found - own) * (number + worth) / (number + worth + CORRELATIONS_WORTH))


def _parted(state: State, member: Floats) -> tuple[Floats, Floats, Floats, Floats]:
    """Offsets of slabs from recipe means, (S, 7) with covariance, and the means (R, 7) with theirs."""
    precision, information = messages(state.precision, state.information, state.within)
    means, spreads = joined(
        state.center + state.lead, state.between,
        np.einsum("rs,sij->rij", member, precision), member @ information,
    )  # fmt: skip
    tight = np.linalg.inv(state.within)
    own = np.linalg.inv(tight + state.precision)
    back = own @ tight - np.eye(7)
    off = np.einsum("sij,sj->si", back, member.T @ means) + np.einsum("sij,sj->si", own, state.information)
    blur = own + back @ np.einsum("rs,rij->sij", member, spreads) @ np.swapaxes(back, -1, -2)
    return off, blur, means, spreads


def _noise(noise: float, readings: Stack, found: cure.Posterior, doubt: Floats) -> float:
    """Factor by which readings scatter more or less than stated, shrunk to 1, moved one step."""
    blur = np.einsum("snii,snii->sn", doubt, (1 / (readings.variance * noise**2))[..., None] * np.eye(3))
    total = float((found.weight * (found.square + blur)).sum()) * noise**2
    count = float((readings.there * usual_square(blur / 3)).sum())
    worth = USUAL_SQUARE * NOISE_WORTH
    return max(LEAST_NOISE, float(np.sqrt((total + worth) / (count + worth))))


def usual_square(leverage: Floats) -> Floats:
    """Expected weight × (square + doubt) of a reading that scatters just as stated, by its leverage 0 to 1.

    The curve follows the reading: of χ²₃ only 1 - leverage is seen in its square, and it is weighed by that. At
    leverage 0 it is `USUAL_SQUARE`.
    """
    return np.asarray(np.interp(leverage, *_usual_squares()))


@cache
def _usual_squares() -> tuple[Floats, Floats]:
    """The same at 41 leverages, by the midpoint rule over χ²₃."""
    z = (np.arange(8000) + 0.5) / 200
    density = np.sqrt(z) * np.exp(-z / 2)
    density /= density.sum()
    leverage = np.linspace(0.0, 1.0, 41)
    seen = (1 - leverage[:, None]) * z
    return leverage, (cure.counted(seen, absurd=False) * (seen + 3 * leverage[:, None])) @ density
