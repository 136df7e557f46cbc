"""Undo takes one's own entry by its number and asks for any other; z brings back; t moves to the right job."""

from __future__ import annotations

from collections.abc import AsyncIterator, Callable, Iterator
from contextlib import AbstractAsyncContextManager, asynccontextmanager
from dataclasses import replace
from datetime import UTC, datetime
from itertools import count
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from finishlog.desk.jobs import edit
from finishlog.desk.record import record
from finishlog.desk.record.record import Recorded
from finishlog.desk.services import Services
from finishlog.records.log import Entry
from finishlog.store import Log
from finishlog.tui.app import FinishlogApp
from finishlog.tui.due.today import TodayScreen
from finishlog.tui.forms.why import WhyScreen
from finishlog.tui.jobs.job import JobScreen
from finishlog.tui.jobs.rows import JobList
from finishlog.tui.running.session import Session
from finishlog.tui.screens.sure import SureScreen

WALK, PATIO = "barnaby-puddlecombe-side-walk", "ottoline-quillfeather-back-patio"
NOW = datetime(2026, 6, 16, 18, 20, tzinfo=UTC)
Open = Callable[..., AbstractAsyncContextManager[Any]]


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Services]:
    """Two jobs; on the walk Mo poured and Maud rinsed last."""
    uids = count(1)
    log = Log.create(tmp_path / "l.finishlog", clock=lambda: NOW, new_uid=lambda: f"u{next(uids)}")
    made = Services(open_log=lambda: log, has_log=lambda: True, make_log=lambda *_: log, clock=lambda: NOW,
                    find_zone=lambda: ZoneInfo("America/Chicago"))  # fmt: skip
    for customer, piece in (("Ottoline Quillfeather", "back patio"), ("Barnaby Puddlecombe", "side walk")):
        edit.new_job(made, {"customer": customer, "job": piece, "areas": "field 30x4 4in"})
    record.record(made, WALK, "pour", {"at": "2026-06-15 11:20", "by": "Mo"})
    record.record(made, WALK, "sweep", {"at": "2026-06-16 8:00", "by": "Maud"})
    yield made
    log.close()


@pytest.fixture
def opened(shop: Services, drive: Callable[..., Any]) -> Open:
    @asynccontextmanager
    async def opened(size: tuple[int, int] = (60, 20)) -> AsyncIterator[Any]:
        app = FinishlogApp(shop)
        async with app.run_test(size=size, notifications=True) as pilot:
            stage = drive(app, pilot)
            await stage.settle()
            yield stage

    return opened


async def to_walk(stage: Any) -> None:
    await stage.press("slash")
    await stage.enter("puddlecombe")
    await stage.press("enter")
    assert isinstance(stage.app.screen, JobScreen), stage.text


def standing(shop: Services, handle: str = WALK) -> list[tuple[int, str]]:
    with shop.log().reading() as log:
        return sorted((entry.number, entry.kind) for entry in log.job(handle).entries)


async def test_on_a_job_s_page_nothing_of_others_goes_without_a_question(
    opened: Open, shop: Services
) -> None:
    async with opened() as stage:
        await to_walk(stage)
        before = standing(shop)
        for _ in range(3):
            await stage.press("u")
        assert isinstance(stage.app.screen, SureScreen)
        told = " ".join(stage.text.split())
        assert "Undo entry 2, swept, Jun 16 2026, 8a, by Maud?" in told.replace("8:00a", "8a")
        await stage.press("enter")
        assert isinstance(stage.app.screen, SureScreen)
        await stage.press("escape")
        assert standing(shop) == before
        await stage.press("u", "y")
        assert standing(shop) == [(1, "pour")]
        assert "z brings it back" in stage.toast()
        await stage.press("z")
        assert standing(shop) == [(1, "pour"), (4, "sweep")]
        assert "Brought back. Entry 4: swept" in stage.toast()


