"""A read whose answer nobody waits for any more can be stopped, from any thread."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from threading import Lock


class Stopped(Exception):
    """Ends a read that was stopped."""


class Stop:
    """Stops what a thread reads under it; what it reads next too."""

    def __init__(self) -> None:
        self._lock = Lock()
        self._asked = False
        self._ends: list[Callable[[], None]] = []

    def stop(self) -> None:
        """End the read that is running, if any, with Stopped."""
        with self._lock:
            self._asked = True
            for end in self._ends:
                end()

    @contextmanager
    def ending(self, end: Callable[[], None]) -> Iterator[None]:
        """While inside, `stop` calls `end`. Raises Stopped if it was stopped before."""
        with self._lock:
            if self._asked:
                raise Stopped
            self._ends.append(end)
        try:
            yield
        finally:
            with self._lock:  # from here on `end` would hit another read
                self._ends.remove(end)


_NOW: ContextVar[Stop | None] = ContextVar("stop", default=None)


@contextmanager
def under(stop: Stop) -> Iterator[None]:
    """What this thread reads inside can be stopped by `stop`."""
    token = _NOW.set(stop)
    try:
        yield
    finally:
        _NOW.reset(token)


@contextmanager
def stopped_by(end: Callable[[], None]) -> Iterator[None]:
    """A read that `end` ends from another thread. Raises Stopped if this thread's was stopped before."""
    stop = _NOW.get()
    if stop is None:
        yield
        return
    with stop.ending(end):
        yield
