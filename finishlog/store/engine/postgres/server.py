"""All PostgreSQL specifics: the connection, its settings, waiting for the turn to write, errors.

The driver is in autocommit and we issue BEGIN, as on SQLite: REPEATABLE READ READ ONLY for reading (one
snapshot), SERIALIZABLE for writing. A write first takes the table `log_state`, which the server grants in the
order in which it was asked for, and which takes no snapshot: so writes are in turn, each sees all before it, and
numbers that follow on (entries, samples, ids) cannot collide. Readers never wait.
"""

from __future__ import annotations

import os
import platform
import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from functools import lru_cache
from threading import Thread
from typing import Any

from sqlalchemy import create_engine, event
from sqlalchemy.engine import Connection, Engine
from sqlalchemy.exc import DBAPIError
from sqlalchemy.pool import QueuePool

from finishlog.errors import Collided, InputError, LogError, ServerAway
from finishlog.store.engine.postgres import (
    alive,
    columns,  # noqa: F401  (how our columns are made there)
    standing,
)
from finishlog.store.engine.postgres.address import Address
from finishlog.store.engine.postgres.words import Compiler
from finishlog.store.engine.turns import Patience

SCHEMA = "finishlog"
PART = "finishlog_part"
"""The schema of a log that is being made; it is renamed once complete."""
CHANNEL = "finishlog_written"
APPLICATION = "finishlog"
"""What our connections say they are."""
_CANCEL_S = 2.0
_PREPARED = 1000
"""Statements of a connection that the server need not plan anew. An entry takes 80: with the driver's hundred, each
would be forgotten before it comes again."""
_AGAIN = 1
"""What is asked a second time is prepared: the driver would wait for the sixth, and a page is opened again."""
_SETTINGS = (
    "SET search_path = {0}; SET synchronous_commit = on; SET standard_conforming_strings = on; "
    "SET work_mem = '64MB'; SET jit = off"
)
"""A word that half of all jobs have is sorted in memory; compiling a query takes longer than any of ours."""
_READ = "BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY"
_WRITE = "BEGIN ISOLATION LEVEL SERIALIZABLE"
_TURN = "LOCK TABLE log_state IN EXCLUSIVE MODE"
"""Writers are in turn, and may still collide: on a busy server a lock goes before its holder has ended for the checks
of SERIALIZABLE. Such a write is done `anew`."""


def library() -> Any:
    """The driver. Raises LogError where it is not installed."""
    try:
        import psycopg
    except ImportError:
        raise LogError(
            "A log on a server needs PostgreSQL's driver.",
            "It is not installed.",
            'Install it with: pip install "finishlog[postgres]"',
        ) from None
    return psycopg


def connect(where: Address, schema: str = SCHEMA) -> Any:
    """A plain autocommit connection of the driver's. Raises the driver's error."""
    raw = alive.kind().connect(
        where.url,
        autocommit=True,
        client_encoding="utf8",
        application_name=APPLICATION,
        **alive.timers(library(), where.url),
    )
    raw.asked = where.url
    raw.prepared_max = _PREPARED
    raw.prepare_threshold = _AGAIN
    raw.adapters.register_loader("numeric", _numeric())
    raw.adapters.register_dumper(int, library().types.numeric.Int8Dumper)  # else a statement for each width
    raw.execute(_SETTINGS.format(schema))
    if schema == SCHEMA:
        standing.enter(raw, schema)
    return raw


@lru_cache(maxsize=1)
def _numeric() -> type:
    """Sums of whole numbers come as numeric: whole numbers here, as on SQLite."""
    from psycopg.adapt import Loader

    class Number(Loader):
        def load(self, data: Any) -> int | float:
            said = bytes(data)
            return float(said) if b"." in said or b"N" in said else int(said)

    return Number


def make_engine(where: Address, schema: str = SCHEMA) -> Engine:
    """The engine of a log. The execution option `write` is a write's Patience; `plain` begins no write's turn."""
    library()
    engine = create_engine(
        "postgresql+psycopg://",
        creator=lambda: connect(where, schema),
        paramstyle="format",
        hide_parameters=True,
        poolclass=QueuePool,
        pool_size=4,
        max_overflow=16,
        use_native_hstore=False,
    )
    engine.dialect.statement_compiler = Compiler

    @event.listens_for(engine, "begin")
    def _(connection: Connection) -> None:
        options = connection.get_execution_options()
        patience = options.get("write")
        if patience is not None:
            _begin_writing(connection, patience)
        else:
            driver(connection).execute(_WRITE if options.get("plain") else _READ)

    @event.listens_for(engine, "after_cursor_execute")
    def _(connection: Connection, cursor: Any, statement: str, *_: object) -> None:
        if not statement.lstrip().startswith(("SELECT", "WITH")):
            count(connection, cursor.rowcount)

    return engine


def count(connection: Connection, rows: int) -> None:
    """Note rows that a connection wrote."""
    connection.info["written"] = connection.info.get("written", 0) + max(rows, 0)


def process() -> str:
    """Which of all programs this is."""
    return f"{platform.node()}-{os.getpid()}".replace(" ", "-")


def driver(connection: Connection) -> Any:
    """The driver's own connection."""
    return connection.connection.driver_connection


def _begin_writing(connection: Connection, patience: Patience) -> None:
    """Begin, and take one's turn: at once where nobody writes, else in the server's queue."""
    raw = driver(connection)
    try:
        try:
            raw.execute(f"{_WRITE}; {_TURN} NOWAIT")
        except library().errors.LockNotAvailable:
            raw.rollback()
            if patience.spent():
                raise
            raw.execute(_WRITE)
            _wait(raw, patience)
    except BaseException:
        if not raw.closed:
            raw.rollback()
        raise


