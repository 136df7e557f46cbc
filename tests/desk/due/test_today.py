"""Today: what is due over all jobs, said as people say it; logged, put off, let be, taken back."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from itertools import count
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from finishlog.desk import time_left as say
from finishlog.desk.due import head, today
from finishlog.desk.due.at_hand import at_hand
from finishlog.desk.jobs import edit
from finishlog.desk.record import record, taking_back
from finishlog.desk.services import Services
from finishlog.errors import InputError
from finishlog.records.due import DueState, TodayLine
from finishlog.store import Log, Reader

ZONE = ZoneInfo("America/Chicago")
PATIO, WALK = "ottoline-quillfeather-back-patio", "barnaby-puddlecombe-side-walk"


class Clock:
    """A clock that a test can set, in the words of the site."""

    def __init__(self) -> None:
        self.now = at("2026-06-15 20:00")

    def __call__(self) -> datetime:
        return self.now

    def set(self, text: str) -> None:
        self.now = at(text)


def at(text: str) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=ZONE).astimezone(UTC)


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def services(tmp_path: Path, clock: Clock) -> Iterator[Services]:
    uids = count(1)
    log = Log.create(tmp_path / "l.finishlog", clock=clock, new_uid=lambda: f"u{next(uids)}")
    made = Services(open_log=lambda: log, has_log=lambda: True, make_log=lambda *_: log, clock=clock,
                    find_zone=lambda: ZONE)  # fmt: skip
    for customer, piece, areas in (("Ottoline Quillfeather", "back patio", "field 24x18 4in, border 76 ft2"),
                                   ("Barnaby Puddlecombe", "side walk", "field 30x4 4in")):  # fmt: skip
        edit.new_job(
            made, {"customer": customer, "job": piece, "street": "12 Teakettle Lane", "areas": areas}
        )
    yield made
    log.close()


def lines(services: Services, state: DueState | None = None) -> list[tuple[str, str, str]]:
    found = today.today(services)
    return [(x.title, x.job.split("-")[0], x.said) for x in found.lines if state in (None, x.state)]


def the(services: Services, what: str, job: str = WALK) -> TodayLine:
    return today.line(services, job, what)


@pytest.fixture
def poured(services: Services, clock: Clock) -> Services:
    """The walk's pour ended at 11:20 on Monday, the patio's two hours later."""
    record.record(services, WALK, "pour", {"at": "2026-06-15 11:20", "by": "Mo"})
    record.record(services, PATIO, "pour", {"at": "2026-06-15 13:20", "area": "all"})
    return services


def test_an_empty_list_says_so(services: Services) -> None:
    found = today.today(services)
    assert found.lines == ()
    assert found.sentence == "Nothing is due. Nothing coming up."


def test_the_evening_of_the_pour(poured: Services) -> None:
    assert lines(poured, "open") == [
        ("Joints", "barnaby", "9 h 20 min left"),
        ("Joints", "ottoline", "11 h 20 min left"),
    ]
    assert lines(poured, "opens")[:4] == [
        ("Photo, day 1", "barnaby", "tomorrow"), ("Photo, day 1", "ottoline", "tomorrow"),
        ("Rinse", "barnaby", "tomorrow 5:20a"), ("Sweep", "barnaby", "tomorrow 5:20a"),
    ]  # fmt: skip
    assert today.today(poured).sentence == "Joints due within 9 h 20 min. 2 open."


def test_the_morning_after(poured: Services, clock: Clock) -> None:
    clock.set("2026-06-16 13:20")
    found = today.today(poured)
    first = found.lines[0]
    assert (first.title, first.said, first.state) == ("Photo, day 1", "open all day", "open")
    rinse = next(line for line in found.lines if line.what == "rinse")
    assert rinse.why.startswith("26 h old. Rinse at 24 to 48 h")
    assert rinse.usual == "Tue Jun 16, 11:20a to Wed Jun 17, 11:20a"
    assert rinse.said == "until Fri 11:20a"
    assert rinse.caution == "Stop while it still looks heavy: it cannot be put back."
    assert rinse.opens_at.isoformat() == "2026-06-16T05:20:00-05:00"
    assert [line.state for line in found.lines] == sorted(
        (line.state for line in found.lines), key=["open", "slipped", "opens"].index
    )
    assert found.sentence.startswith("Rinse due by Fri 11:20a. ")
    assert ("Joints", "barnaby", "8 h late") in lines(poured, "slipped")


def test_a_line_is_of_the_whole_job_where_its_areas_were_poured_at_once(poured: Services) -> None:
    assert the(poured, "rinse", PATIO).area is None
    assert the(poured, "rinse").area == "field"


def test_a_due_rinse_is_logged_as_it_is_offered_and_taken_back(poured: Services, clock: Clock) -> None:
    clock.set("2026-06-16 13:20")
    line = the(poured, "rinse")
    offered = today.offer(poured, line)
    assert offered.kind == "rinse"
    assert (offered.values["at"], offered.values["by"], offered.values["area"]) == ("now", "Mo", "field")
    done = today.log(poured, line, {"passes": "2"})
    assert done.entry.happened == clock.now
    assert (done.entry.person, done.entry.facts["passes"]) == ("Mo", 2)
    assert not [
        line for line in today.today(poured).lines if line.job == WALK and line.what in ("rinse", "sweep")
    ]
    taking_back.undo(poured, WALK)
    assert the(poured, "rinse").state == "open"


def test_the_whole_job_is_logged_at_once(poured: Services, clock: Clock) -> None:
    clock.set("2026-06-16 13:20")
    assert today.log(poured, the(poured, "rinse", PATIO)).entry.area is None
    with pytest.raises(InputError, match="not due"):
        the(poured, "rinse", PATIO)


def test_put_off_and_not_for_this_job(poured: Services, clock: Clock) -> None:
    clock.set("2026-06-16 13:20")
    done = today.put_off(poured, the(poured, "rinse"), at("2026-06-17 07:00"))
    assert done.sentence == "Rinse: put off until Wed Jun 17, 7a."
    assert the(poured, "rinse").said == "tomorrow 7a"
    clock.set("2026-06-17 07:30")
    assert the(poured, "rinse").state == "open"
    taking_back.undo(poured, WALK, done.entry.number)
    assert the(poured, "rinse").opens_at == at("2026-06-16 05:20")
    gone = today.not_for_this_job(poured, the(poured, "photo 7"))
    assert gone.sentence == "Photo, day 7: not for this job."
    with pytest.raises(InputError, match="not due"):
        the(poured, "photo 7")
    taken = taking_back.undo(poured, WALK, gone.entry.number)
    assert taken.sentence.startswith(f"Undone. Entry {gone.entry.number}: not for this job.")
    assert the(poured, "photo 7").state == "opens"
    with pytest.raises(InputError, match="into the past"):
        today.put_off(poured, the(poured, "rinse"), at("2026-06-16 07:00"))


def test_slipped_work_is_let_go_and_still_there_when_asked(poured: Services, clock: Clock) -> None:
    clock.set("2026-07-10 12:00")
    assert any(title == "Rinse" for title, _, _ in lines(poured, "slipped"))
    clock.set("2026-07-25 12:00")
    assert not any(title == "Rinse" for title, _, _ in lines(poured, "slipped"))
    with_all = today.today(poured, all=True)
    assert any(line.what == "rinse" for line in with_all.of("slipped"))


def test_a_missed_photo_goes_when_the_next_one_comes(poured: Services, clock: Clock) -> None:
    clock.set("2026-06-17 12:00")
    assert ("Photo, day 1", "barnaby", "12 h late") in lines(poured, "slipped")
    clock.set("2026-06-18 12:00")
    assert not any(title == "Photo, day 1" for title, _, _ in lines(poured, "slipped"))
    assert ("Photo, day 3", "barnaby", "open all day") in lines(poured, "open")


def seal(services: Services, when: str, **texts: str) -> None:
    record.record(services, WALK, "seal", {"at": when, **texts}, because="as it was")


def test_a_reseal_stays_until_it_is_done_and_opens_the_next(poured: Services, clock: Clock) -> None:
    clock.set("2026-07-14 12:00")
    seal(poured, "2026-07-14 09:00", number="1")
    second = the(poured, "second coat")
    assert (second.state, second.said) == ("open", "until tomorrow 9a")
    assert today.offer(poured, second).values["number"] == "2"
    today.log(poured, second, because="as it was")
    clock.set("2031-04-14 12:00")
    assert ("Reseal", "barnaby", "until Jul 14") in lines(poured, "open")
    clock.set("2036-05-10 12:00")
    assert ("Reseal", "barnaby", "4 years late") in lines(poured, "slipped")
    offered = today.offer(poured, the(poured, "reseal"))
    assert (offered.kind, offered.values["reseal"], offered.values["number"]) == ("seal", "yes", "1")
    today.log(poured, the(poured, "reseal"), because="as it was")
    assert the(poured, "reseal").opens_at == at("2041-04-01 00:00")
    assert the(poured, "reseal").state == "opens"


def test_a_job_has_work_whenever_today_has_a_line_of_it(poured: Services, clock: Clock) -> None:
    said = set()
    for hours in (0, 12, 26, 60, 24 * 5, 24 * 20, 24 * 70, 24 * 200, 24 * 420, 24 * 900):
        clock.now = at("2026-06-15 14:00") + timedelta(hours=hours)
        for days in (1, 21):
            jobs = {line.job for line in today.today(poured, horizon_days=days).lines}
            found = {job for job in (WALK, PATIO) if today.has_work(poured, job, horizon_days=days)}
            assert found == jobs, (hours, days)
            said.add(bool(found))
    assert said == {True, False}


def test_a_line_that_is_not_there_is_named_with_those_that_are(poured: Services) -> None:
    with pytest.raises(InputError) as caught:
        the(poured, "varnish")
    assert "photo 7" in caught.value.line()
    assert the(poured, "Second-coat".replace("Second-coat", "judge color")).what == "judge_color"


def test_what_is_planned_is_looked_ahead_at(services: Services, clock: Clock) -> None:
    edit.new_job(services, {"customer": "Minnow Gravelpit", "job": "apron", "street": "3 Wobble Street",
                            "areas": "field 20x12 4in", "planned_on": "2026-06-18"})  # fmt: skip
    clock.set("2026-06-16 20:00")
    assert today.today(services).ahead == ()
    clock.set("2026-06-17 20:00")
    found = today.today(services)
    assert ("Pour", "minnow", "tomorrow") in lines(services, "opens")
    [ahead] = found.ahead
    assert ahead.when == "tomorrow, Thu Jun 18"
    texts = {part.key: part.text for part in ahead.parts}
    assert "weekend" in texts["rinse"]
    assert {"joint", "material", "buried", "weather", "sample"} <= set(texts)


# the words

NOON = datetime(2026, 6, 16, 12, tzinfo=ZONE)


@pytest.mark.parametrize(
    ("state", "opens", "closes", "said"),
    [
        ("open", "2026-06-16T06:00", "2026-06-16T14:10", "2 h 10 min left"),
        ("open", "2026-06-16T06:00", "2026-06-16T12:40", "40 min left"),
        ("open", "2026-06-16T00:00", "2026-06-17T00:00", "open all day"),
        ("open", "2026-06-16T00:00", "2026-06-18T00:00", "until tomorrow"),
        ("open", "2026-06-16T00:00", "2026-07-11T00:00", "until Jul 10"),
        ("open", "2026-06-16T00:00", "2026-06-19T11:20", "until Fri 11:20a"),
        ("slipped", "2026-06-15T00:00", "2026-06-15T12:00", "1 day late"),
        ("slipped", "2026-06-15T00:00", "2026-06-16T11:30", "30 min late"),
        ("slipped", "2024-06-15T00:00", "2026-01-01T00:00", "5 months late"),
        ("opens", "2026-06-16T12:20", "2026-06-18T00:00", "in 20 min"),
        ("opens", "2026-06-16T16:00", "2026-06-18T00:00", "4p"),
        ("opens", "2026-06-17T07:00", "2026-06-18T00:00", "tomorrow 7a"),
        ("opens", "2026-06-18T00:00", "2026-06-19T00:00", "Thu"),
        ("opens", "2026-07-02T00:00", "2026-07-09T00:00", "Jul 2"),
        ("opens", "2029-07-02T00:00", "2031-07-02T00:00", "Jul 2 2029"),
    ],
)
def test_time_as_people_say_it(state: DueState, opens: str, closes: str, said: str) -> None:
    one, other = (datetime.fromisoformat(text).replace(tzinfo=ZONE) for text in (opens, closes))
    assert say.said(state, one, other, NOON) == said


def test_a_sheet_is_lifted_by_a_time() -> None:
    assert say.said("open", NOON, NOON + timedelta(hours=4), NOON, "lift") == "lift by 4p"


def test_a_window_across_a_clock_change_is_said_in_real_hours() -> None:
    # On 2026-03-08 the clocks go forward at 2: from 1 to 4 in the morning are 2 hours.
    night = datetime(2026, 3, 8, 1, tzinfo=ZONE)
    assert say.said("open", night, night.replace(hour=4), night) == "2 h left"


def test_no_job_is_read_whole_for_a_line_that_needs_its_name_only(
    services: Services, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    read: list[str] = []
    monkeypatch.setattr(Reader, "jobs", lambda _, handles: read.extend(handles) or {})
    record.record(services, PATIO, "pour", {"at": "2026-06-15 10:00"})
    clock.set("2026-06-16 12:00")
    lines = today.today(services).lines
    assert {line.who for line in lines} == {"Ottoline Quillfeather · back patio"}
    assert {line.one_of for line in lines} == {2}
    assert read == []


def test_who_asks_for_no_look_ahead_gets_none(services: Services) -> None:
    edit.new_job(services, {"customer": "Hettie Spindle", "job": "stoop", "planned_on": "2026-06-16"})
    assert today.today(services).ahead
    assert today.today(services, pours=False).ahead == ()


@pytest.mark.parametrize("each", [1, 2, 3])
def test_the_first_of_each_state_and_the_most_pressing_say_what_the_whole_list_says(
    poured: Services, clock: Clock, each: int
) -> None:
    """A phone shows the first few; what is the most pressing may close after many photos, and is among them."""
    beyond = 0
    for hours in range(0, 24 * 12, 7):
        at = clock() + timedelta(hours=hours)
        whole, part = today.today(poured, at), today.today(poured, at, each=each)
        assert part.sentence == whole.sentence
        places = [whole.lines.index(line) for line in part.lines]
        assert places == sorted(places)
        for state in ("open", "slipped", "opens"):
            shown, all_of_it = part.of(state), whole.of(state)
            assert len(shown) + part.more.get(state, 0) == len(all_of_it)
            assert shown[:each] == all_of_it[:each]
            beyond += len(shown) > each
        acting = [line for line in whole.lines if line.state != "slipped"]
        assert not acting or head.pressing(acting, at) in part.lines
    assert beyond if each == 1 else True


def test_it_is_at_hand_for_a_minute_and_until_somebody_writes(poured: Services, clock: Clock) -> None:
    clock.set("2026-06-16 13:20")
    first = at_hand(poured, 30)
    assert first == today.today(poured, each=30, pours=False)
    clock.now += timedelta(seconds=59)
    assert at_hand(poured, 30) is first
    assert at_hand(poured, 1) == today.today(poured, each=1, pours=False)
    clock.now += timedelta(seconds=1)
    second = at_hand(poured, 30)
    assert second is not first
    record.record(poured, WALK, "sweep", {"at": "now", "by": "Mo"})
    third = at_hand(poured, 30)
    assert "Sweep" in {line.title for line in second.lines if line.job == WALK}
    assert "Sweep" not in {line.title for line in third.lines if line.job == WALK}
