"""What falls due on a job, from its entries and the shop's windows. Pure; the log caches it as a projection.

A line has one window of instants; whether it is open, slipped or upcoming depends on the reader's clock.
Hours are elapsed hours from the end of the pour; days are whole calendar days at the site.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import UTC, datetime

from finishlog.records.log import Job
from finishlog.records.shop import SETTINGS, Shop
from finishlog.records.when import zone_of
from finishlog.trade.due_slab import DueLine, Slab, midnight, slabs
from finishlog.trade.events import ALL_DUE, WASHES
from finishlog.trade.stages.base import FIRST_YEAR, LAST_YEAR
from finishlog.units import write_date

WINDOW_UNITS = ("h", "days", "months", "years")
_CARE = ("care_months", "wipe_every", "film_alarm_mil")
WINDOW_SETTINGS = frozenset(s.key for s in SETTINGS if s.unit in WINDOW_UNITS or s.key in _CARE)
"""The only settings `due_lines` reads; changing one rebuilds all lines."""

__all__ = ["WINDOW_SETTINGS", "DueLine", "due_lines", "put_off_until"]


def due_lines(job: Job, shop: Shop) -> tuple[DueLine, ...]:
    """All that falls due on a job and is not done, put off or dropped, by opening time.

    A planned job has its pour; a poured one the follow-up work of each area, areas with the same window
    merged. Without a logged end, time counts from the last load, and the end is asked for.
    """
    if job.state == "planned":
        found: Sequence[DueLine] = tuple(_planned(job))
    elif job.state == "poured":
        there = slabs(job, shop, WASHES)
        found = _together([tuple(_of_slab(slab)) for slab in there])
    else:
        found = ()
    return tuple(sorted(found, key=lambda line: (line.opens, line.closes, line.key, line.age_days or 0)))


def _planned(job: Job) -> Iterator[DueLine]:
    if job.planned_on is None:
        return
    opens, closes = (midnight(job.planned_on, zone_of(job), days) for days in (0, 1))
    line = DueLine("pour", "Pour", None, None, opens, opens, opens, closes, closes,
                   f"Planned for {write_date(job.planned_on)}.", "placing")  # fmt: skip
    yield from _unless_put_away(job, [line])


def _of_slab(slab: Slab) -> Iterator[DueLine]:
    lines = (line for due, _ in ALL_DUE for line in due.lines(slab))
    yield from _unless_put_away(slab.job, lines)


def _unless_put_away(job: Job, lines: Iterable[DueLine]) -> Iterator[DueLine]:
    """Each line after its latest put-off: later, gone, or unchanged."""
    if not job.of_kind("put_off"):
        yield from lines
        return
    for line in lines:
        yield from _put_away(job, line)


def _put_away(job: Job, line: DueLine) -> Iterator[DueLine]:
    said = [
        entry
        for entry in job.of_kind("put_off", area=line.area)
        if entry.facts.get("what") == line.key and entry.facts.get("age_days") in (None, line.age_days)
    ]
    last = max(said, key=lambda entry: entry.number, default=None)
    if last is None:
        yield line
    elif last.facts.get("until") is not None:
        until = put_off_until(str(last.facts["until"]))
        yield line if until is None else _later(line, until, job)


def put_off_until(text: str) -> datetime | None:
    """The instant a put-off names; None if it names none and so has no effect."""
    try:
        until = datetime.fromisoformat(text)
    except ValueError:
        return None
    if not FIRST_YEAR <= until.year <= LAST_YEAR:
        return None
    return until.replace(tzinfo=UTC) if until.tzinfo is None else until.astimezone(UTC)


def _later(line: DueLine, until: datetime, job: Job) -> DueLine:
    """The line reopened at that instant, at least to the end of that day."""
    if until <= line.opens:
        return line
    zone = zone_of(job)
    closes = max(line.closes, midnight(until.astimezone(zone).date(), zone, 1))
    usual_from = min(max(line.usual_from, until), closes)
    return replace(line, opens=until, closes=closes, usual_from=usual_from,
                   usual_to=min(max(line.usual_to, usual_from), closes))  # fmt: skip


def _together(of_slabs: Sequence[tuple[DueLine, ...]]) -> tuple[DueLine, ...]:
    """Merges lines that all areas share at the same time into one for the whole job."""
    if len(of_slabs) < 2:
        return tuple(line for lines in of_slabs for line in lines)
    rest = [list(lines) for lines in of_slabs]
    found: list[DueLine] = []
    for first in of_slabs[0]:
        alike = [next((line for line in lines if _alike(line, first)), None) for lines in rest]
        same = [line for line in alike if line is not None]
        opens, closes = max(line.opens for line in same), min(line.closes for line in same)
        if len(same) == len(rest) and opens < closes:
            found.append(_whole(same, opens, closes))
            for line, lines in zip(same, rest, strict=True):
                lines.remove(line)
    return (*found, *(line for lines in rest for line in lines))


def _alike(one: DueLine, other: DueLine) -> bool:
    return (one.key, one.age_days, one.why) == (other.key, other.age_days, other.why)


def _whole(lines: Sequence[DueLine], opens: datetime, closes: datetime) -> DueLine:
    usual_from = min(max(max(line.usual_from for line in lines), opens), closes)
    usual_to = min(max(min(line.usual_to for line in lines), usual_from), closes)
    return replace(lines[0], area=None, anchor=max(line.anchor for line in lines), opens=opens, closes=closes,
                   usual_from=usual_from, usual_to=usual_to)  # fmt: skip
