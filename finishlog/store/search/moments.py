"""How far a log is written, and what was logged since: by this a reader knows whether what it learned still holds.

Nothing here reads more of a large log than of a small one, but for what was logged since.
"""

from __future__ import annotations

import hashlib
from collections.abc import Collection
from functools import cache

from sqlalchemy import select
from sqlalchemy.engine import Connection

from finishlog.records.answers import Checkpoint, Moment, Since
from finishlog.store.engine.protocol import run
from finishlog.store.schema.rows import IDS, Query, by_ids, looked_at, read
from finishlog.store.schema.tables import AreaRow, JobRow
from finishlog.store.schema.tables_entry import EntryRow
from finishlog.trade.event_kinds import JOINED
from finishlog.trade.poured import END

FEW, STEP_SHARE, STEP_MOST = 100, 10, 200
"""A rung of the ladder of readings: each of the first hundred, then a tenth more, at most 200: with few of them
one more says much and is soon learned from, and of many no more than the 400 jobs read last teach."""
_SHAKES = (END, "load", "sample", "bag_mix", "seal")
"""Kinds of entry that change what an older reading means: its age, its area, what it was read on."""

MOMENT = (
    "SELECT coalesce((SELECT max(id) FROM entry), 0), (SELECT max(writes) FROM log_state), "
    "coalesce((SELECT max(id) FROM unsealed), 0)"
)
_COUNT = "SELECT count(*) FROM reading"
_LAST = "SELECT entry_id FROM reading ORDER BY entry_id DESC LIMIT 1 OFFSET :over"
_SINCE = (
    "SELECT DISTINCT j.handle, e.kind, e.replaces_id IS NOT NULL FROM entry e JOIN job j ON j.id = e.job_id "
    "WHERE e.id > :entry"
)
_READ_OF_SAMPLES = (
    "SELECT DISTINCT j.handle FROM entry e CROSS JOIN entry poured CROSS JOIN sample s CROSS JOIN reading r "
    "JOIN entry own ON own.id = r.entry_id JOIN job j ON j.id = own.job_id WHERE e.id > :entry "
    "AND e.kind || '' = 'sample' AND poured.job_id = e.job_id AND s.entry_id = poured.id AND r.sample = s.number"
)
"""Jobs with readings of samples that another job has, where that one logged, corrected or took back a sample."""
_READ_SINCE = "SELECT count(*) FROM reading WHERE entry_id > :entry"
_STOCK = "SELECT what, row_id, hash FROM seal WHERE what IN (2, 3, 8, 9, 10) ORDER BY what, row_id"
"""Plants, makers, products, lots and mixes (`finishlog.store.schema.tables_seal.MARKED`)."""

_SEALERS = "SELECT id, chemistry FROM product WHERE kind = 'sealer' AND chemistry IS NOT NULL ORDER BY id"


def moment(connection: Connection) -> Moment:
    """How far the log is written."""
    entry, writes, open_ = read(connection, MOMENT, {})[0]
    return Moment(entry, f"{entry}.{writes}.{open_}")


def step(readings: int) -> int:
    """How many readings more make the next rung."""
    return 1 if readings < FEW else min(readings // STEP_SHARE, STEP_MOST)


def checkpoint(connection: Connection, count: int | None = None) -> Checkpoint:
    """The last rung that the log has reached; `count` is how many readings were ever logged, where that is known.

    It rests on the log alone, never on when somebody looked.
    """
    known = run(connection, _COUNT)[0][0] if count is None else count
    rung = 0
    while rung + step(rung) <= known:
        rung += step(rung)
    last = run(connection, _LAST, over=known - rung) if rung else []
    return Checkpoint(rung, last[0][0] if last else 0)


def count(connection: Connection) -> int:
    """How many readings were ever logged."""
    return int(run(connection, _COUNT)[0][0])


def since(connection: Connection, entry: int) -> Since:
    """What was logged after an entry."""
    found = run(connection, _SINCE, entry=entry)
    sampled = any(kind == "sample" for _, kind, _ in found)
    of_samples = (
        frozenset(row[0] for row in run(connection, _READ_OF_SAMPLES, entry=entry))
        if sampled
        else frozenset[str]()
    )
    return Since(
        run(connection, _READ_SINCE, entry=entry)[0][0],
        of_samples | {handle for handle, _, _ in found},
        of_samples | {handle for handle, kind, replaces in found if replaces or kind in _SHAKES},
        any(kind == JOINED for _, kind, _ in found),
    )


def stock(connection: Connection) -> str:
    """A token of all that loads name: plants, makers, products, lots and mixes."""
    return _token(connection, _STOCK)


def sealers(connection: Connection) -> str:
    """A token of the chemistry on the labels of sealers, which tells the look of what lies under them."""
    return _token(connection, _SEALERS)


def _token(connection: Connection, query: str) -> str:
    return hashlib.sha256(repr(run(connection, query)).encode()).hexdigest()[:16]


@cache
def _areas_query() -> Query:
    sizes = (AreaRow.area_ft2, AreaRow.depth_in, AreaRow.edge_yd3)
    told = (JobRow.handle, AreaRow.id, AreaRow.kind, AreaRow.recipe_id, AreaRow.version)
    return select(*told, *sizes).join(AreaRow, AreaRow.job_id == JobRow.id).where(JobRow.handle.in_(IDS))


def areas(connection: Connection, handles: Collection[str]) -> dict[str, str]:
    """A token of each job's areas, their sizes and recipes; none of a job without."""
    found: dict[str, list[str]] = {}
    for row in by_ids(connection, _areas_query(), handles):
        found.setdefault(row.handle, []).append(" ".join(map(str, row[1:])))
    return {handle: ", ".join(sorted(told)) for handle, told in found.items()}


@cache
def _later_query() -> Query:
    return (
        select(JobRow.handle, EntryRow.number, EntryRow.id)
        .join(EntryRow, EntryRow.job_id == JobRow.id)
        .where(JobRow.handle.in_(IDS), looked_at(EntryRow.kind) == "reading")
    )


def later(connection: Connection, handles: Collection[str], entry: int) -> set[tuple[str, int]]:
    """Job and number of the readings of these jobs that were logged after an entry."""
    return {(r.handle, r.number) for r in by_ids(connection, _later_query(), handles) if r.id > entry}


@cache
def _ids_query() -> Query:
    return select(JobRow.id).where(JobRow.handle.in_(IDS))


def ids(connection: Connection, handles: Collection[str]) -> list[int]:
    """The jobs' ids."""
    return [row.id for row in by_ids(connection, _ids_query(), handles)]


@cache
def _handles_query() -> Query:
    return select(JobRow.handle).where(JobRow.id.in_(IDS))


def handles(connection: Connection, jobs: Collection[int]) -> list[str]:
    """The jobs' handles."""
    return [row.handle for row in by_ids(connection, _handles_query(), jobs)]
