"""The book as it is kept says what the jobs themselves say, whatever was done to them, on any day."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Callable
from contextlib import suppress
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest
from dateutil.relativedelta import relativedelta

from finishlog.desk.due import care
from finishlog.desk.exchange import archive
from finishlog.desk.jobs import edit
from finishlog.desk.record import record, taking_back
from finishlog.desk.services import Services
from finishlog.errors import InputError
from finishlog.records.care import OPEN, Reseal
from finishlog.records.when import zone_of
from finishlog.records.writing import NewCustomer
from finishlog.store import Log
from finishlog.store.archive import export
from finishlog.trade.upkeep import care as rules
from tests.desk.care_shop import PATIO, Clock, care_shop, new_job, seal

SETTINGS = ("reseal_from_years", "reseal_to_years", "reseal_worn_months", "care_months")


def from_the_jobs(services: Services, by: date) -> list[Reseal]:
    """The book read from every job ever sealed, without the projection."""
    today, found = services.today(), []
    with services.log().reading() as log:
        shop = log.shop()
        for job in log.jobs_with(*rules.KINDS):
            zone = zone_of(job)
            done = rules.done_since(job, shop, zone, today.replace(day=1), today)
            line = rules.reseal(job, shop, zone, today)
            opens = line is not None and (line.due_from <= by or (line.on is not None and line.on <= by))
            found += [each for each in (done, line if opens else None) if each is not None]
    month = (today.year, today.month)
    return sorted(
        (replace(each, month=max(rules.month_of(each, today, shop.care_months), month)) for each in found),
        key=lambda each: (
            each.month, each.state == "declined", each.state not in ("done", "booked"),
            each.on if each.state in ("done", "booked") and each.on else each.due_to, each.job,
        ),
    )  # fmt: skip


def agree(services: Services) -> None:
    for by in (None, services.today() + timedelta(days=40), date(2031, 1, 1)):
        held = care.book(services, by)
        want = from_the_jobs(services, held.by)
        assert list(held.lines) == want
        assert held.total == len(want)
        months = Counter(line.month for line in want)
        assert {(each.year, each.month): each.count for each in held.months if each.count} == {
            month: many for month, many in months.items() if month <= (held.months[-1].year, held.months[-1].month)
        }  # fmt: skip
        assert (
            [want[at].month for _, at in held.starts] == [month for month, _ in held.starts] == list(months)
        )
        still = [line for line in want if line.open]
        assert all(line.state in OPEN for line in still)
        assert held.sentence.startswith(f"{len(still)} reseal" if still else "No slab")
        late = sum(line.due_to < services.today() for line in still)
        assert (f" {late} " in held.sentence.split(".", 1)[-1]) == bool(late) or not still
        for offset in range(0, len(want), 3):
            part = care.book(services, by, limit=3, offset=offset)
            assert list(part.lines) == want[offset : offset + 3]
            assert (part.total, part.sentence, part.months) == (held.total, held.sentence, held.months)


def check(services: Services) -> None:
    report = services.log().check()
    assert report.ok, report.problems


class Season:
    """What an office and a crew do to a few jobs, drawn by a seed."""

    def __init__(self, services: Services, clock: Clock, seed: int) -> None:
        self.services, self.clock, self.chance = services, clock, random.Random(seed)
        self.jobs = [PATIO]

    def day(self, back: int = 0) -> str:
        return (self.services.today() - timedelta(days=back)).isoformat()

    def turn(self) -> None:
        does: list[Callable[[str], object]] = [
            self.new, self.coat, self.coat, self.visit, self.said, self.said, self.said, self.reminded, self.undone,
            self.corrected, self.moved, self.owner, self.alone, self.archived, self.setting, self.later,
        ]  # fmt: skip
        with suppress(InputError):
            self.chance.choice(does)(self.chance.choice(self.jobs))

    def new(self, _: str) -> None:
        number = len(self.jobs)
        self.jobs.append(
            new_job(self.services, "Barnaby Gravelpit", f"walk {number}", f"{number} Owl Hollow")
        )

    def coat(self, job: str) -> None:
        back = self.chance.choice((0, 3, 400, 900, 1200, 2000))
        again = {"reseal": "yes"} if self.chance.random() < 0.4 else {}
        seal(self.services, f"{self.day(back)} 07:00", job, because="so it was", **again)

    def visit(self, job: str) -> None:
        seen = self.chance.choice(("dull", "good", "peeling"))
        record.record(self.services, job, "visit", {"at": f"{self.day(self.chance.choice((0, 200)))} 07:00",
                                                    "condition": seen}, because="seen")  # fmt: skip

    def said(self, job: str) -> None:
        state = self.chance.choice(("contacted", "booked", "ask_again", "declined", "done", "due"))
        on = self.services.today() + timedelta(days=self.chance.choice((1, 20, 90, 300)))
        care.set_state(self.services, job, state, on=None if state in ("done", "contacted", "due") else on,
                       note=self.chance.choice((None, "wants a Friday")), because="so it is")  # type: ignore[arg-type]  # fmt: skip

    def reminded(self, job: str) -> None:
        care.set_state(self.services, job, "written", because="so it is")
        if self.chance.random() < 0.3:
            record.record(self.services, job, "reminder", {"how": "mail", "to": "x", "what": "remind",
                                                           "result": "bounced"}, because="it came back")  # fmt: skip

    def undone(self, job: str) -> None:
        taking_back.undo(self.services, job)

    def corrected(self, job: str) -> None:
        with self.services.log().reading() as log:
            coats = log.job(job).of_kind("seal")
        if coats:
            record.record(self.services, job, "seal", {"at": f"{self.day(700)} 07:00"},
                          replaces=self.chance.choice(coats).number, because="the day was wrong")  # fmt: skip

    def moved(self, job: str) -> None:
        with self.services.log().reading() as log:
            entries = log.job(job).of_kind("seal", "visit")
        if entries:
            taking_back.move(self.services, job, self.chance.choice(entries).number, self.chance.choice(self.jobs),
                             because="it was there")  # fmt: skip

    def owner(self, job: str) -> None:
        with self.services.log().writing() as log:
            log.add_owner(
                job, NewCustomer(f"Maud Newcomer {self.chance.randrange(3)}"), self.services.today()
            )

    def alone(self, job: str) -> None:
        with self.services.log().writing() as log:
            log.update_customer(job, leave_alone=self.chance.random() < 0.5)

    def archived(self, job: str) -> None:
        (edit.archive if self.chance.random() < 0.4 else edit.unarchive)(self.services, job)

    def setting(self, _: str) -> None:
        key = self.chance.choice(SETTINGS)
        value = (
            self.chance.choice(("1-12", "4-10", "11,12"))
            if key == "care_months"
            else str(self.chance.randint(1, 5))
        )
        with self.services.log().writing() as log:
            log.set_setting(key, value)

    def later(self, _: str) -> None:
        self.clock.now += relativedelta(days=self.chance.choice((1, 45, 120)))


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_the_book_says_what_its_jobs_say_after_whatever_was_done(seed: int, tmp_path: Path) -> None:
    clock = Clock()
    with care_shop(tmp_path, clock) as services:
        season = Season(services, clock, seed)
        for _ in range(4):
            season.new("")
            season.coat(season.jobs[-1])
        for turn in range(60):
            season.turn()
            if turn % 6 == 5:
                agree(services)
        assert care.book(services, date(2040, 1, 1)).total > 3
        check(services)


def test_a_kept_line_that_is_wrong_is_found(tmp_path: Path) -> None:
    with care_shop(tmp_path, Clock()) as services:
        seal(services, "2023-08-10 10:00", because="so it was")
        check(services)
        with services.log()._connection(write=True) as connection:
            connection.exec_driver_sql("UPDATE care SET due_to = '2099-01-01'")
        assert not services.log().check().ok


def test_an_archive_comes_back_with_its_book(tmp_path: Path) -> None:
    with care_shop(tmp_path, Clock()) as services:
        seal(services, "2023-08-10 10:00", because="so it was")
        archive.export(services, tmp_path / "out")
        export.restore(tmp_path / "out", tmp_path / "again.finishlog")
        log = Log.open(tmp_path / "again.finishlog", clock=Clock(), new_uid=lambda: "v")
        other = replace(services, open_log=lambda: log, _log=None)
        assert care.book(other).lines == care.book(services).lines != ()
        log.close()
