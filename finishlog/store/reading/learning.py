"""Training data from past readings: current readings with their recipe and pour.

Nothing here reads the whole log: the shop learns from the jobs read last, a job also from its own readings and
from those of its recipe's newest jobs.
"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from typing import Any, cast

from sqlalchemy import select, text
from sqlalchemy.engine import Connection

from finishlog.records.answers import LearningRow
from finishlog.records.log import Exactness, Fact, Reading
from finishlog.records.when import ROUGH, zone_named
from finishlog.store.engine.protocol import run
from finishlog.store.reading.made_with import doses, penetrating
from finishlog.store.schema.detail_rows import COLOR
from finishlog.store.schema.rows import IDS, Found, Query, by_ids, looked_at, table
from finishlog.store.schema.tables import AreaRow, JobRow, RecipeRow, SiteRow
from finishlog.store.schema.tables_entry import EntryRow, LoadAreaRow, ReadingRow, SampleRow
from finishlog.trade.event_kinds import JOINED, JOINED_RECIPE, JOINED_TO
from finishlog.trade.poured import END, followed

READ_LAST = 400
"""Jobs read last that teach the shop: several times the slabs that any learner takes."""
OF_RECIPE = 300
"""Newest jobs of a recipe that teach about it."""
_READINGS = 5_000
"""Newest readings in which the jobs read last are looked for."""


_MARK = text(
    "SELECT (SELECT coalesce(max(entry_id), 0) FROM reading), "
    "(SELECT coalesce(max(entry_id), 0) FROM sample), "
    "(SELECT coalesce(max(entry_id), 0) FROM load), "
    "(SELECT coalesce(max(entry_id), 0) FROM coat), "
    "coalesce((SELECT id FROM entry WHERE coalesce(kind, '') = 'pour' ORDER BY id DESC LIMIT 1), 0), "
    "coalesce((SELECT id FROM entry WHERE replaces_id IS NOT NULL ORDER BY id DESC LIMIT 1), 0), "
    "(SELECT coalesce(max(id), 0) FROM entry WHERE kind = 'recipe_joined'), "
    "(SELECT coalesce(max(id), 0) FROM area), "
    "coalesce(sum(area.version), 0) FROM area WHERE area.job_id IN "
    "(SELECT job_id FROM entry WHERE kind = 'reading' ORDER BY happened DESC LIMIT :readings)"
)


_JOINED = (
    "SELECT e.facts, j.handle FROM entry e JOIN job j ON j.id = e.job_id "
    f"WHERE e.kind = '{JOINED}' AND e.withdrawn = 0 "
    "AND NOT EXISTS (SELECT 1 FROM entry later WHERE later.replaces_id = e.id) ORDER BY e.id"
)


@dataclass(frozen=True, slots=True)
class _End:
    """A logged end of a pour."""

    happened: datetime
    exactness: Exactness


_Ends = Mapping[tuple[int, int | None], list[_End]]


@dataclass(frozen=True, slots=True)
class _Sample:
    """A current sample: when poured, its load (None: poured apart), its area."""

    poured: datetime | None
    load: int | None
    area: int | None


def mark(connection: Connection) -> str:
    """A token that changes with readings, pours, samples, coats, corrections and areas.

    Of areas it sees any new one, and what those of the jobs read last say.

    It reads no more of a large log than of a small one.
    """
    row = connection.execute(_MARK, {"readings": _READINGS}).one()
    return "-".join(f"{value:.0f}" for value in row)


def read_last(connection: Connection, until: int | None = None) -> list[int]:
    """Up to READ_LAST jobs, by their newest reading; of those logged up to an entry, where that is told."""
    told = [EntryRow.kind == "reading"] + ([] if until is None else [EntryRow.id <= until])
    query = (
        select(EntryRow.job_id)
        .where(*told)
        .order_by(EntryRow.happened.desc(), EntryRow.id.desc())
        .limit(_READINGS)
    )
    return list(dict.fromkeys(connection.scalars(query)))[:READ_LAST]


def of_family(connection: Connection, uid: str) -> list[int]:
    """The newest jobs with an area of this family of recipes, or of one that is joined with it."""
    later, having = _family_queries()
    family = _ids(connection, _group(joined(connection), [uid]))
    added = family
    while added:
        added = {row.id for row in by_ids(connection, later, added)} - family
        family = family | added
    return sorted({row.job_id for row in by_ids(connection, having, family)})[-OF_RECIPE:]


@cache
def _family_queries() -> tuple[Query, Query]:
    """The versions that come after recipes, the jobs with them."""
    return (
        select(RecipeRow.id).where(RecipeRow.from_id.in_(IDS)),
        select(AreaRow.job_id).where(AreaRow.recipe_id.in_(IDS)),
    )


@cache
def _by_uid_query() -> Query:
    return select(RecipeRow.id).where(RecipeRow.uid.in_(IDS))


def _ids(connection: Connection, uids: Collection[str]) -> set[int]:
    return {row.id for row in by_ids(connection, _by_uid_query(), uids)}


def families(connection: Connection, jobs: Collection[int]) -> dict[str, str]:
    """By area's uid, the uid of the recipe that its family of versions starts from."""
    held = (area for of in _areas(connection, jobs, {}).values() for area in of.values())
    return {area.uid: area.root for area in held if area.root is not None}


