"""Notices others' entries: a thread polls the log once a second, at almost no cost."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from contextlib import suppress
from contextvars import copy_context
from threading import Event, Thread
from typing import TYPE_CHECKING, Any

from finishlog.errors import LogError

if TYPE_CHECKING:
    from textual.app import App

EVERY_S = 1.0
"""Seconds between polls: with the reload, changes show within two."""


class Others:
    """Polls from `start` to `stop` and notifies the app on its loop. Ends with the app."""

    def __init__(self, app: App[Any], look: Callable[[], bool], tell: Callable[[], object]) -> None:
        self._app, self._look, self._tell = app, look, tell
        self._over = Event()
        self.thread: Thread | None = None

    def start(self) -> None:
        """Once; a second call does nothing."""
        if self.thread is None and not self._over.is_set():
            loop, context = asyncio.get_running_loop(), copy_context()

            def told() -> None:
                loop.call_soon_threadsafe(self._tell, context=context)

            self.thread = Thread(target=self._run, args=(told,), name="others", daemon=True)
            self.thread.start()

    def stop(self) -> None:
        """The thread ends within its poll; it cannot be started again."""
        self._over.set()

    def _run(self, told: Callable[[], object]) -> None:
        """The first poll is immediate: only later changes count."""
        while self._app.is_running:
            with suppress(LogError, OSError, RuntimeError):  # the log was closed, or the loop has ended
                if self._look():
                    told()
            if self._over.wait(EVERY_S):
                return
