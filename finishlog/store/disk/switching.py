"""Several renames that happen all or not at all, whoever is killed meanwhile.

They are first written down in a file beside the target, `.NAME.switch`. From then on they are decided:
whoever opens the target finishes them. Until then nothing was moved.
"""

from __future__ import annotations

import errno
import json
import os
import shutil
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import IO

from finishlog.store.disk.files import sync_folder

Move = tuple[str, str]
"""From and to, names in the target's folder, in order."""


def marker_of(target: Path) -> Path:
    """The file that names the moves, as long as they are under way."""
    return target.with_name(f".{target.name}.switch")


def switch(target: Path, moves: Sequence[Move]) -> None:
    """Do the moves. None of the new names may exist, but for the last one, which is written over. Raises OSError."""
    marker = marker_of(target)
    part = marker.with_name(f"{marker.name}.part")
    with part.open("w", encoding="utf-8") as file:
        json.dump(moves, file)
        file.flush()
        os.fsync(file.fileno())
    os.replace(part, marker)
    sync_folder(target.parent)
    finish(target)


def finish(target: Path) -> bool:
    """Finish what somebody began; whether there was anything. Raises OSError."""
    marker = marker_of(target)
    if not os.path.lexists(marker):
        return False
    with suppress(FileNotFoundError), marker.open("r+", encoding="utf-8") as file, _locked(file):
        if _is(file, marker):  # else another one has finished meanwhile
            moves = json.load(file)
            for name, new in moves[:-1]:
                _move(target.parent / name, target.parent / new)
            name, new = moves[-1]
            if os.path.lexists(target.parent / name):
                os.replace(target.parent / name, target.parent / new)
            sync_folder(target.parent)
            os.unlink(marker)
            sync_folder(target.parent)
    return True


def _move(path: Path, new: Path) -> None:
    """A file keeps its old name too, until the last move writes over it: no one finds none at all."""
    if os.path.lexists(new) or not os.path.lexists(path):
        return  # done before
    if path.is_file() and not path.name.endswith("-wal"):
        with suppress(OSError):  # no hard links here
            os.link(path, new)
            return
    os.rename(path, new)


@contextmanager
def staged(target: Path) -> Iterator[Path]:
    """A folder beside the target for what is to come; leftovers of those who were killed go."""
    folder = target.with_name(f".{target.name}.coming")
    folder.mkdir(mode=0o700, exist_ok=True)
    with (folder / "lock").open("w") as file, _locked(file):
        if not _is(file, folder / "lock"):
            raise FileNotFoundError(errno.ENOENT, "another restore was under way", folder)
        for path in folder.iterdir():
            if path.name != "lock":
                shutil.rmtree(path) if path.is_dir() else path.unlink()
        try:
            yield folder
        finally:
            if not os.path.lexists(marker_of(target)):  # else what is in it is the log by now
                shutil.rmtree(folder, ignore_errors=True)


def _is(file: IO[str], path: Path) -> bool:
    """Whether the file that is locked by now still has that name: not one of before."""
    try:
        return os.path.samestat(os.fstat(file.fileno()), os.lstat(path))
    except FileNotFoundError:
        return False


@contextmanager
def _locked(file: IO[str]) -> Iterator[None]:
    """One at a time; given up by whoever is killed."""
    try:
        import fcntl
    except ImportError:
        yield
        return
    fcntl.flock(file, fcntl.LOCK_EX)
    yield
