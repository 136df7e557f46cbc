"""Release left from one frame on rinse day, and how it will look at the final color.

Wet and new, base and release color look alike, so the field alone is not enough. Three dried spots in one
frame are: the field S, a fully rinsed patch B, an unrinsed patch A. Only differences within the frame count,
since errors of light and tone are common to all three. f is the share of the surface where the release stays,
0 to 1. The figures are from simulation; there are no field data.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

from finishlog.color.aging.cure import ODD, redescending
from finishlog.color.notation.space import Lab, as_lab, delta_e_2000, lab_to_xyz, xyz_to_lab
from finishlog.color.priors import figures

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

Verdict = Literal["clear", "rough", "cannot tell"]
Why = Literal["", "too close", "off the line", "outside", "no photo", "no patches", "habit only"]
UNRINSED = figures.UNRINSED.one
"""Share of an unrinsed patch that release really covers."""
DRY_SD, DAMP_SD = figures.DRY_PATCH.one_sd, figures.DAMP_PATCH.one_sd
"""Default sd of one patch within its frame, each of L*, a*, b*, without repeats."""
FRAME_SD = figures.FRAME.sd
"""Common error of a frame, L*, a*, b*: cancels between its patches, never against a library color."""
USUAL, USUAL_SD = figures.RELEASE_LEFT.one, figures.RELEASE_LEFT.one_sd
"""Release left if the crew's habit is unknown."""
MODEL_SD = figures.LEFT_MODEL.one_sd
CLEAR, ROUGH = 0.05, 0.10
TOO_LITTLE = 0.15
"""Sd of f from the frame alone beyond which the answer would be the habit's, not the frame's."""
SURE = 0.8
"""Rinsing cannot be undone: advise more only from this chance of having more left than wanted."""
LINE_LIMIT = 9.2
"""χ² of two degrees of freedom, one in a hundred."""
OUTSIDE = 0.15
DRAWS = 2000
FEWEST = 3
"""Fewest slabs at their final color for using the crew's own habit."""
_ROUNDS = 40
_GRID = np.arange(0, 1.0001, 0.005)
_WIDE = np.arange(-1, 2.0001, 0.005)


@dataclass(frozen=True, slots=True)
class Patch:
    """A color of the frame, L*a*b*, and the sd of each axis within the frame.

    `library`: known from elsewhere, not this frame, so the frame's error does not cancel.
    """

    lab: Lab
    sd: Lab
    library: bool = False


@dataclass(frozen=True, slots=True)
class Habit:
    """What the crew usually leaves: mean and sd, 0 to 1, learned from `slabs`.

    `measured` of them were read off a photo when settled; the others are as logged, by eye.
    """

    mean: float = USUAL
    sd: float = USUAL_SD
    slabs: int = 0
    measured: int = 0


@dataclass(frozen=True, slots=True)
class Left:
    """Release left, 0 to 1: mean, sd, the middle 90 percent; `chances` over `grid` for what is asked next."""

    mean: float
    sd: float
    range90: tuple[float, float]
    verdict: Verdict
    why: Why
    chances: tuple[float, ...]

    def chance_above(self, target: float) -> float:
        """Probability that more is left than `target`, 0 to 1."""
        return float(np.asarray(self.chances)[target < _GRID].sum())


@dataclass(frozen=True, slots=True)
class Known:
    """A forecast color: mean L*a*b* and its covariance (3, 3) as rows."""

    lab: Lab
    covariance: tuple[Lab, Lab, Lab]


@dataclass(frozen=True, slots=True)
class Seen:
    """A color to come: mean, sd, and the middle 90 percent of each axis."""

    lab: Lab
    sd: Lab
    low90: Lab
    high90: Lab


@dataclass(frozen=True, slots=True)
class Settled:
    """The finish at its final color: base, release color, the field as a whole, and their contrast (ΔE00)."""

    base: Seen
    release: Seen
    field: Seen
    contrast_de00: float
    contrast90: tuple[float, float]


def learn(left: Sequence[float], usual: float = USUAL, sd: Sequence[float] | float = 0.0) -> Habit:
    """The crew's habit from what settled slabs showed, 0 to 1 each, with each one's own sd; the `usual` one below
    `FEWEST`.

    Each slab N(habit's mean, habit's sd), each value N(slab, its sd), by EM: a vague value tells less, and its
    vagueness is no scatter of the crew's. The usual habit counts as two slabs, so that three alike do not look like
    certainty.
    """
    if len(left) < FEWEST:
        return Habit(usual, USUAL_SD, len(left))
    return Habit(*pooled(left, sd, usual, USUAL_SD), len(left))


