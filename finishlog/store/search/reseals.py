"""Projection of the book of reseals: written from `finishlog.trade.upkeep.care_line`, sorted and counted by SQL.

Kept is what does not depend on the day; a query adds the day, so that a page of the book reads only its jobs.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import asdict
from itertools import islice
from typing import Any

from sqlalchemy import select, text
from sqlalchemy.engine import Connection

from finishlog.records.care import CareAsked, CareCount, CareState
from finishlog.records.log import Job
from finishlog.records.shop import Shop
from finishlog.store.reading.jobs import load_jobs
from finishlog.store.schema.rows import AT_ONCE, table
from finishlog.store.schema.tables_view import CareRow
from finishlog.store.search.dialects import NO_LIMIT
from finishlog.trade.upkeep.care_line import care_line

_WAITED = "state = 'ask_again' AND on_day <= :today"
"""A wait that is over: it is due again, on no day."""
_STANDING = f"""
    SELECT job_id, handle, 0 AS done, due_from, due_to, open_month,
        CASE WHEN {_WAITED} THEN NULL ELSE on_day END AS on_day,
        CASE WHEN {_WAITED} THEN NULL ELSE on_month END AS on_month,
        CASE WHEN left_alone = 1 THEN 'declined'
            WHEN state = 'due' OR {_WAITED} THEN
                CASE WHEN reminded >= :season AND bounced = 0 THEN 'written' ELSE 'due' END
            ELSE state END AS state
    FROM care
"""
_LINES = f"""
    WITH line AS (
        SELECT job_id, handle, done, state, due_to,
            CASE WHEN state = 'booked' AND on_day IS NOT NULL THEN on_day ELSE due_to END AS day,
            CASE WHEN on_month IS NULL AND open_month > :open_month THEN open_month
                WHEN on_month IS NULL THEN :open_month
                WHEN on_month > :month THEN on_month
                ELSE :month END AS month
        FROM ({_STANDING}) AS standing
        WHERE due_from <= :until OR on_day <= :until
        UNION ALL
        SELECT job_id, handle, 1, 'done', due_to, done_on,
            CASE WHEN done_month > :month THEN done_month ELSE :month END
        FROM care WHERE done_on >= :since
    )
"""
_ORDER = (
    "ORDER BY month, CASE state WHEN 'declined' THEN 2 WHEN 'done' THEN 0 WHEN 'booked' THEN 0 ELSE 1 END, "
    "day, handle, done DESC"
)
_PAGE = text(f"{_LINES} SELECT job_id, done FROM line {_ORDER} LIMIT :limit OFFSET :offset")
_COUNTS = text(
    f"{_LINES} SELECT month, state, count(*), sum(CASE WHEN due_to < :today THEN 1 ELSE 0 END) FROM line "
    "GROUP BY month, state ORDER BY month, state"
)
_MARKS = f"{_LINES} SELECT month, state FROM line WHERE month IN (%s) {_ORDER}"


# written


def made(jobs: Mapping[int, Job], shop: Shop) -> dict[int, dict[str, Any]]:
    """The rows these jobs should have, computed from the source."""
    found = ((number, job, care_line(job, shop)) for number, job in jobs.items())
    return {
        number: {"job_id": number, "handle": job.handle, **asdict(line)}
        for number, job, line in found
        if line is not None
    }


def held(connection: Connection, low: int, high: int) -> dict[int, dict[str, Any]]:
    """Stored rows of jobs in an id range."""
    rows = table(CareRow)
    found = connection.execute(select(rows).where(rows.c.job_id.between(low, high)))
    return {row.job_id: dict(row._mapping) for row in found}


# read


def page(
    connection: Connection, asked: CareAsked, limit: int | None, offset: int
) -> Iterator[tuple[bool, Job]]:
    """The jobs of the book in its order, each with whether it stands there as done."""
    most = NO_LIMIT if limit is None else max(limit, 0)
    rows = iter(connection.execute(_PAGE, {**_values(asked), "limit": most, "offset": offset}).all())
    while some := list(islice(rows, AT_ONCE)):
        jobs = load_jobs(connection, {row.job_id for row in some})
        yield from ((bool(row.done), jobs[row.job_id]) for row in some)


def counts(connection: Connection, asked: CareAsked) -> tuple[CareCount, ...]:
    """How many lines of each month and state the book has."""
    return tuple(CareCount(*row) for row in connection.execute(_COUNTS, _values(asked)))


def marks(
    connection: Connection, asked: CareAsked, months: Collection[int]
) -> dict[int, tuple[CareState, ...]]:
    """The states of all lines of these months, in their order."""
    if not months:
        return {}
    query = text(_MARKS % ", ".join(str(int(month)) for month in sorted(months)))
    found: dict[int, list[CareState]] = {}
    for month, state in connection.execute(query, _values(asked)):
        found.setdefault(month, []).append(state)
    return {month: tuple(states) for month, states in found.items()}


def _values(asked: CareAsked) -> dict[str, Any]:
    days: Sequence[str] = ("today", "until", "since")
    return {**asdict(asked), **{name: getattr(asked, name).isoformat() for name in days}}
