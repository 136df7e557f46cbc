"""Building blocks for a kind's due lines: in hours, in site days, from its own window."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, date, timedelta

from finishlog.records.log import Entry
from finishlog.records.shop import Shop
from finishlog.trade.due_slab import DueLine, FallsDue, Slab, midnight
from finishlog.trade.stages.base import Params, Window

DAY_H = 24


def when_planned(
    key: str, title: str, window: Callable[[Params, Shop], Window | None], why: str, *, caution: str | None
) -> FallsDue:
    """Due if the recipe plans the stage, until logged; its window in hours."""

    def lines(slab: Slab) -> Iterator[DueLine]:
        found = window(slab.params(key), slab.shop)
        if found is not None and slab.stage(key) is not None and not slab.done(key):
            yield hours(slab, key, title, found, why, caution=caution)

    return FallsDue(key, title, lines, by_hours=True)


def hours(
    slab: Slab, key: str, title: str, window: Window, why: str, after: Entry | None = None, *,
    caution: str | None,
) -> DueLine:  # fmt: skip
    """A line counted in elapsed hours (across clock changes) after an entry (None: the end of the pour)."""
    zero = after or slab.end
    opens, usual_from, usual_to, closes = (
        zero.happened.astimezone(UTC) + timedelta(hours=hours)
        for hours in (window.opens_h, window.usual_from_h, window.usual_to_h, window.closes_h)
    )
    counted = slab.counted if after is None else ""
    return DueLine(key, title, slab.uid, None, zero.happened, opens, usual_from, usual_to, closes, why + counted,
                   caution)  # fmt: skip


def days(slab: Slab, key: str, title: str, window: Window, why: str, *, caution: str | None) -> DueLine:
    """A line counted in whole calendar days at the site, start of the first to end of the last."""
    first, usual_first, usual_last, last = (
        hours // DAY_H for hours in (window.opens_h, window.usual_from_h, window.usual_to_h, window.closes_h)
    )
    poured, zone = slab.poured, slab.zone
    opens, usual_from = midnight(poured, zone, first), midnight(poured, zone, usual_first)
    usual_to, closes = midnight(poured, zone, usual_last + 1), midnight(poured, zone, last + 1)
    return DueLine(key, title, slab.uid, None, slab.end.happened, opens, usual_from, usual_to, closes, why,
                   caution)  # fmt: skip


def not_before(slab: Slab, line: DueLine, day: date | None) -> DueLine:
    """The line moved to that day, keeping the time from its usual part to its close."""
    if day is None or (opens := midnight(day, slab.zone)) <= line.opens:
        return line
    usual_from = max(line.usual_from, opens)
    closes = max(line.closes, usual_from + (line.closes - line.usual_from))
    return replace(
        line, opens=opens, usual_from=usual_from, usual_to=max(line.usual_to, usual_from), closes=closes
    )


def dried(slab: Slab) -> date | None:
    """The first day it is dry after the last wash."""
    washes = slab.done(*slab.washes)
    return slab.day(washes[-1].happened) + timedelta(days=slab.shop.dry_after_wash_days) if washes else None


def span(window: Window, *, usual: bool = False) -> str:
    """`6 to 18 h`: its usual part, or all of it."""
    low, high = (window.usual_from_h, window.usual_to_h) if usual else (window.opens_h, window.closes_h)
    return f"{low} to {high} h"