def on_samples(connection: Connection) -> list[int]:
    """Jobs with a reading of a kept sample."""
    read = select(ReadingRow.entry_id).where(ReadingRow.sample.is_not(None))
    return list(connection.scalars(select(EntryRow.job_id).where(EntryRow.id.in_(read)).distinct()))


def rows(connection: Connection, jobs: Collection[int], until: int | None = None) -> tuple[LearningRow, ...]:
    """Every current reading of these jobs, oldest first; those logged up to an entry, where that is told.

    A reading without an area belongs to the job's only area, or its sample's load's; else to none. Ages count
    from the area's last pour end before the reading (a pour without an area is every area's), else from the
    first after it; for a sample poured apart, from the sample itself.
    """
    held = [row for row in by_ids(connection, _readings_query(), jobs) if until is None or row.id <= until]
    found = sorted(held, key=lambda row: (row.happened, row.id))
    read = {row.job_id for row in found}
    ends = _pour_ends(connection, read)
    areas = _areas(connection, read, joined(connection))
    samples = _samples(connection, {row.sample for row in found if row.sample is not None})
    return tuple(_rows(found, ends, areas, samples, penetrating(connection, found)))


def _rows(
    found: Iterable[Any],
    ends: _Ends,
    areas: Mapping[int, Mapping[int, _Area]],
    samples: Mapping[int, _Sample],
    soaked: Collection[int],
) -> Iterator[LearningRow]:
    for row in found:
        own = areas.get(row.job_id, {})
        sample = samples.get(row.sample) if row.sample is not None else None
        area = row.area_id or (sample and sample.area) or (next(iter(own)) if len(own) == 1 else None)
        held = own.get(area) if area is not None else None
        yield LearningRow(
            row.handle,
            held.uid if held is not None else None,
            held.root if held is not None else None,
            None if row.exactness in ROUGH else _poured(row, ends, area, sample),
            row.entry_number,
            row.happened,
            Reading(**COLOR.fields(row)),
            sample is not None and not sample.load,
            _number(row.facts.get("release_left_percent")),
            _number(row.facts.get("release_left_sd_percent")),
            row.facts.get("no_sealer") is True,
            row.id in soaked,
            held.dose_percent if held is not None else None,
        )


def _poured(row: Found, ends: _Ends, area: int | None, sample: _Sample | None) -> datetime | None:
    if sample is not None and not sample.load:
        return sample.poured
    of_area = [
        *ends.get((row.job_id, area), ()),
        *(ends.get((row.job_id, None), ()) if area is not None else ()),
    ]
    end = followed(sorted(of_area, key=lambda each: each.happened), row, zone_named(row.zone))
    return end.happened if end else None


def _number(fact: Fact | None) -> float | None:
    return float(fact) if isinstance(fact, int | float) else None


@cache
def _readings_query() -> Query:
    later = table(EntryRow).alias()
    columns = table(ReadingRow).c
    return (
        select(
            EntryRow.id,
            JobRow.handle,
            EntryRow.job_id,
            EntryRow.area_id,
            EntryRow.number.label("entry_number"),
            EntryRow.happened,
            EntryRow.exactness,
            EntryRow.facts,
            SiteRow.zone,
            *(columns[column].label(field) for field, (column, _) in COLOR.columns.items()),
        )
        .join(EntryRow, EntryRow.id == ReadingRow.entry_id)
        .join(JobRow, JobRow.id == EntryRow.job_id)
        .join(SiteRow, SiteRow.id == JobRow.site_id)
        .outerjoin(later, later.c.replaces_id == EntryRow.id)
        .where(EntryRow.withdrawn.is_(False), later.c.id.is_(None), EntryRow.job_id.in_(IDS))
    )


@cache
def _pour_ends_query() -> Query:
    later = table(EntryRow).alias()
    return (
        select(EntryRow.job_id, EntryRow.area_id, EntryRow.happened, EntryRow.exactness)
        .outerjoin(later, later.c.replaces_id == EntryRow.id)
        .where(
            looked_at(EntryRow.kind) == END,
            EntryRow.exactness.not_in(ROUGH),  # a month cannot start an age in days
            EntryRow.withdrawn.is_(False),
            later.c.id.is_(None),
            EntryRow.job_id.in_(IDS),
        )
        .order_by(EntryRow.id)
    )


def _pour_ends(connection: Connection, jobs: Collection[int]) -> _Ends:
    found: dict[tuple[int, int | None], list[_End]] = defaultdict(list)
    for job, area, happened, exactness in by_ids(connection, _pour_ends_query(), jobs):
        found[job, area].append(_End(happened, cast(Exactness, exactness)))
    return found


@dataclass(frozen=True, slots=True)
class _Area:
    """An area's uid, the uid of its recipe family's first version or of what that is joined to, its recipe's dose."""

    uid: str
    root: str | None
    dose_percent: float | None = None


