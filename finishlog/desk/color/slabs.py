"""A slab's readings, sorted by what they may tell."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from finishlog.color.aging import cure
from finishlog.color.aging.cure import Track
from finishlog.records.color import PHOTO_SD

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from finishlog.records.answers import LearningRow
    from finishlog.records.log import Reading

    Floats = NDArray[np.float64]

LEAST_SD = 0.1
"""No reading counts as surer, whatever its sd says: a colorimeter repeats so on one spot, a slab is no tile."""
CONCRETE_L, CONCRETE_CHROMA = (8.0, 98.0), 80.0
"""L* and chroma that colored concrete can have: wide limits, from memory. Beyond them a reading was mistyped."""
_DAY = 86400.0

Row = tuple[float, "LearningRow"]
"""A reading with its age in days."""
Coats = Collection[tuple[str, int]]
"""Readings called bare that look sealed, by job and entry number."""


@dataclass(frozen=True, slots=True)
class Sorted:
    """A slab's readings by what they may tell. `curve` and `late` are dry and bare, up to day 60 and after.

    `no_concrete`: such a color no concrete has, so they tell nothing. `looks_sealed`: called dry and bare, but as
    under a sealer.
    """

    curve: tuple[Row, ...]
    late: tuple[Row, ...]
    sealed: tuple[Row, ...]
    damp: tuple[Row, ...]
    no_concrete: tuple[Row, ...] = ()
    looks_sealed: tuple[Row, ...] = ()

    def track(self) -> Track:
        """The unsealed readings as the learner takes them."""
        return track_of(self.curve)

    def late_arrays(self) -> tuple[Floats, Floats, Floats]:
        """Ages (n,), L*a*b* (n, 3), variances (n, 3)."""
        return arrays(self.late)

    def sealed_arrays(self) -> tuple[Floats, Floats, Floats]:
        """The sealed readings, column by column."""
        return arrays(self.sealed)


def key_of(job: str, area: str | None) -> str:
    """What a slab is called among those that taught: job and area."""
    return f"{job}/{area or ''}"


def sort(rows: Iterable[LearningRow], coats: Coats = ()) -> Sorted:
    """One slab's readings by kind, those of samples poured apart left out; `coats` look sealed.

    Readings of its sample's bare half carry the curve on after the slab's own last one.
    """
    own = [row for row in rows if not row.apart]
    known = [(age, row) for row in own if (age := age_days(row)) is not None and age >= 0]
    aged = [(age, row) for age, row in known if is_concrete(row.reading)]
    called = [(age, row) for age, row in aged if not row.reading.damp and not row.reading.sealed]
    bare = [(age, row) for age, row in called if (row.job, row.number) not in coats]
    last = max((age for age, row in bare if row.reading.sample is None), default=-1.0)
    bare = [(age, row) for age, row in bare if row.reading.sample is None or age > last]
    dry_sealed = tuple((age, row) for age, row in aged if row.reading.sealed and not row.reading.damp)
    return Sorted(
        curve=tuple((age, row) for age, row in bare if age <= cure.LEARN_TO_DAY),
        late=tuple((age, row) for age, row in bare if age > cure.LEARN_TO_DAY),
        sealed=dry_sealed,
        damp=tuple((age, row) for age, row in aged if row.reading.damp),
        no_concrete=tuple((age, row) for age, row in known if not is_concrete(row.reading)),
        looks_sealed=tuple((age, row) for age, row in called if (row.job, row.number) in coats),
    )


def is_concrete(read: Reading) -> bool:
    """Whether concrete can have that color, pigmented, stained, damp or sealed; wide limits, from memory."""
    low, high = CONCRETE_L
    return low <= read.L <= high and float(np.hypot(read.a, read.b)) <= CONCRETE_CHROMA


def age_days(row: LearningRow) -> float | None:
    """Age at the reading; None where nobody logged the end of the pour. Below 0: a clock was wrong."""
    return None if row.poured is None else (row.happened - row.poured).total_seconds() / _DAY


def lab_sd(row: LearningRow) -> tuple[float, float, float]:
    """The reading's own sd, that of one photo where it has none; a sample's is wider."""
    own = (row.reading.sd_L, row.reading.sd_a, row.reading.sd_b)
    L, a, b = (float(one or usual) for one, usual in zip(own, PHOTO_SD, strict=True))
    return L, a, b


def _spread(row: LearningRow) -> tuple[float, ...]:
    own = tuple(max(sd, LEAST_SD) for sd in lab_sd(row))
    if row.reading.sample is None:
        return own
    from finishlog.color.aging.promise import SAMPLE_SD

    return tuple(float(np.hypot(sd, more)) for sd, more in zip(own, SAMPLE_SD, strict=True))


def track_of(rows: Sequence[Row]) -> Track:
    """The readings as the learner takes them."""
    return cure.track(
        [age for age, _ in rows],
        [(row.reading.L, row.reading.a, row.reading.b) for _, row in rows] or np.empty((0, 3)),
        [_spread(row) for _, row in rows] or np.empty((0, 3)),
    )


def arrays(rows: Sequence[Row]) -> tuple[Floats, Floats, Floats]:
    """Ages (n,), L*a*b* (n, 3), variances (n, 3)."""
    held = track_of(rows)
    return held.ages, held.lab, held.sd**2 + cure.MOISTURE_SD**2
