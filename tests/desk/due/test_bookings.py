"""What is asked before a reseal is booked or logged; what the crew's list and the book of care say of the season."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest

from finishlog.desk.doubts.odd import Doubt
from finishlog.desk.due import care, today
from finishlog.desk.jobs import settings
from finishlog.desk.record import record, taking_back
from finishlog.desk.services import Services
from tests.desk.care_shop import PATIO, Clock, care_shop, seal

FRIDAY = date(2026, 8, 14)


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def services(tmp_path: Path, clock: Clock) -> Iterator[Services]:
    with care_shop(tmp_path, clock) as made:
        record.record(made, PATIO, "pour", {"at": "2012-06-01 11:20"})
        yield made


def asked(services: Services, on: date) -> str:
    """What is asked of a booking; it is kept once there is a reason."""
    with pytest.raises(Doubt) as doubt:
        care.set_state(services, PATIO, "booked", on=on)
    line = care.of_job(services, PATIO)
    assert line is not None
    assert line.state == "due"
    kept = care.set_state(services, PATIO, "booked", on=on, because="the owner is away else")
    assert "the owner is away else" in (kept.entry.note or "")
    taking_back.undo(services, PATIO)
    return doubt.value.title


def test_an_odd_day_of_a_booking_is_asked(services: Services) -> None:
    seal(services, "2023-05-10 10:00")
    settings.change(services, {"days_off": "8-20"})
    for on, said in (
        (date(2026, 6, 1), "Mon Jun 1 is in the past."),
        (date(2026, 8, 15), "Sat Aug 15 is on a weekend."),
        (date(2026, 8, 20), "Thu Aug 20 is one of your days off."),
        (date(2026, 12, 4), "Fri Dec 4 is off season: you seal Apr to Oct."),
        (date(2026, 12, 5), "Sat Dec 5 is on a weekend. Sat Dec 5 is off season: you seal Apr to Oct."),
    ):
        assert asked(services, on) == said
    assert care.set_state(services, PATIO, "booked", on=FRIDAY).warnings == ()


def test_the_week_plan_keeps_off_the_days_off(services: Services) -> None:
    seal(services, "2023-05-10 10:00")
    free = care.offered_day(services, PATIO)
    assert free is not None
    settings.change(services, {"days_off": free.isoformat()})
    other = care.offered_day(services, PATIO)
    assert other is not None
    assert other != free


def thick(services: Services) -> None:
    """Sealed three times over ten years, with the gallons that make a thick film."""
    for year in (2015, 2019, 2023):
        seal(
            services, f"{year}-05-10 10:00", area_ft2="400", amount="4 gal", reseal="yes", because="as it was"
        )


def test_a_reseal_on_a_thick_film_wants_a_reason_when_it_is_booked_and_logged(services: Services) -> None:
    thick(services)
    said = asked(services, FRIDAY)
    assert said.startswith("The film is about ")
    assert said.endswith(" mil, over 6: wipe or strip first.")
    with pytest.raises(Doubt, match="wipe or strip first"):
        seal(services, "2026-06-16 07:00", reseal="yes")
    with pytest.raises(Doubt, match="wipe or strip first"):
        care.set_state(services, PATIO, "done", on=date(2026, 6, 16))
    record.record(services, PATIO, "strip", {"at": "2026-06-15 10:00", "how": "stripped"})
    care.set_state(services, PATIO, "booked", on=FRIDAY)
    seal(services, "2026-06-16 07:00", reseal="yes")


def test_the_second_coat_of_a_reseal_is_not_asked_again(services: Services) -> None:
    thick(services)
    seal(services, "2026-06-15 07:00", reseal="yes", because="it holds")
    seal(services, "2026-06-15 13:00", reseal="yes", number="2")


def test_the_reseal_before_which_a_wipe_is_due_wants_a_reason(services: Services) -> None:
    for day in ("2014-05-10", "2017-05-10", "2020-05-10", "2023-05-10"):
        seal(services, f"{day} 10:00", reseal="yes", amount="1 gal")
    assert "The fifth reseal since the last wipe" in asked(services, FRIDAY)
    settings.change(services, {"wipe_every": "6"})
    care.set_state(services, PATIO, "booked", on=FRIDAY)


def test_todays_line_of_a_thick_film_is_led_by_what_comes_first(services: Services, clock: Clock) -> None:
    thick(services)
    clock.to("2028-04-14 12:00")
    line = next(line for line in today.today(services).lines if line.what == "reseal")
    assert line.before in ("wipe first", "strip first")
    assert line.first.startswith("The film is about ")
    assert "film" not in line.why


def reseals(services: Services) -> list[tuple[str, str]]:
    return [(line.state, line.title) for line in today.today(services).lines if line.what == "reseal"]


def test_a_window_of_two_years_is_the_crews_in_its_last_months_alone(
    services: Services, clock: Clock
) -> None:
    seal(services, "2023-05-10 10:00")
    held = care.of_job(services, PATIO)
    assert held is not None
    assert (held.due_from, held.due_to) == (date(2026, 5, 10), date(2028, 5, 10))
    assert reseals(services) == []
    assert care.book(services).sentence.startswith("1 reseal is open")
    clock.to("2028-04-02 12:00")
    assert reseals(services) == [("open", "Reseal")]
    settings.change(services, {"reseal_last_months": "60"})
    clock.to("2026-06-16 12:00")
    assert reseals(services) == [("open", "Reseal")]


def test_the_crews_list_and_the_book_of_care_have_one_season(services: Services, clock: Clock) -> None:
    """Off season the crew is shown no reseal but a booked one, whether its window is open or over."""
    seal(services, "2023-05-10 10:00")
    for now, state in (
        ("2027-12-20", None), ("2028-03-20", "opens"), ("2028-04-02", "open"), ("2028-05-20", "slipped"),
        ("2028-11-20", None), ("2029-03-25", "opens"),
    ):  # fmt: skip
        clock.to(f"{now} 12:00")
        assert reseals(services) == ([(state, "Reseal")] if state else []), now
        held = care.book(services).lines[0]
        assert held.month[1] in services.shop().care_months
        shown = next((line for line in today.today(services).lines if line.what == "reseal"), None)
        if shown is not None and state == "opens":
            assert (shown.opens_at.year, shown.opens_at.month) == held.month


def test_a_booking_off_season_is_on_the_crews_list(services: Services, clock: Clock) -> None:
    seal(services, "2023-05-10 10:00")
    care.set_state(services, PATIO, "booked", on=date(2026, 12, 4), because="a hall")
    clock.to("2026-12-01 12:00")
    assert reseals(services) == [("opens", "Reseal, booked")]
    clock.to("2026-12-04 12:00")
    assert reseals(services) == [("open", "Reseal, booked")]
