"""One job laid open, as its screen, its command and its sheet show it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from finishlog.records.log import Job, JobLine
    from finishlog.records.placed import AsPlaced
    from finishlog.records.plan import KeptPlan


@dataclass(frozen=True, slots=True)
class PlacedLine:
    """One line of what went in: label, text, figure at the right. `warn`: a fact is missing or off."""

    label: str
    text: str
    figure: str
    warn: bool = False


@dataclass(frozen=True, slots=True)
class Doing:
    """One line of what was done. `under` is the entry that replaced it, `was` why it no longer counts."""

    number: int
    happened: datetime
    when: str
    what: str
    who: str | None
    note: str | None
    under: int | None = None
    current: bool = True
    further: tuple[str, ...] = ()  # the facts `what` leaves out
    was: str = ""  # corrected, withdrawn, moved to hill-patio, entry 12

    @property
    def gone(self) -> bool:
        """Whether it was undone or moved, not corrected."""
        return self.was not in ("", "corrected")


@dataclass(frozen=True, slots=True)
class JobPage:
    """One job as its screen shows it."""

    job: Job
    line: JobLine
    sentence: str  # the answer, which is why the user opened this job
    age_days: int | None
    placed: tuple[AsPlaced, ...]  # one per area, the field first
    doings: tuple[Doing, ...]
    today: date
    planned: KeptPlan | None = None  # the plan it was saved with
    to_come: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    """By area: what is not needed at its age yet."""
    age_h: float | None = None  # since the end of the pour, where its hour is known

    @property
    def poured_on(self) -> date | None:
        """The day that the age counts from; `line.poured_on` is the first on which anything was poured."""
        return None if self.age_days is None else self.today - timedelta(days=self.age_days)
