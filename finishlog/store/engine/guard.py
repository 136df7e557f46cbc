"""Watches that an open log is still the file that was opened: looked at before each use, and as each write ends."""

from __future__ import annotations

import os
from pathlib import Path
from threading import Lock
from time import strftime

from finishlog.errors import LogError
from finishlog.store.disk.files import free_name
from finishlog.store.disk.held import Held, Identity, identity
from finishlog.store.engine import wal

MOVED = "It was moved or removed."
REPLACED = "Another file was put in its place."
REWRITTEN = "Its contents were replaced."
BARE = "Its -wal file was moved, removed or replaced."


class Guard:
    """Of one open log. Thread-safe: what it remembers only saves looking again. Raises OSError if there is none."""

    def __init__(self, where: Path) -> None:
        self._where = where
        self._held = Held(where)
        self._seen = self._held.read(wal.HEADER_BYTES)
        self._wal: Identity | None = None
        self._salts = b""
        self._lock = Lock()

    def wrong(self) -> str:
        """What happened to the file; "" if it is the one that was opened, with what we and others wrote to it."""
        now = identity(self._where)
        if now is None:
            return MOVED
        if now != self._held.identity:
            return REPLACED
        with self._lock:
            if self._wal is not None and identity(wal.wal_of(self._where)) != self._wal:
                return BARE
            head = self._held.read(wal.HEADER_BYTES)
            if head != self._seen:
                if self._wal is None:
                    self._seen = head
                    return ""
                return self._moved_on(head)
        return ""

    def _moved_on(self, head: bytes) -> str:
        """The header moves only when a -wal is merged, which has what was merged until it is filled anew.

        While the first unit of a new filling is being written nothing tells yet: then the next look does.
        """
        try:
            these = wal.stamps(wal.wal_of(self._where))
            if these.empty:
                return "" if these.salts not in (b"", self._salts) else REWRITTEN
            if not wal.is_its_own(self._where):
                return REWRITTEN
        except OSError:
            return REWRITTEN
        self._seen, self._salts = head, these.salts
        return ""

    def reading(self) -> None:
        """Call once a connection is open: from here on its -wal is no one else's to remove."""
        with self._lock:
            if self._wal is None:
                self._seen = self._held.read(wal.HEADER_BYTES)
                self._wal = identity(wal.wal_of(self._where))
                self._salts = wal.salts(wal.wal_of(self._where))

    def close(self) -> None:
        """Only once the database is closed."""
        self._held.close()


def changed(where: Path, cause: str, kept: Path | None) -> LogError:
    """The refusal, with where all that was kept so far is now."""
    copy = f" Everything the log held is in {kept.name}, in the same folder." if kept else ""
    return LogError(
        f"The log is not the file that was opened: {where}.",
        f"{cause} Nothing was written.{copy}",
        "Put the right file back and try again, or close finishlog and open the log again.",
    )


def name_for(where: Path) -> Path:
    """A plain name beside the log for what it held."""
    real = Path(os.path.realpath(where))
    return free_name(real.with_name(f"{real.stem}.as-it-was-{strftime(wal.DAY)}{real.suffix}"))
