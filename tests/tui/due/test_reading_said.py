"""A place that takes long to read says so at once, and Esc leaves it meanwhile."""

from __future__ import annotations

from collections.abc import Callable
from threading import Event
from typing import Any

import pytest
from textual.events import Key

from finishlog.stopping import Stopped
from finishlog.tui.jobs.jobs import JobsScreen

Open = Callable[..., Any]


@pytest.mark.parametrize(("place", "call"), [("1", "due"), ("3", "reseals"), ("4", "shelf")])
async def test_it_says_that_it_reads_and_esc_leaves(open_app: Open, fake: Any, place: str, call: str) -> None:
    begun, over = Event(), Event()

    def held(self: Any, *given: Any, **more: Any) -> Any:
        begun.set()
        assert over.wait(60), "nobody let it go on"
        raise Stopped

    desks = type("Desks", (fake.desks,), {call: held})()
    async with open_app(desks=desks) as stage:
        assert "reading…" not in stage.text
        stage.app.post_message(Key(place, place))
        try:
            await stage.until(begun.is_set)
            await stage.until(lambda: "reading…" in stage.text)
            assert not stage.app.work.idle
            stage.app.post_message(Key("escape", None))
            await stage.until(lambda: isinstance(stage.app.screen, JobsScreen))
            assert not over.is_set()
        finally:
            over.set()
        await stage.settle()
        assert isinstance(stage.app.screen, JobsScreen)
