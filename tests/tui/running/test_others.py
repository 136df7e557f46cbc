"""Two programs on one log: what one writes the other shows, and nothing moves under the hand."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from datetime import UTC, datetime
from threading import enumerate as threads
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from finishlog import wiring
from finishlog.desk.jobs import edit
from finishlog.desk.record import record
from finishlog.desk.services import Services
from finishlog.tui.app import FinishlogApp
from finishlog.tui.desks.whole import Desks
from finishlog.tui.jobs.job import JobScreen, Parts
from finishlog.tui.jobs.rows import JobList
from finishlog.tui.running.others import EVERY_S
from finishlog.tui.screens.marked import MARK

REFERENCE = "bogglethwaite-front-yard"


@pytest.fixture
def maud(demo: str) -> Any:
    """Another program on the same log."""
    built = services(demo)
    yield built
    built.close()


def services(demo: str) -> Services:
    built = wiring.build(demo)
    built.clock = lambda: datetime(2026, 6, 16, 12, 40, tzinfo=UTC)
    built.find_zone = lambda: ZoneInfo("America/Chicago")
    return built


@asynccontextmanager
async def opened(
    demo: str, drive: Callable[..., Any], size: tuple[int, int] = (80, 24)
) -> AsyncIterator[Any]:
    built = services(demo)
    app = FinishlogApp(built)
    async with app.run_test(size=size, notifications=True) as pilot:
        stage = drive(app, pilot)
        await stage.settle()
        await stage.until(lambda: built.log()._engine._watch is not None)
        yield stage
    built.close()


async def seen(stage: Any, needle: str) -> None:
    await until(stage, lambda: needle in stage.text)


async def until(stage: Any, there: Callable[[], bool]) -> None:
    """However busy the machine is; how soon is promised in the bench."""
    await stage.until(there)
    await stage.settle()


def new_job(maud: Services) -> None:
    edit.new_job(maud, {"customer": "Maud Newcomer", "job": "side gate"})


async def test_a_new_job_of_another_comes_and_the_mark_stays_in_its_row(
    demo: str, maud: Services, drive: Callable[..., Any]
) -> None:
    async with opened(demo, drive) as stage:
        await stage.press("down", "down")
        rows = stage.app.screen.query_one(JobList)
        before, at = rows.current.handle, [row.startswith(MARK) for row in stage.rows].index(True)
        total = rows.total + 1
        new_job(maud)
        await until(stage, lambda: f"{total} of {total}" in stage.text and stage.rows[at].startswith(MARK))
        assert rows.current.handle == before


async def test_what_is_typed_stays_and_so_does_the_focus(
    demo: str, maud: Services, drive: Callable[..., Any]
) -> None:
    async with opened(demo, drive) as stage:
        await stage.type("/bogg")
        focused = stage.app.focused
        total = stage.app.screen._page.all_jobs + 1
        new_job(maud)
        await seen(stage, f"of {total}")
        assert stage.app.focused is focused
        assert stage.app.screen.box.value == "bogg"


async def test_an_entry_of_another_stands_on_the_jobs_page_and_the_mark_stays(
    demo: str, maud: Services, drive: Callable[..., Any]
) -> None:
    async with opened(demo, drive) as stage:
        await stage.type("/bogglethwaite front")
        await stage.press("enter", "right", "up", "up")
        screen = stage.app.screen
        assert isinstance(screen, JobScreen)
        mark, row = screen._mark, screen._marked_row - screen.query_one(Parts).scroll_offset.y
        record.record(maud, REFERENCE, "note", {"at": "2024-01-02", "note": "two loads were late"})
        await until(stage, lambda: "two loads" in str([doing.note for doing in screen._view.page.doings]))
        assert screen._mark == mark
        assert screen._marked_row - screen.query_one(Parts).scroll_offset.y == row


async def test_a_line_that_others_did_leaves_today_and_no_other_is_opened_in_its_place(
    demo: str, maud: Services, drive: Callable[..., Any]
) -> None:
    async with opened(demo, drive) as stage:
        await stage.press("1")
        screen = stage.app.screen
        await stage.press("down")
        line, other = screen.current, screen.lines[2]
        Desks(maud).not_for(line)
        await seen(stage, "someone else took care of the marked line")
        assert line not in screen.lines
        assert other in screen.lines


async def test_a_form_over_the_list_keeps_its_text(
    demo: str, maud: Services, drive: Callable[..., Any]
) -> None:
    async with opened(demo, drive) as stage:
        total = stage.app.screen.rows.total + 1
        await stage.press("n")
        await stage.fill("customer", "Ottoline Half")
        form = stage.app.screen
        new_job(maud)
        await until(stage, lambda: stage.app.screen_stack[0]._stale)
        assert stage.app.screen is form
        assert stage.field("customer").value == "Ottoline Half"
        await stage.press("escape")
        assert f"{total} of {total}" in stage.text


async def test_ones_own_writes_are_not_read_a_second_time(demo: str, drive: Callable[..., Any]) -> None:
    async with opened(demo, drive) as stage:
        asked: list[str] = []
        page = stage.app.desks.page
        stage.app.desks.page = lambda *words, **named: (asked.append("page"), page(*words, **named))[1]
        for name in ("one", "two"):
            edit.new_job(stage.app.services, {"customer": "Maud Newcomer", "job": name})
        await asyncio.sleep(EVERY_S * 1.5)
        await stage.settle()
        assert asked == []


async def test_one_thread_looks_and_it_ends_with_the_app(demo: str, drive: Callable[..., Any]) -> None:
    def looking() -> list[Any]:
        return [each for each in threads() if each.name == "others"]

    async with opened(demo, drive) as stage:
        await stage.press("1", "2", "3")
        (mine,) = [each for each in looking() if each is stage.app.others.thread]
    mine.join(60)
    assert not mine.is_alive()