@cache
def _areas_query() -> Query:
    return select(AreaRow.job_id, AreaRow.id, AreaRow.uid, AreaRow.recipe_id).where(AreaRow.job_id.in_(IDS))


def _areas(
    connection: Connection, jobs: Collection[int], told: Mapping[str, str]
) -> dict[int, dict[int, _Area]]:
    """By job and area."""
    held = list(by_ids(connection, _areas_query(), jobs))
    recipes = {row.recipe_id for row in held if row.recipe_id is not None}
    roots, percents = _roots(connection, recipes), doses(connection, recipes)
    found: dict[int, dict[int, _Area]] = defaultdict(dict)
    for row in held:
        root = None if row.recipe_id is None else roots[row.recipe_id][1]
        found[row.job_id][row.id] = _Area(
            row.uid, root if root is None else told.get(root, root), percents.get(row.recipe_id)
        )
    return found


@cache
def _roots_query() -> Query:
    return select(RecipeRow.id, RecipeRow.uid, RecipeRow.from_id).where(RecipeRow.id.in_(IDS))


def _roots(connection: Connection, recipes: Collection[int]) -> dict[int, tuple[int, str]]:
    """The id and uid of the version that each recipe's family starts from."""
    held: dict[int, Found] = {}
    wanted = set(recipes)
    while wanted:
        held |= {row.id: row for row in by_ids(connection, _roots_query(), wanted)}
        wanted = {row.from_id for row in held.values() if row.from_id is not None} - held.keys()

    def root(recipe: int) -> tuple[int, str]:
        while (before := held[recipe].from_id) is not None:
            recipe = before
        return recipe, held[recipe].uid

    return {recipe: root(recipe) for recipe in recipes}


@cache
def _samples_query() -> Query:
    later, load = table(EntryRow).alias(), table(EntryRow).alias()
    columns = (SampleRow.number, SampleRow.load_id, EntryRow.happened, EntryRow.exactness, EntryRow.area_id)
    return (
        select(*columns, load.c.area_id.label("of_load"))
        .join(EntryRow, EntryRow.id == SampleRow.entry_id)
        .outerjoin(load, load.c.id == SampleRow.load_id)
        .outerjoin(later, later.c.replaces_id == EntryRow.id)
        .where(EntryRow.withdrawn.is_(False), later.c.id.is_(None), SampleRow.number.in_(IDS))
        .order_by(SampleRow.entry_id)
    )


def _samples(connection: Connection, numbers: Collection[int]) -> dict[int, _Sample]:
    """Standing samples of these numbers."""
    rows = list(by_ids(connection, _samples_query(), numbers))
    split = _only_area(connection, {row.load_id for row in rows if row.load_id is not None})
    return {
        row.number: _Sample(
            None if row.exactness in ROUGH else row.happened,
            row.load_id,
            row.area_id or row.of_load or split.get(row.load_id),
        )
        for row in rows
    }


@cache
def _served_query() -> Query:
    return select(LoadAreaRow.entry_id, LoadAreaRow.area_id).where(LoadAreaRow.entry_id.in_(IDS))


def _only_area(connection: Connection, loads: Collection[int]) -> dict[int, int]:
    """The area of each sampled load that served only one."""
    found: dict[int, set[int]] = defaultdict(set)
    for entry, area in by_ids(connection, _served_query(), loads):
        found[entry].add(area)
    return {entry: next(iter(went)) for entry, went in found.items() if len(went) == 1}


# --- recipes that somebody joined: poured under several names, they are one when it comes to their color.
# Each joining is an entry on a job of the recipe that was joined; taken back like any other.


def joined(connection: Connection) -> dict[str, str]:
    """The uid that stands for each joined recipe's family, by the family's own; none for the others."""
    told = {recipe: to for recipe, to, _ in _told(connection)}
    return {recipe: _stands_for(told, recipe) for recipe in told}


def joined_jobs(connection: Connection, uid: str) -> tuple[str, ...]:
    """Handles of the jobs whose recipe was joined to this one, as joined."""
    told = list(_told(connection))
    direct = {recipe: to for recipe, to, _ in told}
    return tuple(dict.fromkeys(handle for recipe, _, handle in told if _stands_for(direct, recipe) == uid))


def _told(connection: Connection) -> Iterator[tuple[str, str, str]]:
    """The standing entries: the family that was joined, the one it was joined to, the job."""
    for facts, handle in run(connection, _JOINED):
        told = json.loads(facts)
        yield str(told.get(JOINED_RECIPE)), str(told.get(JOINED_TO)), handle


def _stands_for(told: dict[str, str], recipe: str) -> str:
    """What stands for a recipe in the end; of those joined in a circle the first by uid."""
    seen = [recipe]
    while (after := told.get(seen[-1])) is not None:
        if after in seen:
            return min(seen[seen.index(after) :])
        seen.append(after)
    return seen[-1]


def _group(told: dict[str, str], roots: Iterable[str]) -> set[str]:
    """These families and all that are joined with one of them."""
    named = {told.get(root, root) for root in roots}
    return named | {recipe for recipe, to in told.items() if to in named}
