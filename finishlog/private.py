"""New files and folders that only their owner may read: customers' names and phones stand in nearly all we write."""

from __future__ import annotations

import os
from pathlib import Path

FILE, FOLDER = 0o600, 0o700


def claim(path: Path) -> int:
    """A new, empty file, open for writing. Raises FileExistsError rather than take another's."""
    return os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), FILE)


def write(path: Path, data: bytes) -> None:
    """A new file with this content, on disk when this returns. Raises OSError."""
    with os.fdopen(claim(path), "wb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())
