"""A season of the office: 60 due reseals, calls, refusals, bookings, a rained-out day; all that goes out agrees.

Person by person the table, the letters, the drafts and the calendar say the same; who is in one and not in another
is counted with why.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from itertools import count
from pathlib import Path

import pytest

from finishlog.desk.due import care, reminders
from finishlog.desk.jobs import sender
from finishlog.desk.services import Services
from finishlog.errors import InputError
from finishlog.papers.reminders import send
from finishlog.records.care import Reseal
from finishlog.records.log import Coat
from finishlog.records.writing import NewArea, NewCustomer, NewEntry, NewJob, NewSite
from finishlog.store import Log, Writer
from finishlog.tui.desks.whole import Desks
from tests.desk import office_out
from tests.desk.care_shop import ZONE, Clock
from tests.desk.office_out import Out, agree

MANY = 60
FIRST = ("Abner", "Beulah", "Cedric", "Dulcie", "Edwin", "Fern", "Gideon", "Hester", "Ivo", "Jemima")
LAST = ("Puddlecombe", "Lampwick", "Marmot", "Thistlewaite", "Gobblestone", "Snodbury")
SENDER = {"shop_name": "Teakettle Slabs", "shop_street": "1 Kiln Yard", "shop_email": "shop@example.com"}


def name_of(at: int) -> str:
    return f"{FIRST[at % 10]} {LAST[at // 10]}"


def handle_of(at: int) -> str:
    return f"walk-{at:02d}"


def at_noon(day: date) -> datetime:
    return datetime(day.year, day.month, day.day, 12, tzinfo=ZONE).astimezone(UTC)


def fill(writer: Writer) -> None:
    """60 walks, sealed in spring three years ago; the last two have no e-mail, one of them no street."""
    for at in range(MANY):
        street = "street unknown (nobody)" if at == 59 else f"{at + 1} Teakettle Lane"
        mail = None if at >= 58 else f"p{at}@example.com"
        handle = writer.begin_job(
            NewJob(name="walk", customer=NewCustomer(name_of(at), "555-0142", mail),
                   site=NewSite(street, "Nettlewick", "America/Chicago"), state="poured",
                   areas=(NewArea("field", area_ft2=400.0),), handle=handle_of(at))
        )  # fmt: skip
        day = date(2023, 4, 3) + timedelta(days=at)
        poured = NewEntry("pour", at_noon(day - timedelta(days=400)))
        writer.add_entries(handle, [poured, NewEntry("seal", at_noon(day), coat=Coat())])


@pytest.fixture
def clock() -> Clock:
    made = Clock()
    made.to("2026-05-20 09:00")
    return made


@pytest.fixture
def services(tmp_path: Path, clock: Clock) -> Iterator[Services]:
    uids = count(1)
    log = Log.create(
        tmp_path / "l.finishlog", clock=clock, new_uid=lambda: f"u{next(uids)}", fill=lambda new: _fill(new)
    )
    made = Services(open_log=lambda: log, has_log=lambda: True, make_log=lambda *_: log, clock=clock,
                    find_zone=lambda: ZONE)  # fmt: skip
    sender.keep(made, SENDER)
    yield made
    log.close()


def _fill(log: Log) -> None:
    with log.writing() as writer:
        fill(writer)


class Office:
    def __init__(self, services: Services, folder: Path) -> None:
        self.services, self.folder, self.rounds = services, folder, count(1)

    def write(self) -> Out:
        folder = self.folder / f"round-{next(self.rounds)}"
        folder.mkdir()
        wanted = {"ics": "r.ics", "csv": "r.csv", "letters": "r.pdf", "mail": "drafts"}
        said = send.write(
            self.services, care.book(self.services), {key: str(folder / name) for key, name in wanted.items()}
        )
        names = [name_of(at) for at in range(MANY)]
        sheets = office_out.table(folder / "r.csv"), office_out.letters(folder / "r.pdf", names)
        return Out(
            *sheets, office_out.drafts(folder / "drafts"), office_out.events(folder / "r.ics"), " ".join(said)
        )

    def state(self, state: str, *numbers: int, on: date | None = None, note: str | None = None) -> None:
        for at in numbers:
            care.set_state(self.services, handle_of(at), care.read_state(state), on=on, note=note)

    def lines(self) -> dict[str, Reseal]:
        """The book's by customer, those still open before those done."""
        ordered = sorted(care.book(self.services).lines, key=lambda line: line.state != "done")
        return {line.customer.name: line for line in ordered}


def test_a_season_agrees_person_by_person(services: Services, clock: Clock, tmp_path: Path) -> None:
    office = Office(services, tmp_path)
    lines = office.lines()
    assert len(lines) == MANY
    assert {line.state for line in lines.values()} == {"due"}

    # May: calls, refusals, bookings; then the first round goes out
    with services.log().writing() as log:
        for at in (3, 17):
            log.update_customer(handle_of(at), leave_alone=True)
    office.state("declined", 8, 29, note="sells the house")
    office.state("ask-again", 11, 40, on=date(2026, 9, 1))
    office.state("contacted", *range(20, 26), note="dog in the yard, wants Jun 12")
    assert all(care.offered_day(services, handle_of(at)) == date(2026, 6, 12) for at in (20,))
    office.state("booked", *range(20, 24), on=date(2026, 6, 12))
    before = office.lines()
    first = office.write()
    agree(first, before, office.lines())
    states = [line.state for line in before.values()]
    assert len(first.table) == states.count("due") + states.count("booked") == MANY - 8
    for why in ("2 no reminders wanted", "2 declined", "2 ask again later", "2 contacted, not booked yet"):
        assert why in first.said

    # June: a letter comes back, one refuses, answers come, it rains on the day
    clock.to("2026-06-12 07:00")
    reminders.came_back(services, handle_of(0), "bounced", note="moved away")
    reminders.came_back(services, handle_of(1), "refused")
    office.state("contacted", *range(30, 36))
    office.state("booked", *range(30, 34), on=date(2026, 7, 10))
    office.state("done", 20, 21, on=date(2026, 6, 12))
    office.state("booked", 22, 23, on=date(2026, 6, 19), note="rained out")
    before = office.lines()
    second = office.write()
    agree(second, before, office.lines())
    assert set(second.table) == {name_of(at) for at in (22, 23, 30, 31, 32, 33)}
    assert "dog in the yard" in second.table[name_of(22)]["said"]
    assert name_of(1) not in second.events
    assert "1 the last one came back" in second.said
    assert "2 done" in second.said

    # September: those to be asked again are due now, and nobody else is written to a second time
    clock.to("2026-09-02 09:00")
    office.state("done", 22, 23, on=date(2026, 6, 19))
    office.state("done", *range(30, 34), on=date(2026, 7, 10))
    before = office.lines()
    third = office.write()
    agree(third, before, office.lines())
    assert set(third.table) == {name_of(11), name_of(40)}
    assert services.log().check().ok


def test_nobody_to_write_to_is_a_matter_of_to_whom(services: Services, tmp_path: Path) -> None:
    desks = Desks(services)
    desks.write_reseals(care.book(services), "letters", str(tmp_path / "a.pdf"), "new")
    with pytest.raises(InputError, match="Nobody to write to") as refused:
        desks.write_reseals(care.book(services), "letters", str(tmp_path / "b.pdf"), "new")
    assert refused.value.where == "to"
    with pytest.raises(InputError, match="already") as refused:
        desks.write_reseals(care.book(services), "letters", str(tmp_path / "a.pdf"), "again")
    assert refused.value.where == "file"
