"""When something happened, as people say it."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from finishlog.errors import InputError
from finishlog.inputs.moments import of_day, read_moment, text_of

ZONE = ZoneInfo("America/Chicago")
NOW = datetime(2026, 6, 16, 12, 40, tzinfo=UTC)  # 7:40 in the morning at the site, a Tuesday


def local(text: str, now: datetime = NOW) -> str:
    return f"{read_moment(text, now, ZONE).instant.astimezone(ZONE):%Y-%m-%d %H:%M}"


@pytest.mark.parametrize(
    ("text", "when", "exactness", "echo"),
    [
        ("7:10a", "2026-06-16 07:10", "exact", "Tue Jun 16, 7:10 in the morning"),
        ("7a", "2026-06-16 07:00", "exact", "Tue Jun 16, 7:00 in the morning"),
        ("7:10", "2026-06-16 07:10", "exact", "Tue Jun 16, 7:10 in the morning"),
        ("7:10 pm", "2026-06-16 19:10", "exact", "Tue Jun 16, 7:10 in the evening"),
        ("noon", "2026-06-16 12:00", "exact", "Tue Jun 16, 12:00 noon"),
        ("12a", "2026-06-16 00:00", "exact", "Tue Jun 16, 12:00 at night"),
        ("about 7:30", "2026-06-16 07:30", "about", "Tue Jun 16, about 7:30 in the morning"),
        ("~2p", "2026-06-16 14:00", "about", "Tue Jun 16, about 2:00 in the afternoon"),
        ("Jun 4 7:10a", "2026-06-04 07:10", "exact", "Thu Jun 4, 7:10 in the morning"),
        ("4 June at 7:10a", "2026-06-04 07:10", "exact", "Thu Jun 4, 7:10 in the morning"),
        ("Jun 4, 2025 2:30 pm", "2025-06-04 14:30", "exact", "Wed Jun 4 2025, 2:30 in the afternoon"),
        ("2026-06-04 07:10", "2026-06-04 07:10", "exact", "Thu Jun 4, 7:10 in the morning"),
        ("2026-06-04T07:10", "2026-06-04 07:10", "exact", "Thu Jun 4, 7:10 in the morning"),
        ("2026-06-04", "2026-06-04 12:00", "day", "Thu Jun 4"),
        ("about 2026-06-04", "2026-06-04 12:00", "day", "Thu Jun 4"),
        ("yesterday 7:30", "2026-06-15 07:30", "exact", "Mon Jun 15, 7:30 in the morning"),
        ("yesterday", "2026-06-15 12:00", "day", "Mon Jun 15"),
        ("tue 7a", "2026-06-16 07:00", "exact", "Tue Jun 16, 7:00 in the morning"),
        ("Friday", "2026-06-12 12:00", "day", "Fri Jun 12"),
        ("-2h", "2026-06-16 05:40", "exact", "Tue Jun 16, 5:40 in the morning"),
        ("-1 1/2 h", "2026-06-16 06:10", "exact", "Tue Jun 16, 6:10 in the morning"),
        ("-20 min", "2026-06-16 07:20", "exact", "Tue Jun 16, 7:20 in the morning"),
        ("2h ago", "2026-06-16 05:40", "exact", "Tue Jun 16, 5:40 in the morning"),
        ("-3 d", "2026-06-13 12:00", "day", "Sat Jun 13"),
        ("now", "2026-06-16 07:40", "exact", "Tue Jun 16, 7:40 in the morning"),
    ],
)
def test_a_time_as_it_is_said(text: str, when: str, exactness: str, echo: str) -> None:
    moment = read_moment(text, NOW, ZONE)
    assert local(text) == when
    assert (moment.exactness, moment.echo) == (exactness, echo)
    assert moment.instant.tzinfo is UTC


def test_a_day_without_a_year_is_the_last_one_or_near_ahead() -> None:
    assert local("Jul 1") == "2026-07-01 12:00"  # in two weeks: a slip, asked about elsewhere
    assert local("Aug 1") == "2025-08-01 12:00"
    assert local("Feb 29") == "2024-02-29 12:00"
    assert local("Dec 31 7p", datetime(2027, 1, 1, 12, tzinfo=UTC)) == "2026-12-31 19:00"


def test_a_time_without_a_day_is_of_the_day_that_is_meant() -> None:
    moment = read_moment("7:10a", NOW, ZONE, day=date(2026, 6, 4))
    assert f"{moment.instant.astimezone(ZONE):%Y-%m-%d %H:%M}" == "2026-06-04 07:10"


def test_the_clock_is_the_sites() -> None:
    late = datetime(2026, 6, 17, 4, 30, tzinfo=UTC)  # still the 16th in Chicago
    assert local("7:10a", late) == "2026-06-16 07:10"
    assert local("yesterday", late) == "2026-06-15 12:00"


def test_an_hour_that_did_not_exist_is_refused() -> None:
    with pytest.raises(InputError) as wrong:
        read_moment("2026-03-08 2:30", NOW, ZONE)
    assert "Clocks went forward" in wrong.value.line()
    assert wrong.value.example == "03:30"


def test_of_an_hour_that_came_twice_the_first_is_taken_and_said() -> None:
    first = read_moment("2026-11-01 1:30", NOW, ZONE)
    second = read_moment("2026-11-01T01:30-06:00", NOW, ZONE)
    assert "first of two" in first.echo
    assert second.instant - first.instant == timedelta(hours=1)
    assert "(CST, the second of two" in second.echo


def test_numbers_that_are_still_to_come_are_last_years_and_said() -> None:
    assert read_moment("6/17", NOW, ZONE).echo == "Tue Jun 17 2025; last year's: 6/17 is still to come"
    assert read_moment("6/15", NOW, ZONE).echo == "Mon Jun 15"


def test_the_hour_that_was_not_said_is_said() -> None:
    assert read_moment("this morning", NOW, ZONE).echo == "Tue Jun 16; hour not given"


def test_yesterday_holds_at_any_hour() -> None:
    for hour in range(24):
        now = datetime(2026, 6, 16, hour, 5, tzinfo=ZONE)
        assert local("yesterday 7:30a", now) == local("7:30 yesterday", now) == "2026-06-15 07:30"


def test_a_clock_that_is_not_the_shops_is_named() -> None:
    denver = ZoneInfo("America/Denver")
    assert read_moment("7:10a", NOW, denver, home=ZONE).echo == "Tue Jun 16, 7:10 in the morning (MDT)"
    assert read_moment("7:10a", NOW, ZONE, home=ZONE).echo == "Tue Jun 16, 7:10 in the morning"
    assert read_moment("yesterday", NOW, denver, home=ZONE).echo == "Mon Jun 15"
    with pytest.raises(InputError) as wrong:
        read_moment("Jun 16 7:10a (CDT)", NOW, denver)
    assert "MDT" in wrong.value.line()


def test_hours_ago_are_real_hours() -> None:
    after = datetime(2026, 3, 8, 9, 0, tzinfo=UTC)  # 4:00 in the morning, the clocks just went forward
    assert local("-2h", after) == "2026-03-08 01:00"


@pytest.mark.parametrize(
    "text",
    [
        *(
            "",
            " ",
            "7",
            "25:00",
            "13:00 pm",
            "0a",
            "7:60",
            "tomorrow",
            "soon",
            "about",
            "-",
            "-h",
        ),
        *("13/04/2026 7a", "3/4/26", "Jun 4 26", "Jun 40", "Feb 30", "2026-02-30", "06-04", "2026-13-01 7a"),
        *("-1e3h", "-nan h", "--2h", "-0x10h", "7_0a", "٧:١٠", "7:10a\0", "9999-12-31 7a", "1815-06-18"),
        *("-99999999h", "-100001 d", "7:10a " * 20, "\u202e7a", "[/nope]"),
    ],
)
def test_what_can_mean_two_times_or_none_is_refused_with_an_example(text: str) -> None:
    with pytest.raises(InputError) as wrong:
        read_moment(text, NOW, ZONE)
    assert wrong.value.example
    assert "\x00" not in wrong.value.line()


@given(st.text(max_size=70))
def test_any_text_is_a_moment_or_a_clear_refusal(text: str) -> None:
    example = ""
    try:
        moment = read_moment(text, NOW, ZONE)
    except InputError as wrong:
        example = wrong.example
    else:
        example = moment.echo
        assert moment.instant.utcoffset() == timedelta(0)
    assert example


@given(
    st.integers(0, 6_900_000_000),
    st.sampled_from(["exact", "about", "day"]),
    st.sampled_from(["America/Chicago", "America/St_Johns", "Australia/Lord_Howe", "UTC", "Asia/Kathmandu"]),
)
def test_a_moment_written_is_read_again(seconds: int, exactness: str, zone_name: str) -> None:
    zone = ZoneInfo(zone_name)
    instant = datetime.fromtimestamp(seconds // 60 * 60, UTC)
    if exactness == "day":
        instant = of_day(instant.astimezone(zone).date(), NOW, zone).instant
    moment = read_moment(text_of(instant, exactness, zone), NOW, zone)  # type: ignore[arg-type]
    assert (moment.instant, moment.exactness) == (instant, exactness)


@given(
    st.integers(-63_000_000, 63_000_000),
    st.sampled_from(["exact", "about", "day"]),
    st.sampled_from(["America/Chicago", "America/St_Johns", "Australia/Lord_Howe", "UTC", "Asia/Kathmandu"]),
    st.sampled_from([None, "America/New_York", "America/Chicago"]),
)
def test_an_echo_is_read_as_the_same_moment(
    seconds: int, exactness: str, zone_name: str, home_name: str | None
) -> None:
    zone, home = ZoneInfo(zone_name), ZoneInfo(home_name) if home_name else None
    instant = (NOW + timedelta(seconds=seconds)).replace(second=0)
    if exactness == "day":
        instant = of_day(instant.astimezone(zone).date(), NOW, zone).instant
    first = read_moment(text_of(instant, exactness, zone), NOW, zone, home=home)  # type: ignore[arg-type]
    again = read_moment(first.echo, NOW, zone, home=home)
    assert (again.instant, again.exactness, again.echo) == (instant, exactness, first.echo)


@given(
    st.sampled_from(["", "about ", "~"]),
    st.sampled_from(["yesterday", "last friday", "6/14", "12/3", "Jul 4", "tue", "2/29", "this morning"]),
    st.sampled_from(["", " 7:30a", " 11:30", " noon", " 12a", " 2:30"]),
    st.integers(0, 1000),
)
def test_what_people_say_is_read_again_from_its_echo(about: str, day: str, clock: str, on: int) -> None:
    now = NOW + timedelta(hours=37 * on)
    try:
        first = read_moment(f"{about}{day}{clock}", now, ZONE)
    except InputError:
        return  # an hour that is not in the morning, or did not exist
    again = read_moment(first.echo, now, ZONE)
    assert (again.instant, again.exactness) == (first.instant, first.exactness)
