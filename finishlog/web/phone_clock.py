"""A phone's clock beside the log's: how far it is off, and a moment of it that is still to come."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

from finishlog.desk.words import clock

OFF_S = 300
"""It may be off by so much without a word."""
MOST_S = 100 * 366 * 86400


@dataclass(frozen=True, slots=True)
class PhoneClock:
    """`off_s` are the seconds it is ahead, as the phone measured them when it sent; 0 where it did not."""

    off_s: float = 0.0

    @classmethod
    def told(cls, off_s: object) -> PhoneClock:
        """As the phone says; whatever is no number of seconds is none."""
        try:
            off = float(str(off_s))
        except ValueError:
            return cls()
        return cls(off) if math.isfinite(off) and OFF_S < abs(off) < MOST_S else cls()

    @property
    def said(self) -> str:
        """`12 min ahead`; empty where it is right."""
        if not self.off_s:
            return ""
        return f"{_span(abs(self.off_s))} {'ahead' if self.off_s > 0 else 'behind'}"

    @property
    def ahead(self) -> timedelta:
        """How much it is ahead; nothing where it is behind."""
        return timedelta(seconds=max(self.off_s, 0))

    def put_back(self, moment: datetime, now: datetime) -> datetime:
        """The moment; where it is still to come, the same by the log's clock, and not after now."""
        return min(moment - self.ahead, now) if moment > now + timedelta(seconds=OFF_S) else moment


@dataclass(frozen=True, slots=True)
class Stamped:
    """An entry's texts with the phone's clock kept beside them, and what the phone is told of it."""

    texts: Mapping[str, str]
    said: str = ""


def stamp(texts: Mapping[str, str], phone: PhoneClock, now: datetime, *, by_itself: bool) -> Stamped:
    """The moment stays the phone's, but for one that it filled in `by_itself` and that is still to come."""
    moment = _moment(texts.get("at", "")) if by_itself else None
    meant = phone.put_back(moment, now) if moment else None
    if moment is None or meant is None or moment == meant:
        said = f"This phone's clock is {phone.said}." if phone.said else ""
        return Stamped(_noted(texts, f"Phone's clock {phone.said}." if phone.said else ""), said)
    there = meant.astimezone(moment.tzinfo)
    off = f"{phone.said}: it" if phone.said else ""
    note = f"Phone's clock {off} said {_written(moment, there)}.".replace("  ", " ")
    kept = _noted({**texts, "at": there.isoformat(timespec="minutes")}, note)
    wrong = f"is {phone.said}" if phone.said else f"said {_written(moment, there)}"
    return Stamped(kept, f"This phone's clock {wrong}. It is logged at {clock(there)}, by the log's clock.")


def typed(text: str, phone: PhoneClock, now: datetime) -> datetime | None:
    """When something was typed, as the phone says; None where that is no moment of somebody's life."""
    moment = _moment(text)
    if moment is None or abs((now - moment).total_seconds()) > MOST_S:
        return None
    return phone.put_back(moment, now)


def _moment(text: str) -> datetime | None:
    try:
        found = datetime.fromisoformat(text)
    except ValueError:
        return None
    return found if found.tzinfo else None


def _written(moment: datetime, beside: datetime) -> str:
    day = "" if moment.date() == beside.date() else f"{moment.date()}, "
    return f"{day}{clock(moment)}"


def _noted(texts: Mapping[str, str], said: str) -> dict[str, str]:
    if not said:
        return dict(texts)
    note = texts.get("note", "").strip()
    return {**texts, "note": f"{note}{' ' if note else ''}{said}"}


def _span(seconds: float) -> str:
    if (minutes := round(seconds / 60)) < 120:
        return f"{minutes} min"
    if (hours := round(seconds / 3600)) < 48:
        return f"{hours} h"
    return f"{round(seconds / 86400):,} days"
