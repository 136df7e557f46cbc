"""The book of reseals: what is due, what the office did, the week plan."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest

from finishlog.desk.doubts.odd import Doubt
from finishlog.desk.due import calendar, care
from finishlog.desk.jobs import edit, settings
from finishlog.desk.record import record, taking_back
from finishlog.desk.services import Services
from finishlog.errors import InputError
from tests.desk.care_shop import PATIO, Clock, care_shop, job, new_job, poured, seal


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def services(tmp_path: Path, clock: Clock) -> Iterator[Services]:
    with care_shop(tmp_path, clock) as made:
        poured(made, PATIO)
        yield made


def states(services: Services, by: date | None = None) -> dict[str, str]:
    return {line.job: line.state for line in care.book(services, by).lines}


def test_an_empty_book_says_so(services: Services) -> None:
    held = care.book(services)
    assert held.sentence == "No slab due in the next 12 months."
    assert care.book(services, date(2026, 8, 31)).sentence == "No slab due by Aug 31 2026."
    assert [month.closed for month in held.months] == [m not in (4, 5, 6, 7, 8, 9, 10) for m in
                                                      (6, 7, 8, 9, 10, 11, 12, 1, 2, 3, 4, 5)]  # fmt: skip


def test_a_slab_enters_the_book_when_its_window_opens_by_the_day(services: Services) -> None:
    seal(services, "2023-08-10 10:00")
    assert states(services, date(2026, 8, 9)) == {}
    held = care.book(services, date(2026, 8, 10))
    assert held.sentence == "1 reseal is open to Aug 10 2026. 1 not contacted."
    [line] = held.lines
    assert (line.month, line.title) == ((2026, 8), "Ottoline Quillfeather · patio")
    assert held.of_month(2026, 8) == (line,)
    assert held.months[2].states == ("due",)


def test_the_office_works_through_it_and_every_step_can_be_undone(services: Services) -> None:
    seal(services, "2023-08-10 10:00")
    for state, on in (("contacted", None), ("booked", date(2026, 8, 14)), ("ask_again", date(2027, 4, 1)),
                      ("declined", None)):  # fmt: skip
        care.set_state(services, "ottoline", state, on=on, person="Bo")  # type: ignore[arg-type]
        assert states(services) == {PATIO: state}
    for back in ("ask_again", "booked", "contacted", "due"):
        taking_back.undo(services, PATIO)
        assert states(services) == {PATIO: back}
    assert len(job(services).history) == 10


def test_a_booking_stands_under_its_day_and_its_month(services: Services) -> None:
    seal(services, "2023-08-10 10:00")
    care.set_state(services, PATIO, "booked", on=date(2026, 9, 4))
    [line] = care.book(services).lines
    assert (line.month, line.on) == ((2026, 9), date(2026, 9, 4))
    assert "All contacted." in care.book(services).sentence


def test_doing_it_opens_the_next_window(services: Services, clock: Clock) -> None:
    seal(services, "2023-05-10 10:00")
    care.set_state(services, PATIO, "booked", on=date(2026, 6, 17))
    care.set_state(services, PATIO, "done", on=date(2026, 6, 12))
    assert states(services) == {PATIO: "done"}
    line = care.of_job(services, PATIO)
    assert line is not None
    assert (line.state, line.due_from, line.number) == ("due", date(2029, 6, 12), 2)
    clock.to("2026-07-02 08:00")
    assert states(services) == {}
    taking_back.undo(services, PATIO)
    assert states(services) == {PATIO: "booked"}


def test_what_cannot_be_is_refused(services: Services) -> None:
    with pytest.raises(InputError, match="never sealed"):
        care.set_state(services, PATIO, "contacted")
    seal(services, "2023-08-10 10:00")
    with pytest.raises(InputError, match="needs a day"):
        care.set_state(services, PATIO, "booked")
    with pytest.raises(Doubt, match="in the future"):
        care.set_state(services, PATIO, "done", on=date(2027, 1, 1))
    with pytest.raises(InputError) as wrong:
        care.read_state("sold")
    assert "ask-again" in wrong.value.line()
    assert care.read_state("Ask-Again") == "ask_again"


def test_a_customer_who_said_no_is_left_alone(services: Services) -> None:
    seal(services, "2023-08-10 10:00")
    with services.log().writing() as log:
        log.update_customer(PATIO, leave_alone=True)
    [line] = care.book(services).lines
    assert (line.state, line.open, line.left_alone) == ("declined", False, True)
    assert care.book(services).sentence == "No slab due in the next 12 months."
    assert care.plan(services).weeks == ()
    with pytest.raises(Doubt, match="wants no reminders"):
        care.set_state(services, PATIO, "contacted")
    care.set_state(services, PATIO, "contacted", because="she called us")


def test_a_new_owner_is_the_one_to_call(services: Services) -> None:
    seal(services, "2023-08-10 10:00")
    edit.new_owner(services, PATIO, "Bertram Puddlecombe", since="2025-01-01")
    assert care.book(services).lines[0].customer.name == "Bertram Puddlecombe"


def test_archived_jobs_are_out(services: Services) -> None:
    seal(services, "2023-08-10 10:00")
    edit.archive(services, PATIO)
    assert states(services) == {}


def test_the_plan_is_kept_and_what_people_moved_stays(services: Services) -> None:
    handles = [PATIO]
    handles += [new_job(services, f"Bertram {name}", "walk", f"{number} Teakettle Lane")
                for number, name in ((14, "Puddlecombe"), (16, "Lampwick"))]  # fmt: skip
    for handle in handles[1:]:
        poured(services, handle)
    for handle in handles:
        seal(services, "2023-05-10 10:00", handle)
    made = care.plan(services, per_week=2)
    on = {v.job: v.on for each in made.weeks for v in each.visits}
    assert [len(each.visits) for each in made.weeks] == [2, 1]
    assert made.weeks[0].visits[0].on == made.weeks[0].visits[1].on
    assert care.keep_plan(services, made) == 3
    assert care.keep_plan(services, care.plan(services, per_week=2)) == 0
    lines = {line.job: line for line in care.book(services).lines}
    assert {handle: (lines[handle].on, lines[handle].planned, lines[handle].state) for handle in handles} == {
        handle: (on[handle], True, "due") for handle in handles
    }
    moved = made.weeks[0].visits[0].job
    care.set_state(services, moved, "booked", on=date(2026, 9, 3))
    again = care.plan(services, per_week=2)
    fixed = {v.job: v.on for each in again.weeks for v in each.visits if v.fixed}
    assert fixed == {moved: date(2026, 9, 3)}


def test_of_two_who_keep_a_plan_at_once_the_second_sees_what_the_first_kept(
    services: Services, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The other one keeps just before this one has the log to itself."""
    seal(services, "2023-05-10 10:00")
    log, made = services.log(), care.plan(services)
    real = log.writing

    def late(other: Callable[[], object]) -> Any:
        monkeypatch.setattr(log, "writing", real)
        other()
        return log.writing()

    monkeypatch.setattr(log, "writing", lambda: late(lambda: care.keep_plan(services, made)))
    assert care.keep_plan(services, made) == 0
    assert len(job(services).of_kind("care")) == 1

    booked = date(2026, 9, 3)
    monkeypatch.setattr(
        log, "writing", lambda: late(lambda: care.set_state(services, PATIO, "booked", on=booked))
    )
    assert care.keep_plan(services, made) == 0
    line = care.of_job(services, PATIO)
    assert line is not None
    assert (line.state, line.on) == ("booked", booked)


