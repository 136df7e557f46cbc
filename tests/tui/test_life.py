"""The whole life of one slab at the keys of the screens: every line of Today, Care and the shelf at every moment.

The story and what the lists say stand in `tests/desk/life_story.py`; the desks' own life is checked there too.
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Sequence
from itertools import groupby
from pathlib import Path
from typing import Any

import pytest

from finishlog.desk.services import Services
from finishlog.tui.app import FinishlogApp
from finishlog.tui.due.today import TodayScreen
from finishlog.tui.due.today_sheet import DueSheet
from finishlog.tui.forms.fields import Field
from finishlog.tui.jobs.job import JobScreen
from finishlog.tui.match.screen import MatchScreen
from finishlog.tui.photo.photos import PhotosScreen
from tests.desk.life_story import LIFE, WHO, Clock, Moment, by_desks, life_shop, picture
from tests.tui.test_whole_job_keys import NAMES, Hand

SIZE = (80, 40)
EDGE = 77
"""Where a line of a list ends: two columns of margin and one for a scroll bar are right of it."""
GROUPS = {"●": "Open", "!": "Slipped", "○": "Opens next"}
KINDS = {"load": "load", "powder_release": "powder", "pour": "end of"}
"""What is typed of a kind's name."""
MARKED = {"joint": "Joints", "photo": "Photo", "sweep": "Sweep", "rinse": "Rinse", "seal": "Seal",
          "second coat": "Second coat", "judge color": "Judge the color", "reseal": "Reseal"}  # fmt: skip


class Life:
    """Does at the keys what a moment tells, and reads the lists as they stand on the screen."""

    def __init__(self, stage: Any, clock: Clock, folder: Path) -> None:
        self.stage, self.clock, self.folder = stage, clock, folder
        self.hand = Hand(stage)
        self.ways: dict[str, Callable[[Moment], Any]] = {
            "new job": self.new_job, "buy": self.buy, "contacted": self.contacted,
            "booked": self.booked, "match": self.match,
            **dict.fromkeys(KINDS, self.on_the_job), **dict.fromkeys(MARKED, self.from_today), "photo": self.photo,
        }  # fmt: skip

    @property
    def screen(self) -> Any:
        return self.stage.app.screen

    async def does(self, moment: Moment) -> None:
        self.clock.set(moment.at)
        if moment.does:
            await self.ways[moment.does](moment)
        await self.stage.clear()

    # the ways

    async def new_job(self, moment: Moment) -> None:
        await self.hand.press("2", "n")
        await self.fill(moment)
        assert isinstance(self.screen, JobScreen), self.stage.text

    async def buy(self, moment: Moment) -> None:
        await self.hand.press("4", "i")
        await self.fill(moment)

    async def job(self) -> None:
        """The job's screen, from its place in the list."""
        await self.hand.press("2")
        if not isinstance(self.screen, JobScreen):
            await self.hand.press("home", "enter")
        assert isinstance(self.screen, JobScreen), self.stage.text

    async def on_the_job(self, moment: Moment) -> None:
        await self.job()
        await self.hand.press("l", *(NAMES.get(letter, letter) for letter in KINDS[moment.does]), "enter")
        await self.fill(moment)
        assert isinstance(self.screen, JobScreen), self.stage.text

    async def from_today(self, moment: Moment) -> None:
        await self.mark(MARKED[moment.does])
        await self.hand.press("enter")
        assert isinstance(self.screen, DueSheet), self.stage.text
        await self.fill(moment)
        if moment.because:
            assert "wipe or strip first" in unwrapped(self.stage.rows), self.stage.text
            await self.hand.press(*(NAMES.get(letter, letter) for letter in moment.because), "ctrl+s")
        if moment.refused:
            assert isinstance(self.screen, DueSheet), self.stage.text
            assert moment.refused in self.stage.row("? ")
            await self.hand.press("escape")
        assert isinstance(self.screen, TodayScreen), self.stage.text

    async def photo(self, moment: Moment) -> None:
        await self.mark(MARKED[moment.does])
        await self.hand.press("p", "a")
        await self.fill(Moment("", "", {"path": picture(self.folder, self.clock.now)}))
        assert isinstance(self.screen, PhotosScreen), self.stage.text
        await self.hand.press("escape")

    async def contacted(self, moment: Moment) -> None:
        await self.hand.press("3", "space")

    async def booked(self, moment: Moment) -> None:
        await self.hand.press("3", "space")
        await self.fill(moment)

    async def match(self, moment: Moment) -> None:
        await self.job()
        await self.hand.press("m")
        await self.fill(moment)
        assert isinstance(self.screen, MatchScreen), self.stage.text
        await self.hand.press("s", "escape", "escape", "escape", "escape")

    # keys

    async def mark(self, title: str) -> None:
        """Down the list to the first line of that title."""
        await self.hand.press("1", "home")
        for _ in range(12):
            if self.screen.current.title.startswith(title):
                return
            await self.hand.press("down")
        raise AssertionError(self.stage.text)

    async def fill(self, moment: Moment) -> None:
        """Tab to each field that is told, over what stands there; Ctrl+S."""
        wanted = dict(moment.texts)
        fields = {field.asked.key: field for field in self.screen.fields}
        for key in [key for key in fields if key in wanted]:
            await self.tab_to(fields[key])
            self.hand.send(*wanted.pop(key))
        assert not wanted, f"no field for {wanted} in {list(fields)}"
        await self.hand.press("ctrl+s")

    async def tab_to(self, field: Field) -> None:
        for _ in range(100):
            before = self.stage.app.focused
            if before is field.entry:
                return
            self.hand.send("tab")
            await self.leaves(before)
        raise AssertionError(f"Tab did not reach {field.asked.key}")

    async def leaves(self, before: object) -> None:
        for _ in range(5000):
            if self.stage.app.focused is not before:
                return
            await asyncio.sleep(0.001)
        raise AssertionError(f"Tab stays on {before}:\n{self.stage.text}")

    # what stands on the screen

    async def says(self) -> dict[str, list[str]]:
        """The body of each of the three places, row by row, from the sentence on; the mark left out."""
        found = {}
        for key, name in (("4", "shelf"), ("3", "care"), ("1", "today")):
            await self.hand.press(key)
            found[name] = [row.replace("▌", " ", 1).rstrip() for row in self.stage.rows[2:-1]]
        return found


