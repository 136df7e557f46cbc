"""The folder in which a log, copy or export is made, and what a killed program leaves of it.

Everything half-made stands in one hidden folder beside the target, `.NAME.xxxxxxxx.part`, locked by the
program that makes it. The lock ends with the program, however it ends: a folder whose lock is free is a
leaving, and the next program that makes or opens something there sweeps it.
"""

from __future__ import annotations

import os
import re
import shutil
import stat
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

try:
    import fcntl
except ImportError:  # pragma: no cover - no such locks there: age alone tells
    fcntl = None  # type: ignore[assignment]

LOCK = "finishlog.lock"
"""In the folder: locked by its maker; holds the target's name."""
LOG = "log"
"""In the folder: the log that is made."""
CLAIMED = "finishlog.claimed"
"""In the folder, where a disk has no hard links: the target may stand empty."""
HALF_MADE = ".half-made"
"""In a folder of files that got its name before its log did: the name of the folder it was made in."""
OLD_S = 86_400
"""Seconds after which a leaving without a lock (of older versions, or a photo's) is one."""

_PART = re.compile(r"\.(?P<of>.{1,60})\.[a-z0-9_]{8}\.part(?:-wal|-shm|-journal|\.files)?", re.DOTALL)
_PHOTO = re.compile(r"\.new-[a-z0-9_]{8}\.part")
_TRIES = 100


@contextmanager
def workshop(target: Path) -> Iterator[Path]:
    """A locked folder beside the target, gone when the block ends. Raises OSError or ValueError."""
    place, handle = _made(target)
    try:
        yield place
    finally:
        shutil.rmtree(place, ignore_errors=True)
        os.close(handle)


def _made(target: Path) -> tuple[Path, int]:
    """A sweeper may take a folder that is not locked yet: then the next one."""
    for _ in range(_TRIES):
        place = Path(tempfile.mkdtemp(prefix=f".{target.name[:40]}.", suffix=".part", dir=target.parent))
        try:
            with suppress(FileNotFoundError):
                return place, _locked(place, target)
        except OSError:  # a disk that takes no more
            shutil.rmtree(place, ignore_errors=True)
            raise
    raise FileNotFoundError(f"no folder to work in beside {target}")


def _locked(place: Path, target: Path) -> int:
    """The handle of the folder's lock. Raises FileNotFoundError where a sweeper took the folder."""
    handle = os.open(place / LOCK, os.O_CREAT | os.O_EXCL | os.O_RDWR | _CLOSED_ON_EXEC, 0o600)
    try:
        if _lock(handle) is False or not (place / LOCK).exists():
            raise FileNotFoundError(place)
        os.write(handle, os.fsencode(target.name))
    except OSError:
        os.close(handle)
        raise
    return handle


_CLOSED_ON_EXEC = getattr(os, "O_CLOEXEC", 0)


def _lock(handle: int) -> bool | None:
    """Whether the lock is ours now; None where the disk or the system has no locks."""
    if fcntl is None:
        return None
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    except OSError:
        return None
    return True


def leavings(log: Path) -> list[Path]:
    """Half-made things in the log's folder and among its files that nobody is making any more."""
    return sorted((*_parts(log), *_half_made(log), *_photos(log)))


def sweep(log: Path) -> int:
    """Remove the leavings; how many were. What cannot be removed stays, silently."""
    swept = 0
    for place in _parts(log):
        with suppress(OSError), _ours(place) as free:
            if free:
                _remove(place)
                swept += 1
    for path in (*_half_made(log), *_photos(log)):
        with suppress(OSError):
            path.unlink()
            swept += 1
    return swept


def _parts(log: Path) -> list[Path]:
    found = []
    for path in _in(log.parent):
        shape = _PART.fullmatch(path.name)
        if shape is None:
            continue
        if (path / LOCK).exists():
            with suppress(OSError), _ours(path) as free:
                if free:
                    found.append(path)
        elif _is_of(shape["of"], log) and (_is_empty(path) or _is_old(path)):
            found.append(path)
    return found


def _is_of(name: str, log: Path) -> bool:
    """Whether a program was making something by this log's name: the log, its files, a copy before an upgrade."""
    names = (log.name, f"{log.name}.files")
    return name in [one[:40] for one in names] or name.startswith(f"{log.stem}.before-upgrade-"[:40])


def _half_made(log: Path) -> list[Path]:
    """The mark in the files of a log that got its name, where its maker is gone."""
    mark = _files(log) / HALF_MADE
    with suppress(OSError, ValueError):
        place = log.parent / Path(os.fsdecode(mark.read_bytes())).name
        if _stands(log) and not (place / LOCK).exists():
            return [mark]
    return []


def _photos(log: Path) -> list[Path]:
    return [path for path in _in(_files(log)) if _PHOTO.fullmatch(path.name) and _is_old(path)]


def _files(log: Path) -> Path:
    return Path(f"{os.path.realpath(log)}.files")


def _stands(log: Path) -> bool:
    """An empty file is a name that was claimed, no log."""
    with suppress(OSError):
        return os.lstat(log).st_size > 0
    return False


def _in(folder: Path) -> list[Path]:
    with suppress(OSError), os.scandir(folder) as found:
        return [Path(each.path) for each in found if each.name.startswith(".")]
    return []


def _is_empty(path: Path) -> bool:
    with suppress(OSError):
        return not any(os.scandir(path))
    return False


def _is_old(path: Path) -> bool:
    with suppress(OSError):
        return time.time() - os.lstat(path).st_mtime > OLD_S
    return False


@contextmanager
def _ours(place: Path) -> Iterator[bool]:
    """Whether the lock of this folder was free; held meanwhile, so that two do not sweep it."""
    try:
        handle = os.open(place / LOCK, os.O_RDWR | _CLOSED_ON_EXEC)
    except (FileNotFoundError, NotADirectoryError):
        yield True
        return
    try:
        got = _lock(handle)
        yield _is_old(place) if got is None else got
    finally:
        os.close(handle)


def _remove(place: Path) -> None:
    """The names it gave first, the folder last: a sweep that is killed is done again."""
    if not stat.S_ISDIR(os.lstat(place).st_mode):
        place.unlink()
        return
    if (target := _target(place)) is not None:
        files = Path(f"{target}.files")
        with suppress(FileNotFoundError):
            if (files / HALF_MADE).read_bytes() == os.fsencode(place.name):
                os.rename(files, place / "files") if _is_nameless(place) else (files / HALF_MADE).unlink()
        if (place / CLAIMED).exists() and target.is_file() and not _stands(target):
            target.unlink()
    if _is_empty(place):
        place.rmdir()
    else:
        shutil.rmtree(place)


def _is_nameless(place: Path) -> bool:
    """Whether the log made here never got its name: one that did may have been moved since, its files are kept."""
    with suppress(OSError):
        return os.lstat(place / LOG).st_nlink == 1
    return False


def _target(place: Path) -> Path | None:
    with suppress(OSError, ValueError):
        name = os.fsdecode((place / LOCK).read_bytes())
        if name and name not in (".", "..") and "/" not in name and os.sep not in name:
            return place.parent / name
    return None
