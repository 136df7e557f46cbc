"""A whole log in open formats, and the same log rebuilt from it, byte for byte.

An export is a folder: `finishlog.json` with every table, row by row; one CSV per table, for
people; `files/` with what was attached. Only the JSON and the files are read back. Computed
data (list, search) is left out.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterator
from dataclasses import dataclass
from importlib.metadata import version
from pathlib import Path
from typing import TYPE_CHECKING

from sqlalchemy import inspect, text
from sqlalchemy.engine import Connection, Inspector
from sqlalchemy.exc import DBAPIError

from finishlog.errors import InputError, LogError
from finishlog.store.archive import csv_text
from finishlog.store.archive.csv_text import Row
from finishlog.store.archive.read import FORMAT, JSON_NAME, Export, differing, read
from finishlog.store.disk.attachments import Attachments, folder_of
from finishlog.store.disk.files import already_there, built_beside, folder_of_its_own
from finishlog.store.engine import header, opening, protocol
from finishlog.store.engine.protocol import Engine
from finishlog.store.schema import revisions

if TYPE_CHECKING:
    from finishlog.store.log import Log

FILES = "files"


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
        _dump_files(connection, log.where, part / FILES)


def _empty(folder: Path) -> bool:
    return folder.is_dir() and not folder.is_symlink() and not any(folder.iterdir())


def _dump_tables(connection: Connection, part: Path) -> None:
    with open(part / JSON_NAME, "w", encoding="utf-8", newline="\n") as out:
        out.write(f'{{"format": {_json(FORMAT)},\n"application": {_json(version("finishlog"))},\n')
        out.write(f'"schema": {_json(revisions.head())},\n"tables": {{')
        for place, table in enumerate(tables(connection)):
            rows: list[Row] = [tuple(row) for row in connection.execute(text(_select(table)))]
            out.write(",\n" if place else "\n")
            out.writelines(_table_json(table, rows))
            _write(part / f"{table.name}.csv", "\ufeff" + csv_text.write(table.columns, rows))
        out.write("}}\n")
        out.flush()
        os.fsync(out.fileno())


def _table_json(table: Table, rows: list[Row]) -> Iterator[str]:
    yield f'{_json(table.name)}: {{"columns": {_json(table.columns)}, "rows": ['
    for place, row in enumerate(rows):
        yield (",\n" if place else "\n") + _json(row)
    yield "]}"


def _json(value: object) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False)


def _write(path: Path, text: str) -> None:
    with open(path, "w", encoding="utf-8", newline="") as out:
        out.write(text)
        out.flush()
        os.fsync(out.fileno())


def _dump_files(connection: Connection, where: Path, folder: Path) -> None:
    kept = Attachments(folder_of(where))
    rows = connection.scalars(text("SELECT sha256 FROM file ORDER BY sha256"))
    for sha256 in rows.all():
        folder.mkdir(exist_ok=True)
        copy_whole(kept.path(sha256), folder, sha256)


def copy_whole(source: Path, folder: Path, sha256: str) -> None:
    """Copy a file of known content. Raises LogError if it has changed."""
    into = Attachments(folder)
    try:
        kept = into.keep(source)
    except InputError as error:
        raise _lost(source, error.cause) from None
    os.replace(into.path(kept.sha256), folder / kept.sha256)
    into.path(kept.sha256).parent.rmdir()
    if kept.sha256 != sha256:
        raise _lost(source, "It is not what was saved.")


def _lost(source: Path, cause: str) -> LogError:
    return LogError(
        f"A file of the log is missing or damaged: {source.name[:12]}….",
        cause,
        "Nothing was exported. Restore the file from a backup; finishlog check lists them all.",
    )


# tables of a database


def tables(connection: Connection) -> list[Table]:
    """The source tables (not the projections), by name."""
    seen = inspect(connection)
    return [_table(seen, name) for name in sorted(seen.get_table_names()) if not _is_computed(name)]


def _is_computed(name: str) -> bool:
    computed = ("job_line", "job_facet", "due", "log_state", "chain", "seal", "unsealed")
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


def restore(folder: Path, where: Path) -> Restored:
    """Make a new log from an export; its own export is the same, byte for byte.

    Raises InputError if it is no export, from a newer program or inconsistent; LogError if the
    log exists. All or nothing.
    """
    target = header.place(where)
    export = read(folder)
    kept = folder_of(target)
    if os.path.lexists(kept):
        raise already_there(kept, "log")
    with folder_of_its_own(kept, "log") as part_files, built_beside(target, "log") as part:
        engine = opening.at(part, named=target)
        with engine.failures():
            engine.migrate(export.schema)
            with engine.filling() as connection:
                notes = _fill(connection, export, folder)
            if export.schema != revisions.head():
                engine.migrate()
            engine.mark()
            files = _files_in(export, folder, Attachments(part_files))
            jobs, entries = _computed(engine, Attachments(part_files))
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


def _insert(connection: Connection, export: Export, table: Table, rows: list[Row]) -> None:
    marks = ", ".join(f":{column}" for column in table.columns)
    statement = text(f'INSERT INTO "{table.name}" ({_listed(table)}) VALUES ({marks})')
    for number, row in enumerate(rows, 1):
        try:
            connection.execute(statement, dict(zip(table.columns, row, strict=True)))
        except (DBAPIError, OverflowError) as error:
            cause = getattr(error, "orig", error)
            raise export.bad(f"Row {number} of {table.name} does not fit: {cause}.") from None


def _files_in(export: Export, folder: Path, into: Attachments) -> int:
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


def _computed(engine: Engine, attachments: Attachments) -> tuple[int, int]:
    """Write the projections and check the whole log. Returns counts of jobs and entries."""
    from finishlog.store.check import check
    from finishlog.store.sealing.keep import seal_all
    from finishlog.store.search import projections

    try:
        with engine.connection(write=True) as connection:
            try:
                projections.refresh(connection, list(connection.scalars(text("SELECT id FROM job"))))
                seal_all(connection)
                report = check(connection, attachments)
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
