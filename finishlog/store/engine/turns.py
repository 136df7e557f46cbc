"""Writers take turns in the order in which they asked.

SQLite's own waiting is unfair: who waits longest looks least often. So writers queue at a small file
beside the log, `<log>-turns`: the number of the next ticket is in it, and each waiter locks the byte of its
own ticket (a lock of an open file, which goes with its process, however that ends). It is one's turn once
nobody has an earlier byte. The queue only orders: SQLite's lock alone keeps writers apart, so where there
is no such file or no such lock (another system, a read-only folder) writers try again and again, as they do
after a turn that nobody takes.

Whoever has its turn writes its ticket into the file, after the next one's number: who is far from its turn looks
seldom, and leaves the processor to those before it.
"""

from __future__ import annotations

import os
import struct
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from finishlog.store.engine.protocol import Waiting
from finishlog.store.engine.wal import beside

TELL_EVERY_S = 0.05
LOOK_EVERY_S = 0.001
"""Between two looks of who is next; ten times that after a second where there is no queue."""
A_TURN_S = 0.004
"""A turn takes at least so long: so many times that between two looks of who is later."""
_SELDOM_S = 0.02
PASSED_OVER_S = 5.0
"""Who waited so long in the queue stops to queue: a program stopped before its turn must not stop the others."""
_GATE = 1 << 62
"""The byte held while a ticket is drawn."""
_MOST = 1 << 61


class Patience:
    """One wait: told about every TELL_EVERY_S; what `on_wait` raises ends it."""

    def __init__(self, on_wait: Waiting | None, give_up_after_s: float) -> None:
        self._on_wait = on_wait
        self._began = self._told = time.monotonic()
        self._give_up_after_s = give_up_after_s

    def waited_s(self) -> float:
        """Seconds since it began."""
        return time.monotonic() - self._began

    def spent(self) -> bool:
        """Whether it has lasted as long as it may."""
        return self.waited_s() >= self._give_up_after_s

    def left_s(self) -> float:
        """Seconds it may still last."""
        return max(self._give_up_after_s - self.waited_s(), 0.0)

    def pause(self, length_s: float | None = None) -> None:
        """A moment's wait."""
        if length_s is None:
            length_s = LOOK_EVERY_S if self.waited_s() < 1 else 10 * LOOK_EVERY_S
        time.sleep(length_s)
        now = time.monotonic()
        if self._on_wait is not None and now - self._told >= TELL_EVERY_S:
            self._told = now
            self._on_wait()

    def until(
        self, done: Callable[[], bool], most_s: float, every_s: Callable[[], float] | None = None
    ) -> bool:
        """Wait until `done`, at most so long. Whether it is."""
        while not done():
            if self.spent() or self.waited_s() >= most_s:
                return False
            self.pause(every_s() if every_s else None)
        return True


def file_of(log: Path) -> Path:
    """The file beside a log at which its writers queue."""
    return beside(log, "-turns")


@contextmanager
def turn(log: Path, patience: Patience) -> Iterator[None]:
    """Everything in the block is done in one's turn, or when it is clear that turns are not taken."""
    queue = _open(file_of(log))
    try:
        if queue is not None:
            ticket = _draw(queue, patience)
            if ticket is not None:
                patience.until(
                    lambda: _is_free(queue, ticket), PASSED_OVER_S, lambda: _apart(queue, ticket, patience)
                )
                _begin(queue, ticket)
        yield
    finally:
        if queue is not None:
            os.close(queue)  # and with it the ticket


def leave(log: Path) -> None:
    """Remove the queue's file if nobody is in it."""
    path = file_of(log)
    if not path.exists():
        return
    queue = _open(path)
    if queue is not None:
        with suppress(OSError):
            if _is_free(queue, _GATE + 1):
                path.unlink()
        os.close(queue)


def _open(path: Path) -> int | None:
    if sys.platform != "linux":
        return None
    try:
        return os.open(path, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC | os.O_NOFOLLOW, 0o600)
    except OSError:
        return None


def _draw(queue: int, patience: Patience) -> int | None:
    """The next ticket, its byte locked; None where no lock can be had."""
    try:
        if not patience.until(lambda: _lock(queue, _GATE, 1), PASSED_OVER_S):
            return None
        ticket = max(int.from_bytes(os.pread(queue, 8, 0), "little") % _MOST, 1)
        os.pwrite(queue, (ticket + 1).to_bytes(8, "little"), 0)
        _lock(queue, ticket, 1)
        _lock(queue, _GATE, 1, let_go=True)
    except OSError:
        return None
    return ticket


def _begin(queue: int, ticket: int) -> None:
    with suppress(OSError):
        os.pwrite(queue, ticket.to_bytes(8, "little"), 8)


def _apart(queue: int, ticket: int, patience: Patience) -> float:
    """Seconds until the next look, by how many there may be before this ticket, and how long turns take."""
    with suppress(OSError):
        before = ticket - int.from_bytes(os.pread(queue, 8, 8), "little")
        if before > 1:
            return min(A_TURN_S * (before - 1), _SELDOM_S)
    return min(max(LOOK_EVERY_S, patience.waited_s() / 64), A_TURN_S)


def _is_free(queue: int, ticket: int) -> bool:
    """Whether no other has an earlier byte; they are one's own from then on."""
    return _lock(queue, 0, ticket)


def _lock(queue: int, start: int, length: int, *, let_go: bool = False) -> bool:
    """Lock bytes of this open file at once, or let them go. Whether it has them. Raises OSError."""
    if sys.platform != "linux":
        return False
    import fcntl

    kind = fcntl.F_UNLCK if let_go else fcntl.F_WRLCK
    try:
        fcntl.fcntl(queue, fcntl.F_OFD_SETLK, struct.pack("hhqqi4x", kind, os.SEEK_SET, start, length, 0))
    except (BlockingIOError, PermissionError):  # EAGAIN, EACCES
        return False
    return True
