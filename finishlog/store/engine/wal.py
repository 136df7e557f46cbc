"""Whose a `-wal` is, told by the bytes of both files.

SQLite reads any `-wal` of the right name into the log, even one of another file: it has its own header
and checksums, but nothing that names its log. So each of our units of work leaves a stamp in the log's
header (`user_version`): half of it says what the stamp before was, half is random. A `-wal` belongs to a
log whose stamp is one of its own, or the one before its first.
"""

from __future__ import annotations

import os
import struct
import zlib
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from time import sleep, strftime

from finishlog.errors import LogError
from finishlog.store.disk import held
from finishlog.store.disk.files import free_name, sync_folder

HEADER_BYTES = 100
_STAMP_AT = 60
"""Of `user_version` in the header (SQLite file format, section 1.3)."""
_MAGICS = (0x377F0682, 0x377F0683)
_HEAD, _FRAME_HEAD = 32, 24
DAY = "%Y-%m-%d"
"""In names of what is put aside."""
_LOOKS = 50
_PAUSE_S = 0.02

_DMS = (128, 1)
"""The byte of the `-shm` that everybody who has the log open keeps locked (SQLite's os_unix.c)."""
_SHARED = (0x40000000 + 2, 510)
"""The bytes of the log itself, likewise."""


def next_stamp(before: int) -> int:
    """The stamp of the next unit of work: 15 bits of what was before, 16 random ones; never 0."""
    return _after(before) << 16 | (int.from_bytes(os.urandom(2), "big") or 1)


def _after(stamp: int) -> int:
    return zlib.crc32(stamp.to_bytes(4, "big", signed=True)) & 0x7FFF


def stamp_in(head: bytes) -> int:
    """The stamp in a header; 0 if none was ever left."""
    return int(struct.unpack_from(">i", head, _STAMP_AT)[0]) if len(head) >= HEADER_BYTES else 0


def wal_of(where: Path) -> Path:
    """A log's `-wal`; a symlink to a log shares the log's."""
    return beside(where, "-wal")


def beside(where: Path, ending: str) -> Path:
    """The file beside a log; beside the log itself where its name is a symlink. Looked up at every write."""
    return Path(f"{os.path.realpath(where) if os.path.islink(where) else where}{ending}")


@dataclass(frozen=True, slots=True)
class Stamps:
    """The stamps of the committed units of work in a `-wal`. `salts` tells one filling from the next."""

    salts: bytes
    all: frozenset[int]
    first: int | None
    """The first there is: another program's unit may leave none, and keeps that of before."""
    empty: bool


NOTHING = Stamps(b"", frozenset(), None, empty=True)


def stamps(wal: Path) -> Stamps:
    """Read the stamps. A file that is none, or that SQLite would pass over, has none."""
    try:
        with wal.open("rb", buffering=0) as file:
            return _stamps(file.fileno())
    except (FileNotFoundError, NotADirectoryError):
        return NOTHING


def salts(wal: Path) -> bytes:
    """By which one filling is told from the next; none of a file that is empty or not there."""
    with suppress(OSError), wal.open("rb", buffering=0) as file:
        return _salts(os.pread(file.fileno(), _HEAD, 0))
    return b""


def _salts(head: bytes) -> bytes:
    known = len(head) == _HEAD and struct.unpack_from(">I", head)[0] in _MAGICS
    return head[16:24] if known else b""


def _stamps(handle: int) -> Stamps:
    head = os.pread(handle, _HEAD, 0)
    if not (salts := _salts(head)):
        return NOTHING
    page = struct.unpack_from(">I", head, 8)[0]
    found: set[int] = set()
    pending: list[int] = []
    first, units, at = None, 0, _HEAD
    while len(frame := os.pread(handle, _FRAME_HEAD, at)) == _FRAME_HEAD and frame[8:16] == salts:
        number, size = struct.unpack_from(">II", frame)
        if number == 1:
            pending.append(stamp_in(os.pread(handle, HEADER_BYTES, at + _FRAME_HEAD)))
        if size:  # the end of a unit of work
            first = pending[0] if pending and first is None else first
            units += 1
            found.update(pending)
            pending = []
        at += _FRAME_HEAD + page
    return Stamps(salts, frozenset(found), first, empty=not units)


