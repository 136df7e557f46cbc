"""Answers of Today: open, slipped and upcoming lines, and the look ahead at a pour."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Literal

DueState = Literal["open", "slipped", "opens"]


@dataclass(frozen=True, slots=True)
class Place:
    """What a line says of its job."""

    handle: str
    customer: str
    piece: str
    zone: str
    areas: tuple[tuple[str, str], ...]  # uid and name


@dataclass(frozen=True, slots=True)
class TodayLine:
    """One thing to do. `area` is an area's name (None: the whole job); instants are the site's own clock.

    `what` is the key of what falls due (rinse, photo, second_coat…), `age_days` one of several of its kind,
    `kind` the kind of entry that logs it. `said` is the time left as people say it; `why` and `caution` are
    sentences, `cautions` all there are.
    """

    job: str  # handle
    customer: str
    piece: str
    area: str | None
    what: str
    age_days: int | None
    title: str
    kind: str
    state: DueState
    said: str
    opens_at: datetime
    closes_at: datetime
    usual: str
    why: str
    cautions: tuple[str, ...] = ()
    one_of: int = 1  # how many areas the job has
    before: str = ""  # work that comes first, `wipe first`
    first: str = ""  # and why, in a sentence

    @property
    def where(self) -> str:
        """The area, where the job has several; empty for the whole job."""
        return self.area if self.area and self.one_of > 1 else ""

    @property
    def who(self) -> str:
        """Whose slab: customer · piece."""
        return f"{self.customer} · {self.piece}"

    @property
    def caution(self) -> str:
        """The most important one; empty if there is none."""
        return self.cautions[0] if self.cautions else ""


@dataclass(frozen=True, slots=True)
class AheadPart:
    """One thing to check before a pour; `settle` if it needs action, else for information."""

    key: str  # rinse, joint, material, buried, weather, sample
    title: str
    text: str
    settle: bool = False


@dataclass(frozen=True, slots=True)
class Ahead:
    """The look ahead at a planned pour."""

    job: str
    customer: str
    piece: str
    when: str
    parts: tuple[AheadPart, ...]


@dataclass(frozen=True, slots=True)
class Today:
    """The whole list by urgency: open (first to close first), slipped (latest first), upcoming.

    `more`: how many lines of a state were left out.
    """

    sentence: str
    lines: tuple[TodayLine, ...]
    ahead: tuple[Ahead, ...] = ()
    more: Mapping[DueState, int] = field(default_factory=dict)

    def of(self, state: DueState) -> tuple[TodayLine, ...]:
        """The lines in that state."""
        return tuple(line for line in self.lines if line.state == state)
