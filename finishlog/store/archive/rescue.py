"""A new log of all that can still be read in a damaged one, and a list of what is gone.

It has an identity and a chain of its own: no mark of the damaged log, which had more, speaks of it.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from sqlalchemy import text
from sqlalchemy.engine import Connection

from finishlog.errors import InputError, LogError
from finishlog.store.archive.export import tables
from finishlog.store.archive.homecoming import DETAILS, SHARED, Homecoming
from finishlog.store.disk.attachments import Attachments, folder_of
from finishlog.store.disk.files import already_there, built_beside
from finishlog.store.engine import header, opening
from finishlog.store.engine.protocol import Engine
from finishlog.store.schema import revisions

_SHOWN = 20
_PLAIN = {
    "entry": "entries", "load": "loads", "load_area": "placements of a load", "material_use": "uses of material",
    "coat": "coats", "reading": "readings", "sample": "samples", "sample_dose": "doses of a sample",
    "approval": "approvals", "claim": "claims", "file": "files", "entry_file": "files of an entry",
    "photo": "photos' facts", "stage": "stages", "stage_material": "materials of a stage", "shape": "shapes",
    "area": "areas", "job": "jobs", "customer": "customers", "site": "sites", "product": "products",
    "stock_move": "changes of the shelf", "buried": "buried lines", "recipe": "recipes", "draft": "drafts",
    "setting": "settings", "advice": "advice", "ownership": "changes of owner", "lot": "bag lots",
    "person": "names of people", "plant": "plants", "maker": "makers", "mix": "mixes",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Rescued:
    """What came home, and in plain words what is gone. `problems` are what `check` finds in the new log."""

    jobs: int
    entries: int
    files: int
    gone: tuple[str, ...]
    problems: tuple[str, ...]


def rescue(damaged: str | Path, where: str | Path, *, clock: Callable[[], datetime]) -> Rescued:
    """Make a new log of everything that stands on sound pages. The damaged one is only read.

    Raises LogError if it cannot be read at all or the new one exists.
    """
    source, target = header.place(damaged), header.place(where)
    salvage = opening.at(source).salvage()
    kept = Attachments(folder_of(source))
    with built_beside(target, "log") as part:
        if folder_of(target).exists():
            raise already_there(folder_of(target), "log")
        engine = opening.at(part, named=target)
        revision = salvage.revision(revisions.known()) or revisions.head()
        if revision == revisions.head():
            engine.make()
        else:
            engine.migrate(revision)
        salvage.place(part)
        with engine.filling() as connection:
            now = clock().astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%S.%fZ")
            held = {table.name: table for table in tables(connection)}
            home = Homecoming(connection, held, salvage.rows, now, lambda sha256: _size(kept, sha256))
            home.bring()
            _require_something(connection, source)
            gone = [*_pages(salvage.lost_pages, salvage.unplaced), *_jobs(connection, home), *_rows(home)]
            gone += _entries(connection, home)
        if revision != revisions.head():
            engine.migrate()
        engine.mark()
        files, lost = _files(engine, kept, Attachments(folder_of(part)))
        jobs, entries, problems = _checked(engine, Attachments(folder_of(part)), lost)
    return Rescued(jobs, entries, files, (*gone, *lost.values()), problems)


def _size(kept: Attachments, sha256: str) -> int:
    path = kept.path(sha256)
    return path.stat().st_size if path.name == sha256 and path.is_file() else 0


def _require_something(connection: Connection, source: Path) -> None:
    if not any(connection.scalar(text(f"SELECT 1 FROM {name} LIMIT 1")) for name in ("job", "entry")):
        raise LogError(
            f"Nothing of a log can be read in {source}.",
            "No job or entry was found.",
            "Look in an older copy.",
        )


def _pages(lost: int, unplaced: int) -> Iterator[str]:
    if lost:
        yield f"{_count(lost, 'page')} of the file cannot be read."
    if unplaced:
        yield f"{_count(unplaced, 'row')} can be read, but not identified."


def _count(number: int, what: str) -> str:
    return f"{number:,} {what}" + ("" if number == 1 else "s")


def _jobs(connection: Connection, home: Homecoming) -> Iterator[str]:
    rows = connection.execute(text("SELECT id, handle, name FROM job ORDER BY id"))
    found = {int(row[0]): (str(row[1]), str(row[2])) for row in rows}
    for number in sorted(set(home.stood_in["job"])):
        handle, name = found.get(number, ("", SHARED))
        if name != SHARED:
            yield f"Job {handle}: its own record is gone; what was logged for it was rescued."
    missing = set(range(1, max(found, default=0))) - set(found)
    if missing:
        yield f"{_count(len(missing), 'job')} with everything that named them."


def _entries(connection: Connection, home: Homecoming) -> Iterator[str]:
    """The numbers of a job's entries run from 1: what is missing between them is gone."""
    numbers: dict[str, set[int]] = defaultdict(set)
    query = "SELECT job.handle, entry.number, entry.id FROM entry JOIN job ON job.id = entry.job_id"
    stood_in = set(home.stood_in["entry"])
    for handle, number, entry in connection.execute(text(query)):
        if entry not in stood_in:
            numbers[str(handle)].add(int(number))
    for handle, found in sorted(numbers.items()):
        missing = sorted(set(range(1, max(found))) - found)
        if missing:
            yield f"Job {handle}: entries {_listed(missing)} are gone."
    if stood_in:
        yield f"Entries gone, with some facts rescued and marked so: {len(stood_in):,}."
    yield from _facts(connection)