def belongs(head: bytes, these: Stamps) -> bool:
    """Whether the `-wal` with these stamps goes on from the log with this header, or is part of it by now."""
    stamp = stamp_in(head)
    if these.empty or (stamp and stamp in these.all):
        return True
    if len(head) < HEADER_BYTES:
        return False
    if these.first:
        return these.first >> 16 == _after(stamp)
    return stamp == 0  # both from before there were stamps


def is_its_own(where: Path) -> bool:
    """Whether the `-wal` beside a log belongs to it; looks again while others are at work. Raises OSError."""
    wal = wal_of(where)
    for _ in range(_LOOKS):
        before = held.start_of(where, HEADER_BYTES)
        these = stamps(wal)
        if belongs(before, these):
            return True
        if held.start_of(where, HEADER_BYTES) == before and stamps(wal).salts == these.salts:
            return False
        sleep(_PAUSE_S)
    return False


def is_strange(where: Path) -> bool:
    """Whether the `-wal` is another log's for certain: it has stamps, and they are not the log's."""
    return bool(stamps(wal_of(where)).all) and not is_its_own(where)


def set_aside_strange(where: Path) -> Path | None:
    """Rename a `-wal` that is not the log's; its new name. Raises LogError if somebody still has it open."""
    if not wal_of(where).exists() or is_its_own(where):
        return None
    with alone(where) as nobody:
        if not nobody:
            raise _still_open(where)
        if is_its_own(where):
            return None
        return set_aside(where)


def set_aside(where: Path) -> Path:
    """Rename the `-wal`, so that no one reads it into the log. Raises LogError."""
    wal = wal_of(where)
    name = os.path.basename(os.path.realpath(where))
    target = free_name(wal.with_name(f"{name}.set-aside-{strftime(DAY)}-wal"))
    try:
        os.rename(wal, target)
        with suppress(FileNotFoundError):
            os.unlink(f"{os.path.realpath(where)}-shm")
        sync_folder(wal.parent)
    except OSError as error:
        raise LogError(
            f"The file {wal.name} beside the log belongs to another log: {where}.",
            f"It cannot be set aside: {error.strerror or error}.",
            "Move it elsewhere, then try again.",
        ) from None
    return target


def empty_strange(where: Path) -> None:
    """Copy the `-wal` aside and empty it: SQLite would merge it into what came in place as its last user closes."""
    import shutil

    wal = wal_of(where)
    with suppress(OSError):
        name = os.path.basename(os.path.realpath(where))
        shutil.copyfile(wal, free_name(wal.with_name(f"{name}.set-aside-{strftime(DAY)}-wal")))
        os.truncate(wal, 0)


@contextmanager
def alone(where: Path) -> Iterator[bool]:
    """Whether nobody has the log open; as long as the block runs, nobody can begin to."""
    if held.is_held(where):
        yield False
        return
    handles: list[int] = []
    try:
        yield _locked(Path(f"{os.path.realpath(where)}-shm"), _DMS, handles) and _locked(
            Path(os.path.realpath(where)), _SHARED, handles
        )
    finally:
        for handle in handles:
            os.close(handle)


def _locked(path: Path, span: tuple[int, int], handles: list[int]) -> bool:
    """Lock these bytes; False if somebody else has."""
    try:
        import fcntl
    except ImportError:  # Windows: an open file can be neither renamed nor replaced
        return True
    try:
        handles.append(os.open(path, os.O_RDWR))
    except OSError:  # not there, or not ours to write
        return True
    try:
        fcntl.lockf(handles[-1], fcntl.LOCK_EX | fcntl.LOCK_NB, span[1], span[0])
    except OSError:
        return False
    return True


def _still_open(where: Path) -> LogError:
    return LogError(
        f"Another program still has the old log open: {where}.",
        "Another file has taken its place; nothing was changed.",
        "Close it, then try again.",
    )
