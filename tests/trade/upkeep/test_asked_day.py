"""The day a customer asked for, read from the note of a call; what was said stays; the season of a day."""

from __future__ import annotations

from datetime import date

import pytest

from finishlog.records.care import Reseal
from finishlog.records.log import Job
from finishlog.records.shop import Shop
from finishlog.trade.upkeep import care
from finishlog.trade.upkeep.asked_day import Asked, asked, on_weekday
from finishlog.trade.upkeep.care_said import season_end
from tests.trade.care_build import EMPTY, ZONE, logged, sealed

SAID_ON = date(2026, 6, 3)


def due(job: Job, today: date = date(2026, 6, 16)) -> Reseal:
    found = care.reseal(job, Shop.from_values({}), ZONE, today)
    assert found is not None
    return found


@pytest.mark.parametrize(
    ("note", "day"),
    [
        ("wants Aug 14", date(2026, 8, 14)),
        ("August 14th, please", date(2026, 8, 14)),
        ("the 14th of August", date(2026, 8, 14)),
        ("8/14 or 8/21", date(2026, 8, 14)),
        ("2027-05-04", date(2027, 5, 4)),
        ("Apr 2 is best", date(2027, 4, 2)),
        ("after Sep 3", date(2026, 9, 3)),
        ("not before Sep 3", date(2026, 9, 3)),
        ("away until Jul 9", date(2026, 7, 9)),
        ("some day in September", date(2026, 9, 1)),
        ("mid July", date(2026, 7, 15)),
        ("not Aug 14, but Aug 21 fits", None),
        ("not on Aug 14; Aug 21 fits", date(2026, 8, 21)),
        ("before Sep 3", None),
        ("Feb 30", None),
        ("may call back", None),
        ("24x18 field, 1/2 in", None),
        (None, None),
    ],
)
def test_a_day_in_a_note(note: str | None, day: date | None) -> None:
    assert asked(note, SAID_ON).day == day


@pytest.mark.parametrize(
    ("note", "weekday"),
    [("wants a Friday", 4), ("next Tuesday", 1), ("Saturdays only", 5), ("sun side first", None), ("no Mondays", None),
     ("satisfied", None), ("Fri", 4)],
)  # fmt: skip
def test_a_weekday_in_a_note(note: str, weekday: int | None) -> None:
    assert asked(note, SAID_ON) == Asked(None, weekday)


def test_the_first_such_weekday_from_a_day_on() -> None:
    assert on_weekday(date(2026, 6, 17), 4) == date(2026, 6, 19)
    assert on_weekday(date(2026, 6, 19), 4) == date(2026, 6, 19)


def test_what_was_said_in_a_call_stays_beside_the_booking() -> None:
    job = logged(sealed(EMPTY, "2023-07-01"), "care", "2026-06-01", area=None, state="contacted",
                 note="dog in the yard, wants Aug 14")  # fmt: skip
    job = logged(job, "care", "2026-06-02", area=None, state="booked", on="2026-08-14")
    assert (due(job).note, due(job).said) == (None, "dog in the yard, wants Aug 14")
    assert due(job).wanted == date(2026, 8, 14)
    job = logged(job, "care", "2026-06-03", area=None, state="booked", on="2026-08-17", note="rained out")
    assert (due(job).note, due(job).said) == ("rained out", "dog in the yard, wants Aug 14")


def test_a_reminder_moves_the_state_until_a_person_says_more() -> None:
    job = logged(
        sealed(EMPTY, "2023-07-01"), "reminder", "2026-06-01", area=None, how="letter", to="Ottoline"
    )
    assert due(job).state == "written"
    assert due(job).open
    back = logged(job, "reminder", "2026-06-05", area=None, how="letter", result="bounced")
    assert (due(back).state, due(back).bounced) == ("due", True)
    called = logged(job, "care", "2026-06-06", area=None, state="contacted")
    assert (due(called).state, due(called).written) == ("contacted", ())
    assert due(job, date(2027, 6, 1)).state == "due", "another season"


@pytest.mark.parametrize(
    ("day", "months", "end"),
    [
        (date(2026, 6, 1), (4, 5, 6, 7, 8, 9, 10), (2026, 10)),
        (date(2026, 11, 2), (4, 5, 6, 7, 8, 9, 10), (2027, 10)),
        (date(2026, 12, 2), (1, 2, 3, 10, 11, 12), (2027, 3)),
        (date(2026, 12, 2), tuple(range(1, 13)), (2026, 12)),
    ],
)
def test_the_season_of_a_day(day: date, months: tuple[int, ...], end: tuple[int, int]) -> None:
    assert season_end(day, months) == end


@pytest.mark.parametrize(
    ("note", "day"),
    [
        ("Jun 3", date(2026, 6, 3)),  # the day it was said is not past yet
        ("Jun 2", date(2027, 6, 2)),
        ("Aug 14 2028", date(2028, 8, 14)),
        ("Jun 2 2025", date(2025, 6, 2)),
        ("8/14/2028", date(2028, 8, 14)),
        ("1/2/2027", date(2027, 1, 2)),  # with its year it is no fraction
        ("end of July", date(2026, 7, 25)),
        ("late July", date(2026, 7, 20)),
        ("early Jul", date(2026, 7, 1)),
        ("Feb 29", None),  # neither this year nor the next has one
        ("13/14", None),
        ("Aug 21 or Aug 14", date(2026, 8, 21)),  # the first that is named
    ],
)
def test_the_edges_of_a_day_in_a_note(note: str, day: date | None) -> None:
    assert asked(note, SAID_ON).day == day


@pytest.mark.parametrize(
    ("day", "months", "end"),
    [
        ("2026-06-16", (4, 5, 6, 7, 8, 9, 10), (2026, 10)),
        ("2026-10-31", (4, 5, 6, 7, 8, 9, 10), (2026, 10)),
        ("2026-11-01", (4, 5, 6, 7, 8, 9, 10), (2027, 10)),
        ("2026-11-01", (10, 11, 12, 1, 2), (2027, 2)),
        ("2026-12-31", (11, 12), (2026, 12)),
        ("2027-01-01", (11, 12), (2027, 12)),
        ("2026-06-16", tuple(range(1, 13)), (2026, 12)),
        ("2026-06-16", (), (2026, 12)),
    ],
)
def test_when_the_season_of_a_day_ends(day: str, months: tuple[int, ...], end: tuple[int, int]) -> None:
    assert season_end(date.fromisoformat(day), months) == end
