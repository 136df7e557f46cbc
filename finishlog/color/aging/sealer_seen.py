"""A coat that nobody logged, noticed in the readings: darker and deeper at once, and it stays so.

From each reading on, three stories are weighed: the bare curve that the readings before it expect, the same curve
under a sealer (`COAT`), and a change of any other kind. An odd reading that the next one takes back fits
none. All L*a*b*, D65, 2°.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from finishlog.color.aging import cure
from finishlog.color.aging.cure import CURVE_SD, LEARN_TO_DAY, Posterior, Prior, Track
from finishlog.color.aging.weathering import Look, Pace, effective_years, sealed_colors
from finishlog.color.priors import figures

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

COAT = Look(np.log(figures.COAT.value), np.array(figures.COAT.sd))
"""What a coat may do, whichever sealer it is: log factors on Y and chroma with their sd."""
SURE = figures.COAT_SURE.one
"""Log of how much likelier the sealed story has to be."""
_OTHER_LIKELY = -0.5
"""Log of how likely another change is, beside a bare slab and a coat. From memory."""
NEARLY = 1.5
"""The first reading whose story is so nearly (log) as likely as the best begins it: a coat lies from then on."""
GAP_DAYS = 200.0
"""A coat is told from dirt and weather where two readings are no farther apart. From memory."""
AFTER, _AT_ONCE = 6, 256
"""Readings after a cut that are looked at, and cuts held in memory together."""
_TAIL = 4.0
"""Degrees of freedom of both stories: one odd reading alone decides nothing."""
_OTHER_SD = np.array(figures.OTHER_CHANGE.sd)
"""L*a*b* sd of whatever else may change a slab for good."""
_NOWHERE = 1e8
"""Variance of a reading that is not there."""


@dataclass(frozen=True, slots=True)
class _Later:
    """For P cuts, what the readings before expect of the M after: lab and seen (P, M, 3), cov (P, 3M, 3M),
    own (P, M, 3) the later readings' variance."""

    lab: Floats
    seen: Floats
    cov: Floats
    own: Floats


def first_sealed(tracks: Sequence[Track], priors: Sequence[Prior], pace: Pace) -> list[int | None]:
    """For each slab the place of the first reading, in order of age, from which it looks sealed; None: it does not.

    A slab's `track` holds all its readings called dry and bare, late ones too. It needs two.
    """
    found = _found(tracks, priors, pace)
    for row, first in enumerate(found):
        if first is not None and cure.fit(tracks[row], priors[row]).unlike:
            found[row] = _found([tracks[row]], [_of_any_color(priors[row])], pace)[0]
    return found


def _of_any_color(prior: Prior) -> Prior:
    """A slab that may have come out of another color from the start, and lightens as expected."""
    cov = prior.cov.copy()
    cov[:3, :3] += np.diag(_OTHER_SD**2)
    return replace(prior, cov=cov)


def _found(tracks: Sequence[Track], priors: Sequence[Prior], pace: Pace) -> list[int | None]:
    cuts = [(row, cut) for row, one in enumerate(tracks) for cut in _cuts(one)]
    odds: dict[int, list[tuple[int, float]]] = {}
    for start in range(0, len(cuts), _AT_ONCE):
        some = cuts[start : start + _AT_ONCE]
        later = _expected([(tracks[row], cut) for row, cut in some], [priors[row] for row, _ in some], pace)
        for (row, cut), sure in zip(some, _log_odds(later), strict=True):
            odds.setdefault(row, []).append((cut, float(sure)))
    return [_first(odds.get(row, ())) for row in range(len(tracks))]


def _first(odds: Sequence[tuple[int, float]]) -> int | None:
    best = max((sure for _, sure in odds), default=0.0)
    return next(cut for cut, sure in odds if sure >= best - NEARLY) if best > SURE else None


def _cuts(one: Track) -> list[int]:
    """The readings that may be the first on a coat: over a longer gap dirt and weather may have done the same."""
    return [cut for cut in range(1, len(one.ages)) if one.ages[cut] - one.ages[cut - 1] <= GAP_DAYS]