def _facts(connection: Connection) -> Iterator[str]:
    """Entries of a kind that has facts of its own, without them."""
    for table in ("load", "reading", "sample", "approval", "claim"):
        kind = DETAILS[table]
        query = (
            f"SELECT job.handle, entry.number FROM entry JOIN job ON job.id = entry.job_id "
            f"LEFT JOIN {table} ON {table}.entry_id = entry.id "
            f"WHERE entry.kind = :kind AND entry.withdrawn = 0 AND {table}.entry_id IS NULL ORDER BY 1, 2"
        )
        numbers: dict[str, list[int]] = defaultdict(list)
        for handle, number in connection.execute(text(query), {"kind": kind}):
            numbers[str(handle)].append(int(number))
        for handle, missing in numbers.items():
            yield f"Job {handle}: the facts of the {_PLAIN[table]} {_listed(missing)} are gone."


def _listed(numbers: list[int]) -> str:
    return ", ".join(map(str, numbers[:_SHOWN])) + (", …" if len(numbers) > _SHOWN else "")


def _rows(home: Homecoming) -> Iterator[str]:
    for table, keys in sorted(home.stood_in.items()):
        if table in ("customer", "site", "product", "recipe", "area") and keys:
            yield f"Names of {_PLAIN.get(table, table)} gone: {len(keys):,}; a stand-in is named as rescued."
    for table, number in sorted(home.lost.items()):
        yield f"{_PLAIN.get(table, table).capitalize()} that could not be rescued: {number:,}."
    for (table, parent), number in sorted(home.unnamed.items()):
        names = f"{_PLAIN.get(table, table).capitalize()} that named {_PLAIN.get(parent, parent)} now gone"
        yield f"{names}: {number:,}."


def _files(engine: Engine, kept: Attachments, into: Attachments) -> tuple[int, dict[str, str]]:
    """Copy the files; how many came home, and a line by hash for each that is not there or damaged."""
    lost: dict[str, str] = {}
    with engine.connection(write=False) as connection:
        wanted = [str(row) for row in connection.scalars(text("SELECT sha256 FROM file ORDER BY sha256"))]
    for sha256 in wanted:
        try:
            if kept.path(sha256).name == sha256 and into.keep(kept.path(sha256)).sha256 == sha256:
                continue
        except InputError:
            pass
        lost[sha256] = f"The file {sha256[:12]}… is not beside the log, or damaged."
    for path in kept.strays(set(wanted)):
        lost[path.name] = (
            f"A file beside the log belongs to no entry any more: {path.name[:12]}…; it stays there."
        )
    return len(wanted) - sum(1 for sha256 in lost if sha256 in wanted), lost


def _checked(
    engine: Engine, attachments: Attachments, lost: dict[str, str]
) -> tuple[int, int, tuple[str, ...]]:
    from finishlog.store.check import check
    from finishlog.store.sealing.keep import seal_all
    from finishlog.store.search import projections, shelved

    try:
        with engine.connection(write=True) as connection:
            projections.refresh(connection, list(connection.scalars(text("SELECT id FROM job"))))
            shelved.write_all(connection)
            seal_all(connection)
            report = check(connection, attachments)
    finally:
        engine.close()
    told = tuple(line for line in report.problems if not any(sha256[:12] in line for sha256 in lost))
    return report.jobs, report.entries, told
