"""The season and the days off: when a crew sees a reseal, what is odd about a day."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from finishlog.errors import InputError
from finishlog.records.shop import Shop
from finishlog.trade.upkeep import care, season
from finishlog.units import read_days_off, write_days_off

SHOP = Shop.from_values({})
D = date


@pytest.mark.parametrize(
    ("due", "worn", "seen"),
    [
        ((D(2026, 3, 3), D(2028, 3, 3)), False, (D(2027, 7, 31), D(2028, 3, 3))),  # the last months it can be done in
        ((D(2026, 7, 2), D(2028, 7, 2)), False, (D(2028, 4, 2), D(2028, 7, 2))),
        ((D(2026, 5, 20), D(2028, 5, 20)), False, (D(2028, 4, 1), D(2028, 5, 20))),
        ((D(2026, 7, 2), D(2026, 8, 2)), False, (D(2026, 7, 2), D(2026, 8, 2))),
        ((D(2026, 6, 1), D(2026, 12, 1)), True, (D(2026, 6, 1), D(2026, 12, 1))),  # worn: at once
        ((D(2026, 11, 10), D(2027, 5, 10)), True, (D(2027, 4, 1), D(2027, 5, 10))),
        ((D(2026, 11, 10), D(2027, 2, 10)), True, (D(2027, 4, 1), D(2027, 4, 30))),  # all of it off season
    ],
)  # fmt: skip
def test_a_crew_sees_a_reseal_in_its_last_months_in_the_season(
    due: tuple[date, date], worn: bool, seen: tuple[date, date]
) -> None:
    assert season.crew_window(*due, SHOP, worn=worn) == seen


DAYS = st.dates(D(2000, 1, 1), D(2100, 1, 1))
SEASONS = st.sets(st.integers(1, 12), min_size=1).map(lambda months: tuple(sorted(months)))


@given(DAYS, st.integers(0, 3000), SEASONS, st.booleans())
def test_it_opens_in_the_season_within_its_window_where_that_has_a_day(
    first: date, length: int, months: tuple[int, ...], worn: bool
) -> None:
    shop, last = Shop({"care_months": months}), first + timedelta(days=length)
    opens, closes = season.crew_window(first, last, shop, worn=worn)
    assert opens.month in months
    assert first <= opens <= closes
    assert closes >= last
    inside = any((first + timedelta(days=step)).month in months for step in range(min(length, 366) + 1))
    assert (opens <= last) == inside
    assert (opens.year, opens.month) >= care.open_month(first, months)  # never before the book of care has it


def test_what_is_odd_about_a_day() -> None:
    shop = Shop({"days_off": read_days_off("Jul 3, 2026-08-14")})
    today = D(2026, 6, 16)

    def odd(day: date) -> list[str]:
        return list(season.odd_day(day, today, shop))

    assert odd(D(2026, 6, 17)) == []
    assert odd(D(2026, 6, 15)) == ["Mon Jun 15 is in the past."]
    assert odd(D(2026, 6, 20)) == ["Sat Jun 20 is on a weekend."]
    assert odd(D(2026, 7, 3)) == ["Fri Jul 3 is one of your days off."]
    assert odd(D(2028, 7, 3)) == ["Mon Jul 3 2028 is one of your days off."]
    assert odd(D(2026, 8, 14)) == ["Fri Aug 14 is one of your days off."]
    assert odd(D(2028, 8, 14)) == []
    assert odd(D(2026, 11, 2)) == ["Mon Nov 2 is off season: you seal Apr to Oct."]


def test_days_off_are_read_as_people_write_them() -> None:
    assert read_days_off("12-25; 7/4, Nov 27 2026\n2026-12-24, 12-25") == (704, 1225, 20261127, 20261224)
    assert write_days_off((704, 1225, 20261127)) == "Jul 4, Dec 25, Nov 27 2026"
    assert read_days_off(write_days_off((229, 704, 20261127))) == (229, 704, 20261127)
    assert write_days_off(()) == "none"
    for wrong in ("13-1", "2-30", "some day", "2026-02-29"):
        with pytest.raises(InputError, match="day"):
            read_days_off(wrong)


@pytest.mark.parametrize(
    ("months", "words"), [((12, 1), "Dec to Jan"), ((1, 12, 6), "Jun, Dec to Jan"), ((2, 4), "Feb, Apr")]
)
def test_months_that_follow_each_other_are_a_span(months: tuple[int, ...], words: str) -> None:
    assert season.season_words(months) == words


@pytest.mark.parametrize(
    ("day", "opens", "last"),
    [("2026-04-01", "2026-04-01", "2026-04-01"), ("2026-10-31", "2026-10-31", "2026-10-31"),
     ("2026-11-01", "2027-04-01", "2026-10-31"), ("2026-03-31", "2026-04-01", "2025-10-31")],
)  # fmt: skip
def test_the_first_and_the_last_day_of_the_season(day: str, opens: str, last: str) -> None:
    months, on = SHOP.care_months, D.fromisoformat(day)
    assert season.open_day(on, months) == D.fromisoformat(opens)
    assert season.last_open_day(on, months) == D.fromisoformat(last)


def test_today_is_not_past_and_a_friday_no_weekend() -> None:
    today = D(2026, 6, 19)  # a Friday
    assert list(season.odd_day(today, today, SHOP)) == []
    assert list(season.odd_day(D(2026, 6, 20), today, SHOP)) == ["Sat Jun 20 is on a weekend."]
