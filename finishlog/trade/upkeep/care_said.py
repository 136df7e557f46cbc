"""The office's earlier words on a reseal, the requested day, and the season's reminders."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date, tzinfo

from finishlog.records.care import Written
from finishlog.records.log import Entry
from finishlog.trade.upkeep.asked_day import Asked, asked

KIND = "reminder"


@dataclass(frozen=True, slots=True)
class Said:
    """`earlier` is the note before the last word; `asked` the day last requested in a call."""

    earlier: str | None
    asked: Asked


def earlier(said: Sequence[Entry], zone: tzinfo) -> Said:
    """Earlier words that still hold; `said` are the office's entries on a window, in order."""
    notes = [entry.note for entry in said if entry.note]
    last = said[-1].note if said else None
    before = [note for note in notes if note != last]
    for entry in reversed(said):
        found = asked(entry.note, entry.happened.astimezone(zone).date())
        if found != Asked():
            return Said(before[-1] if before else None, found)
    return Said(before[-1] if before else None, Asked())


def reminders(
    entries: Sequence[Entry], what: Collection[str], zone: tzinfo, today: date, season: Sequence[int]
) -> tuple[Written, ...]:
    """Reminders of this season, or dated later, among these entries, for one of these purposes."""
    now = season_end(today, season)
    found = []
    for entry in entries:
        day = entry.happened.astimezone(zone).date()
        purpose = str(entry.facts.get("what", "remind"))
        if entry.kind == KIND and purpose in what and season_end(day, season) >= now:
            found.append(
                Written(
                    day, str(entry.facts.get("how", "letter")), str(entry.facts.get("to", "")), purpose,
                    entry.facts.get("result") == "bounced",
                )
            )  # fmt: skip
    return tuple(found)


def season_end(day: date, months: Sequence[int]) -> tuple[int, int]:
    """Year and month the season of a day (or the next one) ends; all year: its December."""
    inside = set(months)
    if len(inside) == 12:
        return day.year, 12
    for step in range(24):
        year, month = day.year + (day.month - 1 + step) // 12, (day.month - 1 + step) % 12 + 1
        if month in inside and month % 12 + 1 not in inside:
            return year, month
    return day.year, 12
