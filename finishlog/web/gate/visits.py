"""A log of who came in and what was refused: a line each, in a file of this machine."""

from __future__ import annotations

import os
from collections.abc import Callable
from contextlib import suppress
from datetime import datetime
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING

from finishlog import private
from finishlog.plain import visible

if TYPE_CHECKING:
    from starlette.types import Scope

MOST = 1_000_000
"""Bytes of the file; the one before it is kept beside it."""


class Visits:
    """Appends to a file. That it cannot be written keeps nobody from working. Thread-safe."""

    def __init__(self, path: Path, now: Callable[[], datetime]) -> None:
        self.path = path
        self._now = now
        self._lock = Lock()

    def note(self, what: str, source: str, who: str = "") -> None:
        """One line; what came from outside is made safe and short."""
        moment = self._now().isoformat(timespec="seconds")
        line = "  ".join(visible(text)[:200] for text in (moment, source, who or "-", what)) + "\n"
        with self._lock, suppress(OSError):
            self.path.parent.mkdir(parents=True, exist_ok=True, mode=private.FOLDER)
            if self.path.exists() and self.path.stat().st_size > MOST:
                os.replace(self.path, self.path.with_suffix(".before"))
            handle = os.open(self.path, os.O_WRONLY | os.O_CREAT | os.O_APPEND, private.FILE)
            with os.fdopen(handle, "w", encoding="utf-8") as out:
                out.write(line)

    def refused(self, why: str, scope: Scope) -> None:
        """One line for what no page was asked about."""
        client = scope.get("client")
        self.note(f"refused: {why}", client[0] if client else "-")
