"""Work in threads: the newest read of a slot wins and stops the one before, writes go one at a time."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable
from threading import Lock
from time import monotonic
from typing import TYPE_CHECKING, Any, TypeVar

from textual.message import Message

from finishlog.stopping import Stop, Stopped, under

if TYPE_CHECKING:
    from textual.app import App
    from textual.screen import Screen

T = TypeVar("T")


EVERY_S = 0.1
"""Least seconds between progress reports."""


def seldom(tell: Callable[[int, int], object]) -> Callable[[int, int], None]:
    """A progress callback for the worker that calls `tell` at most every EVERY_S."""
    last = 0.0

    def told(done: int, total: int) -> None:
        nonlocal last
        if monotonic() - last >= EVERY_S:
            last = monotonic()
            tell(done, total)

    return told


class Answer(Message, bubble=False):
    """A worker's answer. The screen takes it only if it is the newest of its slot."""

    def __init__(self, slot: str, number: int, deliver: Callable[[], object]) -> None:
        super().__init__()
        self.slot = slot
        self.number = number
        self.deliver = deliver


class Work:
    """Runs reads and writes in threads. An outdated read is stopped; what it still answers is ignored."""

    def __init__(self, app: App[Any], over: Callable[[], None] = lambda: None) -> None:
        self._app = app
        self._over = over
        """Called in the worker when a call has ended, before its answer is on its way."""
        self._newest: dict[tuple[int, str], int] = defaultdict(int)
        self._taken: dict[tuple[int, str], int] = {}
        self._turns: dict[tuple[int, str], Lock] = defaultdict(Lock)
        self._stops: dict[tuple[int, str], Stop] = {}
        self._writing = Lock()
        self._counting = Lock()
        self._open = {"read": 0, "write": 0}

    @property
    def idle(self) -> bool:
        """Whether no read or write is running or queued."""
        return not any(self._open.values())

    @property
    def writing(self) -> bool:
        """Whether a write is running or queued."""
        return self._open["write"] > 0

    def newest(self, screen: Screen[Any], slot: str) -> int:
        """Number of the last read asked in a slot; 0 if none."""
        return self._newest[id(screen), slot]

    def take(self, screen: Screen[Any], slot: str, number: int) -> None:
        """Note that this read's answer has arrived."""
        self._taken[id(screen), slot] = number

    def waiting(self, screen: Screen[Any], slot: str, number: int) -> bool:
        """Whether this read is the newest of its slot and has no answer yet."""
        return self._newest[id(screen), slot] == number != self._taken.get((id(screen), slot))

    def read(
        self, screen: Screen[Any], slot: str, call: Callable[[], T], done: Callable[[T], object],
        failed: Callable[[Exception], None],
    ) -> int:  # fmt: skip
        """Call in a thread and pass the answer to `done`, unless a newer read was asked. Answers its number."""
        key = (id(screen), slot)
        self._newest[key] += 1
        number, turn, stop = self._newest[key], self._turns[key], Stop()
        if key in self._stops:
            self._stops[key].stop()
        self._stops[key] = stop

        def run() -> None:
            with turn, under(stop):
                if self._newest[key] == number:
                    self._try(screen, slot, number, call, done, failed)

        self._start("read", run)
        return number

    def leave(self, screen: Screen[Any]) -> None:
        """Stop what a screen that is gone still reads."""
        for key in [key for key in self._stops if key[0] == id(screen)]:
            self._stops.pop(key).stop()

    def write(
        self, screen: Screen[Any], call: Callable[[], T], done: Callable[[T], object],
        failed: Callable[[Exception], None],
    ) -> None:  # fmt: skip
        """Call in a thread, after all earlier writes. The answer is always delivered."""

        def run() -> None:
            with self._writing:
                self._try(screen, "", 0, call, done, failed)

        self._start("write", run)

    def _start(self, kind: str, run: Callable[[], None]) -> None:
        def counted() -> None:
            try:
                run()
            finally:
                with self._counting:
                    self._open[kind] -= 1

        with self._counting:
            self._open[kind] += 1
        self._app.run_worker(counted, thread=True, exit_on_error=False, name=kind)

    def _try(
        self, screen: Screen[Any], slot: str, number: int, call: Callable[[], T], done: Callable[[T], object],
        failed: Callable[[Exception], None],
    ) -> None:  # fmt: skip
        try:
            try:
                value = call()
            finally:
                self._over()
        except Stopped:
            return
        except Exception as error:
            held = error
            screen.post_message(Answer(slot, number, lambda: failed(held)))
        else:
            screen.post_message(Answer(slot, number, lambda: done(value)))
