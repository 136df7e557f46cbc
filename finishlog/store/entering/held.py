"""Caches jobs within a unit of work as long as only its own entries are added to them.

Otherwise a sheet of 3,000 entries for one job would reread the whole job 3,000 times.
"""

from __future__ import annotations

from bisect import insort
from collections.abc import Collection, Iterator
from contextlib import contextmanager
from dataclasses import replace

from sqlalchemy.engine import Connection

from finishlog.records.answers import Moment
from finishlog.records.log import Entry, Job
from finishlog.store.engine.protocol import of
from finishlog.store.entering.known import KnownJob, still
from finishlog.store.reading.entries import standing_loads
from finishlog.store.reading.jobs import load_jobs, standing_order

MOST = 50
"""Most jobs cached at once."""


class HeldJobs:
    """Any row written outside `beside` clears the cache."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection
        self._held: dict[int, Job] = {}
        self._mark = 0

    def job(self, number: int) -> Job:
        """The current job of that id."""
        self._look()
        found = self._held.pop(number, None) or load_jobs(self._connection, [number])[number]
        self._held[number] = found  # most recently used last
        if len(self._held) > MOST:
            del self._held[next(iter(self._held))]
        return found

    def take(self, known: Collection[KnownJob], now: Moment) -> bool:
        """Hold what was read ahead, if it still is so; whether all of it is. `now` is how far the log is written."""
        self._look()
        found = still(self._connection, known, now)
        self._held |= {each.number: each.job for each in found}
        return len(found) == len(known)

    def jobs(self, numbers: Collection[int]) -> dict[int, Job]:
        """The current jobs of these ids, held or read."""
        self._look()
        held = {number: self._held[number] for number in numbers if number in self._held}
        return held | load_jobs(self._connection, [number for number in numbers if number not in held])

    def forget(self) -> None:
        """Drops every job; an entry that changed more than itself needs it."""
        self._held.clear()

    @contextmanager
    def beside(self) -> Iterator[None]:
        """Writes in this block are not part of any job."""
        self._look()
        yield
        self._mark = self._written()

    def add(self, number: int, entry: Entry) -> None:
        """Within `beside`: this entry was added to the job, and no job changed otherwise."""
        if number in self._held:
            self._held[number] = with_entry(self._held[number], entry)

    def _look(self) -> None:
        if self._mark != self._written():
            self._held.clear()
            self._mark = self._written()

    def _written(self) -> int:
        """Rows this connection has written, including any rolled back to a savepoint."""
        return of(self._connection).written(self._connection)


def with_entry(job: Job, entry: Entry) -> Job:
    """The job with one more entry."""
    history = (*job.history, entry)
    if entry.sample is not None or (entry.load is not None and entry.replaces is not None):
        history = tuple(standing_loads(list(history)))
        entry = history[-1]
    standing = {one.number: one for one in history} if history[:-1] != job.history else None
    entries = [
        standing[one.number] if standing else one for one in job.entries if one.number != entry.replaces
    ]
    if not entry.withdrawn:
        insort(entries, entry, key=standing_order)
    return replace(job, history=history, entries=tuple(entries))