def test_a_call_keeps_the_planned_day_and_a_booking_is_looked_at(services: Services) -> None:
    seal(services, "2023-05-10 10:00")
    day = care.offered_day(services, PATIO)
    assert day is not None
    care.keep_plan(services, care.plan(services))
    assert care.set_state(services, PATIO, "contacted").warnings == ()
    line = care.of_job(services, PATIO)
    assert line is not None
    assert (line.state, line.on, line.planned) == ("contacted", day, True)
    with pytest.raises(Doubt, match="Fri Dec 1 2028 is off season: you seal Apr to Oct"):
        care.set_state(services, PATIO, "booked", on=date(2028, 12, 1))
    odd = care.set_state(services, PATIO, "booked", on=date(2028, 12, 1), because="it is a hall").warnings
    assert [text.split(",")[0] for text in odd] == ["Dec 1 2028 is outside its window"]
    assert care.offered_day(services, PATIO) == date(2028, 12, 1)


def test_a_booking_that_went_by_is_asked_about(services: Services, clock: Clock) -> None:
    seal(services, "2023-05-10 10:00")
    care.set_state(services, PATIO, "booked", on=date(2026, 6, 19))
    clock.to("2026-06-25 08:00")
    made = care.plan(services)
    assert made.weeks == ()
    assert made.left == ((PATIO, "It was booked for Jun 19 2026: was it done?"),)


