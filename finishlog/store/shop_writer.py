"""Shop-wide writing: customers, the shelf, settings, drafts; and all projections."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager, nullcontext
from datetime import datetime
from typing import Any

from sqlalchemy import delete
from sqlalchemy.engine import Connection

from finishlog.records.answers import StockMove
from finishlog.records.log import Customer, Job
from finishlog.records.shop import Shop
from finishlog.records.writing import NewStockMove
from finishlog.store.engine.protocol import of, put, run
from finishlog.store.entering.expected import Expected, is_as_told
from finishlog.store.entering.finding import Finder
from finishlog.store.entering.owning import Owning
from finishlog.store.entering.stocking import Stocking
from finishlog.store.reader import Reader
from finishlog.store.reading import stock
from finishlog.store.reading.jobs import load_jobs
from finishlog.store.schema.rows import table
from finishlog.store.schema.tables import DraftRow, SettingRow
from finishlog.store.sealing.keep import State, seal
from finishlog.store.search import due, projections, shelved, stored
from finishlog.trade.due import WINDOW_SETTINGS

_JOBS_AT = "SELECT id FROM job WHERE site_id = :site"


class ShopWriter(Reader):
    """The part of a `Writer` not tied to a job."""

    def __init__(
        self, connection: Connection, clock: Callable[[], datetime], new_uid: Callable[[], str], alone: bool
    ) -> None:
        """`alone`: nothing goes on after a part that failed, so that none needs a savepoint."""
        super().__init__(connection)
        self._clock = clock
        self._new_uid = new_uid
        self._find = Finder(connection, new_uid)
        self._owning = Owning(connection, self._find, new_uid)
        self._stocking = Stocking(connection, self._find, new_uid)
        self._touched: set[int] = set()
        self._fresh_jobs: set[int] = set()
        self._fresh_lots: set[int] = set()
        self._windows_moved = False
        self._expected: Expected | None = None
        self._shop: Shop | None = None
        self._alone, self._failed = alone, False
        self._written: Mapping[int, stored.Rows] = {}

    def _put(self, row: Any, **values: Any) -> int:
        return put(self._connection, row, **values)

    @contextmanager
    def _all_or_nothing(self) -> Iterator[None]:
        """A savepoint: failure leaves nothing, even if the caller catches the error and goes on."""
        try:
            with nullcontext() if self._alone else of(self._connection).part(self._connection):
                yield
        except BaseException:
            self._failed, self._shop = True, None
            self._find.forget()
            self._ids.clear()
            raise

    def merge_customers(self, keep: str, double: str) -> Customer:
        """Merge the second customer into the first. Returns the kept one.

        Each is given by name, uid, or the handle of one of their jobs. Raises InputError if that is
        unknown or ambiguous.
        """
        kept, doubled = (
            self._owning.named(text, where) for text, where in ((keep, "keep"), (double, "double"))
        )
        sites = self._owning.sites_of(kept, doubled)
        self._owning.merge(kept, doubled)
        self._find.forget()
        for site in sites:
            self._touch_site(site)
        return self._owning.customer(kept)

    # customers and the shelf

    def update_customer(self, customer: str, **facts: Any) -> Customer:
        """Set `phone`, `email`, `note` or `leave_alone` of a customer: by name, uid or a job's handle."""
        found = self._owning.named(customer, "customer")
        self._owning.update(found, facts)
        self._find.forget()
        for site in self._owning.sites_of(found):
            self._touch_site(site)
        return self._owning.customer(found)

    def add_stock_move(self, new: NewStockMove) -> StockMove:
        """Save a shelf move; with `replaces`, a correction. Raises InputError."""
        job = None if new.job is None else self._job_id(new.job)
        with self._all_or_nothing():
            return stock.move(self._connection, self._stocking.add(new, job, self._clock()))

    def undo_stock_move(self, uid: str, *, person: str | None = None) -> StockMove:
        """Undo a move; the log keeps both. Raises InputError."""
        return stock.move(self._connection, self._stocking.undo(uid, person, self._clock()))

    def again_stock_move(self, uid: str, *, person: str | None = None) -> StockMove:
        """Redo what that move undid. Raises InputError if already done."""
        return stock.move(self._connection, self._stocking.again(uid, person, self._clock()))

    # settings and drafts

    def shop(self) -> Shop:
        """All settings; read once, as nobody else writes meanwhile."""
        self._shop = self._shop or super().shop()
        return self._shop

    def set_setting(self, key: str, value: str | None) -> None:
        """Save the shop's value of a setting; None restores the default."""
        self._shop = None
        self._windows_moved |= key in WINDOW_SETTINGS
        self._replace(SettingRow, key, value=value, changed=self._clock())

    def save_draft(self, key: str, body: str | None) -> None:
        """Save an unfinished form; None discards it."""
        self._replace(DraftRow, key, body=body, saved=self._clock())

    def _replace(self, row: type[SettingRow] | type[DraftRow], key: str, **values: Any) -> None:
        self._connection.execute(delete(table(row)).where(table(row).c.key == key))
        if None not in values.values():
            self._put(row, key=key, **values)

    # projections

    def _touch_site(self, site: int) -> None:
        self._touched.update(row[0] for row in run(self._connection, _JOBS_AT, site=site))

    def _touch_sharers(self) -> None:
        """All jobs of the customers of whom this unit of work told more than was known."""
        if self._find.customers:
            for site in self._owning.sites_of(*self._find.customers):
                self._touch_site(site)
            self._find.customers = set()

    def _fresh(self) -> None:
        self._touch_sharers()
        if self._windows_moved:
            projections.refresh_due(self._connection)
            self._fresh_jobs.update(due.all_jobs(self._connection))
            self._windows_moved, self._written = False, {}
        if self._touched:
            self._written = self._ready()
            projections.refresh(self._connection, self._touched, self._load, self._written)
            self._fresh_jobs |= self._touched
            self._touched = set()

    def _ready(self) -> Mapping[int, stored.Rows]:
        """What was made ahead, if all came as was expected."""
        told, self._expected = self._expected, None
        if told is None or told.number not in self._touched or told.shop != self.shop():
            return {}
        return (
            {told.number: told.rows} if is_as_told(self._load([told.number])[told.number], told.job) else {}
        )

    def _fresh_shelf(self) -> None:
        self._fresh_lots.update(shelved.refresh(self._connection))

    def _load(self, jobs: list[int]) -> Mapping[int, Job]:
        return load_jobs(self._connection, jobs)

    def finish(self) -> State | None:
        """Refresh the projections of all touched jobs and hash what was written; last before the commit.

        Returns how far the log is written then, None if nothing was.
        """
        if self._alone and self._failed:
            raise RuntimeError("a part failed, and nothing of it may stay")
        self._fresh()
        self._fresh_shelf()
        return seal(self._connection, self._fresh_jobs, self._fresh_lots, self._written)
