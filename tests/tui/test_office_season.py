"""A season of the office by keys alone: 60 due reseals, calls, bookings, rain, what goes out, what comes back.

All files are read back with code that did not write them, and agree person by person with Care's list.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from itertools import count
from pathlib import Path
from random import Random
from typing import Any

import pytest

from finishlog import wiring
from finishlog.desk.due import care
from finishlog.desk.record import record
from finishlog.desk.services import Services
from finishlog.records.care import Reseal
from finishlog.records.log import Coat
from finishlog.records.writing import NewArea, NewCustomer, NewEntry, NewJob, NewSite
from finishlog.store import Log, Writer
from finishlog.tui.app import FinishlogApp
from tests.desk import office_out
from tests.desk.care_shop import ZONE, Clock
from tests.desk.office_out import Out, agree

MANY = 60
FIRST = ("Abner", "Beulah", "Cedric", "Dulcie", "Edwin", "Fern", "Gideon", "Hester", "Ivo", "Jemima")
LAST = ("Puddlecombe", "Lampwick", "Marmot", "Thistlewaite", "Gobblestone", "Snodbury")
LANES = ("Kiln Row", "Biscuit Walk", "Otter Bend", "Spoon Alley")
NAMES = [f"{FIRST[at % 10]} {LAST[at // 10]}" for at in range(MANY)]
SOLD = {"product": "Badger Coat", "maker": "Dunfold Colors", "amount": "2 gal", "chemistry": "acrylic",
        "carrier": "solvent", "solids_percent": "25"}  # fmt: skip


# who there is


@dataclass
class Lots:
    """Who is what, drawn once: numbers of the 60."""

    draw: Random = field(default_factory=lambda: Random(60))
    left: list[int] = field(default_factory=lambda: list(range(MANY)))

    def some(self, many: int) -> list[int]:
        picked = self.draw.sample(self.left, many)
        self.left = [at for at in self.left if at not in picked]
        return picked


@dataclass
class Shop:
    """The customers by what is special of them; the rest are plain."""

    lots: Lots = field(default_factory=Lots)

    def __post_init__(self) -> None:
        some = self.lots.some
        self.refusers, self.thick, self.fifth = some(3), some(3), some(3)
        self.pools, self.no_mail, self.no_street = some(6), some(6), some(3)
        self.plain = self.lots.left

    def street(self, at: int) -> str:
        if at in self.no_street:
            return "street unknown (nobody)"
        return f"{at + 1} {'Teakettle Lane' if at % 5 == 0 else LANES[at % 4]}"

    def fill(self, writer: Writer) -> None:
        for at, name in enumerate(NAMES):
            mail = None if at in self.no_mail else f"p{at}@example.com"
            writer.begin_job(
                NewJob(name="walk", customer=NewCustomer(name, "555-0142", mail),
                       site=NewSite(self.street(at), "Nettlewick", "America/Chicago"),
                       areas=(NewArea("field", area_ft2=400.0),), handle=handle_of(at))
            )  # fmt: skip
            sealed = self.sealed(at)
            new = [NewEntry("pour", noon(sealed - timedelta(days=4000)))]
            if at in self.fifth:
                new += [_coat(sealed - timedelta(days=800 * back)) for back in range(4, 0, -1)]
            if at not in self.thick:
                new.append(_coat(sealed))
            if at in self.pools:
                new.append(NewEntry("visit", noon(sealed + timedelta(days=30)), facts={"harsh": "pool"}))
            writer.add_entries(handle_of(at), new)

    def sealed(self, at: int) -> date:
        return date(2025 if at in self.pools else 2023, 4, 3) + timedelta(days=at % 45)

    def thicken(self, services: Services) -> None:
        """Three coats within a week, of which the solids are known: a film of about 7 mil."""
        for at in self.thick:
            for step in range(3):
                day = self.sealed(at) + timedelta(days=step)
                told = {**SOLD, "at": f"{day} 9:00", "amount": "2.4 gal"}
                record.record(services, handle_of(at), "seal", told, because="an old slab")


def _coat(day: date) -> NewEntry:
    return NewEntry("seal", noon(day), coat=Coat())


def handle_of(at: int) -> str:
    return f"walk-{at:02d}"


def noon(day: date) -> datetime:
    return datetime(day.year, day.month, day.day, 12, tzinfo=ZONE).astimezone(UTC)


# the hand


class Hand:
    """The clerk at the screens: keys only, each counted, letters of a text too."""

    def __init__(self, stage: Any, counted: dict[str, int]) -> None:
        self.stage, self.counted, self.task = stage, counted, "other"
        self.told: list[str] = []
        show = stage.app.notify

        def notify(message: str, **more: Any) -> None:
            self.told.append(message)  # a message that is gone before a busy machine comes to rest
            show(message, **more)

        stage.app.notify = notify

    def doing(self, task: str) -> Hand:
        self.task = task
        return self

    async def press(self, *keys: str) -> None:
        self.counted[self.task] = self.counted.get(self.task, 0) + len(keys)
        await self.stage.pilot.press(*keys)
        await self.rest()

    async def rest(self) -> None:
        """Letters and drafts for all of them take a busy machine longer than a key may."""
        for patience in reversed(range(6)):
            try:
                await self.stage.settle()
            except AssertionError:
                if not patience:
                    raise
            else:
                return

    async def type(self, text: str) -> None:
        self.counted[self.task] = self.counted.get(self.task, 0) + len(text)
        await self.stage.enter(text)

    async def go(self, at: int) -> Reseal:
        """The mark onto a customer's line, by the arrows and a page at a time."""
        jobs = [line.job for line in self.stage.app.desks.reseals(MANY, 0).book.lines]
        here, there = self.stage.app.screen._mark, jobs.index(handle_of(at))
        page, one = ("pagedown", "down") if there > here else ("pageup", "up")
        pages, ones = divmod(abs(there - here), 10)
        if keys := [*[page] * pages, *[one] * ones]:
            await self.press(*keys)
        line: Reseal = self.stage.app.screen.current
        assert line.job == handle_of(at)
        return line

    async def to(self, key: str) -> None:
        """On with Tab to a field of the form: where a day is offered the button has the focus first."""
        for _ in range(9):
            if self.stage.app.focused is self.stage.field(key).entry:
                return
            await self.press("tab")
        raise AssertionError(key)

    async def say(self, at: int, state: str, on: str = "", note: str = "") -> None:
        """What came of a call, in the form."""
        await self.go(at)
        await self.press("enter")
        for key, text in (("state", state), ("on", on), ("note", note)):
            if text:
                await self.to(key)
                await self.type(text)
        await self.press("ctrl+s")
        assert "Reseal ·" not in self.stage.text, self.stage.text

    async def book(self, at: int, on: str = "", because: str = "", note: str = "") -> str:
        """A booking; `because` answers what is asked. What stood on the form when it was asked, or was kept."""
        await self.go(at)
        await self.press("b")
        for key, text in (("on", on), ("note", note)):
            if text:
                await self.to(key)
                await self.type(text)
        await self.press("ctrl+s")
        asked = " ".join(self.stage.text.split())
        if because:
            assert "? " in asked
            await self.type(because)
            await self.press("ctrl+s")
        assert "Reseal ·" not in self.stage.text
        return asked

    async def write(self, what: str) -> str:
        """What goes out, under the name that stands there; what was said of it."""
        self.told.clear()
        await self.press("w")
        await self.type(what)
        await self.press("ctrl+s")
        return " ".join(self.told)


