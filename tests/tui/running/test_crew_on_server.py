"""The screens of a crew on a server: a rinse in three keys, a job's page, what is refused, and no price."""

from __future__ import annotations

import os
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from threading import Event
from typing import Any

import pytest

from finishlog.desk.jobs import edit
from finishlog.desk.record import record
from finishlog.roles import CREW
from finishlog.store import Log
from finishlog.store.engine.postgres.address import parsed
from finishlog.store.rights import roles
from finishlog.tui.app import FinishlogApp
from finishlog.tui.settings.screen import SettingsScreen
from tests.tui.running.test_others import services

LOGIN = f"tui_{os.getpid()}"
JOB = "quillfeather-walk"


@asynccontextmanager
async def opened(address: str, drive: Callable[..., Any], size: tuple[int, int]) -> AsyncIterator[Any]:
    owner = services(address)
    edit.new_job(owner, {"customer": "Ottoline Quillfeather", "job": "walk", "handle": JOB,
                         "areas": "field 24x18 4in", "poured_on": "2026-06-15"})  # fmt: skip
    record.record(owner, JOB, "change", {"price_added": "7319", "asked_by": "customer"}, because="as agreed")
    record.record(owner, JOB, "sweep", {"area": "field", "reclaimed_lb": "2"}, because="early")
    owner.close()
    roles.make(parsed(address))
    roles.add(parsed(address), LOGIN, CREW)
    built = services(address.replace("postgres:@", f"{LOGIN}@"))
    open_log, may_open = built.open_log, Event()

    def opens_late() -> Log:
        may_open.wait(60)
        return open_log()

    built.open_log = opens_late
    app = FinishlogApp(built)
    async with app.run_test(size=size, notifications=True) as pilot:
        stage = drive(app, pilot)
        await stage.until(lambda: "Enter open" in stage.text)
        may_open.set()
        await stage.settle()
        yield stage
    built.close()
    roles.remove(parsed(address), LOGIN)
    roles.drop(parsed(address))


@pytest.mark.parametrize("size", [(80, 24), pytest.param((120, 36), marks=pytest.mark.long)])
async def test_a_crew_on_a_server(address: str, drive: Callable[..., Any], size: tuple[int, int]) -> None:
    async with opened(address, drive, size) as stage:
        assert "new job" not in stage.text, "who works here is known once the log is open"
        await stage.press("n")
        assert "only the owner or the office may" in stage.text
        await stage.press("1")
        assert "Rinse " in stage.text.splitlines()[6], stage.text
        await stage.press("down", "enter", "enter")
        assert "Entry 4: rinsed." in stage.text, stage.text
        for key in ("2", "enter", "right", "right", "right", "4", "3"):
            await stage.press(key)
            assert "$" not in stage.text, (key, stage.text)
            assert "7319" not in stage.text, (key, stage.text)
        stage.app.push_screen(SettingsScreen())
        await stage.settle()
        assert "This machine" in stage.text
        assert "$" not in stage.text
