"""A time to come, as people say it; and what `moments` takes of the past, as the issue has it."""

from __future__ import annotations

from contextlib import suppress
from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as some

from finishlog.errors import InputError
from finishlog.inputs.moments import read_moment
from finishlog.inputs.until import read_day, read_until

ZONE = ZoneInfo("America/Chicago")
NOW = datetime(2026, 6, 16, 7, 40, tzinfo=ZONE)  # a Tuesday


@pytest.mark.parametrize(
    ("text", "when"),
    [
        ("tomorrow", "2026-06-17T00:00"),
        ("tomorrow 7a", "2026-06-17T07:00"),
        ("until tomorrow at noon", "2026-06-17T12:00"),
        ("Fri", "2026-06-19T00:00"),
        ("tuesday 9a", "2026-06-23T09:00"),
        ("in 2 days", "2026-06-18T00:00"),
        ("a week", None),
        ("1 week", "2026-06-23T00:00"),
        ("in 6 months", "2026-12-16T00:00"),
        ("1 year", "2027-06-16T00:00"),
        ("in 99999 years", None),
        ("+3h", "2026-06-16T10:40"),
        ("in 2 hours", "2026-06-16T09:40"),
        ("4p", "2026-06-16T16:00"),
        ("7a", "2026-06-17T07:00"),
        ("Jun 20", "2026-06-20T00:00"),
        ("Jun 4", "2027-06-04T00:00"),
        ("2026-06-20", "2026-06-20T00:00"),
        ("2026-06-20 07:30", "2026-06-20T07:30"),
        ("", None),
        ("soon", None),
        ("-2h", None),
        ("13/06/2026", None),
        ("next friday", "2026-06-26T00:00"),
        ("next tue 7a", "2026-06-23T07:00"),
        ("this tuesday", "2026-06-16T00:00"),
        ("this fri", "2026-06-19T00:00"),
        ("in 2 weeks", "2026-06-30T00:00"),
        ("6/20", "2026-06-20T00:00"),
        ("6/4", "2027-06-04T00:00"),
        ("06/20/2027", "2027-06-20T00:00"),
        ("last friday", None),
        ("next 7a", None),
        ("9" * 70, None),
        ("in 99999999999 days", None),
    ],
)
def test_a_time_to_come(text: str, when: str | None) -> None:
    if when is None:
        with pytest.raises(InputError) as caught:
            read_until(text, NOW, ZONE)
        assert "tomorrow" in caught.value.line()
    else:
        assert read_until(text, NOW, ZONE) == datetime.fromisoformat(when).replace(tzinfo=ZONE)


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("2026-08-14", "2026-08-14"),
        ("2020-01-05", "2020-01-05"),  # a date with its year may be past
        ("Aug 14", "2026-08-14"),
        ("Jun 4", "2027-06-04"),
        ("Fri", "2026-06-19"),
        ("next friday", "2026-06-26"),
        ("next Mon", "2026-06-22"),
        ("this Tue", "2026-06-16"),
        ("in 2 weeks", "2026-06-30"),
        ("8/14", "2026-08-14"),
        ("14/8", None),
        ("in 6 months", "2026-12-16"),
        ("6 months", "2026-12-16"),
        ("1 1/2 years", "2027-12-16"),
        ("in 3 weeks", "2026-07-07"),
        ("in 2 hours", None),
        ("4p", None),
        ("in 0 months", None),
        ("in 99999 years", None),
        ("soon", None),
        ("", None),
    ],
)
def test_a_day_to_come(text: str, day: str | None) -> None:
    if day is None:
        with pytest.raises(InputError) as caught:
            read_day(text, NOW.date())
        assert "in 6 months" in caught.value.line()
    else:
        assert read_day(text, NOW.date()) == date.fromisoformat(day)


def test_months_are_the_calendars() -> None:
    assert read_day("in 6 months", date(2026, 8, 31)) == date(2027, 2, 28)


@given(some.text(max_size=30))
def test_any_text_is_a_time_or_a_clear_refusal(text: str) -> None:
    with suppress(InputError):
        assert read_until(text, NOW, ZONE).tzinfo is UTC


@pytest.mark.parametrize(
    ("text", "when", "exactness"),
    [
        ("yesterday 7:30", "2026-06-15T07:30", "exact"),
        ("7a", "2026-06-16T07:00", "exact"),
        ("-2h", "2026-06-16T05:40", "exact"),
        ("about noon", "2026-06-16T12:00", "about"),
        ("noon", "2026-06-16T12:00", "exact"),
        ("about 7:30 yesterday", "2026-06-15T07:30", "about"),
        ("yesterday about 7:30", "2026-06-15T07:30", "about"),
        ("7:30 yesterday", "2026-06-15T07:30", "exact"),
        ("7:30a on fri", "2026-06-12T07:30", "exact"),
        ("yesterday", "2026-06-15T12:00", "day"),
        ("about yesterday noon", "2026-06-15T12:00", "about"),
        ("half an hour ago", "2026-06-16T07:10", "exact"),
        ("-90m", "2026-06-16T06:10", "exact"),
        ("90 m ago", "2026-06-16T06:10", "exact"),
        ("1 week ago", "2026-06-09T12:00", "day"),
        ("a week ago", "2026-06-09T12:00", "day"),
        ("-2 wk", "2026-06-02T12:00", "day"),
        ("half a week ago", None, ""),
        ("30 min ago", "2026-06-16T07:10", "exact"),
        ("-1 1/2 h", "2026-06-16T06:10", "exact"),
        ("midnight", "2026-06-16T00:00", "exact"),
        ("yesterday midnight", None, ""),
        ("midnight jun 4", None, ""),
        ("this morning", "2026-06-16T12:00", "day"),
        ("7:30 this morning", "2026-06-16T07:30", "exact"),
        ("yesterday afternoon 2:30", "2026-06-15T14:30", "exact"),
        ("about 8p yesterday evening", "2026-06-15T20:00", "about"),
        ("tonight", "2026-06-16T12:00", "day"),
        ("this morning 2p", None, ""),
        ("last friday", "2026-06-12T12:00", "day"),
        ("friday", "2026-06-12T12:00", "day"),
        ("last tuesday 2p", "2026-06-09T14:00", "exact"),
        ("tuesday", "2026-06-16T12:00", "day"),
        ("last spring", None, ""),
        ("6/14", "2026-06-14T12:00", "day"),
        ("6/14 7:30a", "2026-06-14T07:30", "exact"),
        ("6/17", "2025-06-17T12:00", "day"),
        ("2/29", "2024-02-29T12:00", "day"),
        ("3/4/2026 7a", "2026-03-04T07:00", "exact"),
        ("14/6", None, ""),
        ("2/30", None, ""),
        ("tue jun 16 7a", "2026-06-16T07:00", "exact"),
        ("mon jun 16", None, ""),
    ],
)
def test_the_past_as_people_say_it(text: str, when: str | None, exactness: str) -> None:
    if when is None:
        with pytest.raises(InputError):
            read_moment(text, NOW, ZONE)
        return
    found = read_moment(text, NOW, ZONE)
    assert found.instant == datetime.fromisoformat(when).replace(tzinfo=ZONE)
    assert found.exactness == exactness
