"""Files that appear whole or not at all: built beside their place, then given their name."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from finishlog.errors import LogError


@contextmanager
def built_beside(target: Path, what: str) -> Iterator[Path]:
    """A temporary path in the target's folder; it becomes the target when the block ends well.

    An existing target is never overwritten, not even one made meanwhile. Raises LogError.
    """
    if os.path.lexists(target):
        raise _exists(target, what)
    try:
        handle, name = tempfile.mkstemp(prefix=f".{target.name[:40]}.", suffix=".part", dir=target.parent)
    except (OSError, ValueError) as error:
        raise _cannot(target, what, error) from None
    os.close(handle)
    part = Path(name)
    try:
        yield part
        _sync(part)
        _give_name(part, target, what)
    except OSError as error:
        raise _cannot(target, what, error) from None
    finally:
        for leftover in (part, Path(f"{part}-wal"), Path(f"{part}-shm"), Path(f"{part}-journal")):
            with suppress(FileNotFoundError):
                leftover.unlink()


def _give_name(part: Path, target: Path, what: str) -> None:
    try:
        os.link(part, target)  # unlike rename, refuses an existing name
    except FileExistsError:
        raise _exists(target, what) from None
    except OSError:  # a file system without hard links
        _claim_and_replace(part, target, what)
    _sync_folder(target.parent)


def _claim_and_replace(part: Path, target: Path, what: str) -> None:
    try:
        os.close(os.open(target, os.O_CREAT | os.O_EXCL | os.O_WRONLY))
    except FileExistsError:
        raise _exists(target, what) from None
    os.replace(part, target)


def _sync(path: Path) -> None:
    with open(path, "rb+") as file:
        os.fsync(file.fileno())


def _sync_folder(folder: Path) -> None:
    with suppress(OSError):  # some systems cannot open a folder
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _exists(target: Path, what: str) -> LogError:
    return LogError(
        f"There is already a file at {target}.", "It was left as it is.", f"Name a new file for the {what}."
    )


def _cannot(target: Path, what: str, error: Exception) -> LogError:
    reason = getattr(error, "strerror", None) or str(error)
    return LogError(f"The {what} cannot be made: {target}.", f"{reason}.", "Check the folder and its rights.")
