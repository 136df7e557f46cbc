"""A slab's age in everyday notation."""

from __future__ import annotations

import re

from finishlog import units
from finishlog.errors import InputError

LATEST_DAY = 3650
_DAYS = {
    "": 1.0,
    "d": 1.0,
    "day": 1.0,
    "h": 1 / 24,
    "hour": 1 / 24,
    "week": 7.0,
    "month": 30.4375,
    "year": 365.25,
}


def read_age_days(text: str) -> float:
    """Days of an age: `45`, `36 h`, `6 weeks`, `2 years`; from 0 to ten years. Raises InputError."""
    found = re.fullmatch(r"\s*([\d./ ]*\d)\s*([a-z]*?)s?\s*", text[:40].casefold(), re.ASCII)
    number = units.number_from(found[1]) if found else None
    if found is None or number is None or found[2] not in _DAYS:
        raise InputError(
            f"“{units.shown(text)}” is no age.", "A bare number is days.", example="45 or 6 weeks"
        )
    days = float(number) * _DAYS[found[2]]
    if days > LATEST_DAY:
        raise InputError(f"“{units.shown(text)}” is past ten years.", "Forecasts stop there.", example="45")
    return days
