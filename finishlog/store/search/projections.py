"""Writes the projections in the transaction that changed their source, and compares the two."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping
from functools import cache
from typing import Any

from sqlalchemy import select
from sqlalchemy.engine import Connection

from finishlog.records.log import Job
from finishlog.records.shop import Shop
from finishlog.store.reading.jobs import load_jobs
from finishlog.store.reading.settings import shop as read_shop
from finishlog.store.reading.viewing import View, view
from finishlog.store.schema.rows import AT_ONCE, IDS, Query, at_once, by_ids, read, table
from finishlog.store.schema.tables import JobRow
from finishlog.store.schema.tables_view import JobFacetRow, JobLineRow
from finishlog.store.search import dialects, due, reseals, stored
from finishlog.store.search.dialects import NO_LIMIT
from finishlog.store.search.find import LINE_FIELDS

Load = Callable[[list[int]], Mapping[int, Job]]
_DATED = (stored.DUE, stored.CARE)
_ALL = (stored.LINE, stored.FACET, stored.TEXT, *_DATED)


def refresh(
    connection: Connection,
    jobs: Collection[int],
    load: Load | None = None,
    ready: Mapping[int, stored.Rows] | None = None,
) -> None:
    """Rewrite the projections of these jobs where they differ, as `load` knows them or read anew.

    Those in `ready` were made beforehand.
    """
    known = ready or {}
    for portion in _portions(sorted(jobs)):
        rows: dict[int, stored.Rows] = {job: known.get(job, []) for job in portion}
        rest = [job for job in portion if job not in known]  # of a job that is not there nothing stays
        if rest:
            loaded = load(rest) if load else load_jobs(connection, rest)
            rows |= made(connection, loaded, read_shop(connection))
        stored.write(connection, rows, _ALL)


def made(connection: Connection, jobs: Mapping[int, Job], shop: Shop) -> dict[int, stored.Rows]:
    """All that is kept of these jobs, as it is stored, computed from the source."""
    with at_once(connection, (due.areas_query(), jobs), (logged_query(), jobs)):
        rows, views = _dated(connection, jobs, shop), _views(connection, jobs)
    return {job: [*_seen(connection, job, seen), *rows[job]] for job, seen in views.items()}


def refresh_due(connection: Connection) -> None:
    """Rewrite due lines and the book of all jobs, after the shop's windows changed or either was added."""
    shop = read_shop(connection)
    for portion in _portions(due.all_jobs(connection)):
        stored.write(connection, _dated(connection, load_jobs(connection, portion), shop), _DATED)


def _portions(ids: list[int]) -> Iterator[list[int]]:
    for start in range(0, len(ids), AT_ONCE):
        yield ids[start : start + AT_ONCE]


def _seen(connection: Connection, job: int, seen: View) -> stored.Rows:
    """A view as it is stored: line, facets, text."""
    facets = sorted(
        [stored.FACET, facet, folded, value] for (facet, folded), value in _one_each(seen).items()
    )
    line = stored.form(connection, stored.LINE, _line_values(job, seen))
    return [line, *facets, [stored.TEXT, *seen.texts]]


def _dated(connection: Connection, jobs: Mapping[int, Job], shop: Shop) -> dict[int, stored.Rows]:
    """Due lines and the book of these jobs, as they are stored."""
    lines, book = due.made(connection, jobs, shop), reseals.made(jobs, shop)
    return {
        job: [
            *(stored.form(connection, stored.DUE, row) for row in lines[job]),
            *(stored.form(connection, stored.CARE, book[job]) for _ in range(job in book)),
        ]
        for job in jobs
    }


def _line_values(job: int, seen: View) -> dict[str, Any]:
    return {"job_id": job, "sort_on": seen.sort_on} | {name: getattr(seen.line, name) for name in LINE_FIELDS}


def _one_each(seen: View) -> dict[tuple[str, str], str]:
    """A value in two spellings counts once; sorted, so that a rebuild picks the same one."""
    return {(facet, folded): value for facet, folded, value in sorted(seen.facets)}


@cache
def logged_query() -> Query:
    """When jobs were logged."""
    return select(JobRow.id, JobRow.logged).where(JobRow.id.in_(IDS))


def _views(connection: Connection, jobs: Mapping[int, Job]) -> dict[int, View]:
    """These jobs' views, computed from the source."""
    logged = {row.id: row.logged.date() for row in by_ids(connection, logged_query(), jobs)}
    return {number: view(job, logged[number]) for number, job in jobs.items()}


def all_jobs(connection: Connection) -> list[int]:
    """Ids of all jobs."""
    return due.all_jobs(connection)


def differing(connection: Connection, jobs: list[int] | None = None) -> list[int]:
    """Jobs (of these ids; None: of all) whose projections differ from the source, and orphaned projections."""
    wrong: set[int] = set()
    shop = read_shop(connection)
    for portion in _portions(all_jobs(connection) if jobs is None else jobs):
        held, loaded = _held(connection, portion), load_jobs(connection, portion)
        seen = _views(connection, loaded)
        wrong |= {job for job, one in seen.items() if held.get(job) != _as_held(job, one)}
        lines, made = due.held(connection, portion[0], portion[-1]), due.made(connection, loaded, shop)
        wrong |= {job for job, rows in made.items() if lines.get(job, []) != rows}
        booked, book = reseals.held(connection, portion[0], portion[-1]), reseals.made(loaded, shop)
        wrong |= {job for job in loaded if booked.get(job) != book.get(job)}
    low, high = (jobs[0], jobs[-1]) if jobs else (0, NO_LIMIT)
    wrong |= set(dialects.texts(connection).damaged(connection, low, high))
    return sorted(wrong | set(_strays(connection)))


def _as_held(job: int, seen: View) -> tuple[Any, ...]:
    values = _line_values(job, seen)
    return (values, _one_each(seen), seen.texts)


def _held(connection: Connection, jobs: list[int]) -> dict[int, tuple[Any, ...]]:
    low, high = jobs[0], jobs[-1]
    lines, facets = table(JobLineRow), table(JobFacetRow)
    texts = {row[0]: tuple(row[1:]) for row in stored.rows_of(connection, stored.TEXT, low, high)}
    found: dict[int, dict[tuple[str, str], str]] = {}
    for row in connection.execute(select(facets).where(facets.c.job_id.between(low, high))):
        found.setdefault(row.job_id, {})[row.facet, row.value_key] = row.value
    return {
        row.job_id: (dict(row._mapping), found.get(row.job_id, {}), texts.get(row.job_id))
        for row in connection.execute(select(lines).where(lines.c.job_id.between(low, high)))
    }


def _strays(connection: Connection) -> list[int]:
    """Orphaned search texts; foreign keys protect the other projections."""
    job = dialects.texts(connection).job_id
    query = f"SELECT {job} FROM job_text WHERE {job} NOT IN (SELECT id FROM job)"
    return [row[0] for row in read(connection, query, {})]