def pooled(
    values: Sequence[float], sd: Sequence[float] | float, usual: float, usual_sd: float
) -> tuple[float, float]:
    """Predictive mean and sd for the next one from `values` with `sd`; the usual counts as two, by EM.

    An outlier against the others and the usual is ignored; the sd never exceeds the usual one.
    """
    seen, own = np.asarray(values, float), np.broadcast_to(np.square(np.asarray(sd, float)), (len(values),))
    mean, spread = usual, usual_sd**2
    for _ in range(_ROUNDS):
        belief = redescending((seen - mean) ** 2 / (spread + own), ODD)
        trust = spread / (spread + own)
        each = mean + trust * (seen - mean)
        n = 2 + float(belief.sum())
        mean = (2 * usual + float((belief * each).sum())) / n
        off = (each - mean) ** 2 + trust * own
        spread = min((2 * usual_sd**2 + float((belief * off).sum())) / n, usual_sd**2)
    told = float((belief * spread / (spread + own)).sum())
    return mean, float(min(np.sqrt(spread * (1 + 1 / max(told, 1e-9))), usual_sd))


def from_habit(habit: Habit, seen: bool = False) -> Left:
    """Release left without a usable photo: never clear; "cannot tell" unless the crew's own habit is narrow.

    `seen`: a photo without anything to compare the field with; then always "cannot tell".
    """
    chances = _spread(_prior(habit))
    mean, sd = habit.mean, float(np.hypot(habit.sd, MODEL_SD))
    if habit.slabs >= FEWEST and sd < ROUGH and not seen:
        return _left(chances, "rough", "habit only", mean, sd)
    return _left(chances, "cannot tell", "no patches" if seen else "no photo", mean, sd)


def estimate(field: Patch, rinsed: Patch, unrinsed: Patch, habit: Habit) -> Left:
    """Release left from the three colors: the posterior over f in steps of .005, in linear light.

    e = S - Lab[(1-f) B + f (B + (A - B)/.97)] in XYZ, C = C_S + (1-f)² C_B + f² C_A. Where B or A is from a library
    the verdict also needs the frame itself to tell, not the crew's habit alone; where both are it cannot. Nor is it
    surer because the field happens to lie near an end: what is cut off at 0 or 1 counts as open there.
    """
    chi, size = _misfit(field, rinsed, unrinsed, _GRID)
    chances = _spread(_normal(-0.5 * chi - 0.5 * size + np.log(_prior(habit))))
    mean, sd = _moments(chances)
    why = _trouble(field, rinsed, unrinsed) or _silent(rinsed, unrinsed, _alone(chi, size))
    if why and (rinsed.library or unrinsed.library):
        why = "no patches"  # a color from elsewhere may be the error: fix that first
    if why:
        return _left(chances, "cannot tell", why, mean, sd)
    told = max(sd, _uncut(field, rinsed, unrinsed, habit))
    verdict: Verdict = "clear" if told < CLEAR else "rough" if told < ROUGH else "cannot tell"
    return _left(chances, verdict, "too close" if verdict == "cannot tell" else "", mean, sd)


def settle(left: Left, base: Known, release: Known, seed: int = 0) -> Settled:
    """The final look from draws of f, the forecast base and the release color, which does not change."""
    rng = np.random.default_rng(seed)
    share = rng.choice(_GRID, DRAWS, p=np.asarray(left.chances))
    return _settled(share, _drawn(base, rng), _drawn(release, rng))


def settle_at(share: float, base: Known, release: Known, seed: int = 0) -> Settled:
    """The same for one share f of release left, 0 to 1: a rung of the ladder."""
    rng = np.random.default_rng(seed)
    return _settled(np.full(DRAWS, share), _drawn(base, rng), _drawn(release, rng))


def mixed(share: float, base: Sequence[float], release: Sequence[float]) -> Lab:
    """The field as a whole, L*a*b*: base and release color mixed in linear light, f = `share`."""
    return as_lab(_mix(np.array([share]), np.array([base]), np.array([release]))[0])


def _misfit(field: Patch, rinsed: Patch, unrinsed: Patch, grid: Floats) -> tuple[Floats, Floats]:
    """eᵀC⁻¹e and log|C| along the grid."""
    b, a = lab_to_xyz(rinsed.lab), lab_to_xyz(unrinsed.lab)
    line = xyz_to_lab(np.maximum(b + grid[:, None] * (a - b) / UNRINSED, 1e-6))
    off = np.asarray(field.lab) - line
    variance = (
        _within(field) + (1 - grid[:, None]) ** 2 * _within(rinsed) + grid[:, None] ** 2 * _within(unrinsed)
    )
    alien = (1 - grid) * rinsed.library + grid * unrinsed.library
    variance += alien[:, None] ** 2 * np.square(FRAME_SD)
    return (off**2 / variance).sum(axis=1), np.log(variance).sum(axis=1)