class Office:
    def __init__(self, services: Services, clock: Clock, drive: Callable[..., Any]) -> None:
        self.services, self.clock, self.drive = services, clock, drive
        self.keys: dict[str, int] = {}

    def opened(self) -> Any:
        from contextlib import asynccontextmanager

        @asynccontextmanager
        async def opened() -> Any:
            app = FinishlogApp(self.services)
            async with app.run_test(size=(80, 24), notifications=True) as pilot:
                stage = self.drive(app, pilot)
                await stage.settle()
                hand = Hand(stage, self.keys)
                await hand.press("3")
                yield hand

        return opened()

    def lines(self) -> dict[str, Reseal]:
        ordered = sorted(care.book(self.services).lines, key=lambda line: line.state != "done")
        return {line.customer.name: line for line in ordered}

    async def round(
        self, hand: Hand, folder: Path, monkeypatch: pytest.MonkeyPatch, first: Sequence[str] = ()
    ) -> Out:
        """Letters, drafts, table and calendar written from the screen, read back, compared with the book."""
        folder.mkdir()
        monkeypatch.chdir(folder)
        before = self.lines()
        hand.doing("writing")
        said = []
        for what in ("letters", "mail", "table", "calendar"):
            if what == "letters" and first:
                await hand.write(what)
                assert "No letter goes out without a sender." in hand.stage.text
                for text in first:
                    await hand.type(text)
                    await hand.press("tab")
                await hand.press("ctrl+s")
                said.append(" ".join(hand.told))
            else:
                said.append(await hand.write(what))
            assert "writing…" not in hand.stage.text
        out = Out(office_out.table(folder / "reseals-table.csv"),
                  office_out.letters(folder / "reseals-letters.pdf", NAMES),
                  office_out.drafts(folder / "reseals-mail"),
                  office_out.events(folder / "reseals-calendar.ics"), " ".join(said))  # fmt: skip
        print(*said, sep="\n")
        agree(out, before, self.lines())
        return out


@pytest.fixture
def shop() -> Shop:
    return Shop()


