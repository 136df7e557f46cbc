"""What a calendar of reseals holds, and the number of each event: it rises whenever the event says something else.

What went out last of each event is kept with its job as advice, so that the next calendar knows of it.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import date
from typing import TYPE_CHECKING

from dateutil.relativedelta import relativedelta

from finishlog.desk.due.care_list import shut_out
from finishlog.desk.exact_data import UNREADABLE
from finishlog.errors import LogError
from finishlog.records.care import Reseal
from finishlog.records.log import Job
from finishlog.records.when import zone_of
from finishlog.records.writing import NewAdvice
from finishlog.retrying import anew
from finishlog.trade.upkeep import care

if TYPE_CHECKING:
    from finishlog.desk.services import Services
    from finishlog.store import Reader

KIND, METHOD = "calendar", "calendar/1"
BACK_YEARS = 2
"""How long what is over still stands in a calendar (ours)."""


@dataclass(frozen=True, slots=True)
class Event:
    """What went out of a reseal: `mark` is the same for events that say the same."""

    job: str
    sequence: int
    mark: str
    day: date
    state: str


@dataclass(frozen=True, slots=True)
class Numbered:
    """Reseals with the numbers they go out with; `kept`: the log knows of these numbers now."""

    lines: tuple[Reseal, ...]
    kept: bool


def lines(services: Services, by: date | None = None) -> tuple[Reseal, ...]:
    """Every reseal that a calendar may hold, far ones too, so that a second calendar brings the first up to date.

    With `by`, those only that open by then. What was taken back, or went out once and stands no more (its job
    was archived, another area leads), or is shut out of the list by now, comes as `gone`; a reseal of the last
    two years as done.
    """
    today = services.today()
    since = today - relativedelta(years=BACK_YEARS)
    found: list[Reseal] = []
    with services.log().reading() as log:
        shop = log.shop()
        for job in log.jobs_with(*care.KINDS):
            zone = zone_of(job)
            done = care.done_since(job, shop, zone, since, today)
            line = care.reseal(job, shop, zone, today)
            found += [each for each in (done, line) if each is not None]
            found += [replace(line or done or _stub(job, today, "Undone."), uid=uid, gone=True)
                      for uid in care.gone(job, shop, zone, today)]  # fmt: skip
        went = _went_out(log)
        found = [each for line in found if (each := _unless_shut_out(line, went)) is not None]
        found += _vanished(log, went, {line.uid for line in found}, since)
    return tuple(line for line in found if by is None or line.gone or _in_it(line, by))


def _in_it(line: Reseal, by: date) -> bool:
    return line.due_from <= by or line.state != "due"


def _unless_shut_out(line: Reseal, went: Mapping[str, Event]) -> Reseal | None:
    """Customers who want none or asked for later are in no calendar; their earlier events are canceled."""
    if line.gone or line.state == "done" or not shut_out(line):
        return line
    return replace(line, gone=True) if line.uid in went else None


def _vanished(log: Reader, went: Mapping[str, Event], there: set[str], since: date) -> list[Reseal]:
    """Sent events that no longer exist, except completed ones."""
    over = {
        uid: event
        for uid, event in went.items()
        if uid not in there and event.state != "done" and event.day >= since
    }
    return [
        replace(_stub(log.job(event.job), event.day, "No longer due."), uid=uid, sequence=event.sequence)
        for uid, event in over.items()
    ]


def _stub(job: Job, day: date, why: str) -> Reseal:
    """A minimal event to cancel."""
    return Reseal("", care.changes(job), job.handle, job.name, care.owner_of(job), job.site.street, job.site.town,
                  (), 1, day, day, day, "declined", why, gone=True)  # fmt: skip


def _went_out(log: Reader) -> dict[str, Event]:
    """The last version sent of each event, by UID."""
    found: dict[str, Event] = {}
    for handle, advice in log.advices_of(KIND):
        with suppress(*UNREADABLE):
            uid, answer = json.loads(advice.inputs)["uid"], json.loads(advice.answer)
            day = date.fromisoformat(answer["day"])
            found[uid] = Event(handle, int(answer["sequence"]), answer["mark"], day, answer["state"])
    return found


def number(services: Services, held: Sequence[Reseal], says: Mapping[str, tuple[str, date]]) -> Numbered:
    """The reseals with their numbers, which are kept. `says` is the mark and the day of each event by its name.

    An event that says what it said keeps its number; any other has a higher one. A log that cannot be written
    still gives numbers, and does not know of them afterwards.
    """
    with services.log().reading() as log:
        done, news = _numbers(_went_out(log), held, says)
    if not news:
        return Numbered(done, kept=True)
    try:
        return Numbered(_keep_numbers(services, held, says), kept=True)
    except LogError:
        return Numbered(done, kept=False)


@anew
def _keep_numbers(
    services: Services, held: Sequence[Reseal], says: Mapping[str, tuple[str, date]]
) -> tuple[Reseal, ...]:
    with services.log().writing() as log:
        done, news = _numbers(_went_out(log), held, says)
        for uid, event in news.items():
            log.add_advice(event.job, _advice(uid, event))
    return done


def _numbers(
    before: Mapping[str, Event], held: Sequence[Reseal], says: Mapping[str, tuple[str, date]]
) -> tuple[tuple[Reseal, ...], dict[str, Event]]:
    news: dict[str, Event] = {}
    done = []
    for line in held:
        mark, day = says[line.uid]
        last = before.get(line.uid)
        if last is not None and last.mark == mark:
            done.append(replace(line, sequence=last.sequence))
            continue
        rises = line.sequence if last is None else max(last.sequence + 1, line.sequence)
        done.append(replace(line, sequence=rises))
        news[line.uid] = Event(line.job, rises, mark, day, "gone" if line.gone else line.state)
    return tuple(done), news


def _advice(uid: str, event: Event) -> NewAdvice:
    answer = {
        "sequence": event.sequence,
        "mark": event.mark,
        "day": event.day.isoformat(),
        "state": event.state,
    }
    return NewAdvice(KIND, METHOD, json.dumps({"uid": uid}), json.dumps(answer))
