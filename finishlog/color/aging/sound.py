"""What slabs may teach: refused where a value is none, cut down to the readings that tell of the cure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from finishlog.color.aging.cure import LEARN_TO_DAY, Track

if TYPE_CHECKING:
    from finishlog.color.aging.levels import PastSlab

LEAST_L, MOST_L, MOST_AB = -20.0, 130.0, 200.0
"""L*, and a* or b* either way, beyond which it is no color of anything, whatever the instrument."""


def usable(slabs: Sequence[PastSlab]) -> list[PastSlab]:
    """The slabs with a reading up to day 60, without their later ones.

    ValueError, naming the slab, for a value that cannot be, or a slab that comes twice.
    """
    keys: set[str] = set()
    for slab in slabs:
        wrong = "comes twice" if slab.key in keys else _wrong(slab)
        if wrong is not None:
            raise ValueError(f"slab {slab.key}: {wrong}")
        keys.add(slab.key)
    early = [replace(slab, readings=slab.readings.until(LEARN_TO_DAY)) for slab in slabs]
    return [slab for slab in early if len(slab.readings.ages)]


def _wrong(slab: PastSlab) -> str | None:
    """What cannot be, in words; None where all can."""
    if slab.dose is not None and not 0 <= slab.dose <= 100:
        return "a dose is 0 to 100 percent of cement"
    return _wrong_readings(slab.readings)


def _wrong_readings(readings: Track) -> str | None:
    n = len(readings.ages)
    if readings.ages.shape != (n,) or not readings.lab.shape == readings.sd.shape == (n, 3):
        return "every reading needs its age, three numbers and their sd"
    if not all(np.isfinite(each).all() for each in (readings.ages, readings.lab, readings.sd)):
        return "ages, colors and their sd must be finite numbers"
    if (readings.ages < 0).any() or (readings.sd <= 0).any():
        return "an age is 0 or more, an sd above 0"
    if (np.diff(readings.ages) < 0).any():
        return "readings must be in order of age"
    light, tint = readings.lab[:, 0], np.abs(readings.lab[:, 1:])
    if (light < LEAST_L).any() or (light > MOST_L).any() or (tint > MOST_AB).any():
        return "L*a*b* of no color"
    return None
