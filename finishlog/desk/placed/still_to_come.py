"""Facts a young slab lacks only because they are not due or still open: no warning."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from finishlog.desk import time_left

if TYPE_CHECKING:
    from finishlog.trade.due import DueLine

LABELS = {"rinse": "Rinse", "seal": "Sealer"}
"""What comes due, and the slab line it fills."""


def of(lines: Iterable[DueLine], now: datetime, zone: ZoneInfo) -> dict[str, dict[str, str]]:
    """By the uid of an area (blank: every one) what is to come: `Sealer` → `not yet: opens Dec 14`."""
    found: dict[str, dict[str, str]] = {}
    for line in lines:
        if line.key in LABELS and now <= line.closes:
            found.setdefault(line.area or "", {})[LABELS[line.key]] = _words(line, now.astimezone(zone), zone)
    return found


def for_area(found: Mapping[str, Mapping[str, str]], uid: str) -> Mapping[str, str]:
    """The whole job's notes, overridden by the area's own."""
    return {**found.get("", {}), **found.get(uid, {})}


def _words(line: DueLine, now: datetime, zone: ZoneInfo) -> str:
    opens, closes = line.opens.astimezone(zone), line.closes.astimezone(zone)
    if now < opens:
        return f"not yet: opens {time_left.ahead(opens, now)}"
    left = time_left.left(closes, now)
    return f"not yet: {'open ' if left.startswith('until') else ''}{left}"