def _within(patch: Patch) -> Floats:
    return np.asarray(np.square(np.asarray(patch.sd, float)))


def _trouble(field: Patch, rinsed: Patch, unrinsed: Patch) -> Why:
    """Why the three are inconsistent: the field is off the mixing line, or beyond its ends."""
    chi, _ = _misfit(field, rinsed, unrinsed, _WIDE)
    if chi.min() > LINE_LIMIT:
        return "off the line"
    at = float(_WIDE[int(chi.argmin())])
    within = chi[(_WIDE >= -OUTSIDE) & (_WIDE <= 1 + OUTSIDE)].min()
    # Three nearly equal colors project anywhere: then it is the contrast that is missing, not the field.
    if not -OUTSIDE <= at <= 1 + OUTSIDE and within - chi.min() > 1:
        return "outside"
    return ""


def _silent(rinsed: Patch, unrinsed: Patch, alone: float) -> Why:
    """Whether the frame alone is too weak, so that a narrow habit would decide."""
    if rinsed.library and unrinsed.library:
        return "no patches"  # no difference within the frame: with little release the habit would answer
    if rinsed.library or unrinsed.library:
        return "no patches" if alone >= ROUGH else ""
    return "too close" if alone >= TOO_LITTLE else ""


def _alone(chi: Floats, size: Floats) -> float:
    """Sd of f from the frame alone."""
    return _moments(_normal(-0.5 * chi - 0.5 * size))[1]


def _uncut(field: Patch, rinsed: Patch, unrinsed: Patch, habit: Habit) -> float:
    """Sd of f without clipping at 0 and 1, where a chance error would look certain."""
    chi, size = _misfit(field, rinsed, unrinsed, _WIDE)
    sd = _moments(_normal(-0.5 * (chi + size + ((_WIDE - habit.mean) / habit.sd) ** 2)), _WIDE)[1]
    return float(np.hypot(sd, MODEL_SD))


def _prior(habit: Habit) -> Floats:
    return np.asarray(np.exp(-0.5 * ((_GRID - habit.mean) / habit.sd) ** 2))


def _normal(log: Floats) -> Floats:
    chances = np.exp(log - log.max())
    return np.asarray(chances / chances.sum())


def _spread(chances: Floats) -> Floats:
    """The model's own error in quadrature: each chance smeared by `MODEL_SD`, kept within 0 to 1."""
    kernel = np.exp(-0.5 * ((_GRID[:, None] - _GRID[None]) / MODEL_SD) ** 2)
    smeared = (kernel / kernel.sum(axis=0)) @ chances
    return np.asarray(smeared / smeared.sum())


def _moments(chances: Floats, grid: Floats = _GRID) -> tuple[float, float]:
    mean = float(chances @ grid)
    return mean, float(np.sqrt(chances @ (grid - mean) ** 2))


def _left(chances: Floats, verdict: Verdict, why: Why, mean: float, sd: float) -> Left:
    summed = np.cumsum(chances)
    low, high = (float(_GRID[int(np.searchsorted(summed, p))]) for p in (0.05, 0.95))
    return Left(mean, sd, (low, high), verdict, why, tuple(map(float, chances)))


def _drawn(known: Known, rng: np.random.Generator) -> Floats:
    return rng.multivariate_normal(known.lab, known.covariance, DRAWS, method="svd")


def _mix(share: Floats, base: Floats, release: Floats) -> Floats:
    b, a = lab_to_xyz(base), lab_to_xyz(release)
    return xyz_to_lab(b + share[:, None] * (a - b))


def _settled(share: Floats, base: Floats, release: Floats) -> Settled:
    contrast = delta_e_2000(base, release)
    low, high = (float(value) for value in np.quantile(contrast, (0.05, 0.95)))
    return Settled(
        _seen(base), _seen(release), _seen(_mix(share, base, release)), float(contrast.mean()), (low, high)
    )


def _seen(drawn: Floats) -> Seen:
    low, high = np.quantile(drawn, (0.05, 0.95), axis=0)
    return Seen(as_lab(drawn.mean(axis=0)), as_lab(drawn.std(axis=0)), as_lab(low), as_lab(high))
