"""How a log is: whole, consistent, and its projections true."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy.engine import Connection
from sqlalchemy.exc import DBAPIError

from finishlog.errors import LogError
from finishlog.store.disk.attachments import Attachments
from finishlog.store.engine.upgrade import head
from finishlog.store.reader import Reader
from finishlog.store.search import projections

WAL_RESET_FIXED = (3, 51, 3)
_SHOWN = 5


@dataclass(frozen=True, slots=True)
class CheckReport:
    """What was found. `problems` need care; `notes` are only good to know."""

    jobs: int
    entries: int
    schema: str
    sqlite_version: str
    problems: tuple[str, ...]
    notes: tuple[str, ...]

    @property
    def ok(self) -> bool:
        return not self.problems


def check(connection: Connection, attachments: Attachments) -> CheckReport:
    """Look through a whole log. Reads only. Raises the driver's error where nothing can be read."""
    version = str(connection.exec_driver_sql("SELECT sqlite_version()").scalar_one())
    schema = str(connection.exec_driver_sql("SELECT version_num FROM alembic_version").scalar_one())
    problems = [] if schema == head() else [f"The schema is {schema}, this program's is {head()}."]
    for look in (_structure, _keys, _settings, _projections):
        if not problems:  # on damaged ground the later ones would only fail, less clearly
            problems += look(connection)
    notes = list(_notes(version))
    if not problems:
        files = _files(connection)
        problems += attachments.problems(files)
        notes += _strays(attachments, {sha256 for sha256, _ in files})
    return CheckReport(
        jobs=_count(connection, "job"),
        entries=_count(connection, "entry"),
        schema=schema,
        sqlite_version=version,
        problems=tuple(problems),
        notes=tuple(notes),
    )


def _files(connection: Connection) -> list[tuple[str, int]]:
    rows = connection.exec_driver_sql("SELECT sha256, size FROM file ORDER BY sha256")
    return [(str(row[0]), int(row[1])) for row in rows]


def _strays(attachments: Attachments, known: set[str]) -> tuple[str, ...]:
    """A crash between a file and its entry leaves the file; it does no harm."""
    found = len(attachments.strays(known))
    if not found:
        return ()
    return (f"{found} files in {attachments.folder.name} belong to no entry; you can delete them.",)


def _count(connection: Connection, table: str) -> int:
    """How many rows; 0 where the damage lets nobody count."""
    try:
        return int(connection.exec_driver_sql(f"SELECT count(*) FROM {table}").scalar_one())
    except DBAPIError:
        return 0


def _structure(connection: Connection) -> list[str]:
    try:
        found = list(connection.exec_driver_sql(f"PRAGMA integrity_check({_SHOWN})").scalars())
    except DBAPIError as error:  # the damage stops the look itself
        found = [str(error.orig)]
    return [] if found == ["ok"] else [f"Structure: {line}." for line in found]


def _keys(connection: Connection) -> list[str]:
    broken = connection.exec_driver_sql("PRAGMA foreign_key_check").fetchall()
    lines = [f"A row of {row[0]} names a row of {row[2]} that is not there." for row in broken[:_SHOWN]]
    return lines + ([f"And {len(broken) - _SHOWN} more."] if len(broken) > _SHOWN else [])


def _settings(connection: Connection) -> list[str]:
    try:
        Reader(connection).shop()
    except LogError as error:
        return [f"{error.title} {error.cause}"]
    return []


def _projections(connection: Connection) -> list[str]:
    wrong = projections.differing(connection)
    if not wrong:
        return []
    return [f"The list or the search is out of date for {len(wrong)} jobs; the entries are intact."]


def _notes(version: str) -> tuple[str, ...]:
    parts = tuple(int(part) for part in version.split("."))
    if (3, 7, 0) <= parts < WAL_RESET_FIXED:
        return (
            f"SQLite {version} has a rare fault that can damage a log when several programs write at once; "
            "fixed in 3.51.3. Keep backups.",
        )
    return ()
