"""Checks a log file without opening the database: exists, ours, complete. Needs no library."""

from __future__ import annotations

import os
import re
import shlex
import stat
import struct
from pathlib import Path

from finishlog.errors import LogError
from finishlog.store.disk import switching
from finishlog.store.disk.held import start_of

APPLICATION_ID = 0x464C4F47
"""Bytes 68-71 of every log: "FLOG" in ASCII (SQLite file format, section 1.3.13)."""

_MAGIC = b"SQLite format 3\0"
_HEADER_BYTES = 100
SERVER = re.compile(r"postgres(?:ql)?://", re.IGNORECASE)
"""How the address of a log on a server begins (`postgres.address`)."""


def place(where: str | Path) -> Path:
    """The path as given. Raises LogError for an invalid path or a URL."""
    if SERVER.match(str(where)):
        raise LogError("This is done with log files only, not on a server.", "", "Name a file.")
    if "://" in str(where):
        shown = re.sub("//.*@", "//…@", str(where))  # it may hold a password
        raise LogError(f"finishlog opens log files only: {shown}.", "It is a URL.", "Name a file with --log.")
    if "\0" in str(where) or not str(where):
        raise LogError("The log's name is not a file name.", "", "Name a file with --log.")
    try:
        os.fsencode(where)
    except UnicodeEncodeError:
        raise LogError(
            "The log's name is not a file name.", "It has half a character.", "Name a file with --log."
        ) from None
    try:
        return Path(where).expanduser()
    except RuntimeError:  # ~user unknown to this machine
        raise LogError(f"No such home folder: {where}.", "", "Name a file with --log.") from None


def require_log(where: Path) -> None:
    """Check the file without opening it as a database, so that a foreign file stays untouched.

    Raises LogError if it is missing, not a regular file, not SQLite, another program's, or truncated.
    """
    finish_switch(where)
    header, size = read_header(where)
    if not header.startswith(_MAGIC) or len(header) < _HEADER_BYTES:
        raise not_a_log(where, "It is empty." if size == 0 else "It is another kind of file.")
    (application_id,) = struct.unpack_from(">I", header, 68)
    if application_id != APPLICATION_ID:
        raise not_a_log(where, "It is another program's database; left alone.")
    if size < _promised_size(header) and not has_wal(where):
        raise damaged(where, f"It is cut short: {size:,} bytes of {_promised_size(header):,}.")


def finish_switch(where: Path) -> None:
    """If a restore was killed as it switched logs, finish it. Raises LogError."""
    try:
        switching.finish(Path(os.path.realpath(where)))
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or error
        raise LogError(
            f"A restore of this log is half done: {where}.",
            f"It cannot be finished: {reason}.",
            "Check the folder and its permissions, then try again.",
        ) from None


def is_foreign(where: Path) -> bool:
    """Whether a file is another program's database."""
    header, _ = read_header(where)
    return (
        header.startswith(_MAGIC)
        and struct.unpack_from(">I", header.ljust(_HEADER_BYTES, b"\0"), 68)[0] != APPLICATION_ID
    )


def read_header(where: Path) -> tuple[bytes, int]:
    """The first bytes of a regular file, whatever it is, and its size. Raises LogError."""
    try:
        status = os.stat(where)
        if stat.S_ISDIR(status.st_mode):
            raise not_a_log(where, "It is a folder.")
        if not stat.S_ISREG(status.st_mode):  # a named pipe would hang, a device might answer
            raise not_a_log(where, "It is not a regular file.")
        return start_of(where, _HEADER_BYTES), status.st_size
    except (FileNotFoundError, NotADirectoryError):
        raise missing(where) from None
    except (OSError, ValueError) as error:
        raise LogError(
            f"Cannot read the log: {where}.",
            f"{getattr(error, 'strerror', None) or error}.",
            "Check its location and permissions.",
        ) from None


def _promised_size(header: bytes) -> int:
    (page,) = struct.unpack_from(">H", header, 16)
    (pages,) = struct.unpack_from(">I", header, 28)
    return int(pages) * (65536 if page == 1 else int(page))


def has_wal(where: Path) -> bool:
    """True if a write-ahead log holds pages the main file lacks."""
    wal = Path(f"{os.path.realpath(where)}-wal")
    return wal.exists() and wal.stat().st_size > 0


def missing(where: Path) -> LogError:
    """The refusal when no file is there."""
    return LogError(
        f"No log at {where}.",
        "Nothing was made there.",
        "Name another with --log. Start one with finishlog new; finishlog restore lists copies of an earlier one.",
    )


def not_a_log(where: Path, cause: str) -> LogError:
    """The refusal when the file is something else."""
    return LogError(f"This is not a finishlog log: {where}.", cause, "Name the right file with --log.")


_RESCUE = "finishlog --log {0} restore lists its copies; finishlog rescue {0} NEW saves what can be read."


def damaged(where: object, cause: str) -> LogError:
    """The refusal when SQLite cannot read its pages."""
    return LogError(f"The log is damaged: {where}.", cause, _RESCUE.format(shlex.quote(str(where))))
