"""What was chosen for another place is done there, however long the place takes; another key or click ends it."""

from __future__ import annotations

from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from threading import Event
from typing import Any

import pytest

from finishlog.tui.due.care_paper import ResealPaper
from finishlog.tui.due.weeks import WeeksScreen
from finishlog.tui.palette import Commands
from finishlog.tui.running import errand, type_ahead
from tests.tui.running.test_type_ahead import send

Open = Callable[..., Any]


async def choose(stage: Any, words: str, label: str) -> None:
    """As the palette does it."""
    hits = [hit async for hit in Commands(stage.app.screen).search(words)]
    next(hit for hit in hits if str(hit.text) == label).command()


@asynccontextmanager
async def slow(stage: Any, monkeypatch: pytest.MonkeyPatch) -> AsyncIterator[Event]:
    """Care's answer, also one asked for anew, comes once the gate is set, or at the end."""
    gate, reseals = Event(), stage.app.desks.reseals
    with monkeypatch.context() as patch:
        patch.setattr(stage.app.desks, "reseals", lambda *a: gate.wait(60) and reseals(*a))
        stage.app.changed()
        try:
            yield gate
        finally:
            gate.set()
            await stage.settle()


async def looked(stage: Any, monkeypatch: pytest.MonkeyPatch, times: int) -> None:
    """Until it was looked so often whether the work is done."""
    looks, kind = 0, type(stage.app.work)
    idle = kind.idle.fget

    def counted(work: Any) -> bool:
        nonlocal looks
        looks += 1
        return bool(idle(work))

    with monkeypatch.context() as patch:
        patch.setattr(kind, "idle", property(counted))
        await stage.until(lambda: looks >= times)


async def test_it_is_done_however_long_the_place_takes_and_what_was_typed_follows(
    open_log: Open, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(errand, "LOOK", 0.001)
    async with open_log() as stage:
        await stage.press("escape")
        async with slow(stage, monkeypatch) as gate:
            await choose(stage, "letters", "Care: Paper  (w)")
            send(stage, "tab", *"ab")  # the second field of what is to come
            await looked(stage, monkeypatch, 150)
            assert stage.app.current_mode == "care"
            gate.set()
            await stage.settle()
            assert isinstance(stage.app.screen, ResealPaper)
            assert "ab" in stage.app.focused.value


async def test_a_key_a_click_or_another_place_ends_it(
    open_log: Open, monkeypatch: pytest.MonkeyPatch
) -> None:
    async with open_log() as stage:
        await stage.press("escape")

        async def another_place() -> None:
            stage.app.action_place("today")

        async def a_click() -> None:
            await stage.pilot.click("#title")

        async def a_key_that_waited_long() -> None:
            monkeypatch.setattr(type_ahead, "LONGEST", 0.0)
            send(stage, "down")

        for other in (another_place, a_click, a_key_that_waited_long):
            stage.app.action_place("jobs")
            await stage.settle()
            async with slow(stage, monkeypatch):
                await choose(stage, "letters", "Care: Paper  (w)")
                await stage.until(lambda: stage.app.current_mode == "care" and stage.app.frame.stands)
                assert stage.app.errand.on
                await other()
                await stage.until(lambda: not stage.app.errand.on)
            assert not isinstance(stage.app.screen, ResealPaper)


async def test_what_is_open_at_the_place_is_not_left_for_it(open_log: Open) -> None:
    async with open_log() as stage:
        stage.app.action_place("care")
        await stage.settle()
        await stage.press("k")
        assert isinstance(stage.app.screen, WeeksScreen)
        stage.app.action_place("jobs")
        await stage.settle()
        await choose(stage, "letters", "Care: Paper  (w)")
        await stage.until(lambda: not stage.app.errand.on)
        await stage.settle()
        assert isinstance(stage.app.screen, WeeksScreen)
        assert "Leave this first, then w" in stage.text
