"""Keys typed before a screen stands go to its first field, in order, or nowhere: never to another field."""

from __future__ import annotations

import asyncio
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from itertools import count
from threading import Event
from time import monotonic
from typing import Any

import pytest
from textual.events import Key

from finishlog.tui.jobs.job import JobScreen
from finishlog.tui.log.entry import LogScreen
from finishlog.tui.log.kinds import KindScreen
from tests.tui.test_whole_job_keys import NAMES

Open = Callable[..., Any]
DAY = "Apr 1 2026"


def send(stage: Any, *keys: str) -> None:
    """Keys as the terminal hands them over, without waiting."""
    for key in keys:
        stage.app.post_message(Key(NAMES.get(key, key), key if len(key) == 1 else None))


async def a_job(stage: Any) -> None:
    await stage.press("escape", "home", "enter")
    assert isinstance(stage.app.screen, JobScreen), stage.text


@pytest.mark.parametrize("size", [(60, 20), pytest.param((80, 24), marks=pytest.mark.long)])
async def test_what_is_typed_before_a_form_stands_is_in_its_first_field(
    open_log: Open, monkeypatch: pytest.MonkeyPatch, size: tuple[int, int]
) -> None:
    async with open_log(size) as stage:
        await a_job(stage)
        gate, desks = Event(), stage.app.desks
        offer = desks.offer
        monkeypatch.setattr(desks, "offer", lambda *a: gate.wait(60) and offer(*a))
        send(stage, "l", *"sw", "enter")
        await stage.until(lambda: isinstance(stage.app.screen, LogScreen))
        send(stage, *DAY, "tab", *"field")
        for _ in range(20):
            await stage.pilot.pause(0.01)
        gate.set()
        await stage.settle()
        assert stage.field("at").value == DAY
        assert stage.field("area").value == "field"
        assert stage.field("because").value == ""
        assert not stage.field("because").display


async def test_the_letters_of_a_kind_wait_for_the_kinds(
    open_log: Open, monkeypatch: pytest.MonkeyPatch
) -> None:
    async with open_log() as stage:
        await a_job(stage)
        gate, desks = Event(), stage.app.desks
        kinds = desks.kinds
        monkeypatch.setattr(desks, "kinds", lambda: gate.wait(60) and kinds())
        send(stage, "l", *"sw", "enter", *DAY)
        await stage.until(lambda: isinstance(stage.app.screen, KindScreen))
        await stage.pilot.pause(0.05)
        gate.set()
        await stage.settle()
        assert isinstance(stage.app.screen, LogScreen), stage.text
        assert stage.app.screen._kind == "sweep"
        assert stage.field("at").value == DAY


async def test_escape_leaves_a_form_that_does_not_come_and_drops_what_was_typed(
    open_log: Open, monkeypatch: pytest.MonkeyPatch
) -> None:
    async with open_log() as stage:
        await a_job(stage)
        gate, desks = Event(), stage.app.desks
        offer = desks.offer
        monkeypatch.setattr(desks, "offer", lambda *a: gate.wait(60) and offer(*a))
        send(stage, "l", *"sw", "enter")
        await stage.until(lambda: isinstance(stage.app.screen, LogScreen))
        send(stage, *"q", "escape")
        await stage.until(lambda: isinstance(stage.app.screen, JobScreen))
        gate.set()
        await stage.settle()
        assert isinstance(stage.app.screen, JobScreen)


async def test_keys_after_an_entry_that_is_doubted_are_not_the_reason(
    open_log: Open, monkeypatch: pytest.MonkeyPatch
) -> None:
    async with open_log() as stage:
        await a_job(stage)
        await stage.press("l", *"sweep", "enter")
        await stage.type("Jan 1 2020")
        gate, desks = Event(), stage.app.desks
        record = desks.record
        monkeypatch.setattr(desks, "record", lambda *a: gate.wait(60) and record(*a))
        send(stage, "ctrl+s")
        await stage.pilot.pause(0.05)
        send(stage, "l", *"rinse", "enter")
        await stage.pilot.pause(0.05)
        gate.set()
        await stage.settle()
        assert "? Sweep" in stage.text or "? Swept" in stage.text, stage.text
        assert stage.field("because").value == ""
        assert isinstance(stage.app.screen, LogScreen)


@contextmanager
def burners() -> Iterator[None]:
    """Every core at work with something else."""
    code = "import time\nend = time.monotonic() + 60\nwhile time.monotonic() < end: pass"
    started = [subprocess.Popen([sys.executable, "-c", code]) for _ in range(3)]
    try:
        yield
    finally:
        for one in started:
            one.kill()
            one.wait()


async def test_a_quick_hand_on_a_busy_machine(open_log: Open) -> None:
    """20 ms a key, all the way: kind, day, the fields after it."""
    async with open_log() as stage:
        await a_job(stage)
        with burners():
            for key in ("l", *"sw", "enter", *DAY, "tab", "tab", *"Otter", "tab", *"Dunfold", "tab", *"X-1"):
                send(stage, key)
                await asyncio.sleep(0.02)
            await stage.settle()
        assert isinstance(stage.app.screen, LogScreen), stage.text
        values = stage.app.screen.values
        assert (values["at"], values["product"], values["maker"], values["lot"]) == (
            *(DAY, "Otter", "Dunfold", "X-1"),
        )
        assert stage.field("because").value == ""


async def test_a_machine_too_busy_for_its_timers_is_not_deaf(
    open_app: Open, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The clock leaps while a timer begins to wait: the key waits for it, and so does what was typed."""
    calls = count()
    leaps = 0.0

    def clock() -> float:
        nonlocal leaps
        leaps += 0.2 * (next(calls) % 3 == 2)
        return monotonic() + leaps

    async with open_app() as stage:
        monkeypatch.setattr("textual._time.get_time", clock)
        for _ in range(5):
            await stage.press("down", "up")
        await stage.type("/teakettle")
        assert "1 of 8" in stage.row("Find")
