"""What was learned from readings, as the log keeps it: a text with the mark of what it holds for."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class KeptLearned:
    """A part of what was learned of a spot (base, field…): the shop, a recipe, the effects of lots.

    `form` names the arithmetic that made it, `entry` the newest entry that it knows; `mark` and `body` are JSON.
    """

    spot: str
    part: str
    form: str
    entry: int
    mark: str
    body: str


@dataclass(frozen=True, slots=True)
class Moment:
    """How far a log is written: its newest entry, and a token that any other change moves too."""

    entry: int
    token: str


@dataclass(frozen=True, slots=True)
class Checkpoint:
    """A rung of the ladder of readings: how many there were, and the entry of the last of them."""

    readings: int
    entry: int


@dataclass(frozen=True, slots=True)
class Since:
    """What was logged since an entry: how many readings, of which jobs; `shaken` those of whose older readings
    something may have changed (a correction, a pour, a load, a sample); `joined` whether recipes were."""

    readings: int
    jobs: frozenset[str]
    shaken: frozenset[str]
    joined: bool
