"""Moves a whole log, row by row as it is stored, into a new log of any engine, and compares the two.

Everything moves, hashes and what is kept for the search too: the copy is the same log, and nothing is worked out
anew. Some rows and one block of a file at a time, so memory does not grow with the log. Whoever calls gives the
copy its name afterwards: before, nothing looks like a log.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from hashlib import blake2b
from json import JSONEncoder
from typing import TYPE_CHECKING

from sqlalchemy import Connection
from sqlalchemy.exc import DataError, IntegrityError

from finishlog.errors import LogError
from finishlog.store.engine import ddl
from finishlog.store.engine.protocol import Engine, Rows
from finishlog.store.schema.base import Base
from finishlog.store.schema.tables_view import TEXT_COLUMNS

if TYPE_CHECKING:
    from finishlog.store.disk.attachments import Files

Progress = Callable[[str, float | None], None]
AT_ONCE = 1000
"""Rows held at a time."""
_FILES = "SELECT sha256, size FROM file ORDER BY sha256"
_SHOWN = 3
_json = JSONEncoder(separators=(",", ":")).encode


@dataclass(frozen=True, slots=True)
class Moved:
    """What moved. `missing` are the hashes of files that the log itself no longer has whole."""

    rows: int
    files: int
    missing: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Told:
    """How many rows a table has, and the hash of all of them in order of their key."""

    rows: int
    sha: str


@dataclass(frozen=True, slots=True)
class _Table:
    name: str
    columns: tuple[str, ...]
    key: tuple[str, ...]

    @property
    def select(self) -> str:
        return f'SELECT {_listed(self.columns)} FROM "{self.name}" ORDER BY {_listed(self.key)}'


class Digest:
    """Counts and hashes rows, however many come at a time."""

    def __init__(self) -> None:
        self._hash, self._rows = blake2b(digest_size=16), 0

    def add(self, rows: Rows) -> None:
        """The next rows. Both engines give whole numbers, floats, texts and None, each in one form."""
        self._hash.update(_json(rows)[1:-1].encode("ascii") + b",")
        self._rows += len(rows)

    def told(self) -> Told:
        """All rows so far."""
        return Told(self._rows, self._hash.hexdigest())


def move(
    source: Engine,
    into: Engine,
    *,
    progress: Progress | None = None,
    files: bool = True,
    without_missing: bool = False,
    also: Files | None = None,
) -> Moved:
    """Fill a log that was just made with one snapshot of another, and compare both. Raises LogError.

    Where the source lacks files, that is a failure too, unless `without_missing`; `also` may have them.
    """
    tell = progress or (lambda _what, _share: None)
    with source.connection(write=False) as reading:
        with into.filling() as writing, _fitting(), into.quietly(writing):
            named = _files(reading) if files else []
            held = [source.files(reading), *([also] if also is not None else [])]
            missing = _move_files(named, held, into.files(writing), tell)
            if missing and not without_missing:
                raise lacking(missing)
            told = _move_rows(source, into, reading, writing, tell)
        into.mark()
        with into.connection(write=False) as written:
            wrong = _differing(told, told_of(into, written, tell))
            there = [one for one in named if one[0] not in missing]
            wrong += _differing_files(there, into.files(written), tell)
    into.close()
    if wrong or not into.settled():
        raise LogError(
            "The copy differs from the log; it was removed.",
            f"{'; '.join(wrong[:_SHOWN]) or 'It is still being written'}.",
            "Check the disk, then try again.",
        )
    return Moved(sum(one.rows for one in told.values()), len(there), tuple(missing))


def lacking(missing: list[str]) -> LogError:
    """The refusal of a log that lacks files of its own."""
    count = f"{len(missing)} of the log's files are" if len(missing) > 1 else "One of the log's files is"
    return LogError(
        f"{count} missing or damaged: {', '.join(f'{each[:12]}…' for each in missing[:_SHOWN])}.",
        "Nothing was copied.",
        "finishlog check lists them all; look in an older copy, or go without them: --without-missing.",
    )


def _tables(engine: Engine) -> list[_Table]:
    """All tables of a log, those that are named by others first."""
    assert ddl.MAPPED  # imported: all tables are declared
    own = [
        _Table(table.name, tuple(table.columns.keys()), tuple(table.primary_key.columns.keys()))
        for table in Base.metadata.sorted_tables
    ]
    return [*own, _Table("job_text", (engine.text_key, *TEXT_COLUMNS), (engine.text_key,))]


def _listed(columns: tuple[str, ...]) -> str:
    return ", ".join(f'"{column}"' for column in columns)


def _move_rows(
    source: Engine, into: Engine, reading: Connection, writing: Connection, tell: Progress
) -> dict[str, Told]:
    tables = dict(zip(_tables(source), _tables(into), strict=True))
    whole = sum(_count(reading, table) for table in tables) or 1
    told: dict[str, Told] = {}
    done = 0
    for target in reversed(tables.values()):
        writing.exec_driver_sql(f'DELETE FROM "{target.name}"')  # what an empty log says of itself
    for table, target in tables.items():
        digest = Digest()
        rows = _digested(source.stream(reading, table.select, AT_ONCE), digest, done, whole, tell)
        into.load(writing, target.name, target.columns, rows)
        told[table.name] = digest.told()
        done += told[table.name].rows
    return told


@contextmanager
def _fitting() -> Iterator[None]:
    """A row that the other engine refuses is damage, to be said in one line."""
    try:
        yield
    except (IntegrityError, DataError) as error:
        raise LogError(
            "The log cannot be copied: a row of it does not fit.",
            f"{(str(error.orig).splitlines() or [''])[0].rstrip('.')}.",
            "finishlog check says what is wrong with it.",
        ) from error


def _count(connection: Connection, table: _Table) -> int:
    return int(connection.exec_driver_sql(f'SELECT count(*) FROM "{table.name}"').scalar_one())


def _digested(rows: Iterator[Rows], digest: Digest, done: int, whole: int, tell: Progress) -> Iterator[Rows]:
    for some in rows:
        digest.add(some)
        done += len(some)
        tell("rows", done / whole)
        yield some


def told_of(engine: Engine, connection: Connection, tell: Progress | None = None) -> dict[str, Told]:
    """What each table of a log holds, by name; logs that hold the same answer the same."""
    tables = _tables(engine)
    whole, done = sum(_count(connection, table) for table in tables) or 1, 0
    told = {}
    for table in tables:
        digest = Digest()
        for some in engine.stream(connection, table.select, AT_ONCE):
            digest.add(some)
            done += len(some)
            if tell is not None:
                tell("comparing", done / whole)
        told[table.name] = digest.told()
    return told


def _differing(right: dict[str, Told], found: dict[str, Told]) -> list[str]:
    """In words, the tables that hold other rows than were read."""
    wrong = []
    for name, one in found.items():
        if one.rows != right[name].rows:
            wrong.append(f"{name} has {one.rows:,} rows, not {right[name].rows:,}")
        elif one != right[name]:
            wrong.append(f"rows of {name} are not as they were")
    return wrong


def _files(connection: Connection) -> list[tuple[str, int]]:
    return [(str(row[0]), int(row[1])) for row in connection.exec_driver_sql(_FILES)]


def _move_files(
    named: list[tuple[str, int]], held: Sequence[Files], kept: Files, tell: Progress
) -> list[str]:
    """The hashes of the files that nobody holds whole."""
    whole, done = sum(size for _, size in named) or 1, 0
    missing = []
    for sha256, size in named:
        if not any(kept.take(sha256, files.blocks(sha256)) for files in held):
            missing.append(sha256)
        done += size
        tell("files", done / whole)
    return missing


def _differing_files(named: list[tuple[str, int]], kept: Files, tell: Progress) -> list[str]:
    wrong = []
    for sha256, size in named:
        wrong += [f"the file {sha256[:12]}… is {fault}" for fault in kept.wrong_with(sha256, size)]
        tell("comparing", None)
    return wrong
