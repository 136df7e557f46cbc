"""Shared services of the desks: log, clock, shop settings. Built only by `finishlog.wiring`."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from functools import cached_property
from threading import Lock, Timer
from time import monotonic
from typing import TYPE_CHECKING, Protocol

from finishlog.plain import visible
from finishlog.roles import OWNER, may
from finishlog.units import count

if TYPE_CHECKING:
    from fractions import Fraction
    from pathlib import Path
    from zoneinfo import ZoneInfo

    from finishlog.desk.history import Learned
    from finishlog.records.answers import LearningRow
    from finishlog.records.shop import Shop
    from finishlog.store import Log
    from finishlog.store.archive.export import Restored
    from finishlog.store.engine.postgres.address import Address
    from finishlog.store.engine.restoring import PutBack


def _say_notice(sentence: str) -> None:
    print(f"finishlog: {visible(sentence)}", file=sys.stderr)


WORD_AFTER_S = 1.0
"""Seconds of waiting for another program, or of learning, before it is said."""
_APART_S = 0.5
"""Calls farther apart belong to different waits."""


class Wait:
    """Called at each try to write while another program does: `tell` once it has lasted WORD_AFTER_S."""

    def __init__(self, tell: Callable[[], None]) -> None:
        self._tell = tell
        self._began = self._last = float("-inf")
        self._told = False

    def __call__(self) -> None:
        now = monotonic()
        if now - self._last > _APART_S:
            self._began, self._told = now, False
        self._last = now
        if not self._told and now - self._began >= WORD_AFTER_S:
            self._told = True
            self._tell()


def _say_waiting() -> None:
    print(
        "finishlog: Another program is writing to this log; waiting… Ctrl+C stops the wait.", file=sys.stderr
    )


def _say_learning(readings: int) -> None:
    print(f"finishlog: Learning from {count(readings, 'reading')}; this is kept…", file=sys.stderr)


class MakesLog(Protocol):
    """What makes a new log, empty or with what `fill` writes into it, and opens it."""

    def __call__(self, where: str | None, fill: Callable[[Log], None] | None = None, /) -> Log: ...


@dataclass
class Services:
    """The log is opened when it is first needed, once, whichever thread asks first."""

    open_log: Callable[[], Log]
    has_log: Callable[[], bool]
    make_log: MakesLog
    clock: Callable[[], datetime]
    find_zone: Callable[[], ZoneInfo]
    restore_log: Callable[[Path, Path | None], Restored] | None = None
    """Makes a log of an export's folder, at a path or (None) where the log that was named belongs."""
    put_back: Callable[[Path, bool], PutBack] | None = None
    """Puts a copy in the log's place; True goes without files that the copy lacks."""
    where: Callable[[], Path | Address] | None = None
    """Where the log is or belongs; opens nothing."""
    look_at_log: Callable[[], None] = lambda: None
    """Raises LogError for a file that is no log; opens nothing."""
    on_wait: Callable[[], None] = field(default_factory=lambda: Wait(_say_waiting))
    """Called at each try while a write waits for another program; may raise to end the wait."""
    on_notice: Callable[[str], None] = _say_notice
    """Says once what opening the log did: it was upgraded, or something strange was set aside."""
    on_learning: Callable[[int], None] = _say_learning
    """Says, from another thread, of how many readings is being learned."""
    who: str = ""
    """Whose unfinished forms are kept and offered: a person at a machine."""
    watches: bool = False
    """Whether others' writes are asked for, from the moment the log is opened."""
    role_here: Callable[[], str] = lambda: OWNER
    """Who sits at this machine, as its settings say."""
    guest: str = ""
    """The role of one who works here from a phone or a browser: whatever the machine, or its login, may."""
    phones: Callable[[], bool] = lambda: True
    """Whether whoever works here sees every customer's phone number."""
    kept: dict[str, tuple[str, object]] = field(default_factory=dict)
    """Cache of values computed from the log, by name, with the log's mark they are valid for."""
    _rows: tuple[str, tuple[LearningRow, ...]] | None = None
    _log: Log | None = None
    _lock: Lock = field(default_factory=Lock)

    def log(self) -> Log:
        """Opened on first use; threads share one."""
        with self._lock:
            if self._log is None:
                self._log = self.open_log()
                if self.watches:
                    self._log.others_wrote()  # from before the first answer on: nothing of others' is missed
                self._show(self._log)
                _ = self._log.role  # a server is asked here, and not where a screen is painted
                for sentence in self._log.notices:
                    self.on_notice(sentence)
            return self._log

    @property
    def role(self) -> str:
        """Who works here: on a server as its roles say, once the log is open; else as this machine's settings say."""
        return self.guest or (self._log.role if self._log is not None else None) or self.role_here()

    def may(self, act: str) -> bool:
        """Whether the one who works here may do that (`finishlog.roles`)."""
        return may(self.role, act)

    def seen_by(self, role: str, phones: Callable[[], bool] = lambda: True) -> Services:
        """The same log for somebody else who works on it here, opened on its own."""
        return replace(self, guest=role, phones=phones, kept={}, _rows=None, _log=None, _lock=Lock())

    def _show(self, log: Log) -> None:
        """What whoever works here sees of a log."""
        log.prices, log.phones = lambda: self.may("prices"), lambda: self.phones()

    @cached_property
    def zone(self) -> ZoneInfo:
        """The zone of the shop's own clock."""
        return self.find_zone()

    def now(self) -> datetime:
        """The present moment in the shop's zone."""
        return self.clock().astimezone(self.zone)

    def today(self) -> date:
        """The local day of the shop's clock."""
        return self.now().date()

    def shop(self) -> Shop:
        """The shop's settings; the built-in ones where there is no log."""
        from finishlog.records.shop import Shop

        if not self.has_log():
            return Shop.from_values({})
        with self.log().reading() as log:
            return log.shop()

    def learning_rows(self) -> tuple[LearningRow, ...]:
        """The readings that teach the shop, from memory where nothing has changed since."""
        with self.log().reading() as log:
            mark = log.readings_mark()
            if self._rows is None or self._rows[0] != mark:
                self._rows = mark, log.learning_rows()
            return self._rows[1]

    @contextmanager
    def learning(self, readings: int) -> Iterator[None]:
        """Says it, once, where what is done inside takes a moment: the log's readings are learned from."""
        waiting = Timer(WORD_AFTER_S, self.on_learning, (readings,))
        waiting.daemon = True
        waiting.start()
        try:
            yield
        finally:
            waiting.cancel()

    def past_errors(self) -> tuple[Fraction, ...]:
        """Depth errors in inches of past slabs, in order of pouring; none where there is no log."""
        return self.learned().errors

    def learned(self) -> Learned:
        """What past slabs teach about ordering; nothing where there is no log."""
        from finishlog.desk import history, job_by_job

        if not self.has_log():
            return history.Learned()
        with self.log().reading() as log:
            shop = log.shop()

            def make(jobs: Sequence[str]) -> dict[str, list[history.Told]]:
                found: dict[str, list[history.Told]] = {job: [] for job in jobs}
                for slab in log.past_slabs(*jobs):
                    found[slab.job].append(history.told(slab, shop))
                return found

            form = f"1, waste {shop.waste_percent}"
            kept = job_by_job.told(log, "past slabs", form, log.poured_last(), make)
        if kept.unkept is not None:
            self.log().keep_learned([kept.unkept])
        told = [(job, on, error, lacks) for of in kept.values.values() for job, on, error, lacks in of]
        return history.of_told(sorted(told, key=lambda slab: (slab[1], slab[0])))

    def others_wrote(self) -> bool:
        """Whether another program wrote to the log since the last call. Never opens a log. Raises ServerAway."""
        with self._lock:
            log = self._log
        return log is not None and log.others_wrote()  # a server may take seconds: nobody waits for the lock

    def use(self, log: Log) -> None:
        """From here on work on this log, whatever was named before."""
        self.close()
        self.kept.clear()
        self._rows = None
        self._log = log
        self._show(log)
        for sentence in log.notices:
            self.on_notice(sentence)
        self.has_log = lambda: True

    def close(self) -> None:
        """Safe to call twice; the next use opens the log again."""
        with self._lock:
            if self._log is not None:
                self._log.close()
                self._log = None