async def test_today_takes_back_its_own_by_number_and_asks_if_another_came(
    opened: Open, shop: Services
) -> None:
    async with opened((80, 24)) as stage:
        await stage.press("escape", "1", "home")
        while "Rinse" not in next(row for row in stage.rows if row.startswith("▌")):
            await stage.press("down")
        await stage.press("enter", "enter")
        assert standing(shop)[-1] == (3, "rinse")
        await stage.press("u")
        assert standing(shop)[-1] == (2, "sweep")
        await stage.press("z")
        assert standing(shop)[-1] == (5, "rinse")
        record.record(shop, WALK, "note", {"note": "rain", "by": "Odd"})
        await stage.press("u")
        assert isinstance(stage.app.screen, SureScreen)
        assert "Entry 6 came after it by Odd: noted." in " ".join(stage.text.split())
        assert standing(shop)[-2:] == [(5, "rinse"), (6, "note")]
        await stage.press("y")
        assert isinstance(stage.app.screen, TodayScreen)
        assert standing(shop)[-1] == (6, "note")
        await stage.press("u")
        assert "nothing logged from here yet" in stage.rows[-1]


async def test_a_click_on_the_right_job_asks_for_the_move_alone(opened: Open) -> None:
    async with opened() as stage:
        await to_walk(stage)
        await stage.press("t", "t")
        await stage.type("quill")
        await stage.pilot.click(JobList, offset=(40, 0))
        await stage.settle()
        assert [type(one).__name__ for one in stage.app.screen_stack[-2:]] == ["MoveScreen", "WhyScreen"]


async def test_a_wrong_job_is_mended_in_four_keys_and_u_moves_it_back(opened: Open, shop: Services) -> None:
    async with opened() as stage:
        await to_walk(stage)
        await stage.press("t", "t")
        await stage.type("quill")
        await stage.press("enter")
        assert isinstance(stage.app.screen, WhyScreen), stage.text
        assert "the job is planned, not poured" in " ".join(stage.text.split())
        await stage.press("escape", "escape")
        record.record(shop, PATIO, "pour", {"at": "2026-06-15 13:20"})
        keys = ("t", "enter")
        await stage.press(keys[0])
        await stage.enter("quill")
        await stage.press(keys[1])
        assert isinstance(stage.app.screen, JobScreen)
        assert (standing(shop), standing(shop, PATIO)) == ([(1, "pour")], [(1, "pour"), (2, "sweep")])
        assert "u moves it back" in stage.toast()
        await stage.clear()
        assert "moved to" in stage.row("8a ")
        assert f"{PATIO}, Maud entry 2: swept" in " ".join(stage.text.split())
        await stage.press("u")
        assert (standing(shop), standing(shop, PATIO)) == ([(1, "pour"), (4, "sweep")], [(1, "pour")])
        await stage.press("u")
        assert isinstance(stage.app.screen, SureScreen)  # what came back is Maud's
        await stage.press("escape", "z")
        assert standing(shop, PATIO) == [(1, "pour"), (4, "sweep")]


def test_a_session_knows_its_own_by_place_and_job() -> None:
    def told(number: int, job: str = "a", **more: Any) -> Recorded:
        return Recorded(job, Entry(number, f"u{number}", "note", NOW, NOW, **more), "")

    session = Session()
    session.note("today", told(1))
    session.note("jobs", (told(2), told(3)))
    session.note("jobs", "a sentence")
    last = session.last(place="today")
    assert (last and last.number, session.numbers("a")) == (1, {1, 2, 3})
    last = session.last(job="a")
    assert last is not None
    assert last.number == 3
    session.note("jobs", told(4, replaces=3, withdrawn=True))
    last, taken = session.last(job="a"), session.last(job="a", taken=True)
    assert (last and last.number, taken and taken.number) == (2, 4)
    session.note("jobs", replace(told(5, replaces=4), restores=3))
    last = session.last(job="a")
    assert (last and last.number, session.last(job="a", taken=True)) == (5, None)
    assert session.last(place="care") is None
    session.note("jobs", replace(told(7, replaces=6), restores=0))  # what somebody else had logged
    assert 7 not in session.numbers("a")
