"""Atomic file creation: built in a folder beside the target, then given its name."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from finishlog import private
from finishlog.errors import LogError, is_full, why
from finishlog.store.disk import leavings

_LEAST_ROOM = 64 * 1024
"""Bytes: SQLite's shared memory takes 32 KiB, a small write a few pages."""


@contextmanager
def built_beside(target: Path, what: str) -> Iterator[Path]:
    """A temporary path that becomes the target if the block succeeds, with its folder of files, if any.

    Never overwrites an existing target, even one made meanwhile. The files get their name first, the log last:
    killed in between, the files are marked as half-made and the next to use the name sweeps them. Raises LogError.
    """
    leavings.sweep(target)
    if os.path.lexists(target):
        raise already_there(target, what)
    try:
        with leavings.workshop(target) as place:
            part = place / leavings.LOG
            os.close(os.open(part, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))
            yield part
            _sync(part)
            _give_names(place, part, target, what)
    except (OSError, ValueError) as error:
        raise cannot_be_made(target, what, error) from None


@contextmanager
def folder_of_its_own(folder: Path, what: str) -> Iterator[Path]:
    """A temporary folder that takes the name `folder` if the block succeeds and it is not empty."""
    leavings.sweep(folder)
    try:
        with leavings.workshop(folder) as place:
            part = place / "folder"
            part.mkdir(mode=0o700)
            yield part
            if any(part.iterdir()):
                _take_name(part, folder, what)
    except (OSError, ValueError) as error:
        raise cannot_be_made(folder, what, error) from None


def _give_names(place: Path, part: Path, target: Path, what: str) -> None:
    made, files = Path(f"{part}.files"), Path(f"{target}.files")
    if not made.is_dir() or not any(made.iterdir()):
        _give_name(place, part, target, what)
        return
    mark = leavings.HALF_MADE
    (made / mark).write_bytes(os.fsencode(place.name))
    _take_name(made, files, what)
    try:
        _give_name(place, part, target, what)
    except BaseException:
        os.rename(files, made)  # another log got the name: these files are not its
        raise
    (files / mark).unlink()


def _take_name(part: Path, folder: Path, what: str) -> None:
    if os.path.lexists(folder):
        try:
            os.rmdir(folder)  # an empty one gives way
        except OSError:
            raise already_there(folder, what) from None
    os.rename(part, folder)
    sync_folder(folder.parent)


def _give_name(place: Path, part: Path, target: Path, what: str) -> None:
    try:
        os.link(part, target)  # unlike rename, refuses an existing name
    except FileExistsError:
        raise already_there(target, what) from None
    except OSError:  # a file system without hard links
        _claim_and_replace(place, part, target, what)
    sync_folder(target.parent)


def _claim_and_replace(place: Path, part: Path, target: Path, what: str) -> None:
    if os.path.lexists(target):
        raise already_there(target, what)
    (place / leavings.CLAIMED).touch()
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


def free_name(path: Path) -> Path:
    """The path, or where it is taken, the first free one of `name-2`, `name-3`…"""
    number, free = 1, path
    while os.path.lexists(free):
        number += 1
        free = path.with_name(f"{path.stem}-{number}{path.suffix}")
    return free


def already_there(target: Path, what: str) -> LogError:
    """The refusal to overwrite an existing name."""
    return LogError(
        f"A file already exists at {target}.", "It was left alone.", f"Name a new file for the {what}."
    )


def cannot_be_made(target: Path, what: str, error: Exception) -> LogError:
    """The failure of the folder or the disk."""
    remedy = "Free some space, then try again." if is_full(error) else "Check the folder and its permissions."
    return LogError(f"The {what} cannot be made: {target}.", why(error), remedy)
