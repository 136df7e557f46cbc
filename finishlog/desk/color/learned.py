"""Learned state from the log's readings, cached until a reading, pour or recipe changes.

The shop is learned from the jobs read last, once (`remembered`); what a job's own recipe tells beyond them is added
to it, so that no answer for one job reads the whole log.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from finishlog.color.aging import cure, learn, sealer_seen, weathering
from finishlog.color.aging.cure import Track
from finishlog.color.aging.learn import Learned, PastSlab
from finishlog.color.aging.promise import SAMPLE_SD
from finishlog.color.aging.weathering import Aged, Look, Pace, Pair
from finishlog.color.priors import figures
from finishlog.color.release.drying import Drying, WetDry
from finishlog.color.release.drying import learn as learn_drying
from finishlog.desk.color.remembered import remembered
from finishlog.desk.services import Services
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
PAIR_TO_DAY = 200.0
"""Until then a bare and a sealed reading of one slab differ by the sealer, later by the weather too."""
MOST_LATE = 200
NEW_TO_DAY = 7.0
"""Until then a damp and a dry reading of one spot tell how drying goes on rinse day."""
_DAY = 86400.0

_COAT_ROUNDS = 2
"""The shop is learned again without what looks sealed: the first time those readings blur what is expected."""

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
        return _track(self.curve)

    def late_arrays(self) -> tuple[Floats, Floats, Floats]:
        """Ages (n,), L*a*b* (n, 3), variances (n, 3)."""
        return _arrays(self.late)

    def sealed_arrays(self) -> tuple[Floats, Floats, Floats]:
        """The sealed readings, column by column."""
        return _arrays(self.sealed)


@dataclass(frozen=True, slots=True)
class State:
    """Learned of one spot (base, field…): the curve, weathering, the look under a film and under a penetrating sealer.

    `jobs` have taught it; `seen` are all slabs that were looked at for it, by key; `coats` their readings that look
    sealed.
    """

    learned: Learned
    pace: Pace
    look: Look
    jobs: int
    seen: tuple[str, ...] = ()
    coats: tuple[tuple[str, int], ...] = ()
    soaked: Look = field(default_factory=lambda: weathering.learn_look((), figures.PENETRATING))

    def look_of(self, penetrating: bool) -> Look:
        """What a sealer of that kind does, as learned apart from the other's."""
        return self.soaked if penetrating else self.look


def key_of(job: str, area: str | None) -> str:
    """What a slab is called among those that taught: job and area."""
    return f"{job}/{area or ''}"


def state(services: Services, spot: str = "base", *handles: str) -> State:
    """The learned state of a spot, cached while nothing changes, with what the recipes of these jobs tell."""
    with services.log().reading() as log:
        mark = log.readings_mark()
        own = log.learning_rows_of(*handles) if handles else ()
    held = services.kept.get(f"color/{spot}")
    if held is not None and held[0] == mark and isinstance(held[1], State):
        shop = held[1]
    else:
        shop = learned(tuple(row for row in services.learning_rows() if row.reading.spot == spot))
        services.kept[f"color/{spot}"] = (mark, shop)
    return _with_recipes(shop, [row for row in own if row.reading.spot == spot])


@lru_cache(maxsize=4)
def learned(rows: tuple[LearningRow, ...]) -> State:
    """All that these readings teach; those without the end of their pour teach nothing."""
    return remembered("color", State, rows, lambda: _learned(rows), (Learned, Pace, Look))


_Slabs = list[tuple[PastSlab, Sorted]]


def _slabs(rows: Iterable[LearningRow], coats: Coats = ()) -> _Slabs:
    grouped: dict[tuple[str, str | None], list[LearningRow]] = {}
    for row in rows:
        grouped.setdefault((row.job, row.area), []).append(row)
    return [(PastSlab(key_of(job, area), of[0].recipe, (held := sort(of, coats)).track(), of[0].dose_percent), held)
            for (job, area), of in grouped.items()]  # fmt: skip


def _learned(rows: tuple[LearningRow, ...]) -> State:
    slabs = _slabs(rows)
    taught = learn.learn([slab for slab, _ in slabs])
    coats: list[tuple[str, int]] = []
    for _ in range(_COAT_ROUNDS):
        more = _coats(taught, slabs)
        if not more:
            break
        coats += more
        slabs = _slabs(rows, coats)
        taught = learn.learn([slab for slab, _ in slabs])
    seen = tuple(slab.key for slab, _ in slabs)
    return State(
        taught, _pace(taught, slabs), _look(taught, slabs, False), len(_taught(slabs)), seen,
        tuple(sorted(coats)), _look(taught, slabs, True),
    )  # fmt: skip


def _coats(taught: Learned, slabs: _Slabs) -> list[tuple[str, int]]:
    """The readings that look sealed; none of a slab where somebody looked at one of them, and it was bare."""
    called = [
        (slab, (*held.curve, *held.late)) for slab, held in slabs if len(held.curve) + len(held.late) > 1
    ]
    rows = [sorted(some, key=lambda one: one[0]) for _, some in called]
    priors = [taught.prior(slab.recipe, (slab.key,)) for slab, _ in called]
    start = weathering.learn_pace(())
    found = sealer_seen.first_sealed([_track(some) for some in rows], priors, start)
    return [
        (row.job, row.number)
        for some, first in zip(rows, found, strict=True)
        if first is not None and not any(row.no_sealer for _, row in some[first:])
        for _, row in some[first:]
    ]


