"""Notices others' entries, and a server that is away: a thread asks twice a second, at almost no cost."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from contextlib import suppress
from contextvars import copy_context
from threading import Event, Lock, Thread
from typing import TYPE_CHECKING, Any

from finishlog.errors import LogError, ServerAway

if TYPE_CHECKING:
    from textual.app import App

EVERY_S = 0.5
"""Seconds between polls: with the reload, changes show within two; with a server's own patience, its absence
within five."""


class Others:
    """Polls from `start` to `stop` and notifies the app on its loop. Ends with the app.

    `tell` is called when others wrote, `tell_away` with True when the server is away and False once it is back.
    """

    def __init__(
        self, app: App[Any], look: Callable[[], bool], tell: Callable[[], object],
        tell_away: Callable[[bool], object],
    ) -> None:  # fmt: skip
        self._app, self._look, self._tell, self._tell_away = app, look, tell, tell_away
        self._over, self._at_once = False, Event()
        self.away = False
        """Whether the server was away when it was last asked for; the top bar says so."""
        self._turning = Lock()
        self.thread: Thread | None = None

    def start(self) -> None:
        """Once; a second call does nothing."""
        if self.thread is None and not self._over:
            loop, context = asyncio.get_running_loop(), copy_context()

            def told(call: Callable[..., object], *about: bool) -> None:
                loop.call_soon_threadsafe(call, *about, context=context)

            self.thread = Thread(target=self._run, args=(told,), name="others", daemon=True)
            self.thread.start()

    def stop(self) -> None:
        """The thread ends within its poll; it cannot be started again."""
        self._over = True
        self._at_once.set()

    def lost(self) -> None:
        """Something asked of the server failed: it is away until it answers here, where it is asked at once."""
        if not self._turn(away=True):
            self._tell_away(True)
        self._at_once.set()

    def _run(self, told: Callable[..., object]) -> None:
        while self._app.is_running and not self._over:
            self._at_once.clear()
            with suppress(LogError, OSError, RuntimeError):  # the log was closed, or the loop has ended
                self._look_once(told)
            self._at_once.wait(EVERY_S)

    def _look_once(self, told: Callable[..., object]) -> None:
        try:
            news = self._look()
        except ServerAway:
            if not self._turn(away=True):
                told(self._tell_away, True)
            return
        if self._turn(away=False):
            told(self._tell_away, False)
        elif news:
            told(self._tell)

    def _turn(self, *, away: bool) -> bool:
        """Note it; answers what it was before."""
        with self._turning:
            was, self.away = self.away, away
            return was
