"""The dose for a wanted color: the mixture inverted within the pigment limits; the ladder and its refit.

Doses are percent of cementitious. Limit: total at most 10 percent of cement, and at most the smallest maximum of the
pigments in it (ASTM C979/C979M §1.4). All arithmetic is of `mixing`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

from finishlog.color.notation.space import Lab, as_lab, delta_e_2000
from finishlog.color.pigment import mixing
from finishlog.color.pigment.mixing import Mixture
from finishlog.color.priors import figures

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Floats = NDArray[np.float64]

Verdict = Literal["in reach", "out of reach", "more pigment no longer changes it"]
LADDER = (0.8, 0.9, 1.0, 1.1, 1.2)
OUT_OF_REACH = 1.5
"""ΔE00 of the best blend above which these pigments cannot reach the color."""
FULL = 0.9
"""Share of c beyond which more pigment no longer changes the color."""
LOCAL = 0.6
"""Share of the ladder's miss taken as real around it; the rest is noise."""
TRACE = 0.05
"""Percent below which a pigment is dropped if its absence would not show."""
UNSEEN = 0.1
SHOWN = 4.0
"""Least effect of a pigment on all samples, in sd of their readings; below it its dose is a guess."""
DRAWS = 500
CHI2_90 = (2.71, 4.61, 6.25)
"""The 90 % points of chi-square with one to three degrees of freedom."""


@dataclass(frozen=True, slots=True)
class Unclear:
    """Pigments (by position) the samples cannot identify, and why."""

    pigments: tuple[int, ...]
    why: Literal["in no sample", "never without the other", "no plain cement", "hardly shows"]


@dataclass(frozen=True, slots=True)
class Blend:
    """Doses in percent, predicted color with its sd, and the ΔE00 that contains it 9 times in 10."""

    doses: tuple[float, ...]
    lab: Lab
    lab_sd: Lab
    de00: float
    radius90_de00: float
    verdict: Verdict


@dataclass(frozen=True, slots=True)
class Rung:
    """One test sample of a ladder: the wanted doses times `factor`, and the expected color."""

    factor: float
    doses: tuple[float, ...]
    lab: Lab


def unidentified(doses: ArrayLike, saturation: float = figures.SATURATION.one) -> tuple[Unclear, ...]:
    """Pigments that samples with these doses (n, pigments) can never identify, whatever their colors.

    A pigment in no sample; pigments always in one ratio; a cement never seen without pigment.
    """
    d = np.atleast_2d(np.asarray(doses, float))
    absent = [i for i in range(d.shape[1]) if not (d[:, i] > 0).any()]
    found = [Unclear((i,), "in no sample") for i in absent]
    present = [i for i in range(d.shape[1]) if i not in absent]
    design = np.column_stack([np.ones(len(d)), mixing.effective(d, [saturation])[0][:, present]])
    design /= np.linalg.norm(design, axis=0)
    _, sizes, turns = np.linalg.svd(design)
    for turn in turns[int((sizes > 0.02).sum()) :]:
        held = tuple(present[i] for i in range(len(present)) if abs(turn[i + 1]) > 0.1)
        why: Literal["no plain cement", "never without the other"]
        why = "no plain cement" if abs(turn[0]) > 0.1 else "never without the other"
        if held:
            found.append(Unclear(held, why))
    return tuple(found)


def hardly_shown(mixture: Mixture, doses: ArrayLike, sd: ArrayLike) -> tuple[Unclear, ...]:
    """Pigments whose effect is below the readings' error: `doses` (n, pigments), `sd` (n, 3)."""
    d = np.asarray(doses, float)
    lab = mixing.predict(mixture, d)
    found = []
    for i in range(mixture.pigments):
        without = mixing.predict(mixture, d * (np.arange(mixture.pigments) != i))
        if np.linalg.norm((lab - without) / np.asarray(sd, float)) < SHOWN:
            found.append(Unclear((i,), "hardly shows"))
    return tuple(found)


def solve(
    mixture: Mixture,
    target: Sequence[float],
    maxima: Sequence[float] | None = None,
    limit: float = 10.0,
    usable: Sequence[bool] | None = None,
) -> Blend:
    """The blend nearest to `target` (L*a*b*).

    `maxima` is each pigment's own maximum in percent, `limit` the most of all together, `usable` which may go in;
    None: no maxima, all. A blend keeps to the smallest maximum of what is in it, so each possible one is tried.
    """
    most = np.minimum(
        np.full(mixture.pigments, np.inf) if maxima is None else np.asarray(maxima, float), limit
    )
    may = np.ones(mixture.pigments, bool) if usable is None else np.asarray(usable, bool)
    found = [_best(mixture, target, may & (most >= level), float(level)) for level in np.unique(most[may])]
    doses = min(found, key=lambda each: _off(mixture, each, target) + 0.02 * float(np.linalg.norm(each)))
    return at(mixture, doses, target)


def at(mixture: Mixture, doses: ArrayLike, target: Sequence[float]) -> Blend:
    """The prediction for these doses (pigments,) against `target`."""
    return _blend(mixture, np.asarray(doses, float), target)


def ladder(mixture: Mixture, doses: Sequence[float], limit: float = 10.0) -> tuple[Rung, ...]:
    """The samples to pour around a blend, all pigments by one factor; none over `limit` percent in all."""
    some = np.asarray(doses, float)
    factors = [factor for factor in LADDER if factor * some.sum() <= limit + 1e-9]
    rungs = np.array([factor * some for factor in factors])
    labs = mixing.predict(mixture, rungs)
    return tuple(
        Rung(factor, tuple(map(float, rung)), as_lab(lab))
        for factor, rung, lab in zip(factors, rungs, labs, strict=True)
    )


