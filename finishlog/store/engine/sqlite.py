"""All SQLite specifics: file, header, engine, waiting, errors.

The driver's default mode silently loses updates, so the driver is in autocommit and we issue
BEGIN: deferred for reading (one snapshot), IMMEDIATE for writing. WAL is set once, when a log is
made; setting it on a foreign file would change that file.
"""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from sqlalchemy import create_engine, event
from sqlalchemy.engine import Connection, Engine
from sqlalchemy.exc import DBAPIError
from sqlalchemy.pool import QueuePool

from finishlog.errors import InputError, LogError
from finishlog.store.engine.header import damaged, has_wal
from finishlog.store.engine.protocol import GIVE_UP_AFTER_S, Waiting
from finishlog.store.engine.wal import next_stamp

WORD_AFTER_S = 2.0


def uri(where: Path, mode: str, *, immutable: bool = False) -> str:
    """The file as a SQLite URI, with `?`, `#` and `%` in the name escaped."""
    return f"{where.absolute().as_uri()}?mode={mode}" + ("&immutable=1" if immutable else "")


def open_raw(
    where: Path, mode: str, *, timeout_s: float = GIVE_UP_AFTER_S, any_thread: bool = False
) -> sqlite3.Connection:
    """A plain autocommit connection. `mode` is ro, rw or rwc; `any_thread` allows any, one at a time."""
    return sqlite3.connect(
        uri(where, mode), uri=True, isolation_level=None, timeout=timeout_s, check_same_thread=not any_thread
    )


def open_reading(where: Path) -> sqlite3.Connection:
    """A read-only connection that works even if neither file nor folder is writable."""
    raw = open_raw(where, "ro")
    try:
        raw.execute("SELECT count(*) FROM sqlite_schema").fetchone()
    except sqlite3.OperationalError:
        raw.close()
        if has_wal(where):  # the WAL's contents would be silently ignored
            raise
        raw = open_still(where)
    return raw


def open_still(where: Path) -> sqlite3.Connection:
    """Lock-free read of a file no one is writing; makes no side files."""
    return sqlite3.connect(uri(where, "ro", immutable=True), uri=True, isolation_level=None)


def make_engine(
    where: Path, *, on_wait: Waiting | None = None, give_up_after_s: float = GIVE_UP_AFTER_S
) -> Engine:
    """The engine of a log checked by `require_log`. Falls back to read-only."""
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
    """A writable connection if possible, else read-only; the last one removes the side files."""
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
    """Changes when any other connection, in any program, commits."""
    return int(raw.execute("PRAGMA data_version").fetchone()[0])


def stamp(connection: Connection) -> None:
    """Leave the next stamp in the log's header, last in each write: by it a -wal is known as the log's (`wal`)."""
    before = int(connection.exec_driver_sql("PRAGMA user_version").scalar_one())
    connection.exec_driver_sql(f"PRAGMA user_version={next_stamp(before)}")


@contextmanager
def ticking(raw: sqlite3.Connection, tick: Callable[[], None] | None) -> Iterator[None]:
    """Calls `tick` during long statements; what it raises interrupts them and comes out of the block."""
    raised: list[BaseException] = []

    def ticked() -> int:
        try:
            if tick is not None and not raised:
                tick()
        except BaseException as error:
            raised.append(error)
        return len(raised)

    raw.set_progress_handler(ticked, 500_000)
    try:
        yield
    finally:
        raw.set_progress_handler(None, 0)
        if raised:
            raise raised[0]


def _begin_writing(connection: Connection, on_wait: Waiting | None, give_up_after_s: float) -> None:
    """BEGIN IMMEDIATE; reports a long wait, then fails with the driver's error."""
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
"""SQLite's unnamed messages for a log with a missing table or garbage."""


def error_name(error: BaseException) -> str:
    """SQLite's name of an error; "" for other errors."""
    cause = error.orig if isinstance(error, DBAPIError) else error
    return str(getattr(cause, "sqlite_errorname", ""))


def is_read_only(error: BaseException) -> bool:
    """Whether the error means an unwritable file or folder."""
    return error_name(error).startswith(_READ_ONLY)


_OUT_OF_RANGE = re.compile(
    r"CHECK constraint failed: ck_(?:load_area|material_use|stage_material|[a-z]+)_(\w+)_"
    r"(?:within|known|order)"
)


@contextmanager
def told(where: Path) -> Iterator[None]:
    """Raises file failures as LogError; other errors are bugs and pass through."""
    try:
        yield
    except (DBAPIError, sqlite3.Error) as error:
        text = str(getattr(error, "orig", error))
        said = _refused(text) or _said(where, error_name(error), text)
        if said is None:
            raise
        raise said from error


def _refused(text: str) -> InputError | None:
    """The error for a value that only the schema refused."""
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
    """A log's schema revision; None if it has none. Read-only, without side files."""
    try:
        with told(where):
            return _schema_at_rest(where) if not has_wal(where) else _schema(open_reading(where))
    except UnicodeDecodeError:  # SQLite's own message quotes the garbage
        raise damaged(where, "What it says of its own tables is noise.") from None


def _schema_at_rest(where: Path) -> str | None:
    try:
        return _schema(open_still(where))
    except sqlite3.DatabaseError:  # someone may have just started writing
        return _schema(open_reading(where) if has_wal(where) else open_still(where))


def _schema(raw: sqlite3.Connection) -> str | None:
    with closing(raw):
        table = raw.execute("SELECT 1 FROM sqlite_schema WHERE name = 'alembic_version'").fetchone()
        row = raw.execute("SELECT version_num FROM alembic_version").fetchone() if table else None
    return None if row is None else str(row[0])
