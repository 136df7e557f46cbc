"""Today's headline: the most pressing work, and how much there is. A photo leads only if nothing else does."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from datetime import datetime

from finishlog.desk import time_left as say
from finishlog.records.due import DueState, TodayLine
from finishlog.trade.events import ALL_DUE

LIFT = "Lift the sheet"
NOUN = {**{due.key: due.noun for due, _ in ALL_DUE if due.noun}, "pour": "Pour"}
BY_HOURS = (*(due.key for due, _ in ALL_DUE if due.by_hours), "pour")
"""Work timed in hours: if it opens within a day it comes before work for any day."""

Rank = tuple[int, datetime]
"""The smaller, the more pressing."""


def sentence(lines: Sequence[TodayLine], at: datetime, more: Mapping[DueState, int] | None = None) -> str:
    """The most pressing line, then how many there are, with so many `more` of each state."""
    there = Counter(line.state for line in lines) + Counter(more or {})
    opened, slipped = there["open"], there["slipped"]
    counts = ", ".join(f"{some} {word}" for some, word in ((opened, "open"), (slipped, "slipped")) if some)
    if opened:
        return f"{_told(pressing(lines, at), at)} {counts}."
    coming = next((line for line in lines if line.state == "opens"), None)
    after = f"Next: {coming.title.lower()}, {coming.who}, {coming.said}." if coming else "Nothing coming up."
    return f"Nothing is open. {counts}. {after}" if slipped else f"Nothing is due. {after}"


def pressing(lines: Sequence[TodayLine], at: datetime) -> TodayLine:
    """The first by `rank`; at least one line is open."""
    return min(
        (line for line in lines if line.state != "slipped"),
        key=lambda line: rank(line.what, line.title, line.state, line.opens_at, line.closes_at, at),
    )


def rank(what: str, title: str, state: DueState, opens: datetime, closes: datetime, at: datetime) -> Rank:
    """Open work of hours, or that closes within a day; what opens within a day; open work of days; a photo."""
    by_hours = what in BY_HOURS or title == LIFT
    if state == "opens":
        return (1 if by_hours and say.apart(at, opens) < say.DAY else 4), opens
    if what == "photo":
        return 3, closes
    soon = say.apart(at, closes) < say.DAY
    return (0 if by_hours or soon else 2), closes


def _told(line: TodayLine, at: datetime) -> str:
    if line.state != "opens":
        return _closing(line, at)
    return f"The pour is {line.said}." if line.what == "pour" else f"{line.title} opens {line.said}."


def _closing(line: TodayLine, at: datetime) -> str:
    noun = NOUN.get(line.what, line.title)
    rest = line.closes_at - at
    if line.what == "pour_end":
        return "Pour end not logged yet."
    if line.said.startswith("lift"):
        return f"{LIFT[:1]}{line.said[1:]}."
    if line.said == "open all day":
        return (
            f"Take the day-{line.age_days} photo today." if line.what == "photo" else f"{line.title}: today."
        )
    if rest < say.DAY:
        return f"{noun} due within {say.span(rest)}."
    return f"{noun} due by {say.left(line.closes_at, at.astimezone(line.closes_at.tzinfo)).removeprefix('until ')}."