def settled(mixture: Mixture, doses: ArrayLike, lab: ArrayLike) -> Mixture:
    """The mixture refitted with a ladder's samples, shifted by its remaining miss."""
    missed = np.asarray(lab, float) - mixing.predict(mixture, doses)
    return mixture.shifted(LOCAL * missed.mean(axis=0))


def moved_by_sample(
    mixture: Mixture, old: tuple[Sequence[float], ArrayLike], sample: tuple[Sequence[float], ArrayLike]
) -> Mixture:
    """The mixture anchored at an old slab, shifted by a sample of another lot or cement; percent, L*a*b*.

    At the old doses it gives the old color; part of the sample's offset from that is taken as real, as with
    a ladder. So a sample that matches the old slab shifts nothing.
    """
    at_old, at_sample = (np.asarray(lab, float) - predict_one(mixture, d) for d, lab in (old, sample))
    return mixture.shifted(at_old + LOCAL * (at_sample - at_old))


def predict_one(mixture: Mixture, doses: Sequence[float]) -> Floats:
    """L*a*b* (3,) of one set of doses."""
    return np.asarray(mixing.predict(mixture, [list(doses)])[0])


def tells(change: ArrayLike, covariance: ArrayLike, ways: int = 3) -> bool:
    """Whether a color change (3,) exceeds the reading's uncertainty (3, 3) 9 times in 10.

    `ways` is its degrees of freedom: one per pigment, three at most.
    """
    step = np.asarray(change, float)
    far = float(step @ np.linalg.solve(np.asarray(covariance, float), step))
    return far > CHI2_90[min(ways, 3) - 1]


def _best(mixture: Mixture, target: Sequence[float], allowed: NDArray[np.bool_], limit: float) -> Floats:
    """Doses of the allowed pigments within `limit`; a trace is dropped if it would not show."""
    doses = _nearest(mixture, target, allowed, limit)
    kept = doses >= TRACE
    if kept.any() and (doses[~kept] > 0).any():
        fewer = _nearest(mixture, target, kept, limit)
        if _off(mixture, fewer, target) <= _off(mixture, doses, target) + UNSEEN:
            return fewer
    return doses


def _nearest(mixture: Mixture, target: Sequence[float], allowed: NDArray[np.bool_], limit: float) -> Floats:
    from scipy.optimize import least_squares

    scale, wanted = _metric(target), np.asarray(target, float)
    place = np.flatnonzero(allowed)

    def whole(part: Floats) -> Floats:
        doses = np.zeros(mixture.pigments)
        doses[place] = part
        return doses

    def off(part: Floats) -> Floats:
        lab = mixing.predict(mixture, whole(part)[None])[0]
        return np.concatenate([scale @ (lab - wanted), 0.02 * part, [5 * max(0.0, part.sum() - limit)]])

    def slope(part: Floats) -> Floats:
        turn = mixing.predict_with_slope(mixture, whole(part))[1][:, place]
        over = 5.0 * np.ones((1, len(place))) * (part.sum() > limit)
        return np.concatenate([scale @ turn, 0.02 * np.eye(len(place)), over])

    starts = [np.full(len(place), share * limit / len(place)) for share in (0.1, 0.35, 0.8)]
    tries = [least_squares(off, start, slope, bounds=(0, limit), xtol=1e-6, ftol=1e-6) for start in starts]
    found = np.asarray(min(tries, key=lambda each: each.cost).x, float)
    found[found < 1e-3] = 0.0
    return whole(found * min(1.0, (1 - 1e-12) * limit / max(found.sum(), 1e-9)))


def _metric(target: Sequence[float]) -> Floats:
    """L*a*b* steps at the target as ΔE00 parts, (3, 3): lightness, chroma, hue."""
    L, a, b = (float(part) for part in target)
    chroma = float(np.hypot(a, b))
    along = np.array([a, b]) / chroma if chroma > 1e-6 else np.array([1.0, 0.0])
    light = 1 + 0.015 * (L - 50) ** 2 / np.sqrt(20 + (L - 50) ** 2)
    return np.array(
        [
            [1 / light, 0.0, 0.0],
            [0.0, *(along / (1 + 0.045 * chroma))],
            [0.0, *(np.array([-along[1], along[0]]) / (1 + 0.015 * chroma))],
        ]
    )


def _off(mixture: Mixture, doses: Floats, target: Sequence[float]) -> float:
    return float(delta_e_2000(mixing.predict(mixture, doses[None])[0], target))


def _blend(mixture: Mixture, doses: Floats, target: Sequence[float]) -> Blend:
    lab = mixing.predict(mixture, doses[None])[0]
    sd = mixing.predicted_sd(mixture, doses)[0]
    de00 = float(delta_e_2000(lab, target))
    drawn = lab + sd * np.random.default_rng(0).normal(size=(DRAWS, 3))
    radius = float(np.quantile(delta_e_2000(drawn, lab), 0.9))
    verdict: Verdict = "in reach"
    if de00 > OUT_OF_REACH:
        verdict = "out of reach"
    elif doses.sum() > FULL * mixture.saturation:
        verdict = "more pigment no longer changes it"
    return Blend(tuple(map(float, doses)), as_lab(lab), as_lab(sd), de00, radius, verdict)