def test_no_capacity_is_refused_as_a_setting_and_as_an_option(services: Services) -> None:
    with pytest.raises(InputError, match="Zero reseals"):
        care.plan(services, per_week=0)
    for key, text in (
        ("care_per_week", "0"),
        ("care_months", ","),
        ("care_months", "0-3"),
        ("care_months", "13"),
    ):
        with pytest.raises(InputError):
            settings.change(services, {key: text})
    settings.change(services, {"care_months": "Oct to Mar"})
    assert services.shop().care_months == (1, 2, 3, 10, 11, 12)
    seal(services, "2023-05-10 10:00")
    assert care.book(services).lines[0].month == (2026, 10)


def test_a_calendar_knows_far_windows_done_ones_and_those_taken_back(services: Services) -> None:
    seal(services, "2023-05-10 10:00")
    before = calendar.lines(services)
    care.set_state(services, PATIO, "done", on=date(2026, 6, 12))
    done = calendar.lines(services)
    assert [(line.state, line.number) for line in done] == [("done", 1), ("due", 2)]
    assert done[0].uid == before[0].uid
    assert done[0].sequence > before[0].sequence
    taking_back.undo(services, PATIO)
    back = calendar.lines(services)
    assert [(line.number, line.gone, line.uid) for line in back] == [
        (1, False, done[0].uid),
        (1, True, done[1].uid),
    ]
    taking_back.undo(services, PATIO, 2)
    assert {line.uid for line in calendar.lines(services) if line.gone} == {done[0].uid, done[1].uid}


@pytest.mark.parametrize(
    ("key", "text"),
    [
        ("reseal_worn_months", "9"),
        ("reseal_from_years", "2"),
        ("care_months", "9-10"),
    ],
)
def test_a_changed_setting_moves_what_is_due_too(services: Services, key: str, text: str) -> None:
    for day in ("2021-05-10", "2023-05-10", "2025-05-10"):
        seal(services, f"{day} 10:00", area_ft2="400")
    record.record(services, PATIO, "visit", {"at": "2026-06-01 10:00", "condition": "dull"})
    with services.log().reading() as log:
        before = [line for line in log.due_of(PATIO) if line.key == "reseal"]
    settings.change(services, {key: text})
    assert services.log().check().ok
    with services.log().reading() as log:
        after = [line for line in log.due_of(PATIO) if line.key == "reseal"]
    assert len(before) == len(after) == 1
    assert before != after
    if key == "reseal_from_years":  # worn: by condition, whatever the years
        assert (before[0].opens, before[0].closes) == (after[0].opens, after[0].closes)


def test_a_whole_life(services: Services, clock: Clock) -> None:
    """Poured 2020, sealed on the second try, resealed after 3, 7, 11, 15 and 19 years, wiped at the fifth."""
    weather = {"slab_f": "70 F", "air_f": "70 F", "humidity_percent": "45"}
    clock.to("2020-07-01 18:00")
    with pytest.raises(Doubt, match="dew point"):
        seal(services, "2020-07-01 07:00", slab_f="60 F", air_f="62 F", humidity_percent="90")
    assert states(services, date(2100, 1, 1)) == {}
    clock_back = "the job was entered on another machine"
    seal(services, "2020-07-01 10:00", number="1", amount="", because=clock_back, **weather)
    seal(services, "2020-07-01 15:00", number="2", amount="", **weather)
    for number, year in enumerate((2023, 2027, 2031, 2035, 2039), 1):
        line = care.of_job(services, PATIO)
        assert line is not None
        assert (line.number, line.wipe, line.state) == (number, number == 5, "due")
        opens = line.due_from
        clock.to(f"{opens.isoformat()} 08:00")
        assert states(services, opens - timedelta(days=1)).get(PATIO) in (None, "done")
        assert states(services, opens)[PATIO] == "due"
        clock.to(f"{year}-07-02 18:00")
        assert line.due_from <= date(year, 7, 2) <= line.due_to
        if line.wipe:
            assert "fifth reseal" in line.prepare_why
            record.record(services, PATIO, "strip", {"at": f"{year}-07-02 08:00", "how": "wiped"})
        seal(services, f"{year}-07-02 12:00", reseal="yes", amount="", **weather)
        assert states(services) == {PATIO: "done"}
        following = care.of_job(services, PATIO)
        assert following is not None
        assert following.due_from == date(year + 3, 7, 2)
    last = care.of_job(services, PATIO)
    assert last is not None
    assert (last.number, last.wipe) == (6, False)
    assert services.log().check().ok
