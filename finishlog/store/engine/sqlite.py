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
from typing import Any

from sqlalchemy import create_engine, event
from sqlalchemy.engine import Connection, Engine
from sqlalchemy.exc import DBAPIError
from sqlalchemy.pool import QueuePool

from finishlog.errors import InputError, LogError
from finishlog.stopping import Stopped
from finishlog.store.disk.files import has_no_room
from finishlog.store.engine.header import damaged, has_wal
from finishlog.store.engine.protocol import GIVE_UP_AFTER_S
from finishlog.store.engine.turns import Patience
from finishlog.store.engine.wal import next_stamp


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


def make_engine(where: Path) -> Engine:
    """The engine of a log checked by `require_log`. Falls back to read-only.

    The execution option `write` is a write's Patience.
    """
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
        patience = connection.get_execution_options().get("write")
        if patience is not None:
            _begin_writing(connection, patience)
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
    raw = driver(connection)
    before = int(raw.execute("PRAGMA user_version").fetchone()[0])
    raw.execute(f"PRAGMA user_version={next_stamp(before)}").close()


def driver(connection: Connection) -> Any:
    """The driver's own connection."""
    return connection.connection.driver_connection


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


def _begin_writing(connection: Connection, patience: Patience) -> None:
    """BEGIN IMMEDIATE, tried until nobody else writes; fails with the driver's error in the end."""
    _set_timeout(connection, 0)
    try:
        while not _begun(connection, last=patience.spent()):
            patience.pause()
    finally:
        _set_timeout(connection, GIVE_UP_AFTER_S)


def _begun(connection: Connection, *, last: bool) -> bool:
    try:
        driver(connection).execute("BEGIN IMMEDIATE").close()
    except sqlite3.Error as error:
        if last or error_name(error) not in _BUSY:
            raise
        return False
    return True


def _set_timeout(connection: Connection, seconds: float) -> None:
    driver(connection).execute(f"PRAGMA busy_timeout={int(seconds * 1000)}").close()


_BUSY = {"SQLITE_BUSY", "SQLITE_LOCKED", "SQLITE_BUSY_SNAPSHOT", "SQLITE_BUSY_RECOVERY"}
_READ_ONLY = "SQLITE_READONLY"
_WITHOUT_ROOM = (_READ_ONLY, "SQLITE_IOERR", "SQLITE_CANTOPEN")
"""What SQLite says too where it cannot make or fill its side files."""
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
        first = _first(error)
        if error_name(first) == "SQLITE_INTERRUPT":
            raise Stopped from None
        text = str(getattr(first, "orig", first))
        said = _refused(text) or _said(where, error_name(first), text)
        if said is None:
            raise
        raise said from first


def _first(error: BaseException) -> BaseException:
    """The failure itself, where SQLite has rolled back all and the savepoint to go back to is gone with it."""
    while "no such savepoint" in str(error) and error.__context__ is not None:
        error = error.__context__
    return error


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
    if name == "SQLITE_FULL" or (name.startswith(_WITHOUT_ROOM) and has_no_room(where.parent)):
        return LogError(
            f"The disk is full: {where}.", "Nothing was written.", "Free some space, then try again."
        )
    if name.startswith(_READ_ONLY):
        return LogError(
            f"Cannot write the log: {where}.",
            "The file or its folder is read-only; reading still works.",
            "Copy it to a folder of your own with: finishlog backup FILE",
        )
    if name.startswith(_DAMAGED) or _NOISE.search(text):
        return damaged(where, f"SQLite says: {text}.")
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