@pytest.fixture
def office(tmp_path: Path, shop: Shop, drive: Callable[..., Any]) -> Iterator[Office]:
    clock, uids = Clock(), count(1)
    clock.to("2026-05-20 09:00")
    where = tmp_path / "l.finishlog"

    def fill(log: Log) -> None:
        with log.writing() as writer:
            shop.fill(writer)
            for at in shop.refusers:
                writer.update_customer(handle_of(at), leave_alone=True)

    Log.create(where, clock=clock, new_uid=lambda: f"u{next(uids)}", fill=fill).close()
    built = wiring.build(str(where))
    built.clock, built.find_zone = clock, lambda: ZONE
    shop.thicken(built)
    yield Office(built, clock, drive)
    built.close()


@pytest.mark.long
async def test_a_season_by_keys_agrees_person_by_person(
    office: Office, shop: Shop, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    plain = iter(shop.plain)

    def some(many: int) -> list[int]:
        return [next(plain) for _ in range(many)]

    asks_day, later, declined = some(6), some(3), some(3)
    rained, weekend = some(4), some(2)

    # May: the plan, the calls, the bookings, the first round
    async with office.opened() as hand:
        stage = hand.stage
        assert "57 reseals are open" in stage.text
        hand.doing("week plan")
        for key in ("k", "s", "escape"):
            await hand.press(key)
        planned = {at for at in range(MANY) if office.lines()[NAMES[at]].planned}
        assert len(planned) > MANY // 2
        hand.doing("calls")
        for at in asks_day:
            await hand.say(at, "contacted", note="dog in the yard, wants Aug 14")
        for at in later:
            await hand.say(at, "ask again", on="in 2 months")
        for at in declined:
            await hand.say(at, "declined", note="sells the house")
        hand.doing("bookings")
        for at in asks_day[:3]:
            await hand.book(at)
            assert office.lines()[NAMES[at]].on == date(2026, 8, 14)
            assert "dog in the yard" in " ".join(stage.text.split())
        for at in rained:
            await hand.book(at, on="2026-06-12", note="gate code 4711")
        for at in weekend:
            assert "is on a weekend" in await hand.book(at, on="2026-06-13", because="they are away all week")
        assert "over 6: wipe or strip first" in await hand.book(
            shop.thick[0], on="2026-06-15", because="we wipe the same day"
        )
        assert "The fifth reseal since the last wipe" in await hand.book(
            shop.fifth[0], on="2026-06-16", because="we wipe the same day"
        )
        before = office.lines()
        first = await office.round(
            hand,
            tmp_path / "may",
            monkeypatch,
            ("Teakettle Slabs", "1 Kiln Yard", "555-0100", "shop@example.com"),
        )
        states = [line.state for line in before.values()]
        assert (states.count("booked"), states.count("contacted"), states.count("declined")) == (11, 3, 6)
        assert len(first.table) == states.count("due") + states.count("booked") == MANY - 12
        assert {at for at in range(MANY) if NAMES[at] in first.table} & set(shop.refusers) == set()
        again = await hand.write("letters")
        assert not again, again
        told = " ".join(stage.text.split())
        assert "Nobody to write to." in told, stage.text
        assert stage.field("to").has_class("-wrong")
        await hand.press("escape")

    # June: rain on the day, a letter comes back, one refuses
    office.clock.to("2026-06-12 07:00")
    async with office.opened() as hand:
        hand.doing("rain")
        for at in rained:
            await hand.book(at, on="2026-06-19", note="rained out")
            line = office.lines()[NAMES[at]]
            assert (line.state, line.on) == ("booked", date(2026, 6, 19))
            assert "gate code 4711" in (line.said or "")
        hand.doing("came back")
        back, refused = [at for at in shop.plain if office.lines()[NAMES[at]].state == "written"][:2]
        await hand.go(back)
        await hand.press("f", "ctrl+s")
        await hand.go(refused)
        await hand.press("f")
        await hand.type("refused")
        await hand.press("ctrl+s")
        second = await office.round(hand, tmp_path / "june", monkeypatch)
        assert set(second.table) == {NAMES[at] for at in rained}
        assert "1 the last one came back" in second.said
        assert NAMES[refused] not in second.events

    # July: some are done, those to be asked again are due
    office.clock.to("2026-07-21 09:00")
    async with office.opened() as hand:
        hand.doing("done")
        for at in (*rained, *weekend):
            await hand.say(at, "done", on="2026-06-19")
        third = await office.round(hand, tmp_path / "july", monkeypatch)
        assert set(third.table) == {NAMES[at] for at in later}
    assert office.services.log().check().ok
    with suppress(KeyError):
        office.keys.pop("other")
    total = sum(office.keys.values())
    print(f"\n{total} keys: " + ", ".join(f"{task} {many}" for task, many in office.keys.items()))
    print(f"calls of 12, bookings of 13; written {len(first.table)}, {len(second.table)}, {len(third.table)}")
