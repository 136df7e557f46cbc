"""The rinse helper's answer: release left, a ladder of how more or less looks, what to do."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from finishlog.records.color import Lab
from finishlog.records.quantities.cautions import Caution

if TYPE_CHECKING:
    from finishlog.color.release.drying import Drying
    from finishlog.color.release.rinse import Habit, Left, Settled


@dataclass(frozen=True, slots=True)
class RinseRung:
    """One amount of release left, 0 to 1: how the field looks now and when settled (None: not known)."""

    left: float
    marks: tuple[str, ...]
    now: Lab | None
    settled: Settled | None


@dataclass(frozen=True, slots=True)
class RinseAnswer:
    """Release left on rinse day. `left` holds mean, sd, range and verdict; shares 0 to 1."""

    job: str
    area: str
    left: Left
    habit: Habit
    target: float | None
    target_from: str
    target_measured: bool
    chance_above: float | None
    rinse_more: bool
    advice: str
    final_day: int
    settled: Settled | None
    contrast_now_de00: float | None
    contrast_dried_de00: float | None
    drying: Drying
    ladder: tuple[RinseRung, ...]
    notes: tuple[str, ...]
    cautions: tuple[Caution, ...]
    sources: tuple[str, ...]
    meanwhile: tuple[str, ...] = ()
