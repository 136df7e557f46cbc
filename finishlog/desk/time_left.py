"""Time left, as people say it on a site: `2 h 10 min left`, `open all day`, `1 day late`, `tomorrow 7a`."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta

from finishlog.desk.words import clock
from finishlog.records.due import DueState
from finishlog.units import MONTHS, WEEKDAYS, count, write_date, write_weekday

HOUR, DAY = timedelta(hours=1), timedelta(days=1)
SOON_DAYS = 6
"""Days ahead that are named by the weekday alone."""


def said(state: DueState, opens: datetime, closes: datetime, now: datetime, verb: str = "") -> str:
    """One line's time, all three at the site; `verb` is what is done by the end (`lift`)."""
    if state == "slipped":
        return f"{late(apart(closes, now))} late"
    if state == "opens":
        return ahead(opens, now)
    if verb:
        return f"{verb} by {_by(closes, now)}"
    return left(closes, now)


def apart(early: datetime, late: datetime) -> timedelta:
    """Real time between two instants: within one zone Python subtracts what the clocks show."""
    return late.astimezone(UTC) - early.astimezone(UTC)


def left(closes: datetime, now: datetime) -> str:
    """What is left of an open window."""
    if closes.time() == time():
        last = (closes - DAY).date()
        return "open all day" if last <= now.date() else f"until {day(last, now.date())}"
    rest = apart(now, closes)
    if rest < 12 * HOUR:
        return f"{span(rest)} left"
    return f"until {_by(closes, now)}"


def _by(closes: datetime, now: datetime) -> str:
    if closes.date() == now.date():
        return clock(closes)
    return f"{day(closes.date(), now.date())} {clock(closes)}"


def span(length: timedelta) -> str:
    """`40 min`, `2 h 10 min`, `5 h`."""
    minutes = max(int(length.total_seconds() // 60), 0)
    hours, minutes = divmod(minutes, 60)
    if not hours:
        return f"{minutes} min"
    return f"{hours} h {minutes} min" if minutes and hours < 12 else f"{hours} h"


def late(length: timedelta) -> str:
    """How much later it is: hours, days, months or years."""
    days = length.days
    if days < 1:
        return span(length)
    if days < 60:
        return count(days, "day")
    return count(days // 30, "month") if days < 730 else count(days // 365, "year")


def ahead(opens: datetime, now: datetime) -> str:
    """When something opens."""
    whole_day = opens.time() == time()
    named = day(opens.date(), now.date())
    rest = apart(now, opens)
    if whole_day or rest > (SOON_DAYS + 1) * DAY:
        return named
    if rest < HOUR:
        return f"in {span(rest)}"
    return clock(opens) if named == "today" else f"{named} {clock(opens)}"


def day(on: date, today: date) -> str:
    """`today`, `tomorrow`, `Thu`, `Jul 2`, `Jul 2 2029`."""
    days = (on - today).days
    if days in (0, 1):
        return ("today", "tomorrow")[days]
    if 0 < days <= SOON_DAYS:
        return WEEKDAYS[on.weekday()]
    year = "" if on.year == today.year else f" {on.year}"
    return f"{MONTHS[on.month - 1]} {on.day}{year}"


def usual(first: datetime, last: datetime) -> str:
    """The usual part of a window: `Fri Jun 5, 11:20a to Sat Jun 6, 11:20a`; days alone where it is days."""
    write = write_date if apart(first, last) > 300 * DAY else write_weekday
    if first.time() == last.time() == time():
        days = [write(first.date()), write(max(first, last - DAY).date())]
        return " to ".join(dict.fromkeys(days))
    whole = [f"{write(each.date())}, {clock(each)}" for each in (first, last)]
    return " to ".join(dict.fromkeys(whole))
