"""Instants as they are kept: one text for one instant, whatever the zone it was said in."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone
from zoneinfo import ZoneInfo

from finishlog.store.schema.types import write_instant


def test_the_hour_that_comes_twice_is_two_instants() -> None:
    """They are equal in Python, so nothing may be remembered by them."""
    zone = ZoneInfo("America/Chicago")
    first, second = (datetime(2025, 11, 2, 1, 30, tzinfo=zone, fold=fold) for fold in (0, 1))
    assert first == second
    assert (write_instant(first), write_instant(second)) == (
        "2025-11-02T06:30:00.000000Z",
        "2025-11-02T07:30:00.000000Z",
    )


def test_one_instant_is_one_text_in_every_zone() -> None:
    instant = datetime(2025, 6, 16, 14, 30, 0, 120, tzinfo=UTC)
    away = instant.astimezone(timezone(timedelta(hours=-5)))
    assert write_instant(away) == write_instant(instant) == "2025-06-16T14:30:00.000120Z"
