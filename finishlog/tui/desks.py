"""The desks as the screens see them. Imported late: the first frame needs neither store nor color."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date
    from fractions import Fraction

    from finishlog.desk.plan import Measures
    from finishlog.desk.services import Services
    from finishlog.records.log import Page, Reading
    from finishlog.records.plan import JobPage, Plan, PlanRequest
    from finishlog.records.shop import Shop


@dataclass(frozen=True, slots=True)
class Look:
    """A reading as it is shown: sRGB hex, plain name, Munsell notation where it was worked out."""

    reading: Reading
    age_days: int | None
    on: date
    hex: str
    name: str
    munsell: str | None = None


def shown(looks: Sequence[Look]) -> Look | None:
    """The reading a job is shown by: the last of its base color, dry and bare if there is such a one."""
    base = [look for look in looks if look.reading.spot == "base"]
    bare = [look for look in base if not look.reading.damp and not look.reading.sealed]
    found = bare or base
    return found[-1] if found else None


@dataclass(frozen=True, slots=True)
class JobView:
    """One job with the looks of its readings, oldest first."""

    page: JobPage
    looks: tuple[Look, ...]


@dataclass(frozen=True, slots=True)
class PlanView:
    """A plan with the look of the old slab: base and release color, if read."""

    plan: Plan
    base: Look | None
    release: Look | None


def leading(page: Page, handle: str) -> Page:
    """The same page with this job first."""
    lines = sorted(page.lines, key=lambda line: line.handle != handle)
    return replace(page, lines=tuple(lines))


class Desks(Protocol):
    """Called from worker threads only."""

    def page(self, words: str, *, limit: int, offset: int) -> Page: ...
    def job(self, handle: str) -> JobView: ...
    def prepare(self, handle: str) -> Measures: ...
    def make(self, request: PlanRequest) -> PlanView: ...
    def save(self, plan: Plan, name: str | None) -> str: ...
    def shop(self) -> Shop: ...
    def past_errors(self) -> tuple[Fraction, ...]: ...


class LogDesks:
    """The desks on a log."""

    def __init__(self, services: Services) -> None:
        self._services = services

    def page(self, words: str, *, limit: int, offset: int) -> Page:
        from finishlog.desk import find

        return find.page(self._services, words, limit=limit, offset=offset)

    def job(self, handle: str) -> JobView:
        from finishlog.desk import job_page
        from finishlog.tui import looks

        page = job_page.lay_open(self._services, handle)
        return JobView(page, looks.of_job(page))

    def prepare(self, handle: str) -> Measures:
        from finishlog.desk import plan

        return plan.prepare(self._services, handle)

    def make(self, request: PlanRequest) -> PlanView:
        from finishlog.desk import plan
        from finishlog.tui import looks

        made = plan.make(self._services, request)
        return PlanView(made, *looks.of_placed(made.reference))

    def save(self, plan: Plan, name: str | None) -> str:
        from finishlog.desk import plan as desk

        return desk.save(self._services, plan, name)

    def shop(self) -> Shop:
        return self._services.shop()

    def past_errors(self) -> tuple[Fraction, ...]:
        return self._services.past_errors()
