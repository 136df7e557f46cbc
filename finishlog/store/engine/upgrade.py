"""Upgrades an older log, creates a new one, copies a live one.

Alembic is imported only if needed; one SELECT recognizes a log at the newest revision.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from filecmp import cmp
from glob import escape
from pathlib import Path

from sqlalchemy import create_engine, event
from sqlalchemy.engine import Connection
from sqlalchemy.pool import NullPool

from finishlog.errors import LogError
from finishlog.store.disk.files import built_beside, free_name
from finishlog.store.engine import header, sqlite
from finishlog.store.engine.protocol import Compute
from finishlog.store.schema import revisions

Step = Callable[[Connection], None]


def bring_up_to_date(where: Path, compute: Compute, *, upgrade: bool = True) -> Path | None:
    """Check the log's revision; copy and upgrade an older log. Returns the copy's path.

    Raises LogError for a log newer than the program or without a revision.
    """
    found = sqlite.schema_of(where)
    if found == revisions.head():
        return None
    if found is None or found not in revisions.known():
        raise newer(where, found)
    if not upgrade:
        raise LogError(
            f"The log is older than this program: {where}.",
            f"Its schema is {found}, the program's {revisions.head()}.",
            "Open it once with finishlog; it is copied first, then upgraded.",
        )
    _require_writable(where)
    return _upgraded(where, found, compute)


class _Done(Exception):
    """Another program upgraded the log while this one waited for its turn."""


def _upgraded(where: Path, found: str, compute: Compute) -> Path | None:
    """Copy, then migrate, both in the turn of one write: of several programs one does it, and the others wait."""
    copy: Path | None = None

    def copied(connection: Connection) -> None:
        nonlocal copy
        now = str(connection.exec_driver_sql("SELECT version_num FROM alembic_version").scalar_one())
        if now != found:
            raise _Done
        copy = copy_aside(where, found)

    try:
        with sqlite.told(where):
            migrate(where, then=lambda connection: compute(connection, found), first=copied)
    except _Done:
        return None
    except Exception as error:
        if copy is None:
            raise
        raise LogError(
            f"Could not upgrade the log: {where}.",
            f"{_why(error)} The log is unchanged.",
            f"A copy is at {copy}.",
        ) from error
    return copy


def _require_writable(where: Path) -> None:
    """Refuse a read-only log before copying; otherwise each attempt would leave a copy."""
    try:
        with sqlite.told(where), closing(sqlite.open_raw(where, "rw")) as raw:
            raw.execute("BEGIN IMMEDIATE").close()
            raw.execute("CREATE TABLE probe (it INTEGER)").close()
            raw.execute("ROLLBACK").close()
    except LogError as error:
        raise LogError(
            f"The log is older than this program and must be upgraded first: {where}.",
            error.title.partition(":")[0] + ".",
            "Copy it to a folder of your own and open the copy, or try again later.",
        ) from error


def _why(error: Exception) -> str:
    if isinstance(error, LogError):
        return error.cause
    return f"A migration failed: {str(error).splitlines()[0] if str(error) else type(error).__name__}."


def newer(where: Path, found: str | None) -> LogError:
    """The refusal of a log whose schema this program does not know."""
    if found is None:
        return header.damaged(where, "It has no schema revision.")
    return LogError(
        f"The log is newer than this program: {where}.",
        f"Its schema is {found}, the newest this program knows is {revisions.head()}.",
        "Install the newer finishlog; the log was left alone.",
    )


def copy_aside(where: Path, revision: str) -> Path:
    """A verified copy beside the log, before any change."""
    name = where.with_name(f"{where.stem}.before-upgrade-{revision}{where.suffix}")
    target = free_name(name)
    try:
        with built_beside(target, "copy before the upgrade") as part:
            copy_into(where, part)
            for each in name.parent.glob(f"{escape(name.stem)}*{escape(name.suffix)}"):
                if each.is_file() and cmp(part, each, shallow=False):
                    raise _Copied(each)
    except _Copied as there:
        return there.copy
    return target


class _Copied(Exception):
    """An upgrade that was killed has left this very copy."""

    def __init__(self, copy: Path) -> None:
        self.copy = copy


def copy_into(where: Path, part: Path) -> None:
    """Copy a live log into an empty file, and verify the copy: every page is read back.

    Whether each value may be as it is, is `check`'s to say: it takes longer than the copying.
    """
    with (
        sqlite.told(where),
        closing(sqlite.open_best(where)) as source,
        closing(sqlite.open_raw(part, "rw")) as copy,
    ):
        _fill(source, copy, where)


def copy_open(source: sqlite3.Connection, target: Path) -> None:
    """Copy by a connection that is open, whatever has become of its file; verifies the copy."""
    with built_beside(target, "copy of the log") as part, closing(sqlite.open_raw(part, "rw")) as copy:
        _fill(source, copy, target)


def _fill(source: sqlite3.Connection, copy: sqlite3.Connection, where: Path) -> None:
    for quick in ("synchronous=OFF", "journal_mode=OFF"):  # a copy without its name; synced before it
        copy.execute(f"PRAGMA {quick}").close()
    source.backup(copy)
    copy.execute("PRAGMA journal_mode=WAL").close()
    copy.execute("PRAGMA ignore_check_constraints=ON").close()
    verdict = copy.execute("PRAGMA quick_check(1)").fetchone()[0]
    if verdict != "ok":
        raise header.damaged(where, f"The copy is damaged: {str(verdict).splitlines()[-1]}.")


def make(where: Path) -> None:
    """Turn an empty file into an empty log. WAL is set here, once, and stays with the file."""
    migrate(where)
    mark(where)


def mark(where: Path) -> None:
    """Mark the file as a log, and set its journal mode."""
    with closing(sqlite.open_raw(where, "rw")) as raw:
        raw.execute(f"PRAGMA application_id={header.APPLICATION_ID}").close()
        raw.execute("PRAGMA journal_mode=WAL").close()


def migrate(
    where: Path, revision: str = "head", *, then: Step | None = None, first: Step | None = None
) -> None:
    """Run the migrations in one transaction, all or nothing.

    `first` is called when the turn to write has come, `then` after them in the same transaction.

    Foreign keys are off meanwhile (rebuilding a parent table would empty its children) and
    checked before the commit.
    """
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(revisions.migrations()).replace("%", "%%"))
    with migrating(where) as connection:
        if first is not None:
            first(connection)
        config.attributes["connection"] = connection
        command.upgrade(config, revision)
        broken = connection.exec_driver_sql("PRAGMA foreign_key_check").fetchall()
        if broken:
            cause = f"After the upgrade {len(broken)} rows would point nowhere; nothing was changed."
            raise header.damaged(where, cause)
        if then is not None:
            then(connection)


@contextmanager
def migrating(where: Path) -> Iterator[Connection]:
    """One write without foreign-key checks."""
    engine = create_engine("sqlite://", creator=lambda: sqlite.open_raw(where, "rw"), poolclass=NullPool)
    event.listen(engine, "connect", _keys_off)
    event.listen(engine, "begin", _begin)
    try:
        with engine.begin() as connection:
            yield connection
            sqlite.stamp(connection)
    finally:
        engine.dispose()


def _keys_off(raw: sqlite3.Connection, _record: object) -> None:
    raw.execute("PRAGMA foreign_keys=OFF").close()
    raw.execute("PRAGMA synchronous=FULL").close()


def _begin(connection: Connection) -> None:
    connection.exec_driver_sql("BEGIN IMMEDIATE")
