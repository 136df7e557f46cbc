"""Answers of the color desk: readings by age, forecast, track record, match odds.

L*a*b*, D65, 2°; ages in days from the end of the pour.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Literal

Lab = tuple[float, float, float]
PHOTO_SD: Lab = (1.0, 0.5, 0.7)
"""Default sd of one photo's L*, a*, b*, unless one is stated; from simulation."""
OddsFactor = Literal["job_scatter", "old_slab", "recipe", "weathering", "curve", "change"]


@dataclass(frozen=True, slots=True)
class ColorReading:
    """A reading as the forecast takes it. `age_days` None: no end of the pour was logged.

    `in_curve`: it shapes the dry bare curve. `looks_sealed`: called dry and bare, but as under a sealer. `weight` 0
    to 1 is what it counted there, or, after day 60, among the late ones; `apart`: it stands apart from what is
    expected.
    """

    entry: int
    on: date
    age_days: float | None
    spot: str
    lab: Lab
    lab_sd: Lab
    damp: bool = False
    sealed: bool = False
    sample: int | None = None
    photo: str | None = None
    in_curve: bool = False
    weight: float | None = None
    apart: bool = False
    looks_sealed: bool = False


@dataclass(frozen=True, slots=True)
class ColorPoint:
    """The color expected at an age; `radius90_de00` holds the true color in 90 of 100 cases."""

    age_days: float
    on: date
    lab: Lab
    lab_sd: Lab
    radius90_de00: float

    @property
    def low(self) -> float:
        """The lower end of the 90 % range of L*."""
        return self.lab[0] - 1.645 * self.lab_sd[0]

    @property
    def high(self) -> float:
        """The upper end of the 90 % range of L*."""
        return self.lab[0] + 1.645 * self.lab_sd[0]


@dataclass(frozen=True, slots=True)
class SealedLook:
    """The settled color under the sealer. `pairs` is how many slabs read bare and sealed taught it."""

    point: ColorPoint
    pairs: int


@dataclass(frozen=True, slots=True)
class ColorTrack:
    """One slab's color: an area, or (`sample`) a sample of it.

    `band` is the fitted curve at many ages, for a drawing: age, lab, lab_sd. `sealed` None: not known yet.
    `compare_from` None: not within 120 days, or not to be told.
    """

    area: str | None
    sample: int | None
    spot: str
    readings: tuple[ColorReading, ...]
    forecast: tuple[ColorPoint, ...]
    band: tuple[tuple[float, Lab, Lab], ...]
    today: ColorPoint | None
    final: ColorPoint | None
    final_color_on: date | None
    compare_from: date | None
    sealed: SealedLook | None
    damp_preview: ColorReading | None
    recipe_jobs: int
    flags: tuple[str, ...]
    joined: tuple[str, ...] = ()  # jobs whose recipe was joined with this one: theirs count too


@dataclass(frozen=True, slots=True)
class JobColor:
    """A job's colors, the field first. `history_jobs` is how many jobs of the log have taught the forecast."""

    handle: str
    title: str
    poured_on: date | None
    age_days: float | None
    tracks: tuple[ColorTrack, ...]
    history_jobs: int
    noise: float
    method: str

    @property
    def areas(self) -> tuple[ColorTrack, ...]:
        """The tracks of the slab, one an area."""
        return tuple(track for track in self.tracks if track.sample is None)

    @property
    def samples(self) -> tuple[ColorTrack, ...]:
        """The tracks of test samples."""
        return tuple(track for track in self.tracks if track.sample is not None)


@dataclass(frozen=True, slots=True)
class Tried:
    """How forecasts did against later readings: of the 90 % ranges of L*, how many held."""

    ranges: int
    held: int
    median_de00: float | None

    @property
    def share(self) -> float | None:
        """The share of ranges that held, 0 to 1; None before any was tried."""
        return self.held / self.ranges if self.ranges else None


@dataclass(frozen=True, slots=True)
class Promised:
    """How many plans with odds from `low` to `high` matched, once their slab was read."""

    low: float
    high: float
    plans: int
    matched: int
    said: float | None  # the mean of the odds that were given
    closed: bool = False  # said "cannot tell before a sample"


@dataclass(frozen=True, slots=True)
class HeldOn:
    """Forecasts made at a day from what `slabs` slabs showed by then, met by `readings` later ones up to day 60.

    How many readings lay inside the 90 % range of L*, a*, b* and of the whole color; the reading's own sd counts too.
    """

    day: int
    slabs: int
    readings: int
    held_L: int
    held_a: int
    held_b: int
    held_color: int
    median_de00: float

    @property
    def enough(self) -> bool:
        """Whether the count says anything: below ten readings a miss or two are chance."""
        return self.readings >= 10


@dataclass(frozen=True, slots=True)
class HowGood:
    """`kept`: forecasts that were kept as given. `by_day`: made afterwards, from the readings up to a day.

    `noise` is how many times as much as they state the readings scatter.
    """

    kept: Tried
    by_day: tuple[HeldOn, ...]
    history_jobs: int
    promises: tuple[Promised, ...] = ()
    noise: float = 1.0


GateState = Literal["open", "closed", "seen", "sample"]


@dataclass(frozen=True, slots=True)
class Gate:
    """Whether odds may be given before a sample. `why`: what changed or is unknown, in words.

    "open": all stated the same. "closed": cannot tell before a sample. "seen": the log has read `pairs` of slabs
    that differ so. "sample": the `sample` of the new concrete was read.
    """

    state: GateState
    why: tuple[str, ...] = ()
    pairs: int = 0
    sample: int | None = None
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class OddsAt:
    """The odds when the new slab has this age, bare and sealed, both slabs alike."""

    age_days: float
    probability: float
    probability_sealed: float


@dataclass(frozen=True, slots=True)
class OddsOf:
    """The odds by one spot at the final-color day: base with base, or whole field with whole field."""

    spot: str
    probability: float
    probability_sealed: float
    radius90_de00: float


@dataclass(frozen=True, slots=True)
class Odds:
    """The odds that the joint goes unnoticed, for the owner only. `shares`: each factor's part of the miss.

    `spot` is what they are by, `spots` the odds by each spot that the old slab was read at.

    The pairs: L*a*b* expected of the old slab and the new one at the final-color day, both bare, both sealed.
    """

    probability: float
    probability_sealed: float
    threshold_de00: float
    dominant: OddsFactor
    shares: tuple[tuple[OddsFactor, float], ...]
    compare_from: date | None
    radius90_de00: float
    verdict: str
    by_age: tuple[OddsAt, ...]
    raise_by: tuple[str, ...]
    history_jobs: int
    recipe_jobs: int
    notes: tuple[str, ...] = ()
    bare_pair: tuple[Lab, Lab] | None = None
    sealed_pair: tuple[Lab, Lab] | None = None
    spot: str = "base"
    spots: tuple[OddsOf, ...] = ()
    with_sample: float | None = None  # behind a closed gate: the odds if a sample matched the old slab


@dataclass(frozen=True, slots=True)
class SampleRow:
    """One sample: percent of cementitious by pigment, L*a*b* with its sd, photos it is the mean of (None: not said)."""

    name: str
    cement: str | None
    doses: Mapping[str, float]
    lab: Lab
    sd: Lab
    photos: int | None
