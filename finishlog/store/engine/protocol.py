"""What the store requires of a database engine, SQLite or PostgreSQL; `opening.at` chooses.

The rest of the store uses plain SQLAlchemy (Core, or text with named parameters), except package
`search`, because full-text search differs by engine.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import AbstractContextManager
from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol, cast

from sqlalchemy.engine import Connection

if TYPE_CHECKING:
    from finishlog.store.disk.attachments import Files
    from finishlog.store.engine.postgres.address import Address
    from finishlog.store.schema.base import Base

Waiting = Callable[[], None]
"""Called again and again, from the start, while a write waits for others; what it raises ends the wait."""
Rows = list[tuple[Any, ...]]
Compute = Callable[[Connection, str], None]
"""Brings projections and hashes up to date, in the transaction that upgrades a log of this revision."""

Rights = Callable[[Any, str], None]
"""Gives those who have a role of a server their rights to a log that just got its name there, and takes them from
the one that had it, if any; its new name, or "". Called within the transaction, with the driver's connection."""

GIVE_UP_AFTER_S = 30.0
"""Seconds a write waits for other programs."""
ENGINE = "log_engine"
"""Execution option that links a connection to its engine."""


class Salvage(Protocol):
    """The rows of a damaged log that can still be read, whatever is damaged."""

    lost_pages: int
    unplaced: int
    """Readable rows that may belong to several tables."""

    def revision(self, known: tuple[str, ...]) -> str | None:
        """The log's revision, None where it cannot be read."""

    def place(self, empty: Path) -> None:
        """Tell which rows are whose, by an empty log of that revision."""

    def rows(self, table: str) -> Iterator[dict[str, Any]]:
        """The readable rows of a table by column, as the database keeps them."""


