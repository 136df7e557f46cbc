"""Projection of due lines: written from `finishlog.trade.due`, queried by window over all jobs.

A window's `span` is the bit length of its hours. Windows of one span that are not over at `since` and have
opened by `until` close between `since` and `until` + 2 ** span hours: an index range of which at least about
half has opened. So a page of the list reads little more than it shows.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from datetime import UTC, datetime, timedelta
from functools import cache
from typing import Any

from sqlalchemy import select
from sqlalchemy.engine import Connection

from finishlog.records.log import Job
from finishlog.records.shop import Shop
from finishlog.store.schema.rows import IDS, Query, by_ids, read, table
from finishlog.store.schema.tables import AreaRow, JobRow
from finishlog.store.schema.tables_view import DueRow
from finishlog.store.schema.types import read_instant, write_instant
from finishlog.store.search.dialects import NO_LIMIT, row_id
from finishlog.trade.due import DueLine, due_lines

Lines = tuple[tuple[str, DueLine], ...]
"""Handle of the job and line."""
_INSTANTS = ("anchor", "opens", "usual_from", "usual_to", "closes")
_PLAIN = ("key", "title", "age_days", *_INSTANTS, "why", "caution")
_COLUMNS = ", ".join(
    ("job.handle", "d.key", "d.title", "area.uid", "d.age_days", *(f"d.{name}" for name in _INSTANTS))
)
OF_JOB = (
    f"SELECT {_COLUMNS}, d.why, d.caution FROM due AS d JOIN job ON job.id = d.job_id "
    "LEFT JOIN area ON area.id = d.area_id WHERE d.job_id = :job ORDER BY d.position"
)


# written


def made(connection: Connection, jobs: Mapping[int, Job], shop: Shop) -> dict[int, list[dict[str, Any]]]:
    """The rows these jobs should have, computed from the source."""
    areas = {row.uid: row.id for row in by_ids(connection, areas_query(), jobs)}
    return {number: list(_rows(number, job, shop, areas)) for number, job in jobs.items()}


@cache
def areas_query() -> Query:
    """The areas of jobs, which the rows name."""
    return select(AreaRow.id, AreaRow.uid).where(AreaRow.job_id.in_(IDS))


def _rows(number: int, job: Job, shop: Shop, areas: Mapping[str, int]) -> Iterator[dict[str, Any]]:
    for position, line in enumerate(due_lines(job, shop), 1):
        yield {
            "job_id": number,
            "position": position,
            "area_id": None if line.area is None else areas[line.area],
            "span": span(line.closes - line.opens),
        } | {name: getattr(line, name) for name in _PLAIN}


def span(length: timedelta) -> int:
    """The class of a window length: less than 2 ** span hours."""
    return max(int(length / timedelta(hours=1)), 0).bit_length()


def held(connection: Connection, low: int, high: int) -> dict[int, list[dict[str, Any]]]:
    """Stored rows of jobs in an id range."""
    rows = table(DueRow)
    query = select(rows).where(rows.c.job_id.between(low, high)).order_by(rows.c.job_id, rows.c.position)
    found: dict[int, list[dict[str, Any]]] = {}
    for row in connection.execute(query):
        found.setdefault(row.job_id, []).append(dict(row._mapping))
    return found


# read


def lines(
    connection: Connection, until: datetime, since: datetime | None, keys: Collection[str], limit: int | None,
    after: datetime | None = None,
) -> Lines:  # fmt: skip
    """Lines that open by `until` and close at `since` or later (None: any), first to close first.

    With `after`, only those that open later than that.
    """
    parts = list(_parts(connection, until, since, sorted(keys), after))
    if not parts:
        return ()
    most = NO_LIMIT if limit is None else max(limit, 0)
    here, there = row_id(connection), row_id(connection, "d")
    each = [f"SELECT * FROM (SELECT {here} AS id, closes FROM due WHERE {where} ORDER BY closes LIMIT :most) "
            f"AS part{place}" for place, (where, _) in enumerate(parts)]  # fmt: skip
    values = {name: value for _, given in parts for name, value in given.items()}
    query = (
        f"SELECT {_COLUMNS}, d.why, d.caution FROM ({' UNION ALL '.join(each)}) AS found "
        f"JOIN due AS d ON {there} = found.id JOIN job ON job.id = d.job_id "
        "LEFT JOIN area ON area.id = d.area_id "
        "ORDER BY found.closes, d.job_id, d.position LIMIT :most"
    )
    return tuple(_line(row) for row in read(connection, query, {**values, "most": most}))


def _parts(
    connection: Connection,
    until: datetime,
    since: datetime | None,
    keys: Sequence[str],
    after: datetime | None,
) -> Iterator[tuple[str, Mapping[str, Any]]]:
    """Conditions that each read one index range."""
    last = write_instant(until)
    first = "" if since is None else write_instant(since)
    begun = "" if after is None else write_instant(after)
    place = 0
    for key in keys or (None,):
        for one in _spans(connection, key):
            of_key = "" if key is None else f"key = :key{place} AND "
            where = (
                f"{of_key}span = :span{place} AND closes BETWEEN :first AND :ends{place} "
                "AND opens <= :last AND opens > :begun"
            )
            given = {f"span{place}": one, f"ends{place}": write_instant(_later(until, 2**one))}
            named = {} if key is None else {f"key{place}": key}
            yield where, {**given, **named, "first": first, "last": last, "begun": begun}
            place += 1


def _later(instant: datetime, hours: int) -> datetime:
    """That many hours later, or the latest representable instant."""
    try:
        return instant + timedelta(hours=hours)
    except OverflowError:
        return datetime.max.replace(tzinfo=UTC)


def _spans(connection: Connection, key: str | None) -> list[int]:
    """The existing spans, of one key or of all, each by one index lookup."""
    found: list[int] = []
    query = f"SELECT min(span) FROM due WHERE {'' if key is None else 'key = :key AND '}span > :over"
    given = {} if key is None else {"key": key}
    while (one := read(connection, query, {**given, "over": found[-1] if found else -1})[0][0]) is not None:
        found.append(int(one))
    return found


def _line(row: Any) -> tuple[str, DueLine]:
    handle, key, title, area, age_days, *rest = row
    instants = dict(zip(_INSTANTS, map(read_instant, rest), strict=False))
    return handle, DueLine(key, title, area, age_days, **instants, why=rest[-2], caution=rest[-1])


def of_job(connection: Connection, job: int) -> tuple[DueLine, ...]:
    """The lines of one job, in their order."""
    return tuple(_line(row)[1] for row in read(connection, OF_JOB, {"job": job}))


def all_jobs(connection: Connection) -> list[int]:
    """Ids of all jobs."""
    return list(connection.scalars(select(JobRow.id).order_by(JobRow.id)))
