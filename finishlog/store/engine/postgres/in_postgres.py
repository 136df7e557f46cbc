"""`protocol.Engine` for a log in a database on a PostgreSQL server: all of it is in one schema, `finishlog`."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import AbstractContextManager, closing, contextmanager
from functools import cache, partial
from itertools import count
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sqlalchemy import Table
from sqlalchemy.engine import Connection, Dialect, RootTransaction
from sqlalchemy.exc import DBAPIError

from finishlog import stopping
from finishlog.errors import LogError
from finishlog.store.engine.postgres import loading, making, outcome, secured, server, standing
from finishlog.store.engine.postgres.address import Address
from finishlog.store.engine.postgres.files.places import Held
from finishlog.store.engine.postgres.hearing import Hearing
from finishlog.store.engine.postgres.whole import upgrading
from finishlog.store.engine.protocol import (
    ENGINE,
    GIVE_UP_AFTER_S,
    Compute,
    Engine,
    Rights,
    Rows,
    Salvage,
    Waiting,
)
from finishlog.store.engine.turns import Patience
from finishlog.store.schema.rows import positional

if TYPE_CHECKING:
    from finishlog.store.schema.base import Base

_NAMES = count()
_DROPPED = f"DROP SCHEMA IF EXISTS {server.PART} CASCADE"
Writers = list[tuple[str, Callable[[Any], Any] | None]]


class Postgres(Engine):
    """One log in one database. Thread-safe."""

    where: Address
    text_key = "job_id"

    def __init__(
        self,
        where: Address,
        *,
        on_wait: Waiting | None = None,
        give_up_after_s: float = GIVE_UP_AFTER_S,
        schema: str = server.SCHEMA,
    ) -> None:
        self.where = where
        self._schema = schema
        self._give_up_after_s = give_up_after_s
        self._patience = partial(Patience, on_wait, give_up_after_s)
        self._engine = server.make_engine(where, schema)
        self._hearing = Hearing(where, self._is_foreign)
        self._role: list[str | None] = []

    # the log as a whole

    def require(self) -> None:
        with self.failures():
            making.require(self.where, self._schema)

    def set_aside(self) -> Path | None:
        return None

    def make(self) -> None:
        with self.failures():
            making.make(self.where, self._schema)

    def mark(self) -> None:
        """A log made here is marked by its schema. What was filled in is counted, or the server would guess."""
        with self.failures():
            loading.counted(self.where, self._schema)

    def migrate(self, revision: str = "head") -> None:
        making.migrate(self.where, self._schema, revision)

    def bring_up_to_date(self, compute: Compute, *, upgrade: bool = True) -> str | None:
        with self.failures():
            return upgrading.bring_up_to_date(
                self, self.where, self._schema, compute, self._give_up_after_s, upgrade=upgrade
            )

    @contextmanager
    def filling(self) -> Iterator[Connection]:
        with self.connection(write=True) as connection:
            server.driver(connection).execute("SET CONSTRAINTS ALL DEFERRED")
            yield connection

    def load(self, connection: Connection, table: str, columns: Sequence[str], rows: Iterator[Rows]) -> None:
        try:
            server.count(connection, loading.load(server.driver(connection), table, columns, rows))
        except server.library().Error as error:
            raise _as_alchemy(connection, f"COPY {table}", error) from error

    def quietly(self, connection: Connection) -> AbstractContextManager[None]:
        return loading.quietly(connection)

    def copy_into(self, part: Path) -> None:
        from finishlog.store.engine.postgres import into_file

        into_file.copy_into(self, part)

    def backup(self, target: Path) -> None:
        from finishlog.store.engine.postgres import into_file

        into_file.backup(self, target)

    def salvage(self) -> Salvage:
        raise _not_yet(self.where, "rescued", "Restore a dump of it.")

    def files(self, connection: Connection) -> Held:
        return Held(connection)

    def failures(self) -> AbstractContextManager[None]:
        return server.told(self.where)

    # the open log

    @contextmanager
    def connection(self, *, write: bool, wait: bool = True) -> Iterator[Connection]:
        patience = None if not write else self._patience() if wait else Patience(None, 0.0)
        with self.failures(), self._begun(patience) as (connection, transaction):
            wrote = self.written(connection)
            try:
                if write:
                    yield connection
                    token = ""
                    if self.written(connection) != wrote:
                        token = outcome.leave(connection, self._name(connection))
                    with outcome.committing(self.where, token):
                        transaction.commit()
                else:
                    yield from self._read(connection)
                    self._leave(connection, transaction)
            finally:
                self._end(connection, transaction)

    @contextmanager
    def _begun(self, patience: Patience | None) -> Iterator[tuple[Connection, RootTransaction]]:
        """A transaction. A connection that ended while nobody used it is replaced: nothing was asked of it yet."""
        for last in (False, True):
            with self._engine.connect() as plain:
                connection = plain.execution_options(write=patience, **{ENGINE: self})
                try:
                    transaction = connection.begin()
                except (DBAPIError, server.library().Error) as error:
                    if not server.driver(connection).closed:
                        raise
                    connection.invalidate()
                    if last or not server.is_lost(error):
                        raise
                    self._engine.dispose()
                    continue
                yield connection, transaction
                return

    def _read(self, connection: Connection) -> Iterator[Connection]:
        with server.stoppable(server.driver(connection), stopping.stopped_by) as ended:
            try:
                yield connection
            except DBAPIError as error:
                if ended and server.sqlstate(error) == "57014":
                    raise stopping.Stopped from None
                raise
            finally:
                if ended:  # the server may be about to cancel what this connection asks next
                    connection.invalidate()

    def _leave(self, connection: Connection, transaction: RootTransaction) -> None:
        """Ends a read as if it had written: after a rollback the driver has all statements planned anew."""
        if not connection.invalidated:
            server.driver(connection).execute("END")
            transaction.commit()

    def _end(self, connection: Connection, transaction: RootTransaction) -> None:
        """Rolls back what is not committed; of a server that is gone nothing is left to roll back."""
        if connection.invalidated or server.driver(connection).closed:
            connection.invalidate()
            return
        transaction.close()

    def _name(self, _connection: Connection) -> str:
        return f"{self._schema} {id(self)} {server.process()}"

    def was_written(self, write: str) -> bool | None:
        try:
            with self.connection(write=True) as connection:  # the turn comes when the one asked for has ended
                return outcome.is_there(connection, write)
        except LogError:
            return None

    def can_write(self) -> bool:
        try:
            with self.connection(write=True) as connection:
                server.driver(connection).execute("DELETE FROM draft WHERE false")
                return True
        except LogError as error:
            if error.__cause__ is not None and server.is_read_only(error.__cause__):
                return False
            raise

    def others_wrote(self) -> bool:
        return self._hearing.news()

    def _is_foreign(self, said: str) -> bool:
        schema, engine, process = (*said.split(" "), "", "", "")[:3]
        return schema == self._schema and (engine, process) != (str(id(self)), server.process())

    def role(self) -> str | None:
        if not self._role:
            with self.failures(), closing(server.connect(self.where, self._schema)) as raw:
                self._role = [standing.role_of(raw, self._schema)]
        return self._role[0]

    def close(self) -> None:
        self._hearing.close()
        self._engine.dispose()

    def settled(self) -> bool:
        return True

    # within a transaction

    def insert(self, connection: Connection, row: type[Base], values: Mapping[str, Any]) -> int:
        """The id is one more than the last: only one writes at a time (`postgres`)."""
        statement, writers = _insert(row.__table__, tuple(values), connection.dialect, True)
        found = self._execute(connection, statement, _bound(writers, values)).fetchone()
        server.count(connection, 1)
        return int(found[0]) if isinstance(found[0], int) else 0

    def insert_all(self, connection: Connection, row: type[Base], rows: Sequence[Mapping[str, Any]]) -> None:
        statement, writers = _insert(row.__table__, tuple(rows[0]), connection.dialect, False)
        bound = [_bound(writers, values) for values in rows]
        try:
            with server.driver(connection).cursor() as cursor:
                if len(bound) == 1:  # many go as a batch, which takes three ways for one
                    cursor.execute(statement, bound[0])
                else:
                    cursor.executemany(statement, bound)
        except server.library().Error as error:
            raise _as_alchemy(connection, statement, error) from error
        server.count(connection, len(rows))

    @contextmanager
    def part(self, connection: Connection) -> Iterator[None]:
        raw = server.driver(connection)
        raw.execute("SAVEPOINT part")
        try:
            yield
        except BaseException:
            if not raw.closed:
                raw.execute("ROLLBACK TO SAVEPOINT part")
                raw.execute("RELEASE SAVEPOINT part")
            raise
        raw.execute("RELEASE SAVEPOINT part")

    def run(self, connection: Connection, statement: str, values: Mapping[str, Any]) -> tuple[Rows, int]:
        said, names = positional(statement, connection.dialect)
        cursor = self._execute(connection, said, [_plain(values[name]) for name in names or ()])
        if cursor.description is None:
            server.count(connection, cursor.rowcount)
            return [], cursor.rowcount
        return cursor.fetchall(), cursor.rowcount

    def stream(self, connection: Connection, statement: str, at_once: int) -> Iterator[Rows]:
        try:
            with server.driver(connection).cursor(name=f"rows_{next(_NAMES)}") as cursor:
                cursor.execute(statement)
                while some := cursor.fetchmany(at_once):
                    yield some
        except server.library().Error as error:
            raise _as_alchemy(connection, statement, error) from error

    def _execute(self, connection: Connection, statement: str, values: Sequence[Any]) -> Any:
        try:
            return server.driver(connection).execute(statement, values)
        except server.library().Error as error:
            raise _as_alchemy(connection, statement, error) from error

    def written(self, connection: Connection) -> int:
        return int(connection.info.get("written", 0))

    def dangling(self, connection: Connection) -> list[tuple[str, str]]:
        return making.dangling(connection)

    def faults(self, connection: Connection, most: int, tick: Callable[[], None] | None = None) -> list[str]:
        """The server itself checks each page it reads (`data_checksums`); every row is read here once."""
        return making.unreadable(connection, tick)[:most]

    def version(self, connection: Connection) -> str:
        return str(server.driver(connection).info.parameter_status("server_version"))

    def cautions(self, connection: Connection) -> tuple[str, ...]:
        return secured.words(server.driver(connection))


@contextmanager
def new(where: Address, rights: Rights, *, before: str = "") -> Iterator[Engine]:
    """The engine of a log that is being made, in a schema of its own that is renamed as the block ends.

    Where `before` is given, a log that is there gets that name in the same moment; else it is refused.

    A lock of the server's keeps others from making one there meanwhile; if this connection is lost, nothing is renamed.
    """
    with server.told(where), closing(server.connect(where)) as raw:
        making.alone(raw, where)
        if not before:
            making.refuse_existing(raw, where)
        raw.execute(_DROPPED)  # what a killed program left
        part = Postgres(where, schema=server.PART)
        try:
            yield part
        except BaseException:
            part.close()
            raw.execute(_DROPPED)
            raise
        part.close()
        making.give_name(raw, where, before, rights)


def _not_yet(where: Address, what: str, instead: str) -> LogError:
    return LogError(f"A log on a server cannot be {what} yet: {where}.", "", instead)


def _plain(value: Any) -> Any:
    """Flags are whole numbers in a log, and nothing is below zero and zero at once: SQLite keeps neither."""
    return (
        int(value) if isinstance(value, bool) else 0.0 if value == 0.0 and isinstance(value, float) else value
    )


def _as_alchemy(connection: Connection, statement: str, error: Any) -> BaseException:
    """A failure of the driver, as SQLAlchemy raises it."""
    return DBAPIError.instance(  # type: ignore[no-any-return]
        statement, None, error, server.library().Error, hide_parameters=True, dialect=connection.dialect
    )


def _bound(writers: Writers, values: Mapping[str, Any]) -> list[Any]:
    """The values as the driver takes them, in the order of the statement."""
    made = (values[name] if write is None else write(values[name]) for name, write in writers)
    return [_plain(value) for value in made]


@cache
def _insert(
    target: Table, columns: tuple[str, ...], dialect: Dialect, returning: bool
) -> tuple[str, Writers]:
    """The statement for these columns, with the driver converters in the same order."""
    quote = dialect.identifier_preparer.quote
    names, marks = [quote(name) for name in columns], ["%s"] * len(columns)
    key = target.autoincrement_column
    if key is not None and key.name not in columns:
        names.append(quote(key.name))
        marks.append(f"(SELECT coalesce(max({quote(key.name)}), 0) + 1 FROM {quote(target.name)})")
    made = f"INSERT INTO {quote(target.name)} ({', '.join(names)}) VALUES ({', '.join(marks)})"
    if returning:
        first = next(iter(target.primary_key.columns))
        made += f" RETURNING {quote(first.name)}"
    types = {name: target.c[name].type.dialect_impl(dialect) for name in columns}
    return made, [(name, kind.bind_processor(dialect)) for name, kind in types.items()]
