"""Reading a log: every answer is a frozen record, from one consistent snapshot."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from contextlib import contextmanager
from datetime import date, datetime
from typing import TYPE_CHECKING, Unpack

from sqlalchemy import text
from sqlalchemy.engine import Connection

from finishlog.errors import InputError, LogError
from finishlog.records.log import JobLine
from finishlog.store.reading.settings import settings, shop
from finishlog.store.schema.fold import slug
from finishlog.store.search import find
from finishlog.store.search.question import Asked, Question

if TYPE_CHECKING:
    from finishlog.records.answers import (
        Advice,
        LearningRow,
        MadeRow,
        PastSlab,
        StockMove,
        Swept,
        UsedMaterial,
    )
    from finishlog.records.log import Job, Mix, Product, Recipe
    from finishlog.records.quantities.pour_day import PourStep
    from finishlog.records.shop import Shop
    from finishlog.trade.due import DueLine

SOUGHT_MOST = 200
"""Characters of a mistaken handle that are searched for."""

# as text, so that the first rows need none of the mapped tables
_SETTING = text("SELECT value FROM setting WHERE key = :key")
_BEGINNING = text(
    "SELECT handle FROM job WHERE handle = :wanted OR handle >= :wanted AND handle < :past "
    "ORDER BY handle LIMIT 4"
)
_NEWEST = text("SELECT handle FROM job ORDER BY id DESC LIMIT 1")
_JOB_ID = text("SELECT id FROM job WHERE handle = :handle")
_DRAFT = text("SELECT body FROM draft WHERE key = :key")


@contextmanager
def whole() -> Iterator[None]:
    """A row that is not there, or holds what no program wrote, is damage to the file."""
    try:
        yield
    except (KeyError, ValueError) as error:
        raise LogError(
            "The log is damaged: a job cannot be read.",
            f"What was found is {error}.",
            "Run finishlog check; restore the last backup and keep the damaged file.",
        ) from error


class Reader:
    """What can be asked of a log. Made by `Log.reading`."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection

    def settings(self) -> dict[str, str]:
        """The shop's own values by key; what is not here has its default."""
        return settings(self._connection)

    def setting(self, key: str) -> str | None:
        """One value kept under this key, None if there is none: a setting, or what a desk remembers."""
        row = self._connection.execute(_SETTING, {"key": key}).first()
        return None if row is None else str(row[0])

    def shop(self) -> Shop:
        """All settings, the shop's own over the defaults. Keys this program does not know are left out."""
        return shop(self._connection)

    def lines(
        self, *, words: str = "", limit: int | None = None, offset: int = 0, **only: Unpack[Asked]
    ) -> tuple[JobLine, ...]:
        """Jobs as the list shows them: best match first, without words newest first.

        Archived jobs are left out unless `archived`.
        """
        self._fresh()
        with whole():
            return find.lines(self._connection, Question(words, **only), limit, offset)

    def count(self, *, words: str = "", **only: Unpack[Asked]) -> int:
        """How many jobs `lines` would give without a limit."""
        self._fresh()
        return find.count(self._connection, Question(words, **only))

    def line(self, handle: str) -> JobLine:
        """One job as the list shows it. Raises InputError for a handle that is not there."""
        self._fresh()
        found = find.one_line(self._connection, handle)
        if found is None:
            raise self._unresolved(handle, [])
        return found

    def nearest(self, words: str) -> tuple[str, ...]:
        """Up to three customers or handles that look like what was asked, for "no job found"."""
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

        L*a*b* is D65, 2 degree. Dry, bare readings count, others only of a job without such. Exact.
        """
        from finishlog.store.search.near import near

        self._fresh()
        return near(self._connection, lab, limit, within, archived)

    def resolve(self, job: str) -> str:
        """The handle meant: given whole, or by a beginning that only one has. Raises InputError."""
        wanted = slug(job)
        found = self._connection.execute(_BEGINNING, {"wanted": wanted, "past": wanted + "~"})
        handles = [row[0] for row in found] if wanted else []
        if wanted in handles:
            return wanted
        if len(handles) == 1:
            return str(handles[0])
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
        """The handle of the job that was made last."""
        found = self._connection.execute(_NEWEST).first()
        return None if found is None else str(found[0])

    def _meant(self, words: str) -> tuple[str, ...]:
        """Handles of the jobs that fit these words best, else of those that are spelled alike."""
        self._fresh()
        asked = find.Question(words[:SOUGHT_MOST], archived=True)
        hits = find.lines(self._connection, asked, 3, 0) if words.strip() else ()
        return tuple(hit.handle for hit in hits) or find.nearest_handles(self._connection, words)

    def job(self, handle: str) -> Job:
        """Everything the log holds on a job. Raises InputError for a handle that is not there."""
        from finishlog.store.reading.jobs import load_jobs

        found = self._job_id(handle)
        with whole():
            return load_jobs(self._connection, [found])[found]

    def jobs(self, handles: Iterable[str]) -> dict[str, Job]:
        """Several jobs at once, by handle. Raises InputError for a handle that is not there."""
        from finishlog.store.reading.jobs import load_jobs

        ids = {handle: self._job_id(handle) for handle in handles}
        with whole():
            found = load_jobs(self._connection, list(ids.values()))
            return {handle: found[number] for handle, number in ids.items()}

    def _job_id(self, handle: str) -> int:
        row = self._connection.execute(_JOB_ID, {"handle": handle}).first()
        if row is None:
            raise self._unresolved(handle, [])
        return int(row[0])

    def _fresh(self) -> None:
        """A writer brings its projections up to date here before they are asked."""

    def past_slabs(self) -> tuple[PastSlab, ...]:
        """What past pours teach about ordering, oldest first."""
        from finishlog.store.reading.slabs import past_slabs

        with whole():
            return past_slabs(self._connection)

    def pour_steps(self) -> tuple[PourStep, ...]:
        """The hours that were logged of the last pours, for each job in order of happening."""
        from finishlog.store.reading import pour_steps

        with whole():
            return pour_steps.steps(self._connection)

    def sent_since(self, plant: str, after: datetime) -> tuple[tuple[Mix, datetime], ...]:
        """The mixes of the plant's loads after that instant, each with its first such load."""
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
        """What falls due over all jobs, each with its job's handle: the first to close first.

        Lines that open by `until`, with `after` later than that; with `since` those that close then or later.
        `keys`: of these kinds alone.
        """
        from finishlog.store.search import due

        self._fresh()
        return due.lines(self._connection, until, since, keys, limit, after)

    def jobs_with(self, *kinds: str) -> Iterator[Job]:
        """Jobs, not archived ones, that had an entry of one of these kinds; read while they are taken."""
        from finishlog.store.reading.having import jobs_with

        with whole():
            yield from jobs_with(self._connection, kinds)

    def due_of(self, handle: str) -> tuple[DueLine, ...]:
        """All that falls due on one job, whenever."""
        from finishlog.store.search import due

        self._fresh()
        return due.of_job(self._connection, self._job_id(handle))

    def stock_moves(self, product: str | None = None, *, history: bool = False) -> tuple[StockMove, ...]:
        """Moves of the shelf that stand, of one product (by uid) or all; with `history` all ever logged."""
        from finishlog.store.reading import stock

        return stock.moves(self._connection, product, history=history)

    def material_uses(
        self, product: str | None = None, *, kinds: Collection[str] = ()
    ) -> tuple[UsedMaterial, ...]:
        """What the standing entries of all jobs used: of one product (by uid), of these kinds, or of all."""
        from finishlog.store.reading import stock

        return stock.uses(self._connection, product, kinds)

    def swept(self) -> tuple[Swept, ...]:
        """What the standing sweep entries of all jobs reclaimed clean."""
        from finishlog.store.reading import stock

        return stock.swept(self._connection)

    def learning_rows(self) -> tuple[LearningRow, ...]:
        """Every standing reading of the shop with its recipe's family and the end of its pour, oldest first."""
        from finishlog.store.reading import learning

        with whole():
            return learning.rows(self._connection)

    def made_rows(self) -> tuple[MadeRow, ...]:
        """What the loads of read jobs were made with, in order of happening."""
        from finishlog.store.reading import made_with

        with whole():
            return made_with.rows(self._connection)

    def readings_mark(self) -> str:
        """Another text whenever `learning_rows` may answer otherwise."""
        from finishlog.store.reading import learning

        return learning.mark(self._connection)

    def people(self) -> tuple[str, ...]:
        """Names for suggestions, the one that worked last first."""
        from finishlog.store.reading import lists

        return lists.people(self._connection)

    def plants(self) -> tuple[str, ...]:
        """Names for suggestions, the last used first."""
        from finishlog.store.reading import lists

        return lists.plants(self._connection)

    def makers(self) -> tuple[str, ...]:
        """Names for suggestions, the last used first."""
        from finishlog.store.reading import lists

        return lists.makers(self._connection)

    def customers(self) -> tuple[str, ...]:
        """Names for suggestions, the last job's first."""
        from finishlog.store.reading import lists

        return lists.customers(self._connection)

    def products(self, kind: str | None = None) -> tuple[Product, ...]:
        """Products of one kind or all, the last used first."""
        from finishlog.store.reading import lists

        return lists.products(self._connection, kind)

    def recipes(self, limit: int = 200) -> tuple[Recipe, ...]:
        """Recipes, the last used first."""
        from finishlog.store.reading import lists

        return lists.recipes(self._connection, limit)

    def lots(self, product: str, kind: str | None = None) -> tuple[str, ...]:
        """Bag lots of a product of that name, the last used first."""
        from finishlog.store.reading import lists

        return lists.lots(self._connection, product, kind)

    def same_pour(self, customer: str, street: str, job_name: str, poured_on: date) -> str | None:
        """The handle of a job that already has this pour, or None."""
        from finishlog.store.reading import lists

        return lists.same_pour(self._connection, customer, street, job_name, poured_on)

    def advices(self, handle: str) -> tuple[Advice, ...]:
        """Advice kept with a job, oldest first."""
        from finishlog.store.reading import lists

        return lists.advices(self._connection, self._job_id(handle))

    def advices_of(self, kind: str) -> tuple[tuple[str, Advice], ...]:
        """Advice of a kind over all jobs, oldest first, each with its job's handle."""
        from finishlog.store.reading import lists

        return lists.advices_of(self._connection, kind)

    def draft(self, key: str) -> str | None:
        """The unfinished form kept under this key."""
        row = self._connection.execute(_DRAFT, {"key": key}).first()
        return None if row is None else str(row[0])
