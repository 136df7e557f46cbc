"""Another program holds the log: the screens say so after a second, and Esc ends the wait and keeps the text."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing
from datetime import UTC, datetime
from threading import Thread
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from finishlog import wiring
from finishlog.desk import services as desk_services
from finishlog.errors import LogError
from finishlog.tui.app import FinishlogApp
from finishlog.tui.running.waits import Waits
from finishlog.tui.screens.failure import Failure
from finishlog.tui.screens.waiting import Waiting

WORDS = "the neighbor's hose ran over it"


@pytest.fixture
def other(demo: str) -> Iterator[sqlite3.Connection]:
    """Another program, which writes and does not end."""
    with closing(sqlite3.connect(demo, isolation_level=None, check_same_thread=False)) as held:
        yield held


def entries(held: sqlite3.Connection) -> int:
    return int(held.execute("SELECT count(*) FROM entry").fetchone()[0])


def noted(held: sqlite3.Connection) -> int:
    return int(held.execute("SELECT count(*) FROM entry WHERE note = ?", (WORDS,)).fetchone()[0])


@pytest.fixture
def soon(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(desk_services, "WORD_AFTER_S", 0.05)


async def written(stage: Any) -> None:
    """A note typed in its form, up to the key that logs it."""
    await stage.press("enter", "l")
    await stage.type("note")
    await stage.press("enter")
    await stage.fill("note", WORDS)


async def test_a_wait_is_said_and_esc_ends_it_with_the_text_kept(
    demo: str, other: sqlite3.Connection, soon: None, drive: Callable[..., Any]
) -> None:
    built = wiring.build(demo)
    built.clock = lambda: datetime(2026, 6, 16, 12, 40, tzinfo=UTC)
    built.find_zone = lambda: ZoneInfo("America/Chicago")
    app = FinishlogApp(built)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        stage = drive(app, pilot)
        await stage.settle()
        await written(stage)
        form = app.screen
        other.execute("BEGIN IMMEDIATE")
        app.simulate_key("ctrl+s")
        await stage.until(lambda: isinstance(app.screen, Waiting))
        await stage.until(lambda: "Another program is writing; waiting… " in stage.text)
        app.simulate_key("escape")
        await stage.until(lambda: isinstance(app.screen, Failure))
        await stage.settle()
        assert "You ended the wait." in stage.text
        assert "nothing was written" in stage.text
        await stage.press("enter")
        assert app.screen is form
        assert stage.field("note").entry.value == WORDS
        assert noted(other) == 0

        app.simulate_key("ctrl+s")
        await stage.until(lambda: isinstance(app.screen, Waiting))
        other.execute("ROLLBACK")
        await stage.until(lambda: app.screen is not form and not isinstance(app.screen, Waiting))
        await stage.settle()
        assert noted(other) == 1
        assert [screen for screen in app.screen_stack if isinstance(screen, Waiting | Failure)] == []
    built.close()


def test_a_short_wait_is_not_said(monkeypatch: pytest.MonkeyPatch) -> None:
    now = [100.0]
    monkeypatch.setattr(desk_services, "monotonic", lambda: now[0])
    said: list[float] = []
    wait = desk_services.Wait(lambda: said.append(now[0]))
    for _ in range(19):
        wait()
        now[0] += 0.05
    assert said == []
    now[0] += 60  # another wait, long after
    for _ in range(60):
        wait()
        now[0] += 0.05
    assert said == [pytest.approx(161.95, abs=0.051)]


def test_an_ended_wait_ends_in_its_own_thread_alone(soon: None) -> None:
    ends: list[Callable[[], None]] = []

    class Shown:
        closed = False

        def close(self) -> None:
            self.closed = True

    shown = Shown()

    def show(end: Callable[[], None]) -> Shown:
        ends.append(end)
        return shown

    waits = Waits(show)
    waits._tell = lambda call: call() and None
    failures: list[LogError] = []

    def work() -> None:
        try:
            while not failures:
                waits.wait()
                if ends:
                    ends[0]()
        except LogError as error:
            failures.append(error)
        finally:
            waits.over()

    thread = Thread(target=work)
    thread.start()
    thread.join(10)
    assert [error.title for error in failures] == ["You ended the wait."]
    assert shown.closed
    waits.wait()  # another thread, and the next wait of any, begins anew
