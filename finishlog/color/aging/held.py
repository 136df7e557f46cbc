"""Whether the 90 % ranges held on the log's own readings: a slab's first ones forecast its later ones."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from finishlog.color.aging import cure
from finishlog.color.aging.cure import Fit, Posterior, Prior, Track
from finishlog.color.aging.learn import Learned, PastSlab
from finishlog.color.notation.space import delta_e_2000

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Held = NDArray[np.bool_]

DAYS = (1, 3, 7, 14, 28)
"""What a forecast's day is called."""
CUTS = (1.5, 3.5, 8.0, 16.0, 30.0)
"""Last day of the readings that it is made of; the last of them lies after the cut before."""


@dataclass(frozen=True, slots=True)
class Checked:
    """n later readings against the forecasts of `slabs` slabs, made at a day.

    held (n, 4): inside the 90 % range of L*, of a*, of b*, and of the whole color; off (n,): ΔE00 from what was
    expected.
    """

    day: int
    slabs: int
    held: Held
    off: Floats


def check(learned: Learned, slabs: Sequence[PastSlab]) -> tuple[Checked, ...]:
    """Slabs that taught, by the day of a forecast; days without a later reading are left out.

    A slab counts at the days it was read on, each time with its readings so far against all later ones up to day 60.
    What the slab itself told of its recipe is taken out; the scatter was learned with it. The range is that of a
    reading: what is forecast, the reading's own stated sd and moisture.
    """
    slabs = [replace(slab, readings=slab.readings.until(cure.LEARN_TO_DAY)) for slab in slabs]
    slabs = [slab for slab in slabs if len(slab.readings.ages)]
    priors = {slab.key: learned.prior(slab.recipe, (slab.key,), slab.readings, slab.dose) for slab in slabs}
    found = (_on(day, slabs, priors) for day in range(len(DAYS)))
    return tuple(one for one in found if len(one.off))


def _on(place: int, slabs: Sequence[PastSlab], priors: dict[str, Prior]) -> Checked:
    cut, before = CUTS[place], CUTS[place - 1] if place else -1.0
    tried = [slab for slab in slabs if _last(slab.readings, cut) > before and slab.readings.ages[-1] > cut]
    fits = _fits([slab.readings.until(cut) for slab in tried], [priors[slab.key] for slab in tried])
    return Checked(DAYS[place], len(tried), *_met(fits, [slab.readings.since(cut) for slab in tried]))


def _last(readings: Track, cut: float) -> float:
    early = readings.ages[readings.ages <= cut]
    return float(early[-1]) if len(early) else -np.inf


def _fits(tracks: Sequence[Track], priors: Sequence[Prior]) -> list[Fit]:
    """`cure.fit` of many slabs under one noise; those that fit their prior are solved at once."""
    if not tracks:
        return []
    mean, cov = np.array([one.mean for one in priors]), np.array([one.cov for one in priors])
    found = cure.solve(cure.stack(tracks), mean, cov, priors[0].noise)
    off = found.moments()[0] - mean
    far = np.einsum("si,si->s", off, np.linalg.solve(cov, off[..., None])[..., 0])
    return [
        cure.fit(readings, prior) if far[row] > cure.UNLIKE else Fit(readings, prior, _only(found, row))
        for row, (readings, prior) in enumerate(zip(tracks, priors, strict=True))
    ]


def _only(found: Posterior, row: int) -> Posterior:
    one = slice(row, row + 1)
    return Posterior(found.log_tau[one], found.share[one], found.mean[one], found.cov[one], found.weight[one],
                     found.square[one])  # fmt: skip


def _met(fits: Sequence[Fit], later: Sequence[Track]) -> tuple[Held, Floats]:
    """Which of all n later readings lie inside their range (n, 4), and how far off they are (n,)."""
    if not fits:
        return np.zeros((0, 4), bool), np.zeros(0)
    said = [made.at(after.ages) for made, after in zip(fits, later, strict=True)]
    lab, cov = np.concatenate([one for one, _ in said]), np.concatenate([one for _, one in said])
    read, sd = np.concatenate([one.lab for one in later]), np.concatenate([one.sd for one in later])
    cov = cov + (sd**2 + cure.MOISTURE_SD**2)[:, :, None] * np.eye(3)
    each = np.abs(read - lab) <= cure.NORMAL_90 * np.sqrt(np.einsum("nii->ni", cov))
    off = delta_e_2000(read, lab)
    whole = off <= cure.radius90(lab, cov)
    return np.concatenate([each, whole[:, None]], axis=1), np.asarray(off)
