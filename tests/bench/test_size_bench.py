"""Screens on a big log: a letter in the find box, a page scrolled, the places open; CPU time of the event loop.

A frame is a sixtieth of a second, Textual's own. FINISHLOG_BENCH_LOG names a log, which is only looked at; else one
is built.
"""

from __future__ import annotations

import asyncio
import os
import statistics
import time
from collections.abc import Callable
from datetime import UTC, datetime
from functools import partial
from typing import Any

import pytest
from textual.events import Key

from finishlog import wiring
from finishlog.tui.app import FinishlogApp
from finishlog.tui.due.care import CareScreen
from finishlog.tui.due.today import TodayScreen
from finishlog.tui.jobs.job import JobScreen
from finishlog.tui.jobs.jobs import JobsScreen
from finishlog.tui.shelf.screen import ShelfScreen
from tests.bench.big import build

pytestmark = pytest.mark.bench
FRAME_S = 1 / 60
OPEN_S = 0.3
JOBS = 2_000
SCRAPS = ("puddlecombe slate", "thistlwick walk", "spring 2019", "otter", "mapel road patio")


@pytest.fixture(scope="module")
def big(tmp_path_factory: pytest.TempPathFactory) -> str:
    if given := os.environ.get("FINISHLOG_BENCH_LOG"):
        return given
    path = tmp_path_factory.mktemp("size") / "big.finishlog"
    build(path, JOBS)
    return str(path)


class Seat:
    """The screens on a log, with what takes long between two looks at the clock."""

    def __init__(self, app: FinishlogApp, pilot: Any) -> None:
        self.app, self.pilot = app, pilot

    async def until(self, there: Callable[[], bool], longest: float = 30.0) -> float:
        began = time.perf_counter()
        while not there():
            assert time.perf_counter() - began < longest
            await asyncio.sleep(0.001)
        return time.perf_counter() - began

    def shows(self, kind: type[Any]) -> bool:
        stack = self.app.screen_stack if self.app.current_mode else []
        return bool(stack) and isinstance(stack[-1], kind) and stack[-1].is_mounted

    def rests_on(self, kind: type[Any]) -> bool:
        return self.shows(kind) and self.app.work.idle

    def send(self, key: str) -> None:
        """A key as the terminal's driver hands it over."""
        character = " " if key == "space" else key if len(key) == 1 else None
        self.app.post_message(Key(key, character))

    async def key_s(self, key: str, done: Callable[[], bool]) -> float:
        """From a key to the frame with what it did: what the event loop's thread works for it."""
        began = time.thread_time()
        self.send(key)
        while not done():
            await asyncio.sleep(0.002)
        with self.app._context():
            self.app.screen._on_timer_update()
        return time.thread_time() - began


def changed(where: Any, what: str, was: object) -> bool:
    return getattr(where, what) != was


async def seated(where: str, call: Callable[[Seat], Any]) -> None:
    built = wiring.build(where)
    built.clock = lambda: datetime(2026, 11, 28, 12, 40, tzinfo=UTC)
    app = FinishlogApp(built)
    async with app.run_test(size=(120, 36)) as pilot:
        seat = Seat(app, pilot)
        await seat.until(lambda: getattr(app.screen, "_page", None) is not None)
        await call(seat)
        await seat.until(lambda: app.work.idle)
    built.close()


def told(what: str, times: list[float]) -> tuple[float, float]:
    median, worst = statistics.median(times) / FRAME_S, max(times) / FRAME_S
    print(f"\n{what}: median {median:.2f} frames, worst {worst:.2f} of {len(times)}")
    return median, worst


async def test_letters_in_the_find_box(big: str) -> None:
    async def typed(seat: Seat) -> None:
        times: list[float] = []
        for scrap in SCRAPS:
            box = seat.app.screen.box
            box.focus()
            box.value = ""
            await seat.until(lambda: seat.app.work.idle and seat.app.screen.resting)
            for letter in scrap:
                key, was = "space" if letter == " " else letter, box.value
                times.append(await seat.key_s(key, partial(changed, box, "value", was)))
                await asyncio.sleep(0.09)  # the search of each letter begins while the next is typed
            await seat.until(lambda: seat.app.work.idle)
        median, worst = told("a letter typed", times)
        assert median <= 1.2
        assert worst <= 3

    await seated(big, typed)


async def test_pages_scrolled(big: str) -> None:
    async def scrolled(seat: Seat) -> None:
        for place, screen in (("2", JobsScreen), ("3", CareScreen), ("4", ShelfScreen)):
            seat.send(place)
            await seat.until(partial(seat.rests_on, screen))
            where, mark = (
                (seat.app.screen.rows, "cursor") if screen is JobsScreen else (seat.app.screen, "_mark")
            )
            times = []
            for _ in range(40):
                now = getattr(where, mark)
                times.append(await seat.key_s("pagedown", partial(changed, where, mark, now)))
                await seat.until(lambda: seat.app.work.idle)
            median, _ = told(f"a page scrolled in {type(seat.app.screen).__name__}", times)
            assert median <= 1

    await seated(big, scrolled)


async def test_places_open(big: str) -> None:
    """The first visit also loads what the place needs; `tests/tui/due/test_reading_said.py` holds what it says."""

    async def opened(seat: Seat) -> None:
        seat.app.screen.action_open()
        took = {}
        await seat.until(lambda: isinstance(seat.app.screen, JobScreen) and seat.app.screen._view is not None)
        for key, kind in (("1", TodayScreen), ("3", CareScreen)):
            for visit in ("first", "again"):
                await seat.until(lambda: seat.app.work.idle)
                began = time.process_time()
                seat.send(key)
                await seat.until(partial(seat.shows, kind))
                await seat.until(partial(seat.rests_on, kind))
                took[kind.__name__, visit] = time.process_time() - began
                seat.send("2")
                await seat.until(partial(seat.shows, JobScreen))
        print("\n" + ", ".join(f"{what} {visit} {s:.2f} s of CPU" for (what, visit), s in took.items()))
        assert max(s for (_, visit), s in took.items() if visit == "again") <= OPEN_S

    await seated(big, opened)
