"""SQLite, the one place that knows it: the file, its header, the engine, waiting, its errors.

The default driver mode loses updates without a word, so the driver is in autocommit and
BEGIN is ours: deferred for reading (one snapshot), IMMEDIATE for writing. WAL is set once,
when a log is made; setting it on a file that is not ours would change that file.
"""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from sqlalchemy import create_engine, event
from sqlalchemy.engine import Connection, Engine
from sqlalchemy.exc import DBAPIError
from sqlalchemy.pool import QueuePool

from finishlog.errors import InputError, LogError
from finishlog.store.engine.header import damaged, has_wal
from finishlog.store.engine.protocol import GIVE_UP_AFTER_S, Waiting

WORD_AFTER_S = 2.0


def uri(where: Path, mode: str, *, immutable: bool = False) -> str:
    """The file as SQLite's URI, so that `?`, `#` and `%` in a name stay part of the name."""
    return f"{where.absolute().as_uri()}?mode={mode}" + ("&immutable=1" if immutable else "")


def open_raw(
    where: Path, mode: str, *, timeout_s: float = GIVE_UP_AFTER_S, any_thread: bool = False
) -> sqlite3.Connection:
    """A plain connection in autocommit. `mode` is ro, rw or rwc; of `any_thread`, one at a time."""
    return sqlite3.connect(
        uri(where, mode), uri=True, isolation_level=None, timeout=timeout_s, check_same_thread=not any_thread
    )


def open_reading(where: Path) -> sqlite3.Connection:
    """A connection that only reads, also where neither the file nor its folder can be written."""
    raw = open_raw(where, "ro")
    try:
        raw.execute("SELECT count(*) FROM sqlite_schema").fetchone()
    except sqlite3.OperationalError:
        raw.close()
        if has_wal(where):  # what stands in the side file would be left out silently
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


def data_version(raw: sqlite3.Connection) -> int:
    """A number that changes when any other connection, of any program, commits."""
    return int(raw.execute("PRAGMA data_version").fetchone()[0])


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
_NOISE = re.compile(
    r"decode to UTF-8|no such (?:table|column): |invalid fts5 file format|vtable constructor failed"
)
"""What SQLite says, under no name of its own, of a log that lost a table or holds noise."""


def error_name(error: BaseException) -> str:
    """SQLite's own name of an error, "" if it is none of its."""
    cause = error.orig if isinstance(error, DBAPIError) else error
    return str(getattr(cause, "sqlite_errorname", ""))


def is_read_only(error: BaseException) -> bool:
    """Whether it says that the file or its folder cannot be written."""
    return error_name(error).startswith(_READ_ONLY)


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
        f"The {column.replace('_', ' ')} is out of range.", "Nothing was written.", where=column
    )


def _said(where: Path, name: str, text: str) -> LogError | None:
    if name in _BUSY:
        return LogError(
            f"The log is in use: {where}.",
            "Another program kept it locked too long; nothing was written.",
            "Close the other program, then try again.",
        )
    if name.startswith(_READ_ONLY):
        return LogError(
            f"Cannot write the log: {where}.",
            "The file or its folder is read-only; reading still works.",
            "Copy it to a folder of your own with: finishlog backup FILE",
        )
    if name.startswith(_DAMAGED) or _NOISE.search(text):
        return damaged(where, f"SQLite says: {text}.")
    if name == "SQLITE_FULL":
        return LogError(
            f"The disk is full: {where}.", "Nothing was written.", "Free some space, then try again."
        )
    if name.startswith(("SQLITE_IOERR", "SQLITE_CANTOPEN")):
        return LogError(
            f"Cannot use the log: {where}.", f"SQLite says: {text}.", "Check the disk and its permissions."
        )
    return None


def schema_of(where: Path) -> str | None:
    """The schema revision a log is at; None if it has none. Reads only, and leaves no side files."""
    try:
        with told(where):
            return _schema_at_rest(where) if not has_wal(where) else _schema(open_reading(where))
    except UnicodeDecodeError:  # SQLite's own complaint quotes the noise
        raise damaged(where, "What it says of its own tables is noise.") from None


def _schema_at_rest(where: Path) -> str | None:
    try:
        return _schema(open_still(where))
    except sqlite3.DatabaseError:  # somebody may have begun to write just now
        return _schema(open_reading(where) if has_wal(where) else open_still(where))


def _schema(raw: sqlite3.Connection) -> str | None:
    with closing(raw):
        table = raw.execute("SELECT 1 FROM sqlite_schema WHERE name = 'alembic_version'").fetchone()
        row = raw.execute("SELECT version_num FROM alembic_version").fetchone() if table else None
    return None if row is None else str(row[0])
