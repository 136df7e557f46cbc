"""How well a moment is known. Of a month or a season its middle stands in order, and has no age in days."""

from __future__ import annotations

from finishlog.records.log import Exactness

ROUGH: tuple[Exactness, ...] = ("month", "season")
NO_HOUR: tuple[Exactness, ...] = ("day", *ROUGH)


def has_hours(*known: str) -> bool:
    """Whether all of these moments have an hour, so that hours may be counted between them."""
    return not any(exactness in NO_HOUR for exactness in known)


def has_days(*known: str) -> bool:
    """Whether all of these moments have a day, so that days may be counted between them."""
    return not any(exactness in ROUGH for exactness in known)
