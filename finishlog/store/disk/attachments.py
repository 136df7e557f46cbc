"""Files kept beside a log, byte for byte: `<log name>.files/ab/<sha256>`, known by their content.

Safety depends on this order: copy under a temporary name while hashing, sync, rename, sync the
folder, and only then commit the transaction that names it. A crash in between leaves a file
without an entry, never an entry without its file.
"""

from __future__ import annotations

import hashlib
import os
import stat
import tempfile
from collections.abc import Callable, Iterator, Set
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO, Protocol

from finishlog import private
from finishlog.errors import InputError, LogError, is_full, why
from finishlog.records.files import Content
from finishlog.store.disk.files import sync_folder
from finishlog.store.disk.held import is_held

FILE_MOST = 2**30
"""Largest file kept, in bytes: 1 GiB."""
_AT_ONCE = 1 << 20
_WHERE = "file"


@dataclass(frozen=True, slots=True)
class Kept:
    """A kept file: SHA-256 in hex, size in bytes."""

    sha256: str
    size: int


def folder_of(log: Path) -> Path:
    """The folder of a log's files. A symlink to a log shares the log's folder."""
    return Path(f"{os.path.realpath(log)}.files")


class Files(Protocol):
    """The files of one log, wherever their bytes are."""

    folder: Path

    def keep(self, source: Path) -> Kept:
        """Copy a file in, unless it is already there."""

    def put(self, content: Content) -> Kept:
        """Like `keep`, for bytes already read."""

    def blocks(self, sha256: str) -> Iterator[bytes]:
        """The bytes of a kept file, a block at a time; none if it is not there or cannot be read."""

    def take(self, sha256: str, blocks: Iterator[bytes]) -> bool:
        """Like `keep`, from blocks; whether they were that file. If they were not, nothing is kept of them."""

    @property
    def placed(self) -> tuple[str, ...]:
        """The files that were placed here and not forgotten, by SHA-256."""

    def forget(self, named: Set[str] = frozenset()) -> None:
        """Remove files placed here that no entry will name; only while the log is locked for writing."""

    def wrong_with(self, sha256: str, size: int) -> tuple[str, ...]:
        """The fault of one kept file, () if intact. Reads every byte."""

    def strays(self, known: set[str]) -> list[Path]:
        """Files no entry names, and unfinished copies."""

    def fault(self) -> LogError | None:
        """Why all of them are out of reach just now; None if they are not."""
        return None

    def notes(self) -> tuple[str, ...]:
        """What `check` says of where they are, a sentence each."""
        return ()