class Engine(Protocol):
    """One log in one database. Every database failure is raised as a one-line LogError."""

    where: Path | Address
    text_key: str
    """The column of `job_text` that names the job."""

    # the log as a whole, while nobody has it open

    def require(self) -> None:
        """Raise LogError if the log is missing, foreign, damaged or truncated. From here on it is this very log."""

    def set_aside(self) -> Path | None:
        """What `require` set aside: left beside the log by another one, and never to be read into this one."""

    def make(self) -> None:
        """Turn an empty file into an empty, marked log of the newest revision."""

    def mark(self) -> None:
        """Mark a filled database as a log, durable and readable during writes."""

    def migrate(self, revision: str = "head") -> None:
        """Run the migrations up to this revision atomically; foreign keys are checked last."""

    def bring_up_to_date(self, compute: Compute, *, upgrade: bool = True) -> Path | str | None:
        """Copy an older log, then upgrade it and `compute`, atomically. Returns the copy's path or schema.

        Raises LogError for a log newer than the program, or an older one without `upgrade`.
        """

    def filling(self) -> AbstractContextManager[Connection]:
        """A write that accepts rows in any order: foreign keys are unchecked (use `dangling`)."""

    def load(self, connection: Connection, table: str, columns: Sequence[str], rows: Iterator[Rows]) -> None:
        """Insert rows as `stream` gives them, from this or another engine; only while `filling`."""

    def quietly(self, connection: Connection) -> AbstractContextManager[None]:
        """No trigger runs meanwhile: rows come as they were, with all that follows from them. Only while `filling`."""

    def copy_into(self, part: Path) -> None:
        """Copy the current log into an empty file, even while others write; verifies the copy."""

    def backup(self, target: Path) -> None:
        """Like `copy_into`, with the log's files, under a new name; atomic."""

    def salvage(self) -> Salvage:
        """Read past all damage. Raises LogError if there is no such file."""

    def files(self, connection: Connection) -> Files:
        """The log's files, as a transaction sees them."""

    def failures(self) -> AbstractContextManager[None]:
        """Translates database failures to LogError, and values the schema refuses to InputError."""

    # the open log, from any thread

    def connection(self, *, write: bool, wait: bool = True) -> AbstractContextManager[Connection]:
        """One transaction on its own connection: a read snapshot, or the only write at the time.

        Raises LogError if the log is not the one that was opened: another file, or another log's identity.
        Writes come in the order in which they were asked for; meanwhile `on_wait` is called again and again,
        and what it raises ends the wait; one that does not `wait` raises LogError at once. A write is durable
        when the block ends, and rolls back after any exception. A read is ended by `finishlog.stopping` from any
        thread: it raises Stopped.
        """

    def was_written(self, write: str) -> bool | None:
        """Whether a write that ended in an unsure ServerAway was written; None if it cannot be told now."""

    def can_write(self) -> bool:
        """Whether the log is writable at all. Raises LogError if it is merely busy."""

    def others_wrote(self) -> bool:
        """Whether another program committed since the last call; the first call starts watching.

        Raises ServerAway, within seconds, while there is no server.
        """

    def role(self) -> str | None:
        """The role of whoever is connected, asked once (`finishlog.roles`); None where the engine has none."""

    def close(self) -> None:
        """Release the database and stop watching. Connections reopen on demand."""

    def settled(self) -> bool:
        """Whether a closed log is complete in its one file, so that it can be renamed."""

    # within a transaction

    def insert(self, connection: Connection, row: type[Base], values: Mapping[str, Any]) -> int:
        """Insert one row quickly; returns its id (meaningless for a non-numeric key)."""

    def insert_all(self, connection: Connection, row: type[Base], rows: Sequence[Mapping[str, Any]]) -> None:
        """Insert many rows that name the same columns, in one go."""

    def part(self, connection: Connection) -> AbstractContextManager[None]:
        """A part of a transaction: an exception leaves nothing of it, and the rest goes on. May be nested."""

    def run(self, connection: Connection, statement: str, values: Mapping[str, Any]) -> tuple[Rows, int]:
        """Run a text with `:names` that a sheet needs thousands of times, past all that costs more than itself.

        The rows it found, as they are stored, and how many it changed. Failures are those of SQLAlchemy.
        """

    def stream(self, connection: Connection, statement: str, at_once: int) -> Iterator[Rows]:
        """The rows of a text, as they are stored, so many at a time: memory does not grow with their number.

        Failures are those of SQLAlchemy.
        """

    def written(self, connection: Connection) -> int:
        """A counter of rows this connection wrote, including rolled-back ones."""

    def dangling(self, connection: Connection) -> list[tuple[str, str]]:
        """Rows that reference a missing row: table of each."""

    def faults(self, connection: Connection, most: int, tick: Callable[[], None] | None = None) -> list[str]:
        """Up to so many lines on damage to the database itself; [] if intact.

        `tick` is called meanwhile, as often as the engine can; what it raises stops the work and comes out.
        """

    def version(self, connection: Connection) -> str:
        """The engine's version string."""

    def cautions(self, connection: Connection) -> tuple[str, ...]:
        """Notes on an engine of this version, and on how the connection to it is secured."""


def of(connection: Connection) -> Engine:
    """The engine that opened a connection."""
    return cast(Engine, connection.get_execution_options()[ENGINE])


def put(connection: Connection, row: type[Base], **values: Any) -> int:
    """Insert one row; returns its id (meaningless for a non-numeric key)."""
    return of(connection).insert(connection, row, values)


def put_all(connection: Connection, row: type[Base], rows: Sequence[Mapping[str, Any]]) -> None:
    """Insert many rows that name the same columns, in one go."""
    if rows:
        of(connection).insert_all(connection, row, rows)


def run(connection: Connection, statement: str, **values: Any) -> Rows:
    """The rows, as they are stored, of a text that a sheet asks thousands of times; see `Engine.run`."""
    return of(connection).run(connection, statement, values)[0]


def change(connection: Connection, statement: str, **values: Any) -> int:
    """How many rows a text changed; see `Engine.run`."""
    return of(connection).run(connection, statement, values)[1]
