"""SEQUENCE rises whenever an event says something else (RFC 5545 §3.8.7.4), and only then; read by another parser."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path

import icalendar
import pytest

from finishlog.desk.due import care
from finishlog.desk.jobs import edit, settings
from finishlog.desk.record import record
from finishlog.desk.services import Services
from finishlog.errors import LogError
from finishlog.papers.reminders import send
from tests.desk.care_shop import PATIO, Clock, care_shop, new_job, poured, seal

Events = dict[str, icalendar.Event]


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def services(tmp_path: Path, clock: Clock) -> Iterator[Services]:
    with care_shop(tmp_path, clock) as made:
        poured(made, PATIO)
        seal(made, "2023-05-10 10:00")
        yield made


@pytest.fixture
def exported(services: Services, tmp_path: Path) -> Callable[[], Events]:
    def exported() -> Events:
        target = tmp_path / "reseals.ics"
        send.write(services, care.book(services), {"ics": str(target)}, force=True)
        read = icalendar.Calendar.from_ical(target.read_bytes())
        return {str(event["UID"]): event for event in read.walk("VEVENT")}

    return exported


def leave_alone(services: Services) -> None:
    with services.log().writing() as log:
        log.update_customer(PATIO, leave_alone=True)


CHANGES: dict[str, Callable[[Services], object]] = {
    "interval": lambda services: settings.change(services, {"reseal_from_years": "2"}),
    "end of the window": lambda services: settings.change(services, {"reseal_to_years": "6"}),
    "season": lambda services: settings.change(services, {"care_months": "9-10"}),
    "who wants no reminders": leave_alone,
    "a visit": lambda services: record.record(
        services, PATIO, "visit", {"at": "2026-06-01", "condition": "dull"}
    ),
    "the new owner": lambda services: edit.new_owner(services, PATIO, "Barnaby Crumpet"),
}


@pytest.mark.parametrize("what", CHANGES)
def test_the_number_rises_with_whatever_the_event_says(
    services: Services, exported: Callable[[], Events], clock: Clock, what: str
) -> None:
    [(uid, first)] = exported().items()
    clock.to("2026-06-16 09:00")
    [(_, again)] = exported().items()
    assert again["SEQUENCE"] == first["SEQUENCE"]
    assert again["DTSTAMP"].dt > first["DTSTAMP"].dt
    CHANGES[what](services)
    changed = exported()[uid]
    assert changed["SEQUENCE"] > first["SEQUENCE"]
    assert exported()[uid]["SEQUENCE"] == changed["SEQUENCE"]


def test_a_setting_set_back_is_a_change_again(services: Services, exported: Callable[[], Events]) -> None:
    numbers = []
    for years in ("3", "2", "3"):
        settings.change(services, {"reseal_from_years": years})
        [event] = exported().values()
        numbers.append((event["SEQUENCE"], event["DTSTART"].dt.year))
    assert numbers == sorted(set(numbers))
    assert [year for _, year in numbers] == [2026, 2025, 2026]


def test_who_is_to_be_asked_later_is_in_no_calendar_until_that_day_comes(
    services: Services, exported: Callable[[], Events], clock: Clock
) -> None:
    care.set_state(services, PATIO, "ask_again", on=date(2026, 8, 16))
    assert exported() == {}
    clock.to("2026-08-17 09:00")
    [due] = exported().values()
    care.set_state(services, PATIO, "ask_again", on=date(2026, 9, 20))
    [off] = exported().values()
    clock.to("2026-09-21 09:00")
    [again] = exported().values()
    assert [str(event["STATUS"]) for event in (due, off, again)] == ["TENTATIVE", "CANCELLED", "TENTATIVE"]
    assert str(again["SUMMARY"]).startswith("Reseal due")
    assert due["SEQUENCE"] < off["SEQUENCE"] < again["SEQUENCE"]


def test_one_who_says_no_and_an_archived_job_are_cancelled(
    services: Services, exported: Callable[[], Events]
) -> None:
    other = new_job(services, "Barnaby Puddlecombe", "walk", "14 Teakettle Lane")
    poured(services, other)
    seal(services, "2023-05-10 10:00", other)
    before = exported()
    leave_alone(services)
    edit.archive(services, other)
    after = exported()
    assert after.keys() == before.keys()
    assert {str(event["STATUS"]) for event in before.values()} == {"TENTATIVE"}
    assert {str(event["STATUS"]) for event in after.values()} == {"CANCELLED"}
    assert all(after[uid]["SEQUENCE"] > before[uid]["SEQUENCE"] for uid in before)
    edit.unarchive(services, other)
    [back] = [event for event in exported().values() if str(event["STATUS"]) == "TENTATIVE"]
    assert back["SEQUENCE"] > after[str(back["UID"])]["SEQUENCE"]


def test_a_log_that_cannot_be_written_still_gives_a_calendar_and_says_so(
    services: Services, exported: Callable[[], Events], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    def no_writing(_self: object) -> None:
        raise LogError("The log cannot be written.", "", "")

    monkeypatch.setattr(type(services.log()), "writing", no_writing)
    assert len(exported()) == 1
    said = send.write(services, care.book(services), {"ics": str(tmp_path / "b.ics")})
    assert send.NOT_KEPT in said