class Attachments(Files):
    """The files of one log, in a folder."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._placed: list[Path] = []

    def path(self, sha256: str) -> Path:
        """Path of that content, existing or not."""
        return self.folder / sha256[:2] / sha256

    def keep(self, source: Path) -> Kept:
        """Copy a file in, unless it is already there. Synced to disk on return.

        Raises InputError if it is not a regular file, empty, over 1 GiB, gone or changed meanwhile;
        LogError if the folder cannot be written.
        """
        with reading(source) as (file, size):
            return self._kept(lambda out: _copied(file, out, source, size))

    def put(self, content: Content) -> Kept:
        """Like `keep`, for bytes already read. Raises LogError."""
        kept = Kept(content.sha256, len(content.data))
        if self._is_there(kept):
            return kept

        def write(out: BinaryIO) -> Kept:
            out.write(content.data)
            out.flush()
            os.fsync(out.fileno())
            return kept

        return self._kept(write)

    def blocks(self, sha256: str) -> Iterator[bytes]:
        """The bytes of a kept file, a block at a time; none if it is not there or cannot be read."""
        with suppress(InputError), reading(self.path(sha256)) as (file, _):
            while block := _block(file, self.path(sha256)):
                yield block

    def take(self, sha256: str, blocks: Iterator[bytes]) -> bool:
        """Like `keep`, from blocks; whether they were that file. If they were not, nothing is kept of them."""
        try:
            self._kept(lambda out: _taken(sha256, blocks, out))
        except _Other:
            return False
        return True

    def _kept(self, write: Callable[[BinaryIO], Kept]) -> Kept:
        handle, part = self._part()
        try:
            with os.fdopen(handle, "wb") as out:
                kept = write(out)
            self._place(Path(part), kept)
        except OSError as error:
            raise _unwritable(self.folder, error) from None
        finally:
            with suppress(FileNotFoundError):
                os.unlink(part)
        return kept

    def _is_there(self, kept: Kept) -> bool:
        target = self.path(kept.sha256)
        return target.is_file() and target.stat().st_size == kept.size

    def _part(self) -> tuple[int, str]:
        try:
            if not self.folder.is_dir():
                self.folder.mkdir(mode=private.FOLDER)
                sync_folder(self.folder.parent)
            return tempfile.mkstemp(prefix=".new-", suffix=".part", dir=self.folder)
        except OSError as error:
            raise _unwritable(self.folder, error) from None

    def _make(self, folder: Path) -> None:
        folder.mkdir(mode=private.FOLDER)

    def _place(self, part: Path, kept: Kept) -> None:
        target = self.path(kept.sha256)
        if self._is_there(kept):
            return
        if not target.parent.is_dir():
            self._make(target.parent)
            sync_folder(self.folder)
        there = os.path.lexists(target)
        os.replace(part, target)
        sync_folder(target.parent)
        if not there:
            self._placed.append(target)

    @property
    def placed(self) -> tuple[str, ...]:
        """The files that were placed here and not forgotten, by SHA-256."""
        return tuple(path.name for path in self._placed)

    def forget(self, named: Set[str] = frozenset()) -> None:
        """Remove files placed here that no entry will name; only while the log is locked for writing."""
        for path in self._placed:
            if path.name in named:
                continue
            with suppress(OSError):
                path.unlink()
                path.parent.rmdir()  # stays where another file lies in it
                self.folder.rmdir()
        self._placed = []

    def wrong_with(self, sha256: str, size: int) -> tuple[str, ...]:
        """The fault of one kept file, () if intact. Reads every byte."""
        wrong = wrong_with(self.path(sha256), sha256, size)
        return (wrong,) if wrong else ()

    def strays(self, known: set[str]) -> list[Path]:
        """Files no entry names, and unfinished copies."""
        found = self.folder.rglob("*") if self.folder.is_dir() else ()
        return sorted(path for path in found if path.is_file() and path.name not in known)


def wrong_with(path: Path, sha256: str, size: int) -> str:
    """The fault of a kept file; "" if intact."""
    try:
        if not stat.S_ISREG(os.lstat(path).st_mode):
            return "not a regular file"
        with path.open("rb") as file:
            found = Kept(*_hashed(file))
    except FileNotFoundError:
        return "not there"
    except OSError as error:
        return f"not readable ({error.strerror})"
    return "" if found == Kept(sha256, size) else "damaged: it is not what was saved"


def _hashed(file: BinaryIO) -> tuple[str, int]:
    digest, size = hashlib.sha256(), 0
    while block := file.read(_AT_ONCE):
        digest.update(block)
        size += len(block)
    return digest.hexdigest(), size


@contextmanager
def reading(source: Path) -> Iterator[tuple[BinaryIO, int]]:
    """A regular file open for reading, with its size; never follows a link or blocks on a pipe."""
    try:
        _refuse(source, os.lstat(source))
        if is_held(source):  # closing it again would give up the locks that keep the log's -wal in place
            raise _no(source, "It is the log itself.", "Name another file")
        flags = os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0)
        handle = os.open(source, flags | getattr(os, "O_BINARY", 0))
    except (OSError, ValueError) as error:
        raise _unreadable(source, error) from None
    with os.fdopen(handle, "rb", buffering=0) as file:
        status = os.fstat(file.fileno())
        _refuse(source, status)  # somebody may have put another in its place
        yield file, status.st_size


def _refuse(source: Path, status: os.stat_result) -> None:
    mode, size = status.st_mode, status.st_size
    if stat.S_ISLNK(mode):
        raise _no(source, "It is a link to another file.", "Name the file itself")
    if stat.S_ISDIR(mode):
        raise _no(source, "It is a folder.", "Name each file in it")
    if not stat.S_ISREG(mode):
        raise _no(source, "It is a pipe or a device, not a regular file.", "Save it as a file first")
    if size == 0:
        raise _no(source, "It is empty: 0 bytes.", "Check that it saved completely")
    if size > FILE_MOST:
        cause = f"It is too large: {size / 2**30:.2f} GiB; 1 GiB is the limit."
        raise _no(source, cause, "Keep a smaller copy of it")


def _copied(file: BinaryIO, out: BinaryIO, source: Path, size: int) -> Kept:
    before = os.fstat(file.fileno())
    digest, copied = hashlib.sha256(), 0
    while block := _block(file, source):
        copied += len(block)
        if copied > size:
            break
        digest.update(block)
        out.write(block)
    out.flush()
    os.fsync(out.fileno())
    after = os.fstat(file.fileno())
    if copied != size or (after.st_size, after.st_mtime_ns) != (before.st_size, before.st_mtime_ns):
        raise _no(source, "It changed while being read.", "Try again when nothing is writing to it")
    return Kept(digest.hexdigest(), size)


class _Other(Exception):
    """The blocks were another file."""


def _taken(sha256: str, blocks: Iterator[bytes], out: BinaryIO) -> Kept:
    digest, size = hashlib.sha256(), 0
    for block in blocks:
        digest.update(block)
        size += out.write(block)
    if digest.hexdigest() != sha256:
        raise _Other
    out.flush()
    os.fsync(out.fileno())
    return Kept(sha256, size)


def _block(file: BinaryIO, source: Path) -> bytes:
    try:
        return file.read(_AT_ONCE)
    except OSError as error:
        raise _unreadable(source, error) from None


def _no(source: Path, cause: str, instead: str) -> InputError:
    return InputError(f"Cannot keep this file: {source}.", f"{cause} {instead}.", where=_WHERE)


def _unreadable(source: Path, error: Exception) -> InputError:
    if isinstance(error, UnicodeEncodeError):
        return _no(source, "That is not a file name: it has half a character.", "Type it again")
    if isinstance(error, FileNotFoundError):
        return _no(source, "No such file.", "Check its name and folder")
    reason = getattr(error, "strerror", None) or str(error)
    return _no(source, f"{reason}.", "Check its permissions")


def _unwritable(folder: Path, error: OSError) -> LogError:
    return LogError(
        f"Cannot keep files in the folder of the log: {folder}.",
        why(error),
        "Free some space; nothing was written."
        if is_full(error)
        else "Check the disk and the folder's permissions; nothing was written.",
    )
