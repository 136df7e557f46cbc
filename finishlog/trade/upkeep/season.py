"""The days the shop seals: its season, its days off, and when a crew sees a reseal. Pure.

A window of years is the office's job until its last months, then the crew's (a setting; ours).
"""

from __future__ import annotations

from calendar import monthrange
from collections.abc import Iterator, Sequence
from datetime import date, timedelta

from dateutil.relativedelta import relativedelta

from finishlog.records.shop import Shop
from finishlog.units import MONTHS, write_weekday

SATURDAY = 5
EVERY_YEAR = 10_000
"""Days off below this recur yearly (month and day); above it they include the year."""


def open_day(day: date, season: Sequence[int]) -> date:
    """The day, or the next one in season. `season` must not be empty."""
    while day.month not in season:
        day = day.replace(day=1) + relativedelta(months=1)
    return day


def last_open_day(day: date, season: Sequence[int]) -> date:
    """The day, or the last one before it in season. `season` must not be empty."""
    while day.month not in season:
        day = day.replace(day=1) - timedelta(days=1)
    return day


def crew_window(due_from: date, due_to: date, shop: Shop, *, worn: bool) -> tuple[date, date]:
    """First and last day on which a crew sees a reseal: the last months of its window, in the season.

    A worn slab shows at once. A window wholly off season moves to the season's start, at least to
    the end of that month.
    """
    season = shop.care_months
    last = last_open_day(due_to, season)
    if last < due_from:
        return put_into_season(due_from, due_to, season)
    opens = due_from if worn else max(due_from, last - relativedelta(months=shop.reseal_last_months))
    return min(open_day(opens, season), last), due_to


def put_into_season(opens: date, closes: date, season: Sequence[int]) -> tuple[date, date]:
    """A window moved to the season's start; open at least to the end of that month."""
    opened = open_day(opens, season)
    return opened, max(closes, month_end(opened)) if opened != opens else closes


def month_end(day: date) -> date:
    """The last day of the day's month."""
    return day.replace(day=monthrange(day.year, day.month)[1])


def is_day_off(day: date, days_off: Sequence[int]) -> bool:
    """Whether the shop has the day off, yearly or in that year."""
    yearly = day.month * 100 + day.day
    return yearly in days_off or day.year * EVERY_YEAR + yearly in days_off


def odd_day(on: date, today: date, shop: Shop) -> Iterator[str]:
    """Doubts about working on a day, one sentence each."""
    named = f"{write_weekday(on, today)}"
    if on < today:
        yield f"{named} is in the past."
    if on.weekday() >= SATURDAY:
        yield f"{named} is on a weekend."
    if is_day_off(on, shop.days_off):
        yield f"{named} is one of your days off."
    if on.month not in shop.care_months:
        yield f"{named} is off season: you seal {season_words(shop.care_months)}."


def season_words(season: Sequence[int]) -> str:
    """`Apr to Oct`, `all year`; months apart are listed."""
    if len(set(season)) == 12:
        return "all year"
    inside = set(season)
    starts = [m for m in sorted(inside) if (m - 2) % 12 + 1 not in inside]
    parts = []
    for first in starts:
        last = first
        while last % 12 + 1 in inside:
            last = last % 12 + 1
        name = MONTHS[first - 1]
        parts.append(name if first == last else f"{name} to {MONTHS[last - 1]}")
    return ", ".join(parts)
