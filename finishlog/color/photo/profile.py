"""What is known of one camera from the cards it has photographed: its terms of `tone`, pooled over its photos.

Each photo's terms ~ N(camera's mean, spread between its photos); the mean ~ N(generic prior). A photo tells its terms
as its patches do (`tone.information`), so one with a covered card tells less. Exposure and white balance are no part
of it: they are the photo's own. The spread is shrunk to a share of the generic prior's, worth `SPREAD_WORTH` photos.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from finishlog.color.notation.bands import bands_of, lab_of
from finishlog.color.notation.space import card_labs
from finishlog.color.photo import tone
from finishlog.color.photo.frame import Frame
from finishlog.color.priors import figures

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

Patches = tuple[tuple[int, int, int], ...]
"""The 24 patches of a card in a photo, in the order of `card_labs`, 0 to 255."""
MOST_PHOTOS = 16
"""The newest photos that are pooled; more tell little, and a phone's software changes."""
SPREAD_SHARE = figures.CAMERA_SPREAD.one
"""Spread between the photos of one camera at the start, as a share of the generic prior's sd: judgment, no source."""
SPREAD_WORTH = figures.CAMERA_WORTH.one
SWEEPS = 6
BRIGHTEST = 250
"""A patch with a channel at or above it may be clipped and tells nothing."""
FEWEST = 16
"""Fewer patches than these say too little."""
FEWEST_FOR_GRAY = 3
"""With fewer photos of its card a camera is not known well enough to be read by a gray card."""
TRIED = 6
"""So many of them are read by their gray alone, to see how sure that is."""
MIDDLE_GRAY = 21
GRAY_PATCH_SD = 0.5
_HEX = re.compile(r"[0-9a-f]{6}")
_CAMERA = slice(0, 21)
"""The terms that are the camera's."""


@dataclass(frozen=True, slots=True)
class Profile:
    """A camera over `photos` of its cards: what to expect of the next one."""

    photos: int
    prior: tone.Prior


@dataclass(frozen=True, slots=True)
class _Told:
    """What one photo says of the camera's terms: precision (21, 21) and information (21,)."""

    precision: Floats
    information: Floats


def pooled(photos: Sequence[Patches]) -> Profile | None:
    """The profile of a camera from the cards of its photos, newest first; None if none of them tells anything."""
    told = [one for one in map(_told, photos[:MOST_PHOTOS]) if one is not None]
    if not told:
        return None
    generic = tone.generic()
    start = 1 / np.diag(generic.tight)[_CAMERA] ** 2
    spread = start * SPREAD_SHARE**2
    mean, doubt = generic.mean[_CAMERA], np.diag(start)
    for _ in range(SWEEPS):
        mean, doubt = _mean(told, mean_of=generic.mean[_CAMERA], start=start, spread=spread)
        spread = _spread(told, mean, doubt, spread, start)
    return Profile(len(told), _prior(mean, doubt + np.diag(spread)))


@lru_cache(maxsize=256)
def _told(patches: Patches) -> _Told | None:
    values = np.array(patches, float)
    clear = (values < BRIGHTEST).all(axis=1)
    if clear.sum() < FEWEST:
        return None
    known = tone.of_patches(values[clear] / 255, np.array([lab for _, lab in card_labs()])[clear])
    found = tone.fit(known, roots=True)
    whole = tone.information(known, found)
    own = whole[tone.OWN, tone.OWN] + np.diag(np.full(3, tone.GAIN_SD**-2.0))
    cross = whole[_CAMERA, tone.OWN]
    precision = whole[_CAMERA, _CAMERA] - cross @ np.linalg.solve(
        own, cross.T
    )  # the photo's own terms are free
    return _Told(precision, precision @ found.terms[_CAMERA])


