"""The pour itself: joint layout and the clock of the day."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, time
from fractions import Fraction

from finishlog.records.log import Fact


@dataclass(frozen=True, slots=True)
class JointPiece:
    """One piece of the slab in `along` × `across` panels; a round or polygonal one by its bounding box."""

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

    `meet_ft` is the longest edge that pieces can share; a joint runs there too.
    """

    low_ft: Fraction
    high_ft: Fraction
    spacing_ft: Fraction
    depth_in: Fraction
    saw_depth_in: Fraction
    ratio: Fraction  # longest recommended panel side
    pieces: tuple[JointPiece, ...]
    joint_ft: Fraction
    meet_ft: Fraction
    corners: tuple[int, int]
    old_spacing_ft: Fraction | None = None

    @property
    def panels(self) -> int:
        """Panels in all pieces together."""
        return sum(piece.along * piece.across for piece in self.pieces)


@dataclass(frozen=True, slots=True)
class Span:
    """Minutes, least to most, from `own` past pours of the shop; 0: the usual range."""

    low: int
    high: int
    own: int = 0


@dataclass(frozen=True, slots=True)
class ClockLine:
    """One task of the day: opening and deadline in minutes after the first truck arrives."""

    key: str  # truck, release, stamp, joint, rinse
    title: str
    opens: Span
    closes: Span
    own: int = 0
    number: int = 0  # of the truck


@dataclass(frozen=True, slots=True)
class Hands:
    """The stamping crew: `ft2_per_h` all together, to finish the area in `minutes`."""

    hands: int
    mats: int
    ft2_per_h: Fraction
    minutes: int


@dataclass(frozen=True, slots=True)
class PourClock:
    """The clock of a pour day. `start` is the first truck's arrival, `air_f` the air; None: not given."""

    on: date
    start: time | None
    air_f: Fraction | None
    truck_minutes: int
    lines: tuple[ClockLine, ...]
    hands: Hands | None
    own_air_f: tuple[int, int] | None = None  # air at the past pours used, if noted
    near: bool = False  # they were poured in air like today's


@dataclass(frozen=True, slots=True)
class PourStep:
    """One logged time of a pour: what, when and its note."""

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
