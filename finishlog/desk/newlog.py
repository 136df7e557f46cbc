"""A log made to be filled at once: if the filling fails, the log goes too."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from finishlog.store import Log

BESIDE = ("", "-wal", "-shm")
"""What SQLite keeps under the log's name."""


@contextmanager
def whole_or_none(log: Log) -> Iterator[Log]:
    """Nothing half-written: after any exception the new log is taken off the disk again."""
    try:
        yield log
    except BaseException:
        log.close()
        for suffix in BESIDE:
            Path(f"{log.where}{suffix}").unlink(missing_ok=True)
        raise
