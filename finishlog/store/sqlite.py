"""SQLite, the one place that knows it: the file, its header, the engine, waiting, its errors.

The default driver mode loses updates without a word, so the driver is in autocommit and
BEGIN is ours: deferred for reading (one snapshot), IMMEDIATE for writing. WAL is set once,
when a log is made; setting it on a file that is not ours would change that file.
"""

from __future__ import annotations

import os
import re
import sqlite3
import stat
import struct
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from sqlalchemy import create_engine, event
from sqlalchemy.engine import Connection, Engine
from sqlalchemy.exc import DBAPIError
from sqlalchemy.pool import QueuePool

from finishlog.errors import InputError, LogError

APPLICATION_ID = 0x464C4F47
"""Bytes 68-71 of every log: "FLOG" in ASCII (SQLite file format, section 1.3.13)."""

WORD_AFTER_S = 2.0
GIVE_UP_AFTER_S = 30.0
_MAGIC = b"SQLite format 3\0"
_HEADER_BYTES = 100

Waiting = Callable[[], None]


def place(where: str | Path) -> Path:
    """A path as it was named. Raises LogError for what can be no path, and for a URL."""
    if "://" in str(where):
        raise LogError(
            f"This program opens logs in files only: {where}.", "It is a URL.", "Name a file with --log."
        )
    if "\0" in str(where) or not str(where):
        raise LogError("The name of the log is no file name.", "", "Name a file with --log.")
    return Path(where).expanduser()


def require_log(where: Path) -> None:
    """Look at the file without opening it as a database, so that a foreign file stays as it is.

    Raises LogError if it is missing, no plain file, no SQLite file, another program's, or cut short.
    """
    header, size = _read_header(where)
    if not header.startswith(_MAGIC) or len(header) < _HEADER_BYTES:
        raise _not_a_log(where, "It is empty." if size == 0 else "It is another kind of file.")
    (application_id,) = struct.unpack_from(">I", header, 68)
    if application_id != APPLICATION_ID:
        raise _not_a_log(where, "It is the database of another program and was left as it is.")
    if size < _promised_size(header) and not _has_wal(where):
        raise damaged(where, f"It is cut short: {size:,} bytes of {_promised_size(header):,}.")


def _read_header(where: Path) -> tuple[bytes, int]:
    try:
        status = os.stat(where)
        if stat.S_ISDIR(status.st_mode):
            raise _not_a_log(where, "It is a folder.")
        if not stat.S_ISREG(status.st_mode):  # a named pipe would hang, a device might answer
            raise _not_a_log(where, "It is not a plain file.")
        with open(where, "rb") as file:
            return file.read(_HEADER_BYTES), status.st_size
    except (FileNotFoundError, NotADirectoryError):
        raise missing(where) from None
    except (OSError, ValueError) as error:
        raise LogError(
            f"The log cannot be read: {where}.", f"{error}.", "Check its place and its rights."
        ) from None


def _promised_size(header: bytes) -> int:
    (page,) = struct.unpack_from(">H", header, 16)
    (pages,) = struct.unpack_from(">I", header, 28)
    return int(pages) * (65536 if page == 1 else int(page))


def _has_wal(where: Path) -> bool:
    wal = Path(f"{where}-wal")
    return wal.exists() and wal.stat().st_size > 0


def missing(where: Path) -> LogError:
    return LogError(
        f"There is no log at {where}.",
        "Nothing was made there.",
        "Name another one with --log, or start one with: finishlog new",
    )


def _not_a_log(where: Path, cause: str) -> LogError:
    return LogError(f"This is not a finishlog log: {where}.", cause, "Name the right file with --log.")


def damaged(where: Path, cause: str) -> LogError:
    return LogError(
        f"The log is damaged: {where}.", cause, "Put the last backup in its place; keep the damaged file."
    )


def uri(where: Path, mode: str, *, immutable: bool = False) -> str:
    """The file as SQLite's URI, so that `?`, `#` and `%` in a name stay part of the name."""
    return f"{where.absolute().as_uri()}?mode={mode}" + ("&immutable=1" if immutable else "")


def open_raw(where: Path, mode: str, *, timeout_s: float = GIVE_UP_AFTER_S) -> sqlite3.Connection:
    """A plain connection in autocommit. `mode` is ro, rw or rwc."""
    return sqlite3.connect(uri(where, mode), uri=True, isolation_level=None, timeout=timeout_s)


def open_reading(where: Path) -> sqlite3.Connection:
    """A connection that only reads, also where neither the file nor its folder can be written."""
    raw = open_raw(where, "ro")
    try:
        raw.execute("SELECT count(*) FROM sqlite_schema").fetchone()
    except sqlite3.OperationalError:
        raw.close()
        if _has_wal(where):  # what stands in the side file would be left out silently
            raise
        raw = open_still(where)
    return raw


def open_still(where: Path) -> sqlite3.Connection:
    """A connection to a file that nobody changes meanwhile: it takes no lock and makes no side files."""
    return sqlite3.connect(uri(where, "ro", immutable=True), uri=True, isolation_level=None)


