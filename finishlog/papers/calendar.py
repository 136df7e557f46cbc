"""The reseals as a calendar (RFC 5545): a second one brings the first up to date, and takes out what was called off.

Every reseal has a name that stays (UID) and a count of its changes (SEQUENCE), both told by the log.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING

from finishlog.plain import visible
from finishlog.records.care import Reseal
from finishlog.trade.care import open_month
from finishlog.units import write_date

if TYPE_CHECKING:
    from icalendar import Alarm, Calendar, Event

PRODUCT = "-//finishlog//care//EN"
DOMAIN = "finishlog.example.com"
_BEFORE = {"booked": timedelta(days=1)}
_USUAL_BEFORE = timedelta(days=7)
_SAYS = {"due": "Reseal due", "contacted": "Reseal, called", "booked": "Reseal", "done": "Resealed",
         "declined": "Reseal declined", "ask_again": "Ask again about a reseal"}  # fmt: skip


def calendar(lines: Sequence[Reseal], made: datetime, season: Sequence[int], name: str = "Reseals") -> bytes:
    """The calendar of these reseals, made at an instant. `season` are the months in which we seal."""
    from icalendar import Calendar

    whole = Calendar()
    whole.add("prodid", PRODUCT)
    whole.add("version", "2.0")
    whole.add("method", "PUBLISH")
    whole.add("x-wr-calname", visible(name))
    for line in sorted(lines, key=lambda each: each.uid):
        whole.add_component(_event(line, made, season))
    return _bytes(whole)


def _bytes(whole: Calendar) -> bytes:
    made: bytes = whole.to_ical()
    return made


def _event(line: Reseal, made: datetime, season: Sequence[int]) -> Event:
    from icalendar import Event

    day = day_of(line, season)
    cancelled = line.gone or line.left_alone or line.state == "declined"
    event = Event()
    event.add("uid", f"{line.uid}@{DOMAIN}")
    event.add("dtstamp", made.astimezone(UTC))
    event.add("sequence", line.sequence)
    event.add("dtstart", day)
    event.add("dtend", day + timedelta(days=1))
    event.add("summary", visible(f"{_SAYS[line.state]}: {line.title}"))
    event.add("location", visible(", ".join(part for part in (line.street, line.town) if part)))
    event.add("description", _description(line))
    event.add(
        "status",
        "CANCELLED" if cancelled else "CONFIRMED" if line.state in ("booked", "done") else "TENTATIVE",
    )
    event.add("transp", "OPAQUE" if line.state == "booked" and not cancelled else "TRANSPARENT")
    if not cancelled and line.state != "done":
        event.add_component(_alarm(line))
    return event


def day_of(line: Reseal, season: Sequence[int]) -> date:
    """The day it stands on: the one it was set to, else the first of its window on which we seal."""
    if line.on is not None:
        return line.on
    year, month = open_month(line.due_from, season)
    first = date(year, month, 1)
    return first if line.due_from < first <= line.due_to else line.due_from


def _description(line: Reseal) -> str:
    parts = [f"Window {write_date(line.due_from)} to {write_date(line.due_to)}.", line.why, line.prepare_why,
             line.note or "", f"Phone {line.customer.phone}." if line.customer.phone else "",
             f"Record {line.job}."]  # fmt: skip
    return "\n".join(visible(part) for part in parts if part)


def _alarm(line: Reseal) -> Alarm:
    from icalendar import Alarm

    alarm = Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("description", visible(f"{_SAYS[line.state]}: {line.title}"))
    alarm.add("trigger", -_BEFORE.get(line.state, _USUAL_BEFORE))
    return alarm
