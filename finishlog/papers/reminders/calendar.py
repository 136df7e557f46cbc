"""Reseals as a calendar (RFC 5545): a second export updates the first and removes canceled events.

Every reseal has a stable UID and a SEQUENCE that rises whenever its event changes (RFC 5545 §3.8.7.4); the
log keeps the last number sent.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import astuple, dataclass
from datetime import UTC, date, datetime, timedelta
from hashlib import sha256
from typing import TYPE_CHECKING

from finishlog.plain import visible
from finishlog.records.care import Reseal
from finishlog.trade.upkeep.care import open_month
from finishlog.units import write_date

if TYPE_CHECKING:
    from icalendar import Alarm, Calendar, Event

PRODUCT = "-//finishlog//care//EN"
DOMAIN = "finishlog.example.com"
_DAYS_BEFORE = {"booked": 1}
_USUAL_DAYS_BEFORE = 7
_SAYS = {"due": "Reseal due", "written": "Reseal due, reminder sent", "contacted": "Reseal, contacted",
         "booked": "Reseal", "done": "Resealed",
         "declined": "Reseal declined", "ask_again": "Ask again about reseal"}  # fmt: skip


def calendar(lines: Sequence[Reseal], made: datetime, season: Sequence[int], name: str = "Reseals") -> bytes:
    """The calendar of these reseals as of an instant. `season` is the months we seal."""
    from icalendar import Calendar

    whole = Calendar()
    whole.add("prodid", PRODUCT)
    whole.add("version", "2.0")
    whole.add("method", "PUBLISH")
    whole.add("x-wr-calname", visible(name))
    for line in sorted(lines, key=lambda each: each.uid):
        whole.add_component(_event(line, told(line, season), made))
    return _bytes(whole)


def _bytes(whole: Calendar) -> bytes:
    made: bytes = whole.to_ical()
    return made


@dataclass(frozen=True, slots=True)
class Told:
    """An event's content, without UID, number and timestamp. `alarm_days` before."""

    day: date
    summary: str
    location: str
    description: str
    status: str
    busy: bool
    alarm_days: int | None

    @property
    def mark(self) -> str:
        """Equal for events of equal content."""
        return sha256(repr(astuple(self)).encode()).hexdigest()[:32]


def told(line: Reseal, season: Sequence[int]) -> Told:
    """The event of a reseal."""
    cancelled = line.gone or line.left_alone or line.state == "declined"
    settled = line.state in ("booked", "done")
    return Told(
        day=day_of(line, season),
        summary=visible(f"{_SAYS[line.state]}: {line.title}"),
        location=visible(", ".join(part for part in (line.known_street, line.town) if part)),
        description=_description(line),
        status="CANCELLED" if cancelled else "CONFIRMED" if settled else "TENTATIVE",
        busy=line.state == "booked" and not cancelled,
        alarm_days=None
        if cancelled or line.state == "done"
        else _DAYS_BEFORE.get(line.state, _USUAL_DAYS_BEFORE),
    )


def _event(line: Reseal, says: Told, made: datetime) -> Event:
    from icalendar import Event

    event = Event()
    event.add("uid", f"{line.uid}@{DOMAIN}")
    event.add("dtstamp", made.astimezone(UTC))
    event.add("sequence", line.sequence)
    event.add("dtstart", says.day)
    event.add("dtend", says.day + timedelta(days=1))
    event.add("summary", says.summary)
    event.add("location", says.location)
    event.add("description", says.description)
    event.add("status", says.status)
    event.add("transp", "OPAQUE" if says.busy else "TRANSPARENT")
    if says.alarm_days is not None:
        event.add_component(_alarm(says.summary, says.alarm_days))
    return event


def day_of(line: Reseal, season: Sequence[int]) -> date:
    """The event's day: the one set, else the first sealing day of its window."""
    if line.on is not None:
        return line.on
    year, month = open_month(line.due_from, season)
    first = date(year, month, 1)
    return first if line.due_from < first <= line.due_to else line.due_from


def _description(line: Reseal) -> str:
    parts = [f"Window {write_date(line.due_from)} to {write_date(line.due_to)}.", line.why, line.prepare_why,
             line.note or "", f"Said before: {line.said}" if line.said else "", _written(line),
             f"Phone {line.customer.phone}." if line.customer.phone else "", f"Record {line.job}."]  # fmt: skip
    return "\n".join(visible(part) for part in parts if part)


def _written(line: Reseal) -> str:
    last = line.last_written
    if last is None:
        return ""
    return f"Written {write_date(last.on)}" + (", came back." if last.bounced else ".")


def _alarm(summary: str, days: int) -> Alarm:
    from icalendar import Alarm

    alarm = Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("description", summary)
    alarm.add("trigger", -timedelta(days=days))
    return alarm