def _taught(slabs: _Slabs) -> set[str]:
    """The jobs that tell of the curve."""
    return {slab.key.partition("/")[0] for slab, held in slabs if held.curve}


def _with_recipes(shop: State, rows: Sequence[LearningRow]) -> State:
    """The shop's state and what further slabs tell of their recipes; the scatter was learned without them."""
    known = set(shop.seen)
    more = [one for one in _slabs(rows) if one[0].key not in known]
    if not more:
        return shop
    coats = _coats(shop.learned, more)
    more = [one for one in _slabs(rows, coats) if one[0].key not in known]
    jobs = _taught(more) - {key.partition("/")[0] for key in known}
    taught = learn.told_too(shop.learned, [slab for slab, _ in more])
    return replace(
        shop, learned=taught, jobs=shop.jobs + len(jobs), seen=(*shop.seen, *(s.key for s, _ in more)),
        coats=(*shop.coats, *coats),
    )  # fmt: skip


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
    return tuple(float(np.hypot(sd, more)) for sd, more in zip(own, SAMPLE_SD, strict=True))


def _track(rows: Sequence[Row]) -> Track:
    return cure.track(
        [age for age, _ in rows],
        [(row.reading.L, row.reading.a, row.reading.b) for _, row in rows] or np.empty((0, 3)),
        [_spread(row) for _, row in rows] or np.empty((0, 3)),
    )


def _arrays(rows: Sequence[Row]) -> tuple[Floats, Floats, Floats]:
    held = _track(rows)
    return held.ages, held.lab, held.sd**2 + cure.MOISTURE_SD**2


def _pace(taught: Learned, slabs: Sequence[tuple[PastSlab, Sorted]]) -> Pace:
    late = [(slab, held) for slab, held in slabs if held.late and held.curve][-MOST_LATE:]
    return weathering.learn_pace([_aged(taught, slab, held) for slab, held in late])


def _aged(taught: Learned, slab: PastSlab, held: Sorted) -> Aged:
    lab, cov = _fit(taught, slab).at([cure.LEARN_TO_DAY])
    ages, read, variance = held.late_arrays()
    return Aged(weathering.effective_years(ages), read, variance, lab[0], np.diag(cov[0]))


def _look(taught: Learned, slabs: Sequence[tuple[PastSlab, Sorted]], penetrating: bool) -> Look:
    """What sealers of one kind do, from the slabs that were read bare and under one."""
    sealed = [(slab, _early_sealed(held, penetrating)) for slab, held in slabs if held.curve]
    pairs = [_pair(taught, slab, rows) for slab, rows in sealed if rows]
    return weathering.learn_look(pairs[-MOST_LATE:], figures.PENETRATING if penetrating else figures.SEALED)


def _early_sealed(held: Sorted, penetrating: bool) -> list[Row]:
    return [(age, row) for age, row in held.sealed if age <= PAIR_TO_DAY and row.penetrating == penetrating]


def _pair(taught: Learned, slab: PastSlab, rows: Sequence[Row]) -> Pair:
    """The mean of a slab's sealed readings beside the bare curve at the same ages."""
    ages, sealed, variance = _arrays(rows)
    bare, cov = _fit(taught, slab).at(ages)
    own = np.einsum("nii->ni", cov)
    return Pair(bare.mean(axis=0), own.mean(axis=0), sealed.mean(axis=0), variance.mean(axis=0) / len(ages))


def _fit(taught: Learned, slab: PastSlab) -> cure.Fit:
    return cure.fit(slab.readings, taught.prior(slab.recipe, (slab.key,)))


def drying(services: Services, final_day: float) -> Drying:
    """How much of the lightening to come drying a spot brings back, by spots read damp and dry within a day."""
    taught = state(services).learned
    with services.log().reading() as log:
        rows = [row for row in log.learning_rows() if row.reading.spot == "base" and not row.apart]
    damp = [row for row in rows if row.reading.damp and not row.reading.sealed]
    pairs = [(row, near) for row in damp if (near := _dried(row, rows)) is not None]
    return learn_drying(_wet_dry(taught, rows, row, near, final_day) for row, near in pairs)


def _dried(damp: LearningRow, rows: Sequence[LearningRow]) -> LearningRow | None:
    """The dry, bare reading of the same spot nearest in time, within a day; None where the slab was not new."""
    age = age_days(damp)
    if age is None or not 0 <= age <= NEW_TO_DAY:
        return None
    same = [
        row for row in rows
        if (row.job, row.area, row.reading.sample) == (damp.job, damp.area, damp.reading.sample)
        and not (row.reading.damp or row.reading.sealed)
        and abs((row.happened - damp.happened).total_seconds()) <= _DAY
    ]  # fmt: skip
    return min(same, key=lambda row: abs(row.happened - damp.happened), default=None)


def _wet_dry(
    taught: Learned, rows: Sequence[LearningRow], damp: LearningRow, dry: LearningRow, final_day: float
) -> WetDry:
    slab = [row for row in rows if (row.job, row.area) == (damp.job, damp.area)]
    made = _fit(taught, PastSlab(key_of(damp.job, damp.area), damp.recipe, sort(slab).track()))
    settled, cov = made.at([final_day])
    return WetDry(
        damp.reading.L, dry.reading.L, float(settled[0, 0]),
        lab_sd(damp)[0] ** 2, lab_sd(dry)[0] ** 2, float(cov[0, 0, 0]),
    )  # fmt: skip
