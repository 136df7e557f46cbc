"""The log is moved away under an open form: the reason is said, the text stays, and goes in once the log is back."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

from finishlog.tui.log.entry import LogScreen
from finishlog.tui.screens.failure import Failure

JOB = "larkspur-breakfast-patio"
TYPED = "the gate was locked"


async def test_what_was_typed_stays_until_the_log_is_back(open_log: Callable[..., Any], demo: str) -> None:
    where, away = Path(demo), Path(f"{demo}.away")
    async with open_log() as stage:
        stage.app.push_screen(LogScreen(JOB, "Cornelius", "note"))
        await stage.settle()
        stage.field("note").entry.focus()
        await stage.settle()
        os.rename(where, away)
        await stage.enter(TYPED)
        assert isinstance(stage.app.screen, Failure)  # said once, not at every letter
        assert "not the file that was opened" in " ".join(stage.text.split())
        await stage.press("escape", "x")
        assert isinstance(stage.app.screen, LogScreen)
        assert "what you type is not saved" in stage.text
        await stage.press("ctrl+s")
        assert isinstance(stage.app.screen, Failure)
        await stage.press("escape", "escape")
        assert isinstance(stage.app.screen, LogScreen)  # the first only warns
        assert "Esc again" in stage.text
        assert stage.field("note").value == f"{TYPED}x"
        os.rename(away, where)
        await stage.press("ctrl+s")
        assert not isinstance(stage.app.screen, LogScreen | Failure)
        with stage.app.services.log().reading() as log:
            assert log.job(JOB).entries[-1].note == f"{TYPED}x"


async def test_leaving_after_the_warning(open_log: Callable[..., Any], demo: str) -> None:
    async with open_log() as stage:
        stage.app.push_screen(LogScreen(JOB, "Cornelius", "note"))
        await stage.settle()
        stage.field("note").entry.focus()
        await stage.settle()
        os.rename(demo, f"{demo}.away")
        await stage.enter(TYPED)
        await stage.press("escape", "escape", "escape")
        assert not any(isinstance(screen, LogScreen) for screen in stage.app.screen_stack)
