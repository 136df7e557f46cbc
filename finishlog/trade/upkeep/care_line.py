"""What the book of reseals knows of a job whatever the day, so that a log can keep it as a projection. Pure.

The day of the reader adds the rest: a wait that is over, this season's reminders, the month (`CareAsked`).
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from finishlog.records.care import CareAsked
from finishlog.records.log import Job
from finishlog.records.shop import Shop
from finishlog.records.when import zone_of
from finishlog.trade.upkeep import care, care_said

WHENEVER = date.min
"""A day before all waits and seasons: the standing reseal as it was logged."""


@dataclass(frozen=True, slots=True)
class CareLine:
    """The standing reseal of a job, and the day of its last one that was done.

    `state` is the office's last word, `on_day` its day. Months are counted from the year 0 (`number_of`):
    `open_month` is the first in season of the window, `reminded` the end of the last reminder's season.
    """

    state: str
    left_alone: bool
    on_day: date | None
    on_month: int | None
    due_from: date
    due_to: date
    open_month: int
    reminded: int | None
    bounced: bool
    done_on: date | None
    done_month: int | None


def care_line(job: Job, shop: Shop) -> CareLine | None:
    """The line of a job; None if it is archived or was never sealed."""
    zone = zone_of(job)
    line = None if job.state == "archived" else care.reseal(job, shop, zone, WHENEVER)
    if line is None:
        return None
    state, on = care.last_word(job, line.sealed_on, zone)
    done, written = care.last_done(job, zone), line.last_written
    done_on = None if done is None else done.last
    season_of = None if written is None else care_said.season_end(written.on, shop.care_months)
    return CareLine(
        state, line.left_alone, on, _month(on), line.due_from, line.due_to,
        number_of(care.open_month(line.due_from, shop.care_months)),
        None if season_of is None else number_of(season_of), line.bounced,
        done_on, _month(done_on),
    )  # fmt: skip


def asked(today: date, until: date, season: tuple[int, ...]) -> CareAsked:
    """The book of a day, for the log."""
    return CareAsked(
        today, until, today.replace(day=1), number_of((today.year, today.month)),
        number_of(care.open_month(today, season)), number_of(care_said.season_end(today, season)),
    )  # fmt: skip


def number_of(month: tuple[int, int]) -> int:
    """A year and month as one number that sorts and counts."""
    return month[0] * 12 + month[1] - 1


def month_at(number: int) -> tuple[int, int]:
    """The year and month of a number."""
    return number // 12, number % 12 + 1


def _month(day: date | None) -> int | None:
    return None if day is None else number_of((day.year, day.month))