def unwrapped(rows: Sequence[str]) -> str:
    return " ".join(" ".join(rows).split())


def sections(rows: Sequence[str]) -> list[list[str]]:
    """Runs of rows with blank ones between."""
    return [list(run) for some, run in groupby(rows, key=bool) if some]


def check_today(rows: Sequence[str], told: Sequence[str], wipe: bool) -> None:
    """The sentence, the groups with their lines as wide as the screen, nothing more but the look ahead."""
    title, *body = sections(rows)
    assert unwrapped(title) == told[0]
    wanted = []
    for glyph, lines in groupby(told[1:], key=lambda line: line[0]):
        wanted.append([f"  {GROUPS[glyph]}", *(today_row(line, wipe) for line in lines)])
    assert body[: len(wanted)] == wanted
    rest = body[len(wanted)][0] if body[len(wanted) :] else ""
    assert rest.startswith(
        ("  ───", "  Before the pour", "  / finds a job") if wanted else "  / finds a job"
    ), rest


def today_row(line: str, wipe: bool) -> str:
    """What comes before a reseal stands before its name, where it is not cut."""
    what, *whose, said = line.split(" | ")
    first = "! wipe first  " if wipe and "Reseal" in what else ""
    return facing(f"  {what}".ljust(21) + first + (whose[0] if whose else WHO), said)


def facing(left: str, right: str) -> str:
    """A row with a figure at its right end; what stands left of it gives way."""
    room = EDGE - len(right) - 2
    left = left if len(left) <= room else f"{left[: room - 1]}…"
    return left + right.rjust(EDGE - len(left))


def check_care(rows: Sequence[str], told: Sequence[str], year: str) -> None:
    """The sentence; each line under its month; the window under the list."""
    title, _, *body = sections(rows)
    assert unwrapped(title[1:]) == told[0]
    if len(told) == 1:
        assert [unwrapped(part) for part in body] == ["Sealed slabs show up here when their window opens."]
        return
    [line] = told[1:]
    month, state, remark, window = line.split(" | ")
    row = facing(f"  {state}".ljust(15) + WHO, remark)
    assert body[0] == [f"  {month.removesuffix(f' {year}')}", row]
    assert f"Window {window}" in unwrapped(body[1])


def check_shelf(rows: Sequence[str], told: Sequence[str]) -> None:
    title, *body = sections(rows)
    assert unwrapped(title[1:]) == told[0]
    if len(told) == 1:
        assert unwrapped(body[0]) == "i adds a purchase; what jobs use comes off automatically."
        return
    wanted = []
    for line in told[1:]:
        state, lot, said = line.split(" | ")
        wanted.append(facing(f"  {state}".ljust(14) + lot, said))
    assert body[0] == wanted


async def live(app: FinishlogApp, drive: Any, clock: Clock, folder: Path, by_keys: Callable[[Moment], bool],
               shop: Services) -> Life:  # fmt: skip
    """All moments: those of `by_keys` at the keys with the lists looked at, the others through the desks."""
    told: dict[str, list[str]] = {}
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        life = Life(drive(app, pilot), clock, folder)
        await life.stage.settle()
        await life.hand.press("escape")
        for moment in LIFE:
            told |= moment.says
            if not by_keys(moment):
                clock.set(moment.at)
                by_desks(shop, folder, moment)
                continue
            await life.does(moment)
            found = await life.says()
            try:
                wipe = "wipe first" in told["care"][-1] and "Reseal" in told["today"][-1]
                check_today(found["today"], told["today"], wipe)
                assert ("wipe" in unwrapped(found["today"])) == wipe
                check_care(found["care"], told["care"], moment.at[:4])
                check_shelf(found["shelf"], told["shelf"])
            except AssertionError as wrong:
                wrong.add_note(f"after {moment.at} {moment.does}")
                raise
    return life


@pytest.mark.long
async def test_a_short_life_rinsed_late_sealed_on_the_second_try_and_resealed(
    drive: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    clock = Clock()
    with life_shop(tmp_path, clock) as shop:
        await live(FinishlogApp(shop), drive, clock, tmp_path, lambda moment: moment.short, shop)


@pytest.mark.long
async def test_a_whole_life(
    drive: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    clock = Clock()
    with life_shop(tmp_path, clock) as shop:
        life = await live(FinishlogApp(shop), drive, clock, tmp_path, lambda _: True, shop)
    with capsys.disabled():
        print(f"keys of a whole life, its lists looked at {len(LIFE)} times: {life.hand.keys}")
