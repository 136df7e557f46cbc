"""Checks a log: integrity, every row against its hash, correct projections, every file."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sqlalchemy import text
from sqlalchemy.engine import Connection
from sqlalchemy.exc import DBAPIError

from finishlog.errors import LogError
from finishlog.store.checking_marks import Seen
from finishlog.store.disk.attachments import Files
from finishlog.store.disk.check_memory import CheckMemory
from finishlog.store.engine import protocol
from finishlog.store.reading.settings import shop
from finishlog.store.schema.revisions import head
from finishlog.store.sealing import verify, words
from finishlog.store.search import learned, projections, shelved
from finishlog.units import count

_SHOWN = 5
_OUT_OF_DATE = "The list or the search is out of date"
_TOLD = 50
"""Most problems that are told one by one."""
COMPARED = 300
"""Jobs whose projections are made anew and compared, per check; a larger log takes its turn over several."""

Progress = Callable[[str, float | None], None]
"""What is being verified, and how much of that is done (0 to 1, None if unknown). May raise to stop."""


@dataclass(frozen=True, slots=True)
class CheckReport:
    """Findings. `problems` need action; `notes` are informational."""

    jobs: int
    entries: int
    schema: str
    engine_version: str
    problems: tuple[str, ...]
    notes: tuple[str, ...]
    mendable: bool = False
    """Whether the only problem is what can be made anew (`Log.mend`)."""

    @property
    def ok(self) -> bool:
        """True if no check found a problem."""
        return not self.problems


def _wrong_rights(connection: Connection) -> list[str]:
    """What is not as it should be with the roles of a log on a server."""
    if isinstance(protocol.of(connection).where, Path):
        return []
    from finishlog.store.engine.postgres import server
    from finishlog.store.rights import roles

    return roles.wrong(server.driver(connection))


def check(
    connection: Connection,
    attachments: Files,
    *,
    progress: Progress | None = None,
    memory: CheckMemory | None = None,
    seen: Seen | None = None,
    computed: bool = False,
) -> CheckReport:
    """Check a whole log, read-only. Raises the driver's error if nothing can be read.

    With a memory it goes on where an interrupted check of the same log stopped. Where `computed`, the
    projections were made in this very transaction: they are not compared with their source.
    """
    engine = protocol.of(connection)
    version = engine.version(connection)
    schema = str(connection.scalar(text("SELECT version_num FROM alembic_version")))
    looks = _Looks(connection, progress or _silent, memory or CheckMemory(None))
    notes = list(engine.cautions(connection))
    if schema != head():
        looks.memory.problems = [f"The schema is {schema}, this program's is {head()}."]
    else:
        files = _files(connection)
        with looks.memory.kept():
            looks.rows()
            if not computed:
                looks.projections()
            looks.files(attachments, files)
        notes += _notes(connection)
        notes += attachments.notes()
        if attachments.fault() is None:
            notes += _strays(attachments, {sha256 for sha256, _ in files})
    looks.memory.problems, again = [], looks.memory.problems
    if seen is not None:
        again = seen.missing(connection, again) + again
        notes += seen.notes(connection)
        if not again:
            seen.sound(connection)
    problems = _told([*again, *_wrong_rights(connection)])
    looks.memory.finished()
    return CheckReport(
        jobs=_count(connection, "job"),
        entries=_count(connection, "entry"),
        schema=schema,
        engine_version=version,
        problems=problems,
        notes=tuple(notes),
        mendable=len(problems) == 1 and problems[0].startswith(_OUT_OF_DATE),
    )


def _silent(_what: str, _share: float | None) -> None:
    """No one is told."""


def _told(problems: list[str]) -> tuple[str, ...]:
    more = len(problems) - _TOLD
    return tuple(problems[:_TOLD]) + ((f"And {more} more.",) if more > 0 else ())


class _Looks:
    """The parts of a check, each of which adds to the problems that the memory holds."""

    def __init__(self, connection: Connection, progress: Progress, memory: CheckMemory) -> None:
        self.connection = connection
        self.progress = progress
        self.memory = memory
        self._counts: dict[str, int] = {}

    def rows(self) -> None:
        """The database itself, what its rows name, and every row against its hash."""
        for name, look in (("pages", self._structure), ("names", _keys)):
            if not self.memory.problems and name not in self.memory.done:
                self.progress(name, None)
                self.memory.problems += look(self.connection)
                self._step(name, 1)
        found = verify.Verified(self.memory.problems, self.memory.jobs, self.memory.lots)
        self._counts = _counts(self.connection)
        verify.verify(self.connection, found, self.memory.done, self._step)
        if not self.memory.problems:
            self.memory.problems += _settings(self.connection)

    def _structure(self, connection: Connection) -> list[str]:
        lines = protocol.of(connection).faults(connection, _SHOWN, lambda: self.progress("pages", None))
        return [f"Structure: {line}." for line in lines]

    def _step(self, part: str, last: int) -> None:
        self.memory.at(part, last)
        most = self._counts.get(part, 0)
        self.progress(part, min(last / most, 1.0) if most else None)

    def projections(self) -> None:
        """Search, list and due lines made anew for some jobs; only when all that they come from is sound."""
        wrong, lots, learnt = self.memory.jobs, self.memory.lots, learned.damaged(self.connection)
        if not self.memory.problems and not wrong and not lots:
            self.progress("list", None)
            try:
                jobs, self.memory.compared = _in_turn(self.connection, self.memory.compared)
                wrong |= set(projections.differing(self.connection, jobs))
                lots |= shelved.differing(self.connection, jobs)
            except (LogError, KeyError, ValueError, TypeError) as error:
                self.memory.problems.append(f"The list cannot be compared with the entries: {_line(error)}.")
        if wrong or lots or learnt:
            parts = ((wrong, count(len(wrong), "job")), (lots, "the shelf"), (learnt, "what was learned"))
            what = " and ".join(words for some, words in parts if some)
            self.memory.problems.append(
                f"{_OUT_OF_DATE} for {what}; the entries are intact. finishlog check --mend rebuilds it."
            )

    def files(self, attachments: Files, files: list[tuple[str, int]]) -> None:
        """Every file that an entry names, byte by byte; of files that are out of reach only that."""
        if fault := attachments.fault():
            self.memory.problems.append(f"{fault.title} {fault.cause}")
            return
        whole = sum(size for _, size in files) or 1
        read = 0
        for sha256, size in files:
            read += size
            if sha256 > self.memory.file:
                for wrong in attachments.wrong_with(sha256, size):
                    said = words.of_file(self.connection, sha256)
                    self.memory.problems.append(f"The file {sha256[:12]}…{said} is {wrong}.")
                self.memory.file = sha256
                self.memory.save()
                self.progress("files", read / whole)


def _line(error: Exception) -> str:
    return (str(error).splitlines() or [type(error).__name__])[0]


def _counts(connection: Connection) -> dict[str, int]:
    try:
        return verify.last_ids(connection)
    except (DBAPIError, UnicodeDecodeError):
        return {}


def _in_turn(connection: Connection, after: int) -> tuple[list[int] | None, int]:
    """Which jobs to compare this time (None: all), and the last of them."""
    jobs = projections.all_jobs(connection)
    if len(jobs) <= COMPARED:
        return None, 0
    some = [job for job in jobs if job > after][:COMPARED]
    return some, some[-1] if len(some) == COMPARED else 0


def _notes(connection: Connection) -> Iterable[str]:
    other = verify.changed_elsewhere(connection)
    if other:
        yield f"Another program wrote {count(other, 'row')}; the next entry accepts what they say."


def _files(connection: Connection) -> list[tuple[str, int]]:
    """Hash and size of every file; without those whose row cannot be read (`verify` tells of them)."""
    query = text("SELECT sha256, size FROM file ORDER BY sha256")
    try:
        return [(row[0], row[1]) for row in connection.execute(query) if _is_file(row)]
    except (DBAPIError, UnicodeDecodeError):
        return []


def _is_file(row: Any) -> bool:
    return isinstance(row[0], str) and isinstance(row[1], int) and "/" not in row[0] and "\0" not in row[0]


def _strays(attachments: Files, known: set[str]) -> tuple[str, ...]:
    """A crash between a file and its entry leaves the file behind, harmlessly."""
    found = len(attachments.strays(known))
    if not found:
        return ()
    return (
        f"No entry names {count(found, 'file')} in {attachments.folder.name}; finishlog check --mend removes "
        f"{'it' if found == 1 else 'them'}.",
    )


def _count(connection: Connection, table: str) -> int:
    """Row count; 0 if damage prevents counting."""
    try:
        return int(connection.execute(text(f"SELECT count(*) FROM {table}")).scalar_one())
    except DBAPIError:
        return 0


def _keys(connection: Connection) -> list[str]:
    try:
        broken = protocol.of(connection).dangling(connection)
    except DBAPIError as error:
        return [f"Structure: {_line(error)}."]
    broken = [pair for pair in broken if pair != ("chain", "entry")]  # told by name, later
    lines = [f"A row of {row} names a row of {named} that is not there." for row, named in broken[:_SHOWN]]
    return lines + ([f"And {len(broken) - _SHOWN} more."] if len(broken) > _SHOWN else [])


def _settings(connection: Connection) -> list[str]:
    try:
        shop(connection)
    except LogError as error:
        return [f"{error.title} {error.cause}"]
    return []
