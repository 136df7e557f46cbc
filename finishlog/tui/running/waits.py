"""A write that waits for another program: said after a second, and ended by Esc."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from contextlib import suppress
from contextvars import copy_context
from threading import Lock, get_ident
from typing import Protocol

from finishlog.desk.services import Wait
from finishlog.errors import LogError


class Said(Protocol):
    """What stands on the screen meanwhile."""

    def close(self) -> None:
        """The wait is over."""


class Waits:
    """`wait` is called in the worker at each try to write; `over` when its work has ended, either way.

    `show` puts up what is said, on the app's loop, given how to end the wait.
    """

    def __init__(self, show: Callable[[Callable[[], None]], Said]) -> None:
        self._show = show
        self._lock = Lock()
        self._by_thread: dict[int, _One] = {}
        self._tell: Callable[[Callable[[], object]], None] = lambda call: None

    def start(self) -> None:
        """From the app's own loop, before anything is written."""
        loop, context = asyncio.get_running_loop(), copy_context()

        def tell(call: Callable[[], object]) -> None:
            with suppress(RuntimeError):  # the loop has ended
                loop.call_soon_threadsafe(call, context=context)

        self._tell = tell

    def wait(self) -> None:
        """Another program is writing. Raises LogError once the person has ended the wait."""
        with self._lock:
            one = self._by_thread.setdefault(get_ident(), _One(self._show, self._tell))
        one.wait()

    def over(self) -> None:
        """Nothing waits in this thread any more."""
        with self._lock:
            one = self._by_thread.pop(get_ident(), None)
        if one is not None:
            one.over()


class _One:
    """One wait, in one thread."""

    def __init__(
        self, show: Callable[[Callable[[], None]], Said], tell: Callable[[Callable[[], object]], None]
    ):
        self._show, self._tell = show, tell
        self._said: Said | None = None
        self._ended = self._is_over = False
        self.timed = Wait(lambda: tell(self._put_up))

    def wait(self) -> None:
        if self._ended:
            raise LogError(
                "You ended the wait.",
                "Another program is still writing to the log; nothing was written.",
                "Try again when it is done.",
            )
        self.timed()

    def over(self) -> None:
        self._tell(self._take_down)

    def _put_up(self) -> None:
        if not self._is_over:
            self._said = self._show(self._end)

    def _take_down(self) -> None:
        self._is_over = True
        if self._said is not None:
            self._said.close()

    def _end(self) -> None:
        self._ended = True
