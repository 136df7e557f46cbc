"""Checks a log: integrity, consistency, correct projections."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import text
from sqlalchemy.engine import Connection
from sqlalchemy.exc import DBAPIError

from finishlog.errors import LogError
from finishlog.store.disk.attachments import Attachments
from finishlog.store.engine import protocol
from finishlog.store.reading.settings import shop
from finishlog.store.schema.revisions import head
from finishlog.store.search import projections

_SHOWN = 5


@dataclass(frozen=True, slots=True)
class CheckReport:
    """Findings. `problems` need action; `notes` are informational."""

    jobs: int
    entries: int
    schema: str
    engine_version: str
    problems: tuple[str, ...]
    notes: tuple[str, ...]

    @property
    def ok(self) -> bool:
        """True if no check found a problem."""
        return not self.problems


def check(connection: Connection, attachments: Attachments) -> CheckReport:
    """Check a whole log, read-only. Raises the driver's error if nothing can be read."""
    engine = protocol.of(connection)
    version = engine.version(connection)
    schema = str(connection.scalar(text("SELECT version_num FROM alembic_version")))
    problems = [] if schema == head() else [f"The schema is {schema}, this program's is {head()}."]
    for look in (_structure, _keys, _settings, _projections):
        if not problems:  # on a damaged file later checks would only fail less clearly
            problems += look(connection)
    notes = list(engine.cautions(version))
    if not problems:
        files = _files(connection)
        problems += attachments.problems(files)
        notes += _strays(attachments, {sha256 for sha256, _ in files})
    return CheckReport(
        jobs=_count(connection, "job"),
        entries=_count(connection, "entry"),
        schema=schema,
        engine_version=version,
        problems=tuple(problems),
        notes=tuple(notes),
    )


def _files(connection: Connection) -> list[tuple[str, int]]:
    rows = connection.execute(text("SELECT sha256, size FROM file ORDER BY sha256"))
    return [(str(row[0]), int(row[1])) for row in rows]


def _strays(attachments: Attachments, known: set[str]) -> tuple[str, ...]:
    """A crash between a file and its entry leaves the file behind, harmlessly."""
    found = len(attachments.strays(known))
    if not found:
        return ()
    return (f"{found} files in {attachments.folder.name} belong to no entry; you can delete them.",)


def _count(connection: Connection, table: str) -> int:
    """Row count; 0 if damage prevents counting."""
    try:
        return int(connection.execute(text(f"SELECT count(*) FROM {table}")).scalar_one())
    except DBAPIError:
        return 0


def _structure(connection: Connection) -> list[str]:
    return [f"Structure: {line}." for line in protocol.of(connection).faults(connection, _SHOWN)]


def _keys(connection: Connection) -> list[str]:
    broken = protocol.of(connection).dangling(connection)
    lines = [f"A row of {row} names a row of {named} that is not there." for row, named in broken[:_SHOWN]]
    return lines + ([f"And {len(broken) - _SHOWN} more."] if len(broken) > _SHOWN else [])


def _settings(connection: Connection) -> list[str]:
    try:
        shop(connection)
    except LogError as error:
        return [f"{error.title} {error.cause}"]
    return []


def _projections(connection: Connection) -> list[str]:
    wrong = projections.differing(connection)
    if not wrong:
        return []
    return [f"The list or the search is out of date for {len(wrong)} jobs; the entries are intact."]
