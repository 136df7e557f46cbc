"""Whole jobs by their entries' kinds, read some hundred at a time."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from sqlalchemy import select
from sqlalchemy.engine import Connection

from finishlog.records.log import Job
from finishlog.store.reading.jobs import load_jobs
from finishlog.store.schema.rows import AT_ONCE
from finishlog.store.schema.tables import JobRow
from finishlog.store.schema.tables_entry import EntryRow


def jobs_with(connection: Connection, kinds: Sequence[str]) -> Iterator[Job]:
    """Unarchived jobs that ever had an entry of these kinds, current or not."""
    had = select(EntryRow.job_id).where(EntryRow.kind.in_(kinds))
    query = select(JobRow.id).where(JobRow.id.in_(had), JobRow.state != "archived").order_by(JobRow.id)
    ids = list(connection.scalars(query))
    for start in range(0, len(ids), AT_ONCE):
        yield from load_jobs(connection, ids[start : start + AT_ONCE]).values()
