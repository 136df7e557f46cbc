"""Detects other programs' writes, by SQLite's change counter on one open connection."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from threading import Lock

from finishlog.store.engine.sqlite import data_version, open_raw


class Watch:
    """Thread-safe. This program's own commits do not count: `own` subtracts them.

    A log that cannot be read, or was closed, reports no change.
    """

    def __init__(self, where: Path) -> None:
        self._lock = Lock()
        self._raw: sqlite3.Connection | None = None
        self._seen = 0
        self._news = False
        with suppress(sqlite3.Error):
            self._raw = open_raw(where, "ro", any_thread=True)
            self._seen = data_version(self._raw)

    def news(self) -> bool:
        """Whether another program committed since the last call."""
        with self._lock:
            self._look()
            found, self._news = self._news, False
            return found

    def own(self, writer: sqlite3.Connection) -> Callable[[], None]:
        """Call while the writer holds the write lock, and call the result once it has committed.

        No one else can commit in between, only right after: a writer's own commits do not change its data
        version, so any change seen is another's.
        """
        with self._lock:
            self._look()
            before = data_version(writer)

        def committed() -> None:
            with self._lock:
                if self._raw is not None:
                    self._seen = data_version(self._raw)
                    self._news |= data_version(writer) != before

        return committed

    def close(self) -> None:
        """Safe to call twice."""
        with self._lock:
            if self._raw is not None:
                self._raw.close()
            self._raw, self._news = None, False

    def _look(self) -> None:
        with suppress(sqlite3.Error):
            if self._raw is not None and (version := data_version(self._raw)) != self._seen:
                self._seen, self._news = version, True
