"""A job read before one's turn to write, taken for the job as it is then.

It is if nobody wrote since, or if every query that it is made of still finds the same.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from sqlalchemy.engine import Connection

from finishlog.records.answers import Moment
from finishlog.records.log import Job
from finishlog.store.reading.jobs import load_jobs
from finishlog.store.schema.rows import ASKED, Asked, fetched_all


@dataclass(frozen=True, slots=True)
class KnownJob:
    """A job, what each of the queries that it is made of found, and how far the log was written then."""

    number: int
    job: Job
    queries: Asked
    moment: Moment


def know(connection: Connection, number: int, now: Moment) -> KnownJob:
    """Read the job of that id, to be used in a later transaction; `now` is how far the log is written."""
    asked: Asked = []
    connection.info[ASKED] = asked
    try:
        job = load_jobs(connection, [number])[number]
    finally:
        del connection.info[ASKED]
    return KnownJob(number, job, asked, now)


def still(connection: Connection, known: Collection[KnownJob], now: Moment) -> list[KnownJob]:
    """Those that are still as they were read."""
    return [each for each in known if each.moment == now or _same(connection, each)]


def _same(connection: Connection, known: KnownJob) -> bool:
    """Half a millisecond for a job, where making it takes three."""
    now = fetched_all(connection, [(statement, values) for statement, values, _ in known.queries])
    return now == [found for *_, found in known.queries]