def _expected(cuts: Sequence[tuple[Track, int]], priors: Sequence[Prior], pace: Pace) -> _Later:
    before = [_part(one, slice(0, cut)).until(LEARN_TO_DAY) for one, cut in cuts]
    after = cure.stack([_part(one, slice(cut, cut + AFTER)) for one, cut in cuts])
    noise = np.array([p.noise for p in priors])[:, None, None]
    widen = np.array([p.widen for p in priors])[:, None, None]
    posterior = cure.solve(
        cure.stack(before),
        np.array([p.mean for p in priors]),
        np.array([p.cov for p in priors]),
        priors[0].noise,
    )
    lab, joint = _joint(posterior, np.minimum(after.ages, LEARN_TO_DAY))
    years = np.where(after.ages > LEARN_TO_DAY, effective_years(after.ages), 0.0)
    worn = np.einsum("pm,pn,ij->pminj", years, years, np.diag(pace.sd**2)).reshape(joint.shape)
    cov = joint * widen**2 + worn + np.diag(np.tile(CURVE_SD**2, after.ages.shape[1]))
    there = after.there[..., None] > 0
    lab = lab + years[..., None] * pace.mean
    return _Later(
        lab, np.where(there, after.lab, lab), cov, np.where(there, after.variance * noise**2, _NOWHERE)
    )


def _part(one: Track, rows: slice) -> Track:
    return Track(one.ages[rows], one.lab[rows], one.sd[rows])


def _joint(made: Posterior, ages: Floats) -> tuple[Floats, Floats]:
    """L*a*b* at ages (P, M): mean (P, M, 3) and the covariance of all together (P, 3M, 3M)."""
    fade = np.exp(-ages[:, None] / np.exp(made.log_tau)[..., None])
    each = made.mean[..., None, :3] + fade[..., None] * made.mean[..., None, 3:]
    center = np.einsum("pk,pkmi->pmi", made.share, each)
    off = each - center[:, None]
    final, start = made.cov[..., :3, :3], made.cov[..., 3:, 3:]
    across = made.cov[..., :3, 3:]
    share = made.share
    spread = (
        np.einsum("pk,pkij->pij", share, final)[:, None, :, None, :]
        + np.einsum("pk,pkn,pkij->pnij", share, fade, across).transpose(0, 2, 1, 3)[:, None]
        + np.einsum("pk,pkm,pkji->pmij", share, fade, across)[:, :, :, None, :]
        + np.einsum("pk,pkm,pkn,pkij->pminj", share, fade, fade, start)
        + np.einsum("pk,pkmi,pknj->pminj", share, off, off)
    )
    size = 3 * ages.shape[1]
    return center, spread.reshape(len(ages), size, size)


def _log_odds(later: _Later) -> Floats:
    """Log likelihood (P,) of the sealed story over the better of the other two."""
    sealed = sealed_colors(COAT, later.lab)
    g, c = np.exp(COAT.log_factors[0] / 3), np.exp(COAT.log_factors[1])
    turn = np.tile((g, c, c), later.lab.shape[1])
    light, deep = np.zeros_like(sealed), sealed * (0.0, COAT.sd[1], COAT.sd[1])
    light[..., 0] = (sealed[..., 0] + 16) / 3 * COAT.sd[0]
    coat = later.cov * turn[:, None] * turn + _square(light) + _square(deep)
    off, count = later.seen - later.lab, later.lab.shape[1]
    other = later.cov + np.tile(np.diag(_OTHER_SD**2), (count, count))
    is_sealed = _log_t(later.seen - sealed, coat, later.own)
    return is_sealed - np.maximum(
        _log_t(off, later.cov, later.own), _log_t(off, other, later.own) + _OTHER_LIKELY
    )


def _square(moves: Floats) -> Floats:
    flat = moves.reshape(len(moves), -1)
    return flat[:, :, None] * flat[:, None, :]


def _log_t(off: Floats, cov: Floats, own: Floats) -> Floats:
    """Log density (P,) of residuals (P, M, 3), up to a constant, with Student's tails."""
    there = own[..., 0] < _NOWHERE
    size = 3 * there.sum(axis=1)
    flat = np.where(there[..., None], off, 0.0).reshape(len(off), -1)
    whole = cov + np.eye(cov.shape[-1]) * own.reshape(len(own), -1)[:, None, :]
    square = (flat * np.linalg.solve(whole, flat[..., None])[..., 0]).sum(axis=1)
    _, volume = np.linalg.slogdet(whole)
    return np.asarray(-0.5 * volume - 0.5 * (_TAIL + size) * np.log1p(square / _TAIL))
