"""What the desks answer, as screens show it: readings with their look, a job, a plan, the form of a new job."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date

    from finishlog.inputs.asking import Field
    from finishlog.records.log import Reading
    from finishlog.records.plan import JobPage, Plan
    from finishlog.tui.desks.color import Joint


@dataclass(frozen=True, slots=True)
class Look:
    """A reading as it is shown: sRGB hex, plain name, Munsell notation where it was worked out."""

    reading: Reading
    age_days: int | None
    on: date
    hex: str
    name: str
    munsell: str | None = None
    area: str | None = None
    """The area it was read on, if that was said."""
    apart: bool = False
    """Read on a test slab poured apart: not the color of this one."""
    stands: bool = False
    """The reading that stands for the job: of its main area's base color."""


@dataclass(frozen=True, slots=True)
class JobView:
    """One job with the looks of its readings, oldest first."""

    page: JobPage
    looks: tuple[Look, ...]
    half: tuple[str, ...] = ()
    """Kinds of entries that are half written."""


@dataclass(frozen=True, slots=True)
class PlanView:
    """A plan with the look of the old slab, base and release color, if read; the joint if there are odds."""

    plan: Plan
    base: Look | None
    release: Look | None
    joint: Joint | None = None


@dataclass(frozen=True, slots=True)
class JobForm:
    """The form of a new job, and what was typed before."""

    fields: tuple[Field, ...]
    draft_key: str
    draft: Mapping[str, str] | None
