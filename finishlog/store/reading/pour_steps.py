"""Logged times of the latest pours, which train the next one's clock."""

from __future__ import annotations

from functools import cache

from sqlalchemy import select
from sqlalchemy.engine import Connection

from finishlog.records.quantities.pour_day import PourStep
from finishlog.records.when import NO_HOUR
from finishlog.store.schema.rows import IDS, Query, by_ids, looked_at, table
from finishlog.store.schema.tables import JobRow
from finishlog.store.schema.tables_entry import EntryRow

LAST = 60
"""Entries read per kind: a crew's times of years ago say little about today's."""
KINDS = ("load", "pour", "powder_release", "stamp", "joint", "rinse", "weather")


def steps(connection: Connection) -> tuple[PourStep, ...]:
    """Current entries of the jobs that stamped or threw release last; skips those without an hour."""
    jobs = {job for kind in ("stamp", "powder_release") for job in _last(connection, kind)}
    return tuple(
        PourStep(row.handle, row.kind, row.happened, row.facts)
        for row in by_ids(connection, _steps_query(), jobs)
    )


@cache
def _steps_query() -> Query:
    later = table(EntryRow).alias()
    return (
        select(JobRow.handle, EntryRow.kind, EntryRow.happened, EntryRow.facts)
        .join(JobRow, JobRow.id == EntryRow.job_id)
        .outerjoin(later, later.c.replaces_id == EntryRow.id)
        .where(
            EntryRow.job_id.in_(IDS),
            looked_at(EntryRow.kind).in_(KINDS),
            EntryRow.exactness.not_in(NO_HOUR) | (EntryRow.kind == "weather"),
            EntryRow.withdrawn.is_(False),
            later.c.id.is_(None),
        )
        .order_by(EntryRow.job_id, EntryRow.happened, EntryRow.id)
    )


def _last(connection: Connection, kind: str) -> list[int]:
    query = (
        select(EntryRow.job_id)
        .where(EntryRow.kind == kind, EntryRow.exactness.not_in(NO_HOUR))
        .order_by(EntryRow.happened.desc())
        .limit(LAST)
    )
    return list(connection.execute(query).scalars())
