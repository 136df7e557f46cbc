"""A job read before one's turn to write, taken for the job as it is then if every query still finds the same."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import event
from sqlalchemy.engine import Connection

from finishlog.records.log import Job
from finishlog.store.reading.jobs import load_jobs

Found = list[tuple[Any, ...]]
Given = Sequence[Any] | Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class KnownJob:
    """A job, and what each of the queries that it is made of found."""

    number: int
    job: Job
    queries: tuple[tuple[str, Given, Found], ...]


def know(connection: Connection, number: int) -> KnownJob:
    """Read the job of that id, to be used in a later transaction."""
    asked: list[tuple[str, Given]] = []

    def note(_: object, _cursor: object, statement: str, given: Given, *_more: object) -> None:
        asked.append((statement, given))

    event.listen(connection, "before_cursor_execute", note)
    try:
        job = load_jobs(connection, [number])[number]
    finally:
        event.remove(connection, "before_cursor_execute", note)
    return KnownJob(number, job, tuple((*each, _found(connection, *each)) for each in asked))


def still(connection: Connection, known: Collection[KnownJob]) -> list[KnownJob]:
    """Those that are still as they were read."""
    return [each for each in known if all(_found(connection, *a[:2]) == a[2] for a in each.queries)]


def _found(connection: Connection, statement: str, given: Given) -> Found:
    """Straight from the driver: half a millisecond for a job, where making it takes ten."""
    cursor = connection.connection.cursor()
    try:
        cursor.execute(statement, given)
        return list(cursor.fetchall())
    finally:
        cursor.close()
