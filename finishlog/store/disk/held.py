"""Files kept open to be read by their bytes.

Closing any handle of a file gives up every lock that the process has on it (POSIX), those of an open
database too. So a log's file is opened once for all who look at it, and closed after the last of them.
"""

from __future__ import annotations

import os
from dataclasses import dataclass, field
from pathlib import Path
from threading import RLock

Identity = tuple[int, int]
"""Device and inode."""


@dataclass(slots=True)
class _File:
    handles: list[int] = field(default_factory=list)
    names: list[str] = field(default_factory=list)
    """Of those who use it."""


_LOCK = RLock()
_OPEN: dict[Identity, _File] = {}


class Held:
    """One file, by its device and inode, whatever its name is by now. Raises OSError."""

    def __init__(self, path: Path) -> None:
        with _LOCK:
            found = _of(os.stat(path))
            if found in _OPEN:
                self.identity = found
            else:
                handle = os.open(path, os.O_RDONLY | getattr(os, "O_BINARY", 0))
                self.identity = _of(os.fstat(handle))
                _OPEN.setdefault(self.identity, _File()).handles.append(handle)
            self._name: str | None = os.path.realpath(path)
            self._file = _OPEN[self.identity]
            self._file.names.append(self._name)

    def read(self, size: int) -> bytes:
        """The first bytes, as they are on disk now; none once it is closed."""
        with _LOCK:
            if self._name is None:
                return b""
            os.lseek(self._file.handles[0], 0, os.SEEK_SET)
            return os.read(self._file.handles[0], size)

    def close(self) -> None:
        """Only once the database is closed. Safe to call twice."""
        with _LOCK:
            if self._name is None:
                return
            self._file.names.remove(self._name)
            self._name = None
            if not self._file.names:
                del _OPEN[self.identity]
                for handle in self._file.handles:
                    os.close(handle)


def identity(path: Path) -> Identity | None:
    """Device and inode of the file of that name; None if there is none."""
    try:
        return _of(os.stat(path))
    except (OSError, ValueError):
        return None


def is_held(path: Path) -> bool:
    """Whether this process has that file open, or one that had its name."""
    with _LOCK:
        try:
            name = os.path.realpath(path)
        except ValueError:  # half a character, or a zero: no file can be called that
            return False
        return identity(path) in _OPEN or any(name in file.names for file in _OPEN.values())


def start_of(path: Path, size: int) -> bytes:
    """The first bytes of a file that somebody may have open. Raises OSError."""
    with _LOCK:
        held = Held(path)
        try:
            return held.read(size)
        finally:
            held.close()


def _of(status: os.stat_result) -> Identity:
    return status.st_dev, status.st_ino
