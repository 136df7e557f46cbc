"""`protocol.Engine` for a SQLite file."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import AbstractContextManager, closing, contextmanager, nullcontext, suppress
from functools import cache, partial
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING, Any

from sqlalchemy import Table, insert
from sqlalchemy.engine import Connection, Dialect
from sqlalchemy.exc import DBAPIError

from finishlog import stopping
from finishlog.errors import LogError
from finishlog.store.disk.attachments import Attachments, folder_of
from finishlog.store.engine import backup, header, sqlite, turns, upgrade, wal
from finishlog.store.engine.guard import REPLACED, REWRITTEN, Guard, changed, name_for
from finishlog.store.engine.protocol import ENGINE, GIVE_UP_AFTER_S, Compute, Engine, Rows, Salvage, Waiting
from finishlog.store.engine.turns import Patience
from finishlog.store.engine.upgrade import bring_up_to_date
from finishlog.store.engine.watching import Watch

if TYPE_CHECKING:
    from finishlog.store.schema.base import Base

WAL_RESET_FIXED = (3, 51, 3)


class Sqlite(Engine):
    """One log in one SQLite file. Thread-safe."""

    where: Path
    text_key = "rowid"

    def __init__(
        self,
        where: Path,
        *,
        named: Path | None = None,
        on_wait: Waiting | None = None,
        give_up_after_s: float = GIVE_UP_AFTER_S,
    ) -> None:
        self.where = where
        self._named = named or where
        self._engine = sqlite.make_engine(where)
        self._patience = partial(Patience, on_wait, give_up_after_s)
        self._watch: Watch | None = None
        self._watching = Lock()
        self._closed = False
        self._guard: Guard | None = None
        self._guarding = Lock()
        self._busy = 0
        self._kept: Path | None = None
        self._aside: Path | None = None
        self._told_lost = False

    # the log as a whole

    def require(self) -> None:
        header.require_log(self.where)
        self._guarded()

    def set_aside(self) -> Path | None:
        return self._aside

    def make(self) -> None:
        upgrade.make(self.where)

    def mark(self) -> None:
        upgrade.mark(self.where)

    def migrate(self, revision: str = "head") -> None:
        upgrade.migrate(self.where, revision)

    def bring_up_to_date(self, compute: Compute, *, upgrade: bool = True) -> Path | None:
        def of_this(connection: Connection, older: str) -> None:
            compute(connection.execution_options(**{ENGINE: self}), older)

        return bring_up_to_date(self.where, of_this, upgrade=upgrade)

    @contextmanager
    def filling(self) -> Iterator[Connection]:
        with upgrade.migrating(self.where) as connection:
            yield connection.execution_options(**{ENGINE: self})

    def load(self, connection: Connection, table: str, columns: Sequence[str], rows: Iterator[Rows]) -> None:
        names, marks = ", ".join(f'"{name}"' for name in columns), ", ".join("?" * len(columns))
        statement = f'INSERT INTO "{table}" ({names}) VALUES ({marks})'
        try:
            for some in rows:
                sqlite.driver(connection).executemany(statement, some)
        except sqlite3.Error as error:
            raise _as_alchemy(connection, statement, error) from error

    @contextmanager
    def quietly(self, connection: Connection) -> Iterator[None]:
        """They go, and come back as they were: no setting of SQLite's holds them up."""
        found = "SELECT name, sql FROM sqlite_schema WHERE type = 'trigger' ORDER BY rowid"
        triggers = self.run(connection, found, {})[0]
        for name, _ in triggers:
            self.run(connection, f'DROP TRIGGER "{name}"', {})
        yield
        for _, statement in triggers:
            self.run(connection, statement, {})

    def copy_into(self, part: Path) -> None:
        self._require_same()
        upgrade.copy_into(self.where, part)

    def backup(self, target: Path) -> None:
        self._require_same()
        backup.backup(self.where, target)

    def salvage(self) -> Salvage:
        from finishlog.store.engine.salvage import reading

        header.read_header(self.where)
        return reading.Salvage(self.where)

    def files(self, connection: Connection) -> Attachments:
        return Attachments(folder_of(self.where))

    def failures(self) -> AbstractContextManager[None]:
        return sqlite.told(self._named)

    # the open log

    @contextmanager
    def connection(self, *, write: bool, wait: bool = True) -> Iterator[Connection]:
        patience = None if not write else self._patience() if wait else Patience(None, 0.0)
        with self._used(), self.failures(), self._turn(patience), self._engine.connect() as plain:
            self._guarded().reading()
            connection = plain.execution_options(write=patience, **{ENGINE: self})
            transaction = connection.begin()
            watch = self._watch if write else None
            committed = watch.own(sqlite.driver(connection)) if watch else None
            wrote = self.written(connection)
            try:
                self._require_same()
                if write:
                    yield connection
                    if self.written(connection) != wrote:
                        sqlite.stamp(connection)
                    self._require_same()
                    transaction.commit()
                    self._require_same()
                else:
                    with stopping.stopped_by(sqlite.driver(connection).interrupt):
                        yield connection
                if committed is not None:
                    committed()
            finally:
                transaction.close()  # rolls back anything uncommitted; a read has nothing to commit

    @contextmanager
    def _used(self) -> Iterator[None]:
        with self._guarding:
            self._busy += 1
        try:
            self._require_same()
            yield
        finally:
            with self._guarding:
                self._busy -= 1
                last = self._closed and not self._busy
            if last:
                self._release()

    def _turn(self, patience: Patience | None) -> AbstractContextManager[None]:
        return nullcontext() if patience is None else turns.turn(self.where, patience)

    def was_written(self, write: str) -> bool | None:
        """None is ever unsure: nothing lies between us and the file."""
        return None

    def can_write(self) -> bool:
        """BEGIN alone would also succeed on a read-only file."""
        try:
            with self.connection(write=True) as connection:
                connection.exec_driver_sql("DELETE FROM draft WHERE 0")
                return True
        except LogError as error:
            if error.__cause__ is not None and sqlite.is_read_only(error.__cause__):
                return False
            raise

    def others_wrote(self) -> bool:
        with self._watching:
            if self._watch is None and not self._closed and not self._guarded().wrong():
                self._watch = Watch(self.where)
            return self._watch is not None and self._watch.news()

    def role(self) -> str | None:
        return None

    def close(self) -> None:
        """While a worker is still at it, its locks stay: the last to be done releases the file."""
        with self._watching, self._guarding:
            self._closed = True
            if self._watch is not None:
                self._watch.close()
            busy = self._busy > 0
        if not busy:
            self._release()

    def _release(self) -> None:
        with self._guarding:
            guard, self._guard = self._guard, None
        cause = guard.wrong() if guard is not None else ""
        if cause == REWRITTEN:
            wal.empty_strange(self.where)
        self._engine.dispose()
        if guard is not None:
            guard.close()
        turns.leave(self.where)
        if cause == REPLACED:
            with suppress(LogError, OSError):  # if somebody still has it open, the next to open it looks
                wal.set_aside_strange(self.where)

    def _guarded(self) -> Guard:
        """Of a log not looked at before, a strange -wal goes first: no connection may merge it."""
        with self._guarding:
            if self._guard is None:
                try:
                    self._aside = wal.set_aside_strange(self.where)
                    self._guard = Guard(self.where)
                except OSError:
                    raise header.missing(self.where) from None
            return self._guard

    def _require_same(self) -> None:
        """Refuse a log that was replaced, moved or removed meanwhile."""
        cause = self._guarded().wrong()
        if cause:
            raise changed(self._named, cause, self._saved(cause))
        self._told_lost, self._kept = False, None

    def _saved(self, cause: str) -> Path | None:
        """Once, all that the lost file held, as far as a connection still has it open."""
        with self._guarding:
            if self._told_lost or cause == REWRITTEN:
                return self._kept
            self._told_lost = True
            if self._engine.pool.checkedin():  # type: ignore[attr-defined]  # a new one would open what is there now
                with suppress(LogError, DBAPIError, sqlite3.Error, OSError), self._engine.connect() as plain:
                    target = name_for(self.where)
                    upgrade.copy_open(sqlite.driver(plain), target)
                    self._kept = target
            return self._kept

    def settled(self) -> bool:
        return not header.has_wal(self.where)

    # within a transaction

    def insert(self, connection: Connection, row: type[Base], values: Mapping[str, Any]) -> int:
        """A sheet of 3,000 pours is 80,000 rows, so the statement is built once and goes straight to the driver.

        SQLAlchemy takes 38 µs per row, its way past the compiler 17, this 4 (rows of three columns).
        """
        statement, writers = _insert(row.__table__, tuple(values), connection.dialect)
        bound = _bound(writers, values)
        try:
            return int(sqlite.driver(connection).execute(statement, bound).lastrowid)
        except sqlite3.Error as error:
            raise _as_alchemy(connection, statement, error) from error

    def insert_all(self, connection: Connection, row: type[Base], rows: Sequence[Mapping[str, Any]]) -> None:
        statement, writers = _insert(row.__table__, tuple(rows[0]), connection.dialect)
        bound = [_bound(writers, values) for values in rows]
        try:
            sqlite.driver(connection).executemany(statement, bound)
        except sqlite3.Error as error:
            raise _as_alchemy(connection, statement, error) from error

    @contextmanager
    def part(self, connection: Connection) -> Iterator[None]:
        """SQLAlchemy names and compiles each savepoint anew, which takes as long as what most parts do."""
        self.run(connection, "SAVEPOINT part", {})
        try:
            yield
        except BaseException:
            self.run(connection, "ROLLBACK TO part", {})
            self.run(connection, "RELEASE part", {})
            raise
        self.run(connection, "RELEASE part", {})

    def run(self, connection: Connection, statement: str, values: Mapping[str, Any]) -> tuple[Rows, int]:
        try:
            cursor = sqlite.driver(connection).execute(statement, values)
            return cursor.fetchall(), cursor.rowcount
        except sqlite3.Error as error:
            raise _as_alchemy(connection, statement, error) from error

    def stream(self, connection: Connection, statement: str, at_once: int) -> Iterator[Rows]:
        try:
            with closing(sqlite.driver(connection).execute(statement)) as cursor:
                while some := cursor.fetchmany(at_once):
                    yield some
        except sqlite3.Error as error:
            raise _as_alchemy(connection, statement, error) from error

    def written(self, connection: Connection) -> int:
        return int(sqlite.driver(connection).total_changes)

    def dangling(self, connection: Connection) -> list[tuple[str, str]]:
        rows = connection.exec_driver_sql("PRAGMA foreign_key_check")
        return [(str(row[0]), str(row[2])) for row in rows]

    def faults(self, connection: Connection, most: int, tick: Callable[[], None] | None = None) -> list[str]:
        with sqlite.ticking(sqlite.driver(connection), tick):
            try:
                lines = connection.exec_driver_sql(f"PRAGMA integrity_check({most})").scalars()
                found = [str(line) for line in lines]
            except DBAPIError as error:  # the damage stops the check itself
                found = [str(error.orig)]
        return [] if found == ["ok"] else found

    def version(self, connection: Connection) -> str:
        return str(connection.exec_driver_sql("SELECT sqlite_version()").scalar_one())

    def cautions(self, connection: Connection) -> tuple[str, ...]:
        return cautions(self.version(connection))


