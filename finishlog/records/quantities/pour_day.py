"""What a plan says of the pour itself: where its joints run, and the clock of the day."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, time
from fractions import Fraction

from finishlog.records.log import Fact


@dataclass(frozen=True, slots=True)
class JointPiece:
    """One piece of the slab cut into `along` × `across` panels; of a round or many-sided one, its box is."""

    kind: str  # rect, circle, polygon
    length_ft: Fraction
    width_ft: Fraction
    along: int
    across: int
    joint_ft: Fraction

    @property
    def panel_ft(self) -> tuple[Fraction, Fraction]:
        """Length and width of a panel."""
        return self.length_ft / self.along, self.width_ft / self.across

    @property
    def ratio(self) -> Fraction:
        """The longer side of a panel to the shorter."""
        return max(self.panel_ft) / min(self.panel_ft)


@dataclass(frozen=True, slots=True)
class JointPlan:
    """Joints of a new slab. `corners` are its inside corners, least and most: where a cut-out lies is not known.

    `meet_ft` is the most that pieces can have in common: a joint runs there too.
    """

    low_ft: Fraction
    high_ft: Fraction
    spacing_ft: Fraction
    depth_in: Fraction
    saw_depth_in: Fraction
    ratio: Fraction  # what a panel's sides should not exceed
    pieces: tuple[JointPiece, ...]
    joint_ft: Fraction
    meet_ft: Fraction
    corners: tuple[int, int]
    old_spacing_ft: Fraction | None = None

    @property
    def panels(self) -> int:
        """How many panels the joints make."""
        return sum(piece.along * piece.across for piece in self.pieces)


@dataclass(frozen=True, slots=True)
class Span:
    """Minutes, from the least to the most. `own` pours of the shop say so; 0: the usual range."""

    low: int
    high: int
    own: int = 0


@dataclass(frozen=True, slots=True)
class ClockLine:
    """One thing of the day: when it opens and must be over, in minutes after the first truck comes."""

    key: str  # truck, release, stamp, joint, rinse
    title: str
    opens: Span
    closes: Span
    own: int = 0
    number: int = 0  # of the truck


@dataclass(frozen=True, slots=True)
class Hands:
    """Who stamps: `ft2_per_h` all together, so that the area is done in `minutes`."""

    hands: int
    mats: int
    ft2_per_h: Fraction
    minutes: int


@dataclass(frozen=True, slots=True)
class PourClock:
    """The clock of a pour day. `start` is when the first truck comes, `air_f` the air; None: not said."""

    on: date
    start: time | None
    air_f: Fraction | None
    truck_minutes: int
    lines: tuple[ClockLine, ...]
    hands: Hands | None
    own_air_f: tuple[int, int] | None = None  # air of the past pours that were asked, where it was noted
    near: bool = False  # they were poured in air like today's


@dataclass(frozen=True, slots=True)
class PourStep:
    """An hour that was logged of a pour: what, when, and what was noted with it."""

    job: str  # handle
    kind: str
    happened: datetime
    facts: Mapping[str, Fact]


@dataclass(frozen=True, slots=True)
class PastPour:
    """Minutes of one past pour: from its first load to release and stamp, from its end to joints and rinse."""

    air_f: float | None = None
    gap: float | None = None  # from load to load, the mean
    release: float | None = None
    stamp: float | None = None
    joint: float | None = None
    rinse: float | None = None