def _wait(raw: Any, patience: Patience) -> None:
    """Wait in the server's queue; the waiting is told meanwhile, and what that raises ends it."""
    raw.execute(f"SET LOCAL lock_timeout = {max(int(patience.left_s() * 1000), 1)}")
    failed: list[BaseException] = []

    def take() -> None:
        try:
            raw.execute(_TURN)
        except BaseException as error:
            failed.append(error)

    taking = Thread(target=take, daemon=True)
    taking.start()
    try:
        while taking.is_alive():
            taking.join(0.002)
            if taking.is_alive():
                patience.pause()
    except BaseException:
        cancel(raw)
        taking.join()
        raise
    if failed:
        raise failed[0]


def cancel(raw: Any) -> None:
    """Ends what a connection asked. Of a server that is gone there is nothing to end."""
    with suppress(library().Error):
        raw.cancel_safe(timeout=_CANCEL_S)


def sqlstate(error: BaseException) -> str:
    """The server's code of an error (SQLSTATE); "" for other errors."""
    cause = error.orig if isinstance(error, DBAPIError) else error
    return str(getattr(cause, "sqlstate", None) or "")


_READ_ONLY = ("25006", "42501")
"""In a read-only transaction, or without the right to do it."""
_AT_ONCE = ("40001", "40P01")
_WAITED = ("55P03",)
_FULL = ("53100",)
_AWAY = ("57P01", "57P02", "57P03", "53300")
_OUT_OF_RANGE = re.compile(
    r"ck_(?:load_area|material_use|stage_material|stock_move|sample_dose|log_state|[a-z]+)_(\w+)_(?:within|known|order)"
)


def is_read_only(error: BaseException) -> bool:
    """Whether the error means that this user, or this server, does not write."""
    return sqlstate(error) in _READ_ONLY


@contextmanager
def told(where: Address) -> Iterator[None]:
    """Raises the server's failures as LogError; other errors are bugs and pass through."""
    psycopg = library()
    try:
        yield
    except (DBAPIError, psycopg.Error) as error:
        cause = error.orig if isinstance(error, DBAPIError) else error
        said = _refused(cause) or _said(where, cause)
        if said is None:
            raise
        raise said from error


def _refused(cause: Any) -> InputError | None:
    """The error for a value that only the schema refused, or that no text on a server can hold."""
    if isinstance(cause, library().DataError) and "NUL" in str(cause):
        return InputError("A text has the character NUL in it; no server keeps that.", "Nothing was written.")
    if sqlstate(cause) == "42501" and line(cause).startswith(
        "Only the "
    ):  # a rule of a role, as the log says it
        return InputError(f"{line(cause)}.", "Nothing was written.")
    name = getattr(getattr(cause, "diag", None), "constraint_name", None)
    found = _OUT_OF_RANGE.match(name) if name and sqlstate(cause) == "23514" else None
    if found is None:
        return None
    column = found.group(1)
    return InputError(
        f"The {column.replace('_', ' ')} is out of range.", "Nothing was written.", where=column
    )


def _said(where: Address, cause: Any) -> LogError | None:
    state = sqlstate(cause)
    if state in _AT_ONCE:
        return Collided("Somebody wrote at the same moment.", "Nothing was written.", "Try again.")
    if state in _WAITED:
        return LogError(
            f"The log is in use: {where}.",
            "Another program kept it locked too long; nothing was written.",
            "Close the other program, then try again.",
        )
    if state in _FULL:
        return LogError(
            f"The server's disk is full: {where}.", "Nothing was written.", "Free some space, then try again."
        )
    if state in _READ_ONLY:
        return LogError(
            f"Cannot write the log: {where}.", f"The server says: {line(cause)}.", "Ask who runs the server."
        )
    if is_away(cause):
        return away(where, cause)
    if state[:2] in ("53", "55", "57", "58", "XX") or state in ("3F000", "42P01"):
        return LogError(
            f"Cannot use the log: {where}.", f"The server says: {line(cause)}.", "Restore a dump of it."
        )
    return None


def is_away(error: BaseException) -> bool:
    """Whether the error means that the server cannot be reached, or went away."""
    cause, state = (error.orig if isinstance(error, DBAPIError) else error), sqlstate(error)
    if state:
        return state in _AWAY or state.startswith("08")
    return isinstance(cause, library().OperationalError)


def is_lost(error: BaseException) -> bool:
    """Whether a connection ended though the server may be there: it was started anew, or ended it."""
    cause = error.orig if isinstance(error, DBAPIError) else error
    return is_away(error) and not isinstance(cause, library().errors.ConnectionTimeout)


def away(where: Address, cause: BaseException, write: str = "") -> ServerAway:
    """The failure to reach the server; `write` names a write that it was committing."""
    return ServerAway(
        f"The log's server cannot be reached: {where}.",
        f"It says: {line(cause)}.",
        "Look whether it was written before you write it again."
        if write
        else "Check the address, the network and the server, then try again.",
        write=write,
        silent=isinstance(cause, library().errors.ConnectionTimeout),
    )


def line(cause: BaseException) -> str:
    """The last line of what the server or the driver says."""
    lines = [one.strip() for one in str(cause).splitlines() if one.strip()]
    said = getattr(getattr(cause, "diag", None), "message_primary", None)
    return (said or (lines[-1] if lines else type(cause).__name__)).rstrip(".")


@contextmanager
def stoppable(raw: Any, stopped_by: Callable[[Callable[[], None]], Any]) -> Iterator[list[bool]]:
    """A read that can be ended from another thread; the list says, by having something in it, that it was."""
    ended: list[bool] = []

    def end() -> None:
        ended.append(True)
        cancel(raw)

    with stopped_by(end):
        yield ended
