"""The same work logged twice within a day is asked; what only looks alike is not."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from itertools import count
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from finishlog.desk.doubts.odd import Doubt
from finishlog.desk.due import care
from finishlog.desk.forms import daycard
from finishlog.desk.jobs import edit
from finishlog.desk.record import record, taking_back
from finishlog.desk.services import Services
from finishlog.store import Log

JOB = "ottoline-quillfeather-back-patio"


class Clock:
    now = datetime(2026, 6, 16, 22, 40, tzinfo=UTC)

    def __call__(self) -> datetime:
        return self.now


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def services(tmp_path: Path, clock: Clock) -> Iterator[Services]:
    uids = count(1)
    log = Log.create(tmp_path / "l.finishlog", clock=clock, new_uid=lambda: f"u{next(uids)}")
    made = Services(
        open_log=lambda: log, has_log=lambda: True, make_log=lambda *_: log, clock=clock,
        find_zone=lambda: ZoneInfo("America/Chicago"),
    )  # fmt: skip
    edit.new_job(made, {"customer": "Ottoline Quillfeather", "job": "back patio", "areas": "field, border"})
    yield made
    log.close()


def log(services: Services, kind: str, because: str | None = None, **texts: str) -> record.Recorded:
    return record.record(services, JOB, kind, texts, because=because)


def poured(services: Services) -> None:
    log(services, "pour", at="2026-06-15 11:20")


@pytest.mark.parametrize(("kind", "name"), [("rinse", "Rinse"), ("sweep", "Sweep"), ("joint", "Joint")])
def test_work_done_once_is_asked_the_second_time(
    services: Services, clock: Clock, kind: str, name: str
) -> None:
    poured(services)
    log(services, kind, by="Odd", area="field")
    clock.now += timedelta(minutes=1)
    with pytest.raises(Doubt, match=rf"{name}.* was logged a minute ago by Odd: entry 2\. Log it again\?"):
        log(services, kind, by="Bo", area="field")
    assert log(services, kind, by="Bo", area="border").entry.number == 3  # another area is other work
    again = log(services, kind, "rinsed twice", by="Bo", area="field").entry
    assert "Because: rinsed twice" in (again.note or "")


def test_the_whole_job_has_its_areas_in_it_and_a_day_later_nothing_is_asked(
    services: Services, clock: Clock
) -> None:
    poured(services)
    log(services, "rinse", area="field")
    clock.now += timedelta(hours=3)
    with pytest.raises(Doubt, match="3 hours ago: entry 2"):
        log(services, "rinse")
    clock.now += timedelta(hours=22)
    assert log(services, "rinse").entry.number == 3


def test_a_correction_is_no_second_time_and_what_was_taken_back_is_none(services: Services) -> None:
    poured(services)
    log(services, "rinse")
    record.record(services, JOB, "rinse", {"pressure_psi": "1800"}, replaces=2)
    taking_back.undo(services, JOB)  # what was corrected stands again
    taking_back.undo(services, JOB)
    assert log(services, "rinse").entry.number == 6


def test_coats_are_told_apart_by_their_number(services: Services, clock: Clock) -> None:
    poured(services)
    clock.now += timedelta(days=40)
    log(services, "seal", number="1", by="Odd")
    assert log(services, "seal", number="2", by="Odd").entry.number == 3
    with pytest.raises(Doubt, match="by Odd: entry 3"):
        log(services, "seal", number="2", by="Bo")


def test_two_shades_thrown_one_after_the_other_are_no_double(services: Services) -> None:
    log(services, "powder_release", product="Otter Back", amount="10 lb")
    log(services, "powder_release", product="Toad Stone", amount="2 lb")
    with pytest.raises(Doubt, match="entry 1"):
        log(services, "powder_release", product="otter back", amount="10 lb")


def test_loads_come_many_and_one_ticket_once(services: Services, clock: Clock) -> None:
    for _ in range(2):
        log(services, "load", area="all", yards="6", product="Wet Biscuit", amount="40 lb", by="Odd")
    with pytest.raises(Doubt, match="Load was logged a minute ago by Odd: entry 2"):
        log(services, "load", area="all", yards="6", product="Wet Biscuit", amount="40 lb", by="Bo")
    clock.now += timedelta(minutes=30)
    log(
        services,
        "load",
        area="all",
        yards="6",
        product="Wet Biscuit",
        amount="40 lb",
        by="Bo",
        ticket="40731",
    )
    with pytest.raises(Doubt, match=r"30 minutes ago|a minute ago"):
        log(services, "load", area="all", yards="5", ticket="40731", by="Odd")


def test_a_file_of_the_same_bytes_is_asked_under_any_name(services: Services, tmp_path: Path) -> None:
    first, second = tmp_path / "a.txt", tmp_path / "b.txt"
    for path in (first, second):
        path.write_bytes(b"the slab")
    poured(services)
    record.record(services, JOB, "photo", {}, files=(first,))
    with pytest.raises(Doubt, match="Photo was logged a minute ago: entry 2"):
        record.record(services, JOB, "photo", {}, files=(second,))
    second.write_bytes(b"another slab")
    assert record.record(services, JOB, "photo", {}, files=(second,)).entry.number == 3


def test_a_booking_made_twice_is_asked_and_another_day_is_not(services: Services, clock: Clock) -> None:
    log(services, "pour", at="2023-07-01 11:20")
    log(services, "seal", number="1", at="2023-08-10 10:00")
    clock.now = datetime(2026, 6, 16, 15, tzinfo=UTC)
    care.set_state(services, JOB, "booked", on=date(2026, 8, 14), person="Odd")
    with pytest.raises(Doubt, match="Reseal booked for 2026-08-14 was logged a minute ago by Odd: entry 3"):
        care.set_state(services, JOB, "booked", on=date(2026, 8, 14), person="Bo")
    care.set_state(services, JOB, "booked", on=date(2026, 8, 17), person="Bo")
    care.set_state(services, JOB, "booked", on=date(2026, 8, 14), person="Bo", because="she called again")


def test_a_day_card_typed_by_two_is_asked_and_two_alike_on_one_card_are_not(services: Services) -> None:
    card = {
        "day": "2026-06-16",
        "load.1.yards": "6",
        "load.2.yards": "6",
        "stamp.pattern": "ashlar",
        "pour.at": "11a",
    }
    card = {daycard.DAY: card.pop("day"), **card}
    daycard.pour_day(services, JOB, card)
    with pytest.raises(Doubt, match="Stamp was logged"):
        daycard.pour_day(services, JOB, card)


def test_a_move_onto_a_job_that_has_it_already_is_asked(services: Services) -> None:
    other = edit.new_job(services, {"customer": "Bram Puddlecombe", "job": "walk"}).job
    for handle in (JOB, other):
        record.record(services, handle, "pour", {"at": "2026-06-15 11:20"})
        record.record(services, handle, "sweep", {})
    with pytest.raises(Doubt, match="Sweep was logged"):
        taking_back.move(services, other, 2, JOB)