def _mean(told: Sequence[_Told], mean_of: Floats, start: Floats, spread: Floats) -> tuple[Floats, Floats]:
    """The camera's mean (21,) and how unsure it is (21, 21)."""
    precision, information = np.diag(1 / start), mean_of / start
    for one in told:
        keep = np.linalg.inv(np.eye(len(start)) + one.precision * spread)  # by the spread between photos
        precision = precision + keep @ one.precision
        information = information + keep @ one.information
    doubt: Floats = np.asarray(np.linalg.inv((precision + precision.T) / 2), np.float64)
    return doubt @ information, doubt


def _spread(told: Sequence[_Told], mean: Floats, doubt: Floats, spread: Floats, start: Floats) -> Floats:
    """The variance between photos (21,), shrunk to its start."""
    total = SPREAD_WORTH * start * SPREAD_SHARE**2
    for one in told:
        cov = np.linalg.inv(one.precision + np.diag(1 / spread))
        off = cov @ (one.information + mean / spread) - mean
        pull = cov / spread
        total = total + off**2 + np.diag(cov) + np.diag(pull @ doubt @ pull.T)
    return np.asarray(total / (SPREAD_WORTH + len(told)))


def _prior(mean: Floats, cov: Floats) -> tone.Prior:
    generic = tone.generic()
    whole, tight = generic.mean.copy(), generic.tight.copy()
    whole[_CAMERA] = mean
    tight[_CAMERA, _CAMERA] = np.linalg.cholesky(np.linalg.inv((cov + cov.T) / 2)).T
    return tone.Prior(whole, tight)


def of_gray(value: Sequence[float] | Floats, reflectance: float, photos: Sequence[Patches]) -> Frame | None:
    """The frame of a photo with a gray card alone, by a camera that is known; None if too little is.

    `value` (3,) of the gray card, 0 to 1; `reflectance` 0 to 1. It is as sure as the same was for the camera's other
    photos: each by its middle gray patch and the profile of the rest.
    """
    known = [one for one in photos[:MOST_PHOTOS] if _told(one) is not None]
    whole = pooled(known)
    if whole is None or len(known) < FEWEST_FOR_GRAY:
        return None
    patches = np.array([lab for _, lab in card_labs()])
    missed = [_gray_misses(one, pooled([*known[:i], *known[i + 1 :]])) for i, one in enumerate(known[:TRIED])]
    correction = _by_gray(value, lab_of(np.full(3, reflectance)), whole.prior)
    return Frame("gray card", correction, np.tile(patches, (len(missed), 1)), np.vstack(missed))


def _gray_misses(photo: Patches, others: Profile | None) -> Floats:
    """By how much a photo's patches are missed with its middle gray alone, (24, 3)."""
    assert others is not None
    values, patches = np.array(photo, float) / 255, np.array([lab for _, lab in card_labs()])
    return np.asarray(_by_gray(values[MIDDLE_GRAY], patches[MIDDLE_GRAY], others.prior).lab(values) - patches)


def _by_gray(value: Sequence[float] | Floats, lab: Floats, prior: tone.Prior) -> tone.Correction:
    known = tone.Known(np.array([value], float), lab[None], np.full((1, 3), GRAY_PATCH_SD))
    terms = prior.mean.copy()
    light = np.maximum(tone.decoded(known.values[0]) - terms[:3], tone.LEAST)
    terms[tone.OWN] = np.log(np.maximum(bands_of(lab), tone.LEAST) / light ** terms[3:6])
    return tone.fit(known, tone.of_terms(terms), prior, roots=True)


def written(patches: Patches) -> str:
    """As kept with a reading: six hex digits of red, green and blue for each, with blanks between."""
    return " ".join(f"{r:02x}{g:02x}{b:02x}" for r, g, b in patches)


def read(text: str) -> Patches | None:
    """What `written` wrote; None for anything else."""
    parts = text.split()
    if len(parts) != len(card_labs()) or not all(_HEX.fullmatch(part) for part in parts):
        return None
    return tuple((int(part[:2], 16), int(part[2:4], 16), int(part[4:], 16)) for part in parts)
