"""What readings teach of one spot: the curve, weathering, the sealed look. Nothing here knows a log."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from finishlog.color.aging import cure, learn, sealer_seen, weathering
from finishlog.color.aging.learn import Learned, PastSlab
from finishlog.color.aging.weathering import Aged, Look, Pace, Pair
from finishlog.color.priors import figures
from finishlog.desk.color.slabs import Coats, Row, Sorted, arrays, key_of, sort, track_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from finishlog.color.aging.effects import Factor
    from finishlog.records.answers import LearningRow

    Floats = NDArray[np.float64]

PAIR_TO_DAY = 200.0
"""Until then a bare and a sealed reading of one slab differ by the sealer, later by the weather too."""
MOST_LATE = 200
_COAT_ROUNDS = 2
"""The shop is learned again without what looks sealed: the first time those readings blur what is expected."""

Sites = Mapping[str, tuple["Floats", "Floats"]]
"""What slabs of a recipe tell of it, by key: precision (7, 7) and information (7,)."""
Slabs = list[tuple[PastSlab, Sorted]]


@dataclass(frozen=True, slots=True)
class State:
    """Learned of one spot (base, field…): the curve, weathering, the look under a film and under a penetrating sealer.

    `jobs` have taught it; `coats` are the readings of the slabs looked at for it that look sealed.
    """

    learned: Learned
    pace: Pace
    look: Look
    jobs: int
    coats: tuple[tuple[str, int], ...] = ()
    soaked: Look = field(default_factory=lambda: weathering.learn_look((), figures.PENETRATING))

    def look_of(self, penetrating: bool) -> Look:
        """What a sealer of that kind does, as learned apart from the other's."""
        return self.soaked if penetrating else self.look


@dataclass(frozen=True, slots=True)
class Later:
    """A slab that tells its recipe beside what the shop was learned from, or again.

    `site` is what it tells, None for nothing; `numbers` its readings, `coats` those that look sealed; `adds`:
    its job had told nothing before. `made` is what it was made with, `dose` its pigment in percent of cement.
    """

    site: tuple[Floats, Floats] | None
    numbers: tuple[int, ...]
    coats: tuple[tuple[str, int], ...]
    adds: bool
    made: Mapping[Factor, str]
    dose: float | None = None


@lru_cache(maxsize=4)
def learned(rows: tuple[LearningRow, ...]) -> State:
    """All that these readings teach; those without the end of their pour teach nothing."""
    held = slabs(rows)
    taught = learn.learn([slab for slab, _ in held])
    coats: list[tuple[str, int]] = []
    for _ in range(_COAT_ROUNDS):
        more = coats_of(taught, held)
        if not more:
            break
        coats += more
        held = slabs(rows, coats)
        taught = learn.learn([slab for slab, _ in held])
    looks = [_look(taught, held, penetrating) for penetrating in (False, True)]
    return State(taught, _pace(taught, held), looks[0], len(telling(held)), tuple(sorted(coats)), looks[1])


def slabs(rows: Iterable[LearningRow], coats: Coats = ()) -> Slabs:
    """Every slab with its readings sorted."""
    found: Slabs = []
    for (job, area), of in grouped(rows).items():
        held = sort(of, coats)
        found.append((PastSlab(key_of(job, area), of[0].recipe, held.track(), of[0].dose_percent), held))
    return found


def grouped(rows: Iterable[LearningRow]) -> dict[tuple[str, str | None], list[LearningRow]]:
    """The readings by job and area."""
    found: dict[tuple[str, str | None], list[LearningRow]] = {}
    for row in rows:
        found.setdefault((row.job, row.area), []).append(row)
    return found


def coats_of(taught: Learned, held: Slabs) -> list[tuple[str, int]]:
    """The readings that look sealed; none of a slab where somebody looked at one of them, and it was bare."""
    called = [(slab, (*own.curve, *own.late)) for slab, own in held if len(own.curve) + len(own.late) > 1]
    if not called:
        return []
    rows = [sorted(some, key=lambda one: one[0]) for _, some in called]
    priors = [taught.prior(slab.recipe, (slab.key,), dose=slab.dose) for slab, _ in called]
    start = weathering.learn_pace(())
    found = sealer_seen.first_sealed([track_of(some) for some in rows], priors, start)
    return [
        (row.job, row.number)
        for some, first in zip(rows, found, strict=True)
        if first is not None and not any(row.no_sealer for _, row in some[first:])
        for _, row in some[first:]
    ]


