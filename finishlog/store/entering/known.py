"""A job read before one's turn to write, taken for the job as it is then if every query still finds the same."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from typing import Any

from sqlalchemy.engine import Connection

from finishlog.records.log import Job
from finishlog.store.reading.jobs import load_jobs
from finishlog.store.schema.rows import ASKED, Asked, fetched_all


@dataclass(frozen=True, slots=True)
class KnownJob:
    """A job, and what each of the queries that it is made of found."""

    number: int
    job: Job
    queries: Asked


def know(connection: Connection, number: int) -> KnownJob:
    """Read the job of that id, to be used in a later transaction."""
    asked: Asked = []
    connection.info[ASKED] = asked
    try:
        job = load_jobs(connection, [number])[number]
    finally:
        del connection.info[ASKED]
    return KnownJob(number, job, asked)


def still(connection: Connection, known: Collection[KnownJob]) -> list[KnownJob]:
    """Those that are still as they were read: half a millisecond for a job, where making it takes three."""
    return [each for each in known if _now(connection, each) == [found for *_, found in each.queries]]


def _now(connection: Connection, known: KnownJob) -> list[list[tuple[Any, ...]]]:
    return fetched_all(connection, [(statement, values) for statement, values, _ in known.queries])
