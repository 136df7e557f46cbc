"""Reading a log: every answer is a frozen record, from one consistent snapshot."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from contextlib import contextmanager
from datetime import date, datetime
from typing import TYPE_CHECKING, Unpack

from sqlalchemy.engine import Connection

from finishlog.errors import InputError
from finishlog.records.log import JobLine
from finishlog.store.engine.protocol import run
from finishlog.store.learning_reader import LearningReader
from finishlog.store.schema.fold import slug
from finishlog.store.schema.rows import at_once
from finishlog.store.search import find
from finishlog.store.search.question import Asked, Question
from finishlog.store.shop_reader import whole

if TYPE_CHECKING:
    from finishlog.records.answers import (
        Advice,
        PastSlab,
    )
    from finishlog.records.care import CareAsked, CareCount, CareState
    from finishlog.records.due import Place
    from finishlog.records.log import Job, Mix
    from finishlog.records.quantities.pour_day import PourStep
    from finishlog.records.shop import Shop
    from finishlog.records.writing import NewEntry
    from finishlog.store.entering.expected import Expected
    from finishlog.store.entering.known import KnownJob
    from finishlog.trade.due import DueLine

SOUGHT_MOST = 200
"""Characters of a mistyped handle to search for."""

# as text, so that the first rows load without the mapped tables
_EXACT = "SELECT 1 FROM job WHERE handle = :handle"
_BEGINNING = "SELECT handle FROM job WHERE handle >= :wanted AND handle < :past ORDER BY handle LIMIT 4"
_NEWEST = "SELECT handle FROM job ORDER BY id DESC LIMIT 1"
_ENTRY_OF = (
    "SELECT job.handle, entry.number FROM entry JOIN job ON job.id = entry.job_id WHERE entry.uid = :uid"
)
_JOB_ID = "SELECT id FROM job WHERE handle = :handle"
_MATCHES = (
    "SELECT 1 FROM job WHERE handle = :handle AND (reference_id IS NOT NULL "
    "OR EXISTS (SELECT 1 FROM advice WHERE advice.job_id = job.id AND advice.kind = 'plan'))"
)
_DRAFT = "SELECT body FROM draft WHERE key = :key"


class Reader(LearningReader):
    """Queries on a log. Made by `Log.reading`."""

    def __init__(self, connection: Connection) -> None:
        super().__init__(connection)
        self._ids: dict[str, int] = {}
        """Of jobs by handle, as they were found: neither ever changes, and no job is ever deleted."""

    def lines(
        self, *, words: str = "", limit: int | None = None, offset: int = 0, **only: Unpack[Asked]
    ) -> tuple[JobLine, ...]:
        """Jobs as listed: best match first, or newest first without words.

        Archived jobs are left out unless `archived`.
        """
        self._fresh()
        with whole():
            return find.lines(self._connection, Question(words, **only), limit, offset)

    def part(
        self, *, words: str = "", limit: int | None = None, offset: int = 0, **only: Unpack[Asked]
    ) -> tuple[tuple[JobLine, ...], int]:
        """Both `lines` and `count`."""
        self._fresh()
        with whole():
            return find.part(self._connection, Question(words, **only), limit, offset)

    def count(self, *, words: str = "", **only: Unpack[Asked]) -> int:
        """Number of jobs `lines` would return without a limit."""
        self._fresh()
        return find.count(self._connection, Question(words, **only))

    def line(self, handle: str) -> JobLine:
        """One job as listed. Raises InputError for an unknown handle."""
        self._fresh()
        found = find.one_line(self._connection, handle)
        if found is None:
            raise self._unresolved(handle, [])
        return found

    def nearest(self, words: str) -> tuple[str, ...]:
        """Up to three similar customers or handles, for "no job found"."""
        self._fresh()
        return find.nearest(self._connection, words)

    def near(
        self,
        lab: tuple[float, float, float],
        *,
        limit: int | None = None,
        within: float | None = None,
        archived: bool = False,
    ) -> tuple[JobLine, ...]:
        """Jobs by the smallest CIEDE2000 (in `de00`) between this L*a*b* and their base, nearest first.

        L*a*b* is D65, 2 degree. Uses dry, bare readings, others only if a job has none. Exact.
        """
        from finishlog.store.search.near import near

        self._fresh()
        return near(self._connection, lab, limit, within, archived)

    def know(self, handle: str) -> KnownJob:
        """A job read ahead of one's turn, for `Log.writing`. Raises InputError for an unknown handle."""
        from finishlog.store.entering.known import know

        number = self._job_id(handle)
        with whole():
            return know(self._connection, number, self.moment())

    def expect(self, known: KnownJob, new: NewEntry, shop: Shop) -> Expected | None:
        """What follows from a new entry in this `shop`, made ahead of one's turn; None if it cannot be told yet."""
        from finishlog.store.entering.expected import Expected, with_new
        from finishlog.store.search import projections

        job = with_new(known.job, new)
        if job is None:
            return None
        rows = projections.made(self._connection, {known.number: job}, shop)
        return Expected(known.number, job, shop, rows[known.number])

    def resolve(self, job: str) -> str:
        """The handle from a full one or a unique prefix. Raises InputError."""
        wanted = slug(job)
        if self._id_of(wanted) is not None:
            return wanted
        found = run(self._connection, _BEGINNING, wanted=wanted, past=wanted + "~")
        handles = [row[0] for row in found] if wanted else []
        if len(handles) == 1:
            return str(handles[0])
        if job.isprintable() and run(self._connection, _EXACT, handle=job):
            return job  # one that an older program let in and this one would not give
        raise self._unresolved(job, handles)

    def _unresolved(self, job: str, handles: list[str]) -> InputError:
        shown = job if len(job) <= 60 else job[:60] + "…"
        if handles:
            listed = ", ".join(handles[:3])
            return InputError(
                f'More than one job starts with "{shown}".', f"{listed}.", where="JOB", example=handles[0]
            )
        near = self._meant(job)
        cause = f"Nearest: {', '.join(near)}." if near else "The log has no such handle."
        example = near[0] if near else self._newest() or "hill-patio"
        return InputError(f'No job "{shown}".', cause, where="JOB", example=example)

    def _newest(self) -> str | None:
        """The most recently created job's handle."""
        found = run(self._connection, _NEWEST)
        return str(found[0][0]) if found else None

    def _meant(self, words: str) -> tuple[str, ...]:
        """Handles of the best matches for these words, else of similarly spelled ones."""
        self._fresh()
        asked = find.Question(words[:SOUGHT_MOST], archived=True)
        hits = find.lines(self._connection, asked, 3, 0) if words.strip() else ()
        return tuple(hit.handle for hit in hits) or find.nearest_handles(self._connection, words)

    @contextmanager
    def page_at_hand(self, handle: str) -> Iterator[None]:
        """Within the block what a job's page shows was asked together, where the driver can. Not while writing."""
        from finishlog.store.reading import jobs, lists, settings
        from finishlog.store.search import due

        job = [self._job_id(handle)]
        queries = (*jobs.first_queries(noted=False), lists.advices_query())
        with at_once(
            self._connection,
            (find.OF_JOB, {"handle": handle}),
            (settings.SETTINGS, {}),
            (due.OF_JOB, {"job": job[0]}),
            *((query, job) for query in queries),
        ):
            yield

    @contextmanager
    def entry_at_hand(self, handle: str) -> Iterator[None]:
        """The same of what an entry of the job is made by, ahead of one's turn."""
        from finishlog.store.reading import jobs, lists, settings
        from finishlog.store.search import due, moments, projections

        job = [self._job_id(handle)]
        queries = (*jobs.first_queries(noted=True), due.areas_query(), projections.logged_query())
        with at_once(
            self._connection,
            (settings.SETTINGS, {}),
            (lists.LAST_LOGGED, {}),
            (moments.MOMENT, {}),
            *((query, job) for query in queries),
        ):
            yield

    def job(self, handle: str) -> Job:
        """A job with everything logged on it. Raises InputError for an unknown handle."""
        from finishlog.store.reading.jobs import load_jobs

        found = self._job_id(handle)
        with whole():
            return load_jobs(self._connection, [found])[found]

    def jobs(self, handles: Iterable[str]) -> dict[str, Job]:
        """Several jobs at once, by handle. Raises InputError for an unknown handle."""
        from finishlog.store.reading.jobs import load_jobs

        ids = {handle: self._job_id(handle) for handle in handles}
        with whole():
            found = load_jobs(self._connection, list(ids.values()))
            return {handle: found[number] for handle, number in ids.items()}

    def places(self, handles: Iterable[str]) -> dict[str, Place]:
        """Whose slab several jobs are, by handle, without what was logged; unknown ones are left out."""
        from finishlog.store.reading.jobs import load_places

        return load_places(self._connection, set(handles))

    def entry_of(self, uid: str) -> tuple[str, int] | None:
        """The job's handle and the number of the entry with this identity; None where there is none."""
        found = run(self._connection, _ENTRY_OF, uid=uid)
        return (str(found[0][0]), int(found[0][1])) if found else None

    def _job_id(self, handle: str) -> int:
        found = self._id_of(handle)
        if found is None:
            raise self._unresolved(handle, [])
        return found

    def _id_of(self, handle: str) -> int | None:
        if handle not in self._ids and (found := run(self._connection, _JOB_ID, handle=handle)):
            self._ids[handle] = int(found[0][0])
        return self._ids.get(handle)

    def _fresh(self) -> None:
        """Hook: a writer refreshes its projections here before a query."""

    def poured_last(self) -> tuple[str, ...]:
        """Handles of the jobs that teach about ordering: those poured last."""
        from finishlog.store.reading import slabs
        from finishlog.store.search import moments

        return tuple(moments.handles(self._connection, slabs.poured_last(self._connection)))

    def past_slabs(self, *handles: str) -> tuple[PastSlab, ...]:
        """What past pours of these jobs, or of those poured last, teach about ordering, oldest first."""
        from finishlog.store.reading import slabs
        from finishlog.store.search import moments

        with whole():
            jobs = moments.ids(self._connection, handles) if handles else slabs.poured_last(self._connection)
            return slabs.past_slabs(self._connection, jobs)

    def pour_steps(self) -> tuple[PourStep, ...]:
        """Logged times of the latest pours, per job in time order."""
        from finishlog.store.reading import pour_steps

        with whole():
            return pour_steps.steps(self._connection)

    def sent_since(self, plant: str, after: datetime) -> tuple[tuple[Mix, datetime], ...]:
        """Mixes of the plant's loads after that instant, each with its first load."""
        from finishlog.store.reading import mixes

        return mixes.sent_since(self._connection, plant, after)

    def due(
        self,
        until: datetime,
        *,
        since: datetime | None = None,
        after: datetime | None = None,
        keys: Collection[str] = (),
        limit: int | None = None,
    ) -> tuple[tuple[str, DueLine], ...]:
        """Due lines of all jobs with their handle, first to close first.

        Lines that open by `until` (and after `after`) and close at `since` or later. `keys` limits the
        kinds.
        """
        from finishlog.store.search import due

        self._fresh()
        return due.lines(self._connection, until, since, keys, limit, after)

    def jobs_with(self, *kinds: str, newest: int | None = None) -> Iterator[Job]:
        """Unarchived jobs that ever had an entry of these kinds, read lazily; `newest`: so many logged last."""
        from finishlog.store.reading.having import jobs_with

        with whole():
            yield from jobs_with(self._connection, kinds, newest)

    def reseals(
        self, asked: CareAsked, *, limit: int | None = None, offset: int = 0
    ) -> Iterator[tuple[bool, Job]]:
        """Jobs of the book of reseals in its order, read lazily; True where one stands there as done."""
        from finishlog.store.search import reseals

        self._fresh()
        with whole():
            yield from reseals.page(self._connection, asked, limit, offset)

    def reseal_counts(self, asked: CareAsked) -> tuple[CareCount, ...]:
        """How many lines of each month and state the book has."""
        from finishlog.store.search import reseals

        self._fresh()
        return reseals.counts(self._connection, asked)

    def reseal_states(self, asked: CareAsked, months: Collection[int]) -> dict[int, tuple[CareState, ...]]:
        """The states of all lines of some months of the book, in order."""
        from finishlog.store.search import reseals

        self._fresh()
        return reseals.marks(self._connection, asked, months)

    def due_of(self, handle: str) -> tuple[DueLine, ...]:
        """All due lines of one job, at any time."""
        from finishlog.store.search import due

        self._fresh()
        return due.of_job(self._connection, self._job_id(handle))

    def cards(self, camera: str, but: str, most: int) -> tuple[str, ...]:
        """Patches of the cards in a camera's newest photos, as kept with their readings; without the photo `but`."""
        from finishlog.store.reading import lists

        return lists.cards(self._connection, camera, but, most)

    def is_match(self, handle: str) -> bool:
        """Whether the job is to match another, or a plan is kept with it."""
        return bool(run(self._connection, _MATCHES, handle=handle))

    def same_pour(self, customer: str, street: str, job_name: str, poured_on: date) -> str | None:
        """Handle of a job that already has this pour, or None."""
        from finishlog.store.reading import lists

        return lists.same_pour(self._connection, customer, street, job_name, poured_on)

    def advices(self, handle: str) -> tuple[Advice, ...]:
        """A job's saved advice, oldest first."""
        from finishlog.store.reading import lists

        return lists.advices(self._connection, self._job_id(handle))

    def advices_among(self, kind: str, handles: Collection[str]) -> tuple[tuple[str, Advice], ...]:
        """Saved advice of a kind of these jobs, job by job in their order, oldest first."""
        from finishlog.store.reading import lists

        return lists.advices_among(self._connection, kind, handles)

    def advices_of(self, kind: str) -> tuple[tuple[str, Advice], ...]:
        """Saved advice of a kind over all jobs, oldest first, with job handles."""
        from finishlog.store.reading import lists

        return lists.advices_of(self._connection, kind)

    def last_logged(self) -> datetime | None:
        """When the entry that was added last was logged, by the clock of then; None in an empty log."""
        from finishlog.store.reading import lists

        return lists.last_logged(self._connection)

    def draft(self, key: str) -> str | None:
        """The unfinished form saved under this key."""
        found = run(self._connection, _DRAFT, key=key)
        return str(found[0][0]) if found else None
