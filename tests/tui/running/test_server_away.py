"""The log's server goes away under the screens: they say so, keep what was typed, and go on when it is back."""

from __future__ import annotations

import time
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from types import SimpleNamespace
from typing import Any
from urllib.parse import urlsplit

import pytest

from finishlog.desk.jobs import edit
from finishlog.errors import ServerAway
from finishlog.tui.app import FinishlogApp
from finishlog.tui.forms.fields import asks
from finishlog.tui.forms.form import FormScreen
from finishlog.tui.widgets.bars import AWAY
from tests import pg
from tests.tui.running.test_others import services

SAID_WITHIN_S = 5.0


class Door:
    """The way to one log on a server that serves others too: shut, it is as if there were no server."""

    def __init__(self, address: str) -> None:
        self._name = urlsplit(address).path.strip("/")

    def shut(self) -> None:
        pg.execute(f"ALTER DATABASE {self._name} ALLOW_CONNECTIONS false")
        pg.execute(f"SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = '{self._name}'")

    def open(self) -> None:
        pg.execute(f"ALTER DATABASE {self._name} ALLOW_CONNECTIONS true")


@pytest.fixture
def door(address: str) -> Door:
    return Door(address)


@asynccontextmanager
async def opened(address: str, drive: Callable[..., Any]) -> AsyncIterator[Any]:
    built = services(address)
    edit.new_job(built, {"customer": "Ottoline Quillfeather", "job": "front walk"})
    app = FinishlogApp(built)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        stage = drive(app, pilot)
        await stage.settle()
        yield stage
    built.close()


def another_job(address: str, job: str) -> None:
    other = services(address)
    edit.new_job(other, {"customer": "Maud Newcomer", "job": job})
    other.close()


async def test_the_screens_say_it_in_time_and_read_again_when_it_is_back(
    address: str, door: Door, drive: Callable[..., Any]
) -> None:
    async with opened(address, drive) as stage:
        door.shut()
        shut = time.monotonic()
        await stage.until(lambda: AWAY in stage.rows[0])
        assert time.monotonic() - shut < SAID_WITHIN_S
        await stage.press("enter")  # a job's page, which cannot be read now
        assert AWAY in stage.rows[0]
        assert "front walk" in stage.text
        door.open()
        another_job(address, "side gate")
        await stage.until(lambda: AWAY not in stage.rows[0] and stage.app.screen._view is not None)
        await stage.settle()
        assert "server is back" in stage.toast()
        await stage.press("escape")
        await stage.until(lambda: "side gate" in stage.text)


async def test_what_is_typed_meanwhile_is_kept_once_it_is_back(
    address: str, door: Door, drive: Callable[..., Any]
) -> None:
    async with opened(address, drive) as stage:
        await stage.press("n")
        await stage.fill("customer", "Barnaby Crumpet")
        door.shut()
        await stage.until(lambda: AWAY in stage.rows[0])
        await stage.fill("job", "back steps")
        assert "what you type is not saved" in stage.text
        door.open()
        await stage.until(lambda: AWAY not in stage.rows[0])
        await stage.settle()
        assert stage.field("job").value == "back steps"
        assert "what you type is not saved" not in stage.text
        kept = stage.app.desks.job_form().draft
        assert (kept["customer"], kept["job"]) == ("Barnaby Crumpet", "back steps")


async def test_a_save_says_that_it_was_not_written_and_the_next_one_is(
    address: str, door: Door, drive: Callable[..., Any]
) -> None:
    async with opened(address, drive) as stage:
        await stage.press("n")
        await stage.fill("job", "back steps")
        door.shut()
        await stage.press("ctrl+s")
        await stage.until(lambda: "Not written" in stage.text)
        assert "Try again" in stage.text
        await stage.press("enter")
        assert stage.field("job").value == "back steps"
        door.open()
        await stage.until(lambda: AWAY not in stage.rows[0])
        await stage.press("ctrl+s")
        await stage.until(lambda: "is saved" in stage.toast())
        assert stage.app.desks.page("", limit=9, offset=0).total == 2


@pytest.mark.parametrize(
    ("written", "said"),
    [(True, "It was written"), (False, "It was not written"), (None, "cannot be told")],
)
async def test_of_a_write_in_whose_middle_it_went_away_it_is_looked_up_and_said(
    open_app: Callable[..., Any], written: bool | None, said: str
) -> None:
    async with open_app() as stage:
        await stage.press("down")
        form = Form()
        stage.app.push_screen(form)
        await stage.settle()
        await stage.press("ctrl+s")
        assert "in the middle of writing" in stage.text
        await stage.press("enter")
        await stage.press("ctrl+s")
        assert "looked up once the server is back" in stage.text
        looked: list[object] = []
        log = SimpleNamespace(was_written=lambda error: (looked.append(error), written)[1])
        stage.app.services.log = lambda: log
        stage.app.server_away(False)
        await stage.settle()
        assert looked == [Form.ERROR]
        assert said in stage.toast()
        assert (stage.app.screen is form) == (written is not True)


class Form(FormScreen):
    """A form whose write ends in the middle of its commit."""

    ERROR = ServerAway("It is gone.", write="7 9")

    def begin(self) -> None:
        self.call_after_refresh(self.build, [asks("what", "What", start="a hose")], None)

    def send(self, texts: dict[str, str], because: str | None) -> None:
        def fail() -> None:
            raise self.ERROR

        self.keep(fail, self.finished)
