"""Training data for ordering: one slab per job and pour day."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from functools import cache
from heapq import merge

from sqlalchemy import bindparam, select
from sqlalchemy.engine import Connection

from finishlog.records.answers import PastSlab
from finishlog.records.when import ROUGH, zone_named
from finishlog.store.schema.rows import IDS, Found, Query, by_ids, looked_at, table
from finishlog.store.schema.tables import AreaRow, JobRow, SiteRow
from finishlog.store.schema.tables_entry import EntryRow, LoadAreaRow, LoadRow

POURED_LAST = 400
"""Jobs poured last that teach the order: crews and forms of long ago say little, and the sum is as sure."""
_POURS = 4_000
"""Newest pours and loads, each, in which those jobs are looked for."""


@dataclass(frozen=True, slots=True)
class _Load:
    job: int
    day: date
    yards: float | None
    placed_yd3: float | None
    areas: frozenset[int]  # empty: destination not recorded


Areas = dict[int, Found]
"""The areas of one job, by id."""


def poured_last(connection: Connection) -> list[int]:
    """Up to POURED_LAST jobs, by their newest pour, load or bag mix; no more entries are read than that takes."""
    kinds = [connection.execute(_newest_query(), {"kind": kind}) for kind in ("load", "pour", "bag_mix")]
    jobs: dict[int, None] = {}
    for row in merge(*kinds, key=lambda row: row.happened, reverse=True):
        jobs.setdefault(row.job_id)
        if len(jobs) == POURED_LAST:
            break
    for each in kinds:
        each.close()
    return list(jobs)


@cache
def _newest_query() -> Query:
    query = select(EntryRow.job_id, EntryRow.happened).where(EntryRow.kind == bindparam("kind"))
    return query.order_by(EntryRow.happened.desc()).limit(_POURS)


def past_slabs(connection: Connection, jobs: Collection[int]) -> tuple[PastSlab, ...]:
    """Of these jobs, oldest first. A slab with an unknown (None) teaches nothing."""
    loads: dict[int, list[_Load]] = defaultdict(list)
    for load in _loads(connection, jobs):
        loads[load.job].append(load)
    areas = _areas(connection, jobs)
    handles = {row.id: row.handle for row in by_ids(connection, _handles_query(), jobs)}
    slabs = [slab for job, some in loads.items() for slab in _slabs(handles[job], some, areas.get(job, {}))]
    slabs += [
        PastSlab(handles[job], day, None, None, None, None, ("load",))
        for job, day in _bare_pours(connection, jobs)
        if job not in loads
    ]
    return tuple(sorted(slabs, key=lambda slab: (slab.poured_on, slab.job)))


@cache
def _handles_query() -> Query:
    return select(JobRow.id, JobRow.handle).where(JobRow.id.in_(IDS))


@cache
def _loads_query() -> Query:
    later = table(EntryRow).alias()
    return (
        select(
            EntryRow.id,
            EntryRow.job_id,
            EntryRow.happened,
            EntryRow.area_id,
            SiteRow.zone,
            LoadRow.yards,
            LoadRow.returned_yd3,
            LoadRow.dumped_yd3,
        )
        .join(LoadRow, LoadRow.entry_id == EntryRow.id)
        .join(JobRow, JobRow.id == EntryRow.job_id)
        .join(SiteRow, SiteRow.id == JobRow.site_id)
        .outerjoin(later, later.c.replaces_id == EntryRow.id)
        .where(
            looked_at(EntryRow.kind) == "load",
            EntryRow.job_id.in_(IDS),
            EntryRow.withdrawn.is_(False),
            later.c.id.is_(None),
            EntryRow.exactness.not_in(ROUGH),  # two loads of a month may be two pours
        )
    )


@cache
def _served_query() -> Query:
    return select(LoadAreaRow.entry_id, LoadAreaRow.area_id).where(LoadAreaRow.entry_id.in_(IDS))


def _loads(connection: Connection, jobs: Collection[int]) -> Iterator[_Load]:
    """The loads of the current view: replaced and withdrawn ones teach nothing."""
    split: dict[int, set[int]] = defaultdict(set)
    loads = sorted(by_ids(connection, _loads_query(), jobs), key=lambda row: (row.happened, row.id))
    for entry, area in by_ids(connection, _served_query(), [row.id for row in loads]):
        split[entry].add(area)
    for row in loads:
        went = split.get(row.id) or ({row.area_id} if row.area_id is not None else set())
        day = row.happened.astimezone(zone_named(row.zone)).date()
        yield _Load(row.job_id, day, row.yards, _placed(row), frozenset(went))


@cache
def _bare_pours_query() -> Query:
    later = table(EntryRow).alias()
    return (
        select(EntryRow.job_id, EntryRow.kind, EntryRow.happened, SiteRow.zone)
        .join(JobRow, JobRow.id == EntryRow.job_id)
        .join(SiteRow, SiteRow.id == JobRow.site_id)
        .outerjoin(later, later.c.replaces_id == EntryRow.id)
        .where(
            looked_at(EntryRow.kind).in_(("pour", "bag_mix")),
            EntryRow.withdrawn.is_(False),
            later.c.id.is_(None),
        )
        .where(EntryRow.job_id.in_(IDS))
    )


def _bare_pours(connection: Connection, jobs: Collection[int]) -> Iterator[tuple[int, date]]:
    """Pours with a logged end but no load, of jobs without bags: they teach nothing."""
    rows = list(by_ids(connection, _bare_pours_query(), jobs))
    bags = {row.job_id for row in rows if row.kind == "bag_mix"}
    for row in rows:
        if row.job_id not in bags:
            yield row.job_id, row.happened.astimezone(zone_named(row.zone)).date()


def _placed(row: Found) -> float | None:
    """Delivered less returned and dumped; a leftover nobody wrote down is unknown."""
    if row.yards is None or row.returned_yd3 is None or row.dumped_yd3 is None:
        return None
    placed: float = row.yards - row.returned_yd3 - row.dumped_yd3
    return placed


@cache
def _areas_query() -> Query:
    return select(
        AreaRow.job_id, AreaRow.id, AreaRow.kind, AreaRow.area_ft2, AreaRow.depth_in, AreaRow.edge_yd3
    ).where(AreaRow.job_id.in_(IDS))


def _areas(connection: Connection, jobs: Collection[int]) -> dict[int, Areas]:
    found: dict[int, Areas] = defaultdict(dict)
    for row in by_ids(connection, _areas_query(), jobs):
        found[row.job_id][row.id] = row
    return found


def _slabs(handle: str, loads: list[_Load], areas: Areas) -> Iterator[PastSlab]:
    days: dict[date, list[_Load]] = defaultdict(list)
    for load in loads:
        days[load.day].append(load)
    poured = {day: _poured(some, areas, only=len(days) == 1) for day, some in days.items()}
    for day, some in days.items():
        others = {area for other, went in poured.items() if other != day for area in went}
        # an area poured on two days: the split is unknown
        measured = [] if poured[day] & others else [areas[area] for area in poured[day]]
        placed = _total(load.placed_yd3 for load in some)
        whole, lacks = _measures(measured), tuple(_lacking(some, measured, placed))
        yield PastSlab(handle, day, *whole, placed, lacks)


def _poured(loads: list[_Load], areas: Areas, *, only: bool) -> set[int]:
    """Areas these loads filled: those named; all, if there was no other pour day; else unknown."""
    if all(load.areas for load in loads):
        return {area for load in loads for area in load.areas}
    return {area for area, row in areas.items() if row.kind != "overlay"} if only else set()


def _measures(areas: list[Found]) -> tuple[float | None, float | None, float | None]:
    """Area in ft², depth in inches weighed by area, edges in yd³ (an area that says none has 0)."""
    if not areas or not all(area.area_ft2 and area.depth_in for area in areas):
        return None, None, None
    whole = sum(area.area_ft2 for area in areas)
    depth = sum(area.area_ft2 * area.depth_in for area in areas) / whole
    return whole, depth, sum(area.edge_yd3 or 0.0 for area in areas)


def _lacking(loads: list[_Load], areas: list[Found], placed: float | None) -> Iterator[str]:
    """Missing facts that keep a slab from teaching."""
    if placed is None:
        yield "yards" if any(load.yards is None for load in loads) else "leftover"
    if not areas or not all(area.area_ft2 for area in areas):
        yield "size"
    if areas and not all(area.depth_in for area in areas):
        yield "depth"


def _total(placed: Iterable[float | None]) -> float | None:
    """The sum; unknown if any part is."""
    total = 0.0
    for yards in placed:
        if yards is None:
            return None
        total += yards
    return total
