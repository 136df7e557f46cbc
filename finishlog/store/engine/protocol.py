"""What the store asks of a database engine. SQLite is the one there is (`in_sqlite`); `opening.at` chooses.

All else in the store speaks SQLAlchemy's own language (Core, or text with named parameters), but for
the room `search`, whose full text is each engine's own.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from contextlib import AbstractContextManager
from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol, cast

from sqlalchemy.engine import Connection

if TYPE_CHECKING:
    from finishlog.store.schema.base import Base

Waiting = Callable[[], None]
Compute = Callable[[Connection], None]
"""Writes what is kept for speed, in the transaction that upgrades a log."""

GIVE_UP_AFTER_S = 30.0
"""How long a write waits for other programs, in seconds."""
ENGINE = "log_engine"
"""The execution option that says whose connection it is."""


class Engine(Protocol):
    """One log in one database. Every failure of the database is told as LogError, in one line."""

    where: Path

    # the log as a whole, while nobody has it open

    def require(self) -> None:
        """Raise LogError where there is no log, or it is foreign, damaged or cut short. Changes nothing."""

    def make(self) -> None:
        """Turn an empty file into an empty log of the newest revision, known as a log."""

    def mark(self) -> None:
        """Make a filled database known as a log, durable and readable while it is written to."""

    def migrate(self, revision: str = "head") -> None:
        """Run the migrations up to this revision: whole or not at all, foreign keys looked at in the end."""

    def bring_up_to_date(self, compute: Compute, *, upgrade: bool = True) -> Path | None:
        """Copy an older log, then upgrade it and `compute`, whole or not at all. Returns the copy's place.

        Raises LogError for a log that is newer than the program, and for an older one if not `upgrade`.
        """

    def filling(self) -> AbstractContextManager[Connection]:
        """A write in which rows may come in any order: foreign keys are not looked at (ask `dangling`)."""

    def copy_into(self, part: Path) -> None:
        """A copy of the log as it is now into an empty file, also while others write; the copy is verified."""

    def backup(self, target: Path) -> None:
        """As `copy_into`, with the files that lie beside the log, under a new name: whole or not at all."""

    def failures(self) -> AbstractContextManager[None]:
        """What fails of the database within is told as LogError, a value that the schema refuses as InputError."""

    # the open log, from any thread

    def connection(self, *, write: bool) -> AbstractContextManager[Connection]:
        """One transaction on a connection of its own: a snapshot to read, or the only write at its time.

        A write waits for others, is on disk when the block ends, and is rolled back after any exception.
        """

    def can_write(self) -> bool:
        """Whether the log can be written to at all. Raises LogError where only others are in the way."""

    def others_wrote(self) -> bool:
        """Whether another program committed since the last call; the first call begins to watch."""

    def close(self) -> None:
        """Let go of the database. Connections are opened again when asked for; nothing is watched any more."""

    def settled(self) -> bool:
        """Whether a closed log lies whole in its one file, so that it may be given another name."""

    # within a transaction

    def insert(self, connection: Connection, row: type[Base], values: Mapping[str, Any]) -> int:
        """Insert one row, quickly; its id (of no use where the key is no number)."""

    def written(self, connection: Connection) -> int:
        """A number that rises with each row this connection writes, with those taken back too."""

    def dangling(self, connection: Connection) -> list[tuple[str, str]]:
        """Rows that name a row which is not there: table of the one, table of the other."""

    def faults(self, connection: Connection, most: int) -> list[str]:
        """Up to so many lines on damage to the database itself; [] where it is whole."""

    def version(self, connection: Connection) -> str:
        """The engine's own version, as it says it."""

    def cautions(self, version: str) -> tuple[str, ...]:
        """What is good to know of an engine of this version."""


def of(connection: Connection) -> Engine:
    """The engine that opened a connection."""
    return cast(Engine, connection.get_execution_options()[ENGINE])


def put(connection: Connection, row: type[Base], **values: Any) -> int:
    """Insert one row; its id (of no use where the key is no number)."""
    return of(connection).insert(connection, row, values)
