"""A whole log in open formats, and the same log rebuilt from it, byte for byte.

An export is a folder: `finishlog.json` with every table, row by row; one CSV per table, for
people; `files/` with what was attached. Only the JSON and the files are read back. Computed
data (list, search) is left out.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from importlib.metadata import version
from pathlib import Path
from typing import TYPE_CHECKING, Any, TextIO

from sqlalchemy import TextClause, inspect, text
from sqlalchemy.engine import Connection, Inspector
from sqlalchemy.exc import DBAPIError

from finishlog import private
from finishlog.errors import InputError, LogError
from finishlog.store.archive import csv_text
from finishlog.store.archive.csv_text import Row
from finishlog.store.archive.read import FORMAT, JSON_NAME, Export, differing, read
from finishlog.store.disk.attachments import Attachments, Files
from finishlog.store.disk.files import already_there, folder_of_its_own
from finishlog.store.engine import opening, protocol
from finishlog.store.engine.postgres.address import Address, place
from finishlog.store.engine.protocol import Engine
from finishlog.store.schema import revisions

if TYPE_CHECKING:
    from finishlog.store.log import Log

FILES = "files"
ROWS_AT_ONCE = 1000


@dataclass(frozen=True, slots=True)
class Table:
    """A database table: columns, their types, key columns."""

    name: str
    columns: tuple[str, ...]
    kinds: tuple[type, ...]
    key: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Restored:
    """What came in. `notes` name what was ignored in the export."""

    jobs: int
    entries: int
    files: int
    notes: tuple[str, ...]


# out


def dump(log: Log, folder: Path) -> None:
    """Write the whole log into a new or empty folder.

    The same log gives the same bytes. Raises LogError if the folder holds anything or cannot be
    made, or if a file of the log is missing or damaged; then nothing is left behind.
    """
    if os.path.lexists(folder) and not _empty(folder):
        raise already_there(folder, "export")
    with (
        folder_of_its_own(folder, "export") as part,
        log._connection(write=False) as connection,
    ):
        _dump_tables(connection, part)
        _dump_files(connection, part / FILES)


def _empty(folder: Path) -> bool:
    return folder.is_dir() and not folder.is_symlink() and not any(folder.iterdir())


def _dump_tables(connection: Connection, part: Path) -> None:
    with _new(part / JSON_NAME, "\n") as out:
        out.write(f'{{"format": {_json(FORMAT)},\n"application": {_json(version("finishlog"))},\n')
        out.write(f'"schema": {_json(revisions.head())},\n"tables": {{')
        for place, table in enumerate(tables(connection)):
            out.write(",\n" if place else "\n")
            with _new(part / f"{table.name}.csv", "") as sheet:
                _dump_table(connection, table, out, sheet)
        out.write("}}\n")


def _dump_table(connection: Connection, table: Table, out: TextIO, sheet: TextIO) -> None:
    """Some rows at a time, so that a log of any size takes as much memory."""
    out.write(f'{_json(table.name)}: {{"columns": {_json(table.columns)}, "rows": [')
    sheet.write("\ufeff" + csv_text.write(table.columns))
    before = "\n"
    for rows in protocol.of(connection).stream(connection, _select(table), ROWS_AT_ONCE):
        out.write(before + _lines(rows))
        sheet.write(csv_text.write(None, rows))
        before = ",\n"
    out.write("]}")


def _lines(rows: Sequence[Row]) -> str:
    """A JSON array to a line; encoded in one go, five times as fast.

    Zeros are escaped in JSON strings, so a raw one is a separator.
    """
    return _all_json(rows)[1:-1].replace("]\0[", "],\n[").replace("\0", ", ")


_json = json.JSONEncoder(ensure_ascii=False, allow_nan=False).encode
_all_json = json.JSONEncoder(ensure_ascii=False, allow_nan=False, separators=("\0", ": ")).encode


@contextmanager
def _new(path: Path, newline: str) -> Iterator[TextIO]:
    """A new file, on the disk when the block ends."""
    with open(private.claim(path), "w", encoding="utf-8", newline=newline) as out:
        yield out
        out.flush()
        os.fsync(out.fileno())


def _dump_files(connection: Connection, folder: Path) -> None:
    kept, into = protocol.of(connection).files(connection), Attachments(folder)
    for sha256 in connection.scalars(text("SELECT sha256 FROM file ORDER BY sha256")).all():
        folder.mkdir(mode=private.FOLDER, exist_ok=True)
        if not into.take(sha256, kept.blocks(sha256)):
            raise _lost(sha256)
        os.replace(into.path(sha256), folder / sha256)
        into.path(sha256).parent.rmdir()


def _lost(sha256: str) -> LogError:
    return LogError(
        f"A file of the log is missing or damaged: {sha256[:12]}….",
        "",
        "Nothing was exported. Restore the file from a backup; finishlog check lists them all.",
    )


# tables of a database


def tables(connection: Connection) -> list[Table]:
    """The source tables (not the projections), by name."""
    seen = inspect(connection)
    return [_table(seen, name) for name in sorted(seen.get_table_names()) if not _is_computed(name)]


def _is_computed(name: str) -> bool:
    computed = (
        "job_line",
        "job_facet",
        "due",
        "care",
        "shelf",
        "learned",
        "log_state",
        "file_piece",
        "chain",
        "seal",
        "unsealed",
        "write_token",
    )
    return name in computed or name.startswith(("job_text", "job_word", "alembic_"))


def _table(seen: Inspector, name: str) -> Table:
    columns = seen.get_columns(name)
    key = seen.get_pk_constraint(name)["constrained_columns"]
    return Table(
        name,
        tuple(column["name"] for column in columns),
        tuple(column["type"].python_type for column in columns),
        tuple(key),
    )


def _select(table: Table) -> str:
    return f'SELECT {_listed(table)} FROM "{table.name}" ORDER BY {", ".join(table.key)}'


def _listed(table: Table) -> str:
    return ", ".join(f'"{column}"' for column in table.columns)


# back in


def restore(folder: Path, where: Path | Address) -> Restored:
    """Make a new log from an export; its own export is the same, byte for byte.

    Raises InputError if it is no export, from a newer program or inconsistent; LogError if the
    log exists. All or nothing.
    """
    from finishlog.store.rights.roles import remake

    target = place(where)
    export = read(folder)
    with opening.new(target, remake, with_files=True) as engine, engine.failures():
        engine.migrate(export.schema)
        with engine.filling() as connection:
            notes = _fill(connection, export, folder)
        if export.schema != revisions.head():
            engine.migrate()
        notes += _proved(engine, export)
        engine.mark()
        with engine.connection(write=True) as connection:
            files = _files_in(export, folder, engine.files(connection))
        jobs, entries = _computed(engine)
    return Restored(jobs, entries, files, notes)


def _fill(connection: Connection, export: Export, folder: Path) -> tuple[str, ...]:
    """Insert all rows; foreign keys are checked last. Returns where the CSVs differ."""
    held = {table.name: table for table in tables(connection)}
    if set(held) != set(export.tables):
        odd = sorted(set(held) ^ set(export.tables))
        raise export.bad(f"Its tables are not those of schema {export.schema}: {', '.join(odd[:3])}.")
    notes: list[str] = []
    for name, table in held.items():
        columns, rows = export.tables[name]
        if columns != table.columns:
            raise export.bad(f"The columns of {name} are not those of schema {export.schema}.")
        _insert(connection, export, table, rows)
        if differing(folder / f"{name}.csv", columns, table.kinds, rows):
            notes.append(f"{name}.csv disagrees with {JSON_NAME}; {JSON_NAME} was read.")
    for row, named in protocol.of(connection).dangling(connection)[:1]:
        raise export.bad(f"A row of {row} belongs to a row of {named} that is not there.")
    return tuple(notes)


def _proved(engine: Engine, export: Export) -> tuple[str, ...]:
    """Refuse values that no log of ours would hold; say which zones this machine does not know."""
    from finishlog.store.archive import (
        proof,
    )  # with all tables declared, which writing an export does without

    with engine.filling() as connection:
        if (odd := next(proof.wrong(connection), None)) is not None:
            raise export.bad(odd)
        unknown = proof.unknown_zones(connection)
    return tuple(f"This machine does not know the time zone {zone}; its sites show UTC." for zone in unknown)


def _insert(connection: Connection, export: Export, table: Table, rows: list[Row]) -> None:
    marks = ", ".join(f":{column}" for column in table.columns)
    statement = text(f'INSERT INTO "{table.name}" ({_listed(table)}) VALUES ({marks})')
    for start in range(0, len(rows), ROWS_AT_ONCE):
        some = [dict(zip(table.columns, row, strict=True)) for row in rows[start : start + ROWS_AT_ONCE]]
        try:
            with connection.begin_nested():
                connection.execute(statement, some)
        except (DBAPIError, OverflowError):
            _insert_each(connection, export, table, statement, some, start)


def _insert_each(
    connection: Connection,
    export: Export,
    table: Table,
    statement: TextClause,
    some: list[dict[str, Any]],
    before: int,
) -> None:
    """One by one, so that the row that does not fit is known."""
    for number, row in enumerate(some, before + 1):
        try:
            connection.execute(statement, row)
        except (DBAPIError, OverflowError) as error:
            cause = getattr(error, "orig", error)
            raise export.bad(f"Row {number} of {table.name} does not fit: {cause}.") from None


def _files_in(export: Export, folder: Path, into: Files) -> int:
    columns, rows = export.tables["file"]
    place = columns.index("sha256")
    for row in rows:
        sha256 = str(row[place])
        try:
            kept = into.keep(folder / FILES / sha256)
        except InputError as error:
            raise export.bad(f"The file {sha256[:12]}… cannot be read. {error.cause}") from None
        if kept.sha256 != sha256:
            raise export.bad(f"The file {sha256[:12]}… changed after the export.")
    return len(rows)


def _computed(engine: Engine) -> tuple[int, int]:
    """Write the projections and check the whole log. Returns counts of jobs and entries."""
    from finishlog.store.check import check
    from finishlog.store.sealing.keep import seal_all
    from finishlog.store.search import projections, shelved

    try:
        with engine.connection(write=True) as connection:
            try:
                projections.refresh(connection, list(connection.scalars(text("SELECT id FROM job"))))
                shelved.write_all(connection)
                seal_all(connection)
                report = check(connection, engine.files(connection), computed=True)
            except LogError as error:
                raise _broken(error.cause) from None
            except (KeyError, ValueError, TypeError) as error:
                raise _broken(f"What was found is {error}.") from None
            if report.problems:
                raise _broken(report.problems[0])
    finally:
        engine.close()
    return report.jobs, report.entries


def _broken(cause: str) -> InputError:
    return InputError("The export is inconsistent.", f"{cause} Nothing was made.", where=JSON_NAME)
