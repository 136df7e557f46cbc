"""What desks answer, ready to show: a reading's look, a job, a plan, the new-job form."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date

    from finishlog.inputs.asking import Field
    from finishlog.records.log import Reading
    from finishlog.records.page import JobPage
    from finishlog.records.plan import Plan
    from finishlog.tui.desks.color import Joint


@dataclass(frozen=True, slots=True)
class Look:
    """A reading as shown: sRGB hex, plain name, Munsell notation if computed."""

    reading: Reading
    age_days: int | None
    on: date
    hex: str
    name: str
    munsell: str | None = None
    area: str | None = None
    """Where it was read, if logged."""
    apart: bool = False
    """Read on a sample poured separately: not this slab's color."""
    stands: bool = False
    """Whether it represents the job: the base color of the main area."""


@dataclass(frozen=True, slots=True)
class JobView:
    """One job with the looks of its readings, oldest first."""

    page: JobPage
    looks: tuple[Look, ...]
    half: tuple[str, ...] = ()
    """Kinds with an unfinished entry."""


@dataclass(frozen=True, slots=True)
class PlanView:
    """A plan, the old slab's base and release color if read, and the joint if there are odds."""

    plan: Plan
    base: Look | None
    release: Look | None
    joint: Joint | None = None


@dataclass(frozen=True, slots=True)
class JobForm:
    """The new-job form, and its unfinished draft."""

    fields: tuple[Field, ...]
    draft_key: str
    draft: Mapping[str, str] | None
