"""A crew with thick gloves at a cracked terminal of 60x20: no chords, no key held, every key counted.

Words typed by hand are counted apart. What is asserted is what the log holds, not only what the screen says.
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from time import monotonic
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from PIL import Image

from finishlog import wiring
from finishlog.desk.due import today
from finishlog.desk.record import drafts, record
from finishlog.desk.services import Services
from finishlog.records.log import Entry
from finishlog.settings import Machine
from finishlog.tui.due.today import TodayScreen
from finishlog.tui.due.today_sheet import DueSheet
from finishlog.tui.forms.fields import Button
from finishlog.tui.jobs.job import JobScreen
from finishlog.tui.jobs.move import MoveScreen
from finishlog.tui.screens.sure import SureScreen

Open = Callable[..., Any]
SIZE = (60, 20)
CREW = Machine(who="crew")
PATIO, CIRCLE, STEP = "larkspur-breakfast-patio", "ruddock-vane-fire-circle", "thrupp-button-back-step"
WALK, RESEAL = "fizzlewick-side-walk", "wobblestone-back-patio"
CHORDS = ("ctrl+", "alt+", "shift+")
OTHERS_S = 30.0
"""Of a busy machine; what is promised stands in the bench."""


class Gloves:
    """One key after the other, each counted; words are pasted and counted apart."""

    def __init__(self, stage: Any) -> None:
        self.stage, self.keys, self.words = stage, 0, 0

    async def press(self, *keys: str) -> None:
        assert not [key for key in keys if key.startswith(CHORDS)]
        self.keys += len(keys)
        for key in keys:
            await self.stage.press(key)

    async def type(self, text: str) -> None:
        self.words += len(text)
        await self.stage.type(text)

    def since(self, before: int) -> int:
        return self.keys - before

    @property
    def marked(self) -> str:
        return next((row for row in self.stage.rows if row.lstrip().startswith("▌")), "")

    async def to(self, *words: str) -> None:
        """The mark of Today on a line. Keys that only choose are not counted."""
        await self.stage.press("home")
        for _ in range(20):
            if all(word in self.marked for word in words):
                return
            await self.stage.press("down")
        raise AssertionError(self.stage.text)

    async def choose(self, name: str) -> None:
        """The mark on a photo of the folder."""
        for _ in range(5):
            if self.stage.app.screen.current.name == name:
                return
            await self.stage.press("down")
        raise AssertionError(self.stage.text)

    async def find(self, words: str) -> None:
        """A job's page, from any place."""
        await self.press("slash")
        await self.type(words)
        await self.press("enter")
        assert isinstance(self.stage.app.screen, JobScreen), self.stage.text

    @property
    def said(self) -> str:
        return " ".join(self.stage.text.replace("│", " ").replace("▌", " ").split())


@pytest.fixture
def maud(demo: str, clock: str) -> Iterator[Services]:
    """Another program on the same log."""
    built = wiring.build(demo)
    built.clock = lambda: datetime(2026, 6, 16, 12, 40, tzinfo=UTC)
    built.find_zone = lambda: ZoneInfo("America/Chicago")
    yield built
    built.close()


@pytest.fixture
def photo(tmp_path: Path) -> Path:
    """A folder with one photo by the camera's clock, and a newer one that does not say when."""
    made = tmp_path / "june"
    made.mkdir()
    exif = Image.Exif()
    exif.get_ifd(0x8769)[0x9003] = "2026:06:16 07:10:00"
    Image.new("RGB", (60, 45), (150, 120, 90)).save(made / "IMG_1.jpg", exif=exif)
    Image.new("RGB", (60, 45), (90, 120, 150)).save(made / "IMG_2.jpg")
    return made


def entries(log: Services, handle: str = PATIO) -> list[Entry]:
    with log.log().reading() as reading:
        return sorted(reading.job(handle).entries, key=lambda entry: entry.number)


def kinds(log: Services, handle: str = PATIO) -> list[str]:
    return [entry.kind for entry in entries(log, handle)]