def telling(held: Slabs) -> set[str]:
    """The jobs that tell of the curve."""
    return {slab.key.partition("/")[0] for slab, own in held if own.curve}


def later(
    taught: Learned,
    rows: Sequence[LearningRow],
    known: frozenset[str],
    made: Mapping[str, Mapping[Factor, str]],
) -> Iterator[tuple[str, Later]]:
    """What further slabs tell of their recipe, by key; the scatter was learned without them.

    `taught` holds what the recipe's other slabs tell; each is told of as if it were the only one to come, so the
    order in which they came is nothing. `known` jobs have told before.
    """
    coats = coats_of(taught, slabs(rows))
    of_slab = {key_of(*slab): own for slab, own in grouped(rows).items()}
    held = slabs(rows, coats)
    told = _told(taught, [slab for slab, _ in held])
    for slab, own in held:
        numbers = tuple(row.number for row in of_slab[slab.key])
        job = slab.key.partition("/")[0]
        own_coats = tuple(one for one in coats if one[0] == job and one[1] in numbers)
        adds = bool(own.curve) and job not in known
        yield slab.key, Later(told.get(slab.key), numbers, own_coats, adds, made.get(slab.key, {}), slab.dose)


def _told(taught: Learned, further: Sequence[PastSlab]) -> dict[str, tuple[Floats, Floats]]:
    """What each slab tells; one that told before is told of without what it said then."""
    before = {key for sites in taught.told.values() for key in sites}
    alone = [slab for slab in further if slab.key in before]
    found: dict[str, tuple[Floats, Floats]] = {}
    for some in ([slab for slab in further if slab.key not in before], *([slab] for slab in alone)):
        keys = {slab.key for slab in some}
        base = replace(taught, told={
            recipe: {key: site for key, site in sites.items() if key not in keys}
            for recipe, sites in taught.told.items()
        })  # fmt: skip
        for sites in learn.told_too(base, some).told.values():
            found |= {key: site for key, site in sites.items() if key in keys}
    return found


def _pace(taught: Learned, held: Slabs) -> Pace:
    late = [(slab, own) for slab, own in held if own.late and own.curve][-MOST_LATE:]
    return weathering.learn_pace([_aged(taught, slab, own) for slab, own in late])


def _aged(taught: Learned, slab: PastSlab, held: Sorted) -> Aged:
    lab, cov = fit(taught, slab).at([cure.LEARN_TO_DAY])
    ages, read, variance = held.late_arrays()
    return Aged(weathering.effective_years(ages), read, variance, lab[0], np.diag(cov[0]))


def _look(taught: Learned, held: Slabs, penetrating: bool) -> Look:
    """What sealers of one kind do, from the slabs that were read bare and under one."""
    sealed = [(slab, _early_sealed(own, penetrating)) for slab, own in held if own.curve]
    pairs = [_pair(taught, slab, rows) for slab, rows in sealed if rows]
    return weathering.learn_look(pairs[-MOST_LATE:], figures.PENETRATING if penetrating else figures.SEALED)


def _early_sealed(held: Sorted, penetrating: bool) -> list[Row]:
    return [(age, row) for age, row in held.sealed if age <= PAIR_TO_DAY and row.penetrating == penetrating]


def _pair(taught: Learned, slab: PastSlab, rows: Sequence[Row]) -> Pair:
    """The mean of a slab's sealed readings beside the bare curve at the same ages."""
    ages, sealed, variance = arrays(rows)
    bare, cov = fit(taught, slab).at(ages)
    own = np.einsum("nii->ni", cov)
    return Pair(bare.mean(axis=0), own.mean(axis=0), sealed.mean(axis=0), variance.mean(axis=0) / len(ages))


def fit(taught: Learned, slab: PastSlab) -> cure.Fit:
    """A slab's curve, by its own readings and what the others of its recipe tell."""
    return cure.fit(slab.readings, taught.prior(slab.recipe, (slab.key,), dose=slab.dose))
