"""Whole jobs by their entries' kinds, read some hundred at a time."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from sqlalchemy import Select, exists, select
from sqlalchemy.engine import Connection

from finishlog.records.log import Job
from finishlog.store.reading.jobs import load_jobs
from finishlog.store.schema.rows import AT_ONCE, looked_at
from finishlog.store.schema.tables import JobRow
from finishlog.store.schema.tables_entry import EntryRow


def jobs_with(connection: Connection, kinds: Sequence[str], newest: int | None = None) -> Iterator[Job]:
    """Unarchived jobs that ever had an entry of these kinds, current or not, in the order they were logged.

    `newest`: of the jobs logged last, so many; no other is looked at.
    """
    ids = sorted(connection.scalars(_newest(kinds, newest) if newest is not None else _all(kinds)))
    for start in range(0, len(ids), AT_ONCE):
        yield from load_jobs(connection, ids[start : start + AT_ONCE]).values()


def _all(kinds: Sequence[str]) -> Select[int]:
    had = select(EntryRow.job_id).where(EntryRow.kind.in_(kinds))
    return select(JobRow.id).where(JobRow.id.in_(had), JobRow.state != "archived")


def _newest(kinds: Sequence[str], newest: int) -> Select[int]:
    """Job by job from the last, so that the entries of the others are not read."""
    had = exists().where(EntryRow.job_id == JobRow.id, looked_at(EntryRow.kind).in_(kinds))
    return select(JobRow.id).where(had, JobRow.state != "archived").order_by(JobRow.id.desc()).limit(newest)