def _as_alchemy(connection: Connection, statement: str, error: sqlite3.Error) -> BaseException:
    """A failure of the driver, as SQLAlchemy raises it."""
    return DBAPIError.instance(statement, None, error, sqlite3.Error, dialect=connection.dialect)


Writers = list[tuple[str, Callable[[Any], Any] | None]]


def _bound(writers: Writers, values: Mapping[str, Any]) -> list[Any]:
    """The values as the driver takes them, in the order of the statement."""
    return [values[name] if write is None else write(values[name]) for name, write in writers]


@cache
def _insert(target: Table, columns: tuple[str, ...], dialect: Dialect) -> tuple[str, Writers]:
    """The statement for these columns, with the driver converters in the same order."""
    made = insert(target).compile(dialect=dialect, column_keys=columns)
    types = {name: target.c[name].type.dialect_impl(dialect) for name in made.positiontup or ()}
    return str(made), [(name, kind.bind_processor(dialect)) for name, kind in types.items()]


def cautions(version: str) -> tuple[str, ...]:
    """A fault of old versions that matters with several programs open."""
    parts = tuple(int(part) for part in version.split("."))
    if (3, 7, 0) <= parts < WAL_RESET_FIXED:
        return (
            f"SQLite {version} has a rare fault that can damage a log when several programs write at once; "
            "fixed in 3.51.3. Keep backups.",
        )
    return ()