async def test_keys_counted(
    open_log: Open, maud: Services, photo: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Rinse, undo, a job mended, a reseal booked."""
    record.record(maud, PATIO, "sweep", {"at": "7:20a", "by": "Maud"})
    before = kinds(maud)
    counted = {}
    async with open_log(SIZE, machine=replace(CREW, last_photos=str(photo))) as stage:
        hand = Gloves(stage)
        assert isinstance(stage.app.screen, TodayScreen)
        await hand.to("Rinse")
        start = hand.keys
        await hand.press("enter", "enter")
        counted["rinse, sweep logged"] = hand.since(start)
        assert kinds(maud) == [*before, "rinse"]
        start = hand.keys
        await hand.press("u")
        counted["undo"] = hand.since(start)
        assert kinds(maud) == before
        await hand.press("z")
        assert kinds(maud) == [*before, "rinse"]

        there = kinds(maud, STEP)
        start = hand.keys
        await hand.find("larkspur")
        await hand.press("right", "t")
        assert isinstance(stage.app.screen, MoveScreen)
        await hand.type("thrupp")
        await hand.press("enter")
        counted["wrong job mended, from Today"] = hand.since(start)
        assert (kinds(maud), kinds(maud, STEP)) == (before, [*there, "rinse"])
        assert entries(maud, STEP)[-1].facts["moved_from"] == PATIO

        await hand.press("3")
        line = stage.app.screen.current
        start = hand.keys
        await hand.press("b", "enter")
        counted["reseal booked"] = hand.since(start)
        booked = entries(maud, line.job)[-1]
        assert (booked.kind, booked.facts["state"]) == ("care", "booked")
        await stage.clear()

        await hand.press("1")
        await hand.to("Photo, day 1 ")
        start = hand.keys
        await hand.press("p", "a", "enter")
        await hand.choose("IMG_1.jpg")
        await hand.press("enter", "enter")
        counted["photo"] = hand.since(start) - 1  # the Enter that chooses
        assert [file.name for file in entries(maud)[-1].files] == ["IMG_1.jpg"]
    assert counted["rinse, sweep logged"] == 2
    assert counted["undo"] == 1
    assert counted["wrong job mended, from Today"] <= 6
    assert counted["reseal booked"] <= 2
    assert counted["photo"] <= 4
    with capsys.disabled():
        print(", ".join(f"{what}: {keys}" for what, keys in counted.items()))


@pytest.mark.long
async def test_a_day_of_the_crew(
    open_log: Open, maud: Services, photo: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """One short act for each promise made to the hand; after each the log says what came of it."""
    told: list[str] = []
    async with open_log(SIZE, machine=replace(CREW, last_photos=str(photo))) as stage:
        hand = Gloves(stage)
        # the place and the digits
        assert isinstance(stage.app.screen, TodayScreen)
        await hand.press("3", "1")
        assert isinstance(stage.app.screen, TodayScreen)
        for act in (
            undo_by_number, planned_and_swept, told_twice, focus_in_sight, moment_echoed, unfinished_marked,
            others_seen, photo_without_date, moved,
        ):  # fmt: skip
            before = hand.keys
            took = await act(hand, maud)
            await stage.clear()
            told.append(f"{act.__name__} {hand.since(before)} keys{took or ''}")
    with capsys.disabled():
        print("; ".join(told))


async def undo_by_number(hand: Gloves, maud: Services) -> None:
    """u takes one's own by number; where another wrote since, it asks, and theirs stands."""
    before = kinds(maud, CIRCLE)
    await hand.to("Photo, day 180")
    await hand.press("enter", "enter")
    assert kinds(maud, CIRCLE) == [*before, "photo"]
    record.record(maud, CIRCLE, "note", {"note": "gate is open", "by": "Maud"})
    await hand.press("u")
    assert isinstance(hand.stage.app.screen, SureScreen)
    assert "by Maud" in hand.said
    await hand.press("enter")
    assert kinds(maud, CIRCLE) == [*before, "photo", "note"]
    await hand.press("y")
    assert kinds(maud, CIRCLE) == [*before, "note"]
    await hand.press("z")
    assert sorted(kinds(maud, CIRCLE)) == sorted([*before, "note", "photo"])


async def planned_and_swept(hand: Gloves, maud: Services) -> None:
    """The rinse asks for the sweep; what is only planned is shown and not kept."""
    before = kinds(maud)
    await hand.to("Rinse")
    await hand.press("enter")
    assert hand.stage.app.focused is hand.stage.field("swept").entry
    await hand.press("3", "enter")
    screen = hand.said
    assert isinstance(hand.stage.app.focused, Button)
    button = hand.stage.app.focused.region
    assert hand.stage.app.screen.region.contains_region(button)
    await hand.press("enter")
    assert kinds(maud) == [*before, "sweep", "rinse"]
    sweep, rinse = entries(maud)[-2:]
    assert sweep.facts == {"reclaimed_lb": 3.0}
    assert "release_left_percent" not in rinse.facts
    assert rinse.facts["tip_deg"] == 25
    for kept in ("Swept before 3.00 lb kept", "Fan of the tip 25°", "Pressure 2000 psi", "Who Odd Nils"):
        assert kept in screen, screen


async def told_twice(hand: Gloves, maud: Services) -> None:
    """The rinse once more is asked, and says by whom; Esc logs nothing."""
    before = kinds(maud)
    await hand.to("Larkspur")
    await hand.press("l")
    await hand.type("rinse")
    await hand.press("enter")
    await to_button(hand)
    await hand.press("enter")
    assert "Rinse was logged a minute ago by Odd Nils" in hand.said
    await hand.press("escape")
    assert kinds(maud) == before
    await to_today(hand)


async def to_today(hand: Gloves) -> None:
    for _ in range(5):
        if isinstance(hand.stage.app.screen, TodayScreen):
            return
        await hand.press("escape")
    raise AssertionError(hand.stage.text)


async def to_button(hand: Gloves, most: int = 60) -> None:
    """Tab by Tab; what has the focus is in sight after each."""
    for _ in range(most):
        focused = hand.stage.app.focused
        assert focused is not None
        form = hand.stage.app.screen.query_one("#form").region
        assert form.contains_region(focused.region) or isinstance(focused, Button), hand.stage.text
        assert hand.stage.app.screen.region.contains_region(focused.region), hand.stage.text
        if isinstance(focused, Button):
            return
        await hand.press("tab")
    raise AssertionError(hand.stage.text)


async def focus_in_sight(hand: Gloves, maud: Services) -> None:
    """What is typed goes into the field that is seen to have the focus."""
    before = kinds(maud)
    await hand.to("Larkspur")
    await hand.press("l")
    await hand.type("visit")
    await hand.press("enter")
    first = hand.stage.app.focused
    assert first is hand.stage.field("at").entry
    while hand.stage.app.focused is not hand.stage.field("note").entry:
        await hand.press("tab")
    assert hand.stage.app.focused.region.y < SIZE[1] - 1
    await hand.type("gate")
    await to_button(hand)
    await hand.press("enter")
    new = entries(maud)[-1]
    assert [*before, "visit"] == kinds(maud)
    assert new.note == "gate"
    await to_today(hand)


async def moment_echoed(hand: Gloves, maud: Services) -> None:
    """`2:30a` is night and is asked; the day meant is echoed whole and is the day that is kept."""
    before = kinds(maud)
    await hand.to("Larkspur")
    await hand.press("l")
    await hand.type("note")
    await hand.press("enter")
    await hand.type("last friday")
    await hand.press("enter")
    assert "Fri Jun 12" in hand.said
    while hand.stage.app.focused is not hand.stage.field("note").entry:
        await hand.press("enter")
    await hand.type("dry")
    await to_button(hand)
    await hand.press("enter")
    assert sorted(kinds(maud)) == sorted([*before, "note"])
    new = entries(maud)[-1]
    assert new.happened.astimezone(ZoneInfo("America/Chicago")).date().isoformat() == "2026-06-12"
    await to_today(hand)
    await hand.press("l")
    await hand.type("visit")
    await hand.press("enter")
    await hand.type("2:30a")
    await to_button(hand)
    await hand.press("enter")
    assert "2:30 at night?" in hand.said
    assert len(kinds(maud)) == len(before) + 1
    await to_today(hand)


async def unfinished_marked(hand: Gloves, maud: Services) -> None:
    """A sheet left half-way comes back marked, and its next Enter logs nothing."""
    await hand.to("Photo, day 7 ", "Thrupp")
    before = kinds(maud, STEP)
    await hand.press("enter", "tab", "tab")
    assert hand.stage.app.focused is hand.stage.field("by").entry
    await hand.type("Mo")
    await hand.press("escape", "enter")
    assert isinstance(hand.stage.app.screen, DueSheet)
    assert "Unfinished since 7:40a" in hand.said
    await hand.press("enter")
    assert kinds(maud, STEP) == before
    await to_button(hand)
    await hand.press("enter")
    assert kinds(maud, STEP) == [*before, "photo"]
    assert entries(maud, STEP)[-1].person == "Mo"


async def others_seen(hand: Gloves, maud: Services) -> str:
    """What another program logged leaves Today by itself; the mark does not move."""
    line = next(one for one in today.today(maud).lines if one.what == "photo" and one.job == WALK)
    assert "Fizzlewick" in hand.stage.text
    await hand.to("Dryness")
    mark = hand.marked
    today.log(maud, line)
    began = monotonic()
    while "Fizzlewick" in hand.stage.text:
        assert monotonic() - began < OTHERS_S, hand.stage.text
        await asyncio.sleep(0.05)
    await hand.stage.settle()
    assert hand.marked == mark
    return f" (seen after {monotonic() - began:.1f} s)"


async def photo_without_date(hand: Gloves, maud: Services) -> None:
    """The cursor is put into When; what comes in has the day that was typed."""
    before = entries(maud)
    await hand.to("Larkspur")
    await hand.press("p", "a", "enter")
    await hand.choose("IMG_2.jpg")
    await hand.press("enter", "enter")
    assert hand.stage.app.focused is hand.stage.field("taken").entry
    assert "It does not say when it was taken" in hand.said
    assert entries(maud) == before
    await hand.type("Jun 15 2p")
    await to_button(hand)
    await hand.press("enter")
    [new] = [entry for entry in entries(maud) if entry not in before]
    assert [file.name for file in new.files] == ["IMG_2.jpg"]
    assert new.happened == datetime(2026, 6, 15, 19, tzinfo=UTC)
    await to_today(hand)


async def moved(hand: Gloves, maud: Services) -> None:
    """An entry on the wrong job goes to the right one; each says where from and where to."""
    newest, there = entries(maud)[-1], len(entries(maud, WALK))
    await hand.find("larkspur")
    await hand.press("right", "t")
    assert f"entry {newest.number}," in hand.said
    await hand.type("fizzle")
    await hand.press("enter")
    assert newest.number not in [entry.number for entry in entries(maud)]
    assert len(entries(maud, WALK)) == there + 1
    new = entries(maud, WALK)[-1]
    assert (new.kind, new.facts["moved_from"]) == (newest.kind, PATIO)


async def test_the_job_s_page_keeps_the_mark_and_what_is_unfinished_in_sight(
    open_log: Open, maud: Services
) -> None:
    """A forecast that comes late takes rows from the list; the sentence gives way before what is unfinished."""
    drafts.keep_draft(maud, drafts.draft_key(PATIO, "note"), {"note": "the hose"})
    async with open_log(SIZE) as stage:
        hand = Gloves(stage)
        await hand.find("larkspur")
        screen = stage.app.screen
        assert "Unfinished: note" in hand.said
        ahead, screen._ahead = screen._ahead, None
        assert ahead is not None
        screen.repaint()
        await stage.settle()
        await hand.press("right")
        assert hand.marked, stage.text
        screen._comes(ahead)
        await stage.settle()
        assert "day 28" in stage.text
        assert hand.marked, stage.text
