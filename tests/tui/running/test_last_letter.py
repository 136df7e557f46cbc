"""Letters typed into the find box never queue up: a search that is obsolete is ended, the last one answers."""

from __future__ import annotations

from collections.abc import Callable
from threading import Event
from typing import Any

from finishlog.stopping import stopped_by

Open = Callable[..., Any]


async def test_the_last_letter_ends_the_search_before(open_app: Open, fake: Any) -> None:
    ended, first = Event(), Event()

    class Desks(fake.desks):  # type: ignore[misc,name-defined]
        def page(self, words: str, **more: Any) -> Any:
            if words == "p":
                with stopped_by(ended.set):
                    first.set()
                    assert ended.wait(60), "nobody ended it"
            return super().page(words, **more)

    async with open_app(desks=Desks()) as stage:
        await stage.press("slash")
        stage.app.screen.box.value = "p"
        await stage.until(first.is_set)
        assert not ended.is_set()
        stage.app.screen.box.value = "pu"
        await stage.settle()
        assert ended.is_set()
        assert stage.app.screen._asked == "pu"


async def test_a_screen_that_is_left_ends_what_it_reads(open_app: Open, fake: Any) -> None:
    ended, first = Event(), Event()

    class Desks(fake.desks):  # type: ignore[misc,name-defined]
        def job(self, handle: str) -> Any:
            with stopped_by(ended.set):
                first.set()
                assert ended.wait(60), "nobody ended it"
            return super().job(handle)

    async with open_app(desks=Desks()) as stage:
        stage.app.screen.action_open()
        await stage.until(first.is_set)
        await stage.until(lambda: len(stage.app.screen_stack) > 1)
        stage.app.pop_screen()
        await stage.settle()
        assert ended.is_set()