def make_engine(
    where: Path, *, on_wait: Waiting | None = None, give_up_after_s: float = GIVE_UP_AFTER_S
) -> Engine:
    """The engine of a log that `require_log` has passed. It falls back to reading only."""
    engine = create_engine(
        "sqlite://",
        creator=lambda: open_best(where),
        hide_parameters=True,
        poolclass=QueuePool,
        pool_size=4,
        max_overflow=16,
    )

    @event.listens_for(engine, "begin")
    def _(connection: Connection) -> None:
        if connection.get_execution_options().get("write", False):
            _begin_writing(connection, on_wait, give_up_after_s)
        else:
            connection.exec_driver_sql("BEGIN")

    return engine


def open_best(where: Path) -> sqlite3.Connection:
    """A connection that writes where it can, and else only reads; the last one clears the side files away."""
    raw = sqlite3.connect(
        uri(where, "rw"), uri=True, isolation_level=None, check_same_thread=False, timeout=GIVE_UP_AFTER_S
    )
    try:
        raw.execute("PRAGMA synchronous=FULL").close()
        raw.execute("PRAGMA foreign_keys=ON").close()
        raw.execute("SELECT 1 FROM sqlite_schema").fetchone()
    except sqlite3.OperationalError:
        raw.close()
        raw = open_reading(where)
    return raw


def _begin_writing(connection: Connection, on_wait: Waiting | None, give_up_after_s: float) -> None:
    """BEGIN IMMEDIATE; a word when the wait grows long; then give up with the driver's error."""
    first = min(WORD_AFTER_S, give_up_after_s)
    try:
        _set_timeout(connection, first)
        connection.exec_driver_sql("BEGIN IMMEDIATE")
    except DBAPIError as error:
        if error_name(error) not in _BUSY or first >= give_up_after_s:
            raise
        if on_wait is not None:
            on_wait()
        _set_timeout(connection, give_up_after_s - first)
        connection.exec_driver_sql("BEGIN IMMEDIATE")
    finally:
        _set_timeout(connection, give_up_after_s)


def _set_timeout(connection: Connection, seconds: float) -> None:
    connection.exec_driver_sql(f"PRAGMA busy_timeout={int(seconds * 1000)}")


_BUSY = {"SQLITE_BUSY", "SQLITE_LOCKED", "SQLITE_BUSY_SNAPSHOT", "SQLITE_BUSY_RECOVERY"}
_READ_ONLY = "SQLITE_READONLY"
_DAMAGED = ("SQLITE_CORRUPT", "SQLITE_NOTADB")


def error_name(error: BaseException) -> str:
    """SQLite's own name of an error, "" if it is none of its."""
    cause = error.orig if isinstance(error, DBAPIError) else error
    return str(getattr(cause, "sqlite_errorname", ""))


_OUT_OF_RANGE = re.compile(
    r"CHECK constraint failed: ck_(?:load_area|material_use|stage_material|[a-z]+)_(\w+)_"
    r"(?:within|known|order)"
)


@contextmanager
def told(where: Path) -> Iterator[None]:
    """Failures of the file are said as LogError; what is no such failure is ours and passes."""
    try:
        yield
    except (DBAPIError, sqlite3.Error) as error:
        text = str(getattr(error, "orig", error))
        said = _refused(text) or _said(where, error_name(error), text)
        if said is None:
            raise
        raise said from error


def _refused(text: str) -> InputError | None:
    """A value that the schema itself refuses, where no earlier check did."""
    refused = _OUT_OF_RANGE.match(text)
    if refused is None:
        return None
    column = refused.group(1)
    return InputError(
        f"The {column.replace('_', ' ')} is out of its range.", "Nothing was written.", where=column
    )


def _said(where: Path, name: str, text: str) -> LogError | None:
    if name in _BUSY:
        return LogError(
            f"The log is in use: {where}.",
            "Another program kept it locked for too long; nothing was written.",
            "Close the other program, then try again.",
        )
    if name.startswith(_READ_ONLY):
        return LogError(
            f"The log cannot be written: {where}.",
            "The file or its folder is read-only; reading still works.",
            "Copy it to a folder of your own with: finishlog backup FILE",
        )
    if name.startswith(_DAMAGED) or "decode to UTF-8" in text:
        return damaged(where, f"SQLite says: {text}.")
    if name == "SQLITE_FULL":
        return LogError(f"The disk is full: {where}.", "Nothing was written.", "Make room, then try again.")
    if name.startswith(("SQLITE_IOERR", "SQLITE_CANTOPEN")):
        return LogError(
            f"The log cannot be used: {where}.", f"SQLite says: {text}.", "Check the disk and its rights."
        )
    return None


def schema_of(where: Path) -> str | None:
    """The schema revision a log is at; None if it has none. Reads only, and leaves no side files."""
    try:
        with told(where):
            return _schema_at_rest(where) if not _has_wal(where) else _schema(open_reading(where))
    except UnicodeDecodeError:  # SQLite's own complaint quotes the noise
        raise damaged(where, "What it says of its own tables is noise.") from None


def _schema_at_rest(where: Path) -> str | None:
    try:
        return _schema(open_still(where))
    except sqlite3.DatabaseError:  # somebody may have begun to write just now
        return _schema(open_reading(where))


def _schema(raw: sqlite3.Connection) -> str | None:
    with closing(raw):
        table = raw.execute("SELECT 1 FROM sqlite_schema WHERE name = 'alembic_version'").fetchone()
        row = raw.execute("SELECT version_num FROM alembic_version").fetchone() if table else None
    return None if row is None else str(row[0])
