"""Atomic file creation: built beside the target, then renamed."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from finishlog import private
from finishlog.errors import LogError, is_full, why

_LEAST_ROOM = 64 * 1024
"""Bytes: SQLite's shared memory takes 32 KiB, a small write a few pages."""


@contextmanager
def built_beside(target: Path, what: str) -> Iterator[Path]:
    """A temporary path in the target's folder that becomes the target if the block succeeds.

    Never overwrites an existing target, even one made meanwhile. Raises LogError.
    """
    if os.path.lexists(target):
        raise already_there(target, what)
    try:
        handle, name = tempfile.mkstemp(prefix=f".{target.name[:40]}.", suffix=".part", dir=target.parent)
    except (OSError, ValueError) as error:
        raise cannot_be_made(target, what, error) from None
    os.close(handle)
    part = Path(name)
    try:
        yield part
        _sync(part)
        _give_name(part, target, what)
    except OSError as error:
        raise cannot_be_made(target, what, error) from None
    finally:
        for leftover in (part, Path(f"{part}-wal"), Path(f"{part}-shm"), Path(f"{part}-journal")):
            with suppress(FileNotFoundError):
                leftover.unlink()


@contextmanager
def folder_of_its_own(folder: Path, what: str) -> Iterator[Path]:
    """A temporary folder beside `folder` that takes its name if the block succeeds and it is not empty."""
    try:
        part = Path(tempfile.mkdtemp(prefix=f".{folder.name[:40]}.", suffix=".part", dir=folder.parent))
    except (OSError, ValueError) as error:
        raise cannot_be_made(folder, what, error) from None
    try:
        yield part
        if any(part.iterdir()):
            if folder.is_dir():
                folder.rmdir()  # an empty one gives way
            os.rename(part, folder)
            sync_folder(folder.parent)
    except OSError as error:
        raise cannot_be_made(folder, what, error) from None
    finally:
        shutil.rmtree(part, ignore_errors=True)


def _give_name(part: Path, target: Path, what: str) -> None:
    try:
        os.link(part, target)  # unlike rename, refuses an existing name
    except FileExistsError:
        raise already_there(target, what) from None
    except OSError:  # a file system without hard links
        _claim_and_replace(part, target, what)
    sync_folder(target.parent)


def _claim_and_replace(part: Path, target: Path, what: str) -> None:
    try:
        os.close(private.claim(target))
    except FileExistsError:
        raise already_there(target, what) from None
    os.replace(part, target)


def has_no_room(folder: Path) -> bool:
    """Whether the disk takes no more: tried with as much as a database needs to be written at all."""
    try:
        with tempfile.TemporaryFile(dir=folder, buffering=0) as probe:
            probe.write(bytes(_LEAST_ROOM // 2))
            return probe.write(bytes(_LEAST_ROOM // 2)) < _LEAST_ROOM // 2
    except (OSError, ValueError) as error:
        return is_full(error)


def _sync(path: Path) -> None:
    with open(path, "rb+") as file:
        os.fsync(file.fileno())


def sync_folder(folder: Path) -> None:
    """Sync a folder's directory entries to disk."""
    with suppress(OSError):  # some systems cannot open a folder
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def already_there(target: Path, what: str) -> LogError:
    """The refusal to overwrite an existing name."""
    return LogError(
        f"A file already exists at {target}.", "It was left alone.", f"Name a new file for the {what}."
    )


def cannot_be_made(target: Path, what: str, error: Exception) -> LogError:
    """The failure of the folder or the disk."""
    remedy = "Free some space, then try again." if is_full(error) else "Check the folder and its permissions."
    return LogError(f"The {what} cannot be made: {target}.", why(error), remedy)
