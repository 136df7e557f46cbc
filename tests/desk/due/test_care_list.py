"""One list for table, letters, drafts and calendar; reminders remembered; no letter without its sender."""

from __future__ import annotations

import csv
import shutil
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date
from itertools import count
from pathlib import Path
from typing import Any, get_args

import icalendar
import pytest

from finishlog.desk.due import care, care_list, reminders
from finishlog.desk.jobs import sender
from finishlog.desk.record import record, taking_back
from finishlog.desk.services import Services
from finishlog.errors import InputError, LogError
from finishlog.papers.reminders import send
from finishlog.records.care import Reseal
from finishlog.store import Log
from tests.desk.care_shop import PATIO, ZONE, Clock, care_shop, job, new_job, poured, seal
from tests.papers import reading

PEOPLE = ("Barnaby Puddlecombe", "Clementine Lampwick", "Dorothea Marmot", "Erasmus Thistlewaite")
SENDER = {"shop_name": "Teakettle Slabs", "shop_street": "1 Kiln Yard", "shop_email": "shop@example.com"}


@pytest.fixture(scope="module")
def made_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A log with Ottoline and four more, sealed three years ago and due."""
    folder = tmp_path_factory.mktemp("list")
    with care_shop(folder, Clock()) as made:
        handles = [PATIO, *(new_job(made, name, "walk", f"{9 + at} Teakettle Lane", email=f"p{at}@example.com")
                            for at, name in enumerate(PEOPLE))]  # fmt: skip
        for handle in handles:
            poured(made, handle)
            seal(made, "2023-05-10 10:00", handle)
        sender.keep(made, SENDER)
    return folder / "l.finishlog"


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def services(made_once: Path, tmp_path: Path, clock: Clock) -> Iterator[Services]:
    uids = count(1000)
    copy = shutil.copy(made_once, tmp_path / "l.finishlog")
    log = Log.open(copy, clock=clock, new_uid=lambda: f"u{next(uids)}")
    yield Services(open_log=lambda: log, has_log=lambda: True, make_log=lambda *_: log, clock=clock,
                   find_zone=lambda: ZONE)  # fmt: skip
    log.close()


Write = Callable[..., Any]


@pytest.fixture
def write(services: Services, tmp_path: Path) -> Write:
    """Write one of the four; the answer is the file and what was said."""
    numbers = iter(range(100))

    def write(what: str, **more: Any) -> tuple[Path, str]:
        target = tmp_path / f"{what}-{next(numbers)}"
        said = send.write(services, care.book(services), {what: str(target)}, **more)
        return target, " ".join(said)

    return write


def handle_of(name: str) -> str:
    return f"{name} walk".lower().replace(" ", "-")


def rows(path: Path) -> dict[str, dict[str, str]]:
    with path.open(encoding="utf-8-sig", newline="") as file:
        return {row["customer"]: row for row in csv.DictReader(file)}


def events(path: Path) -> dict[str, icalendar.Event]:
    read = icalendar.Calendar.from_ical(path.read_bytes())
    return {str(e["SUMMARY"]).split(": ")[1].split(" · ")[0]: e for e in read.walk("VEVENT")}


def line_of(services: Services, handle: str = PATIO) -> Reseal:
    line = care.of_job(services, handle)
    assert line is not None
    return line


def spread(services: Services) -> None:
    """One booked, one who refuses, one to ask later, one contacted; Ottoline is due."""
    booked, refuses, later, called = (handle_of(name) for name in PEOPLE)
    care.set_state(services, booked, "booked", on=date(2026, 8, 14))
    with services.log().writing() as log:
        log.update_customer(refuses, leave_alone=True)
    care.set_state(services, later, "ask_again", on=date(2026, 9, 20))
    care.set_state(services, called, "contacted", note="wants Aug 21")


def test_all_four_come_of_one_list_and_say_who_is_left_out(services: Services, write: Write) -> None:
    spread(services)
    (table, of_table), (letters, of_letters), (mail, of_mail), (ics, of_ics) = map(
        write, ("csv", "letters", "mail", "ics")
    )
    wrote = {"Ottoline Quillfeather", "Barnaby Puddlecombe"}
    assert rows(table).keys() == wrote
    assert {name for page in reading.pages(letters.read_bytes()) for name in wrote if name in page} == wrote
    assert len(reading.pages(letters.read_bytes())) == len(list(mail.iterdir())) == 2
    assert events(ics).keys() == {*wrote, "Erasmus Thistlewaite"}
    left = "Left out: 1 contacted, not booked yet; 1 no reminders wanted; 1 ask again later."
    for said in (of_table, of_letters, of_mail):
        assert f"Written to 2 of the 5 on the list. {left}" in said
    assert "3 of the 5 on the list. Left out: 1 no reminders wanted; 1 ask again later." in of_ics


def test_a_booking_is_confirmed_with_its_day_and_nobody_is_asked_to_be_looked_at(
    services: Services, write: Write
) -> None:
    spread(services)
    table, letters, ics = (write(what)[0] for what in ("csv", "letters", "ics"))
    booked = rows(table)["Barnaby Puddlecombe"]
    page = next(text for text in reading.pages(letters.read_bytes()) if "Barnaby" in text)
    assert (booked["letter"], booked["booked_on"]) == ("confirm", "2026-08-14")
    assert "Fri Aug 14" in booked["text"]
    assert "Fri Aug 14" in " ".join(page.split())
    assert events(ics)["Barnaby Puddlecombe"]["DTSTART"].dt == date(2026, 8, 14)
    assert "come and look" not in page + booked["text"]
    assert "come and look" in rows(table)["Ottoline Quillfeather"]["text"]


def test_done_ones_get_a_thank_you_only_when_asked(services: Services, write: Write) -> None:
    care.set_state(services, PATIO, "done", on=date(2026, 6, 12))
    table, said = write("csv")
    assert "Ottoline Quillfeather" not in rows(table)
    assert "1 done" in said
    thanks, _ = write("csv", wish="thanks")
    assert {name: row["letter"] for name, row in rows(thanks).items()} == {"Ottoline Quillfeather": "thank"}
    assert "Fri Jun 12" in rows(thanks)["Ottoline Quillfeather"]["text"]
    assert rows(write("csv", wish="thanks")[0]) == {}
    assert line_of(services).state == "due", "thanks are no reminder of the next one"


def test_who_has_no_street_or_e_mail_is_counted_and_named(services: Services, write: Write) -> None:
    new = new_job(services, "Fenwick Nowhere", "step", "")
    poured(services, new)
    seal(services, "2023-05-10 10:00", new)
    table, of_table = write("csv")
    letters, of_letters = write("letters")
    assert "Fenwick Nowhere" in rows(table)
    assert len(reading.pages(letters.read_bytes())) == 5
    assert "1 customer has no street: Fenwick Nowhere · step. No letter." in of_letters
    assert "1 customer has no street and no e-mail: Fenwick Nowhere · step." in of_table
    assert "1 customer has no e-mail: Fenwick Nowhere · step. No draft." in write("mail")[1]


def test_nobody_is_written_to_twice_in_a_season_unless_asked(
    services: Services, write: Write, clock: Clock
) -> None:
    write("letters")
    [sent] = job(services).of_kind("reminder")
    assert (sent.facts["how"], sent.facts["to"], sent.facts["what"]) == (
        "letter",
        "Ottoline Quillfeather",
        "remind",
    )
    assert line_of(services).state == "written"
    with pytest.raises(InputError, match="Nobody to write to") as refused:
        write("letters")
    assert "5 already written to" in refused.value.line()
    assert "--again" in refused.value.line()
    assert len(rows(write("csv")[0])) == 5, "the same day by another way is the same writing"
    clock.to("2026-07-20 09:00")
    assert rows(write("csv")[0]) == {}
    assert len(reading.pages(write("letters", wish="again")[0].read_bytes())) == 5
    clock.to("2027-05-20 09:00")
    assert len(rows(write("csv")[0])) == 5


def test_a_booking_that_was_moved_is_confirmed_anew(services: Services, write: Write) -> None:
    care.set_state(services, PATIO, "booked", on=date(2026, 8, 14))
    write("letters")
    assert line_of(services).state == "booked"
    with pytest.raises(InputError, match="Nobody"):
        write("letters")
    care.set_state(services, PATIO, "booked", on=date(2026, 8, 17), note="rained out")
    [page] = reading.pages(write("letters")[0].read_bytes())
    assert "Mon Aug 17" in " ".join(page.split())


def test_reminders_are_undone_like_any_entry(services: Services, write: Write) -> None:
    write("letters")
    taking_back.undo(services, PATIO)
    assert line_of(services).state == "due"
    assert len(reading.pages(write("letters")[0].read_bytes())) == 1


def test_what_bounced_is_due_again_and_not_sent_to_the_same_address(services: Services, write: Write) -> None:
    with pytest.raises(InputError, match="Nothing was sent"):
        reminders.came_back(services, PATIO, "bounced")
    write("letters")
    reminders.came_back(services, PATIO, "bounced", note="moved away")
    assert (line_of(services).state, line_of(services).bounced) == ("due", True)
    table, said = write("csv")
    assert "Ottoline Quillfeather" not in rows(table)
    assert "1 the last one came back" in said
    reminders.came_back(services, handle_of(PEOPLE[0]), "refused")
    line = line_of(services, handle_of(PEOPLE[0]))
    assert (line.state, line.note) == ("declined", "refused the one of 2026-06-16")


def test_nothing_is_kept_of_a_letter_that_was_not_written(
    services: Services, write: Write, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "there").write_text("mine")
    wanted = {"csv": str(tmp_path / "new"), "letters": str(tmp_path / "there")}
    with pytest.raises(InputError, match="already exists"):
        send.write(services, care.book(services), wanted)
    assert not job(services).of_kind("reminder")

    def no_writing(_self: object) -> None:
        raise LogError("The log cannot be written.", "", "")

    monkeypatch.setattr(type(services.log()), "writing", no_writing)
    letters, said = write("letters")
    assert letters.exists()
    assert reminders.NOT_KEPT in said


def test_all_that_went_out_is_kept_or_none_of_it(
    services: Services, write: Write, monkeypatch: pytest.MonkeyPatch
) -> None:
    real, calls = record.record_in, iter(range(9))

    def fails_at_the_third(*args: Any, **more: Any) -> Any:
        if next(calls) == 2:
            raise LogError("The disk is full.", "", "")
        return real(*args, **more)

    monkeypatch.setattr(record, "record_in", fails_at_the_third)
    assert reminders.NOT_KEPT in write("letters")[1]
    assert not job(services).of_kind("reminder")


@pytest.mark.parametrize(("what", "lacks"), [("letters", "shop_street"), ("mail", "shop_email")])
def test_no_letter_and_no_draft_without_its_sender(
    services: Services, write: Write, tmp_path: Path, what: str, lacks: str
) -> None:
    sender.keep(services, {lacks: ""})
    with pytest.raises(send.NoSender) as refused:
        write(what)
    assert refused.value.missing == (lacks,)
    assert "finishlog shop --" in refused.value.line()
    assert not job(services).of_kind("reminder")
    write("csv")


def test_the_sum_of_the_list_is_the_book(services: Services) -> None:
    spread(services)
    held = care.book(services)
    for wish in get_args(care_list.Wish):
        mailing = care_list.mailing(held, ("letter",), wish)
        told = [one.line.uid for one in mailing.going] + [line.uid for line, _ in mailing.left]
        assert sorted(told) == sorted(line.uid for line in held.lines)


def test_nobody_is_called_unknown_in_a_letter(services: Services) -> None:
    held = care.book(services)
    nameless = replace(held.lines[0], customer=replace(held.lines[0].customer, name="unknown"))
    mailing = care_list.mailing(replace(held, lines=(nameless, *held.lines[1:])), ("letter",))
    assert [(line.uid, why) for line, why in mailing.left] == [(nameless.uid, care_list.NO_NAME)]


def test_booking_offers_the_day_that_was_asked_for(services: Services) -> None:
    care.set_state(services, PATIO, "contacted", note="wants Aug 21, dog in the yard")
    assert care.offered_day(services, PATIO) == date(2026, 8, 21)
    care.set_state(services, PATIO, "contacted", note="a Friday would do")
    friday = care.offered_day(services, PATIO)
    assert friday is not None
    assert friday.weekday() == 4
    care.set_state(services, PATIO, "booked", on=friday)
    line = line_of(services)
    assert (line.note, line.said) == (None, "a Friday would do")


def test_what_was_said_goes_with_the_booking_into_table_and_calendar(
    services: Services, write: Write
) -> None:
    care.set_state(services, PATIO, "contacted", note="dog in the yard")
    care.set_state(services, PATIO, "booked", on=date(2026, 8, 14))
    assert rows(write("csv")[0])["Ottoline Quillfeather"]["said"] == "dog in the yard"
    assert "dog in the yard" in str(events(write("ics")[0])["Ottoline Quillfeather"]["DESCRIPTION"])


def test_keeping_a_plan_leaves_the_written_ones_written(services: Services, write: Write) -> None:
    write("letters")
    assert care.keep_plan(services, care.plan(services)) == 5
    line = line_of(services)
    assert (line.state, line.planned) == ("written", True)
