"""Days as people remember them: "spring 2025", "May", "2025". Northern seasons by whole months."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

MONTHS = (
    "january", "february", "march", "april", "may", "june",
    "july", "august", "september", "october", "november", "december",
)  # fmt: skip
_SEASONS = (("winter",), ("spring",), ("summer",), ("fall", "autumn"))
SEASONS = tuple(name for names in _SEASONS for name in names)


def day_words(day: date) -> Iterator[str]:
    """Search words of a day: its parts, month and season, and both joined with the year."""
    month = MONTHS[day.month - 1]
    yield from (f"{day.year:04d}", f"{day.month:02d}", f"{day.day:02d}", month, str(day.day), str(day.year))
    yield f"{month}{day.year}"
    for season in _SEASONS[day.month % 12 // 3]:
        yield season
        yield from (f"{season}{year}" for year in _season_years(day))


def rough_words(day: date, exactness: str) -> Iterator[str]:
    """Like `day_words` for a month or season with middle `day`: no day, and for a season no month."""
    month = MONTHS[day.month - 1]
    own = {f"{day.day:02d}", str(day.day)}
    if exactness == "season":
        own |= {f"{day.month:02d}", month, f"{month}{day.year}"}
    yield from (word for word in day_words(day) if word not in own)


def _season_years(day: date) -> tuple[int, ...]:
    """One winter has two years; people name it by either."""
    if day.month == 12:
        return (day.year, day.year + 1)
    return (day.year - 1, day.year) if day.month < 3 else (day.year,)


def joined(one: str, other: str) -> str | None:
    """The joined word of a season or month and a year in either order, or None: "spring", "2025"."""
    name, year = (one, other) if other.isdecimal() else (other, one)
    if not (year.isascii() and year.isdecimal() and len(year) == 4):
        return None
    if name in SEASONS:
        return f"{name}{year}"
    months = [month for month in MONTHS if len(name) >= 3 and month.startswith(name)]
    return f"{months[0]}{year}" if len(months) == 1 else None


def names_time(word: str) -> bool:
    """Whether a word is a season, a month or a year, alone or joined."""
    name = word.rstrip("0123456789")
    year = word[len(name) :]
    if not name:
        return len(year) == 4
    return (name in SEASONS or name in MONTHS) and len(year) in (0, 4)
