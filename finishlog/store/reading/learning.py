"""Training data from past readings: every current reading with its recipe and pour."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from typing import Any, cast

from sqlalchemy import select, text
from sqlalchemy.engine import Connection
from sqlalchemy.orm import aliased

from finishlog.records.answers import LearningRow
from finishlog.records.log import Exactness, Fact, Reading
from finishlog.records.when import ROUGH, zone_named
from finishlog.store.schema.detail_rows import READING
from finishlog.store.schema.rows import Found, Query, table
from finishlog.store.schema.tables import AreaRow, JobRow, RecipeRow, SiteRow
from finishlog.store.schema.tables_entry import EntryRow, LoadAreaRow, ReadingRow, SampleRow
from finishlog.trade.poured import END, followed


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
    """A token that changes with readings, pours, samples or areas' recipes."""
    parts = (
        *(f"(SELECT coalesce(max(entry_id), 0) FROM {name})" for name in ("reading", "sample", "load")),
        "(SELECT coalesce(max(id), 0) FROM entry WHERE kind = 'pour')",
        "(SELECT coalesce(max(id), 0) FROM entry WHERE replaces_id IS NOT NULL)",
        "(SELECT count(*) FROM area)",
        "(SELECT coalesce(sum(version), 0) FROM area)",
    )
    row = connection.execute(text(f"SELECT {', '.join(parts)}")).one()
    return "-".join(f"{value:.0f}" for value in row)


def rows(connection: Connection) -> tuple[LearningRow, ...]:
    """Every current reading of a job, oldest first.

    A reading without an area belongs to the job's only area, or its sample's load's; else to none. Ages count
    from the area's last pour end before the reading (a pour without an area is every area's), else from the
    first after it; for a sample poured apart, from the sample itself.
    """
    ends = _pour_ends(connection)
    areas = _areas(connection)
    samples = _samples(connection)
    return tuple(_rows(connection.execute(_readings_query()), ends, areas, samples))


def _rows(
    found: Any, ends: _Ends, areas: Mapping[int, Mapping[int, Found]], samples: Mapping[int, _Sample]
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
            Reading(**READING.fields(row)),
            sample is not None and not sample.load,
            _number(row.facts.get("release_left_percent")),
            _number(row.facts.get("release_left_sd_percent")),
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
    later = aliased(EntryRow)
    columns = table(ReadingRow).c
    return (
        select(
            JobRow.handle,
            EntryRow.job_id,
            EntryRow.area_id,
            EntryRow.number.label("entry_number"),
            EntryRow.happened,
            EntryRow.exactness,
            EntryRow.facts,
            SiteRow.zone,
            *(columns[column].label(field) for field, (column, _) in READING.columns.items()),
        )
        .join(EntryRow, EntryRow.id == ReadingRow.entry_id)
        .join(JobRow, JobRow.id == EntryRow.job_id)
        .join(SiteRow, SiteRow.id == JobRow.site_id)
        .outerjoin(later, later.replaces_id == EntryRow.id)
        .where(EntryRow.withdrawn.is_(False), later.id.is_(None))
        .order_by(EntryRow.happened, EntryRow.id)
    )


def _pour_ends(connection: Connection) -> _Ends:
    later = aliased(EntryRow)
    query = (
        select(EntryRow.job_id, EntryRow.area_id, EntryRow.happened, EntryRow.exactness)
        .outerjoin(later, later.replaces_id == EntryRow.id)
        .where(
            EntryRow.kind == END,
            EntryRow.exactness.not_in(ROUGH),  # a month cannot start an age in days
            EntryRow.withdrawn.is_(False),
            later.id.is_(None),
            EntryRow.job_id.in_(_jobs_read()),
        )
    )
    found: dict[tuple[int, int | None], list[_End]] = defaultdict(list)
    for job, area, happened, exactness in connection.execute(query):
        found[job, area].append(_End(happened, cast(Exactness, exactness)))
    return found


def _jobs_read() -> Any:
    """Jobs that have a reading."""
    return select(EntryRow.job_id).join(ReadingRow, ReadingRow.entry_id == EntryRow.id)


def _areas(connection: Connection) -> dict[int, dict[int, Found]]:
    """By job and area: its uid and the uid of its recipe family's first version."""
    base = select(RecipeRow.id, RecipeRow.uid.label("root")).where(RecipeRow.from_id.is_(None))
    family = base.cte("family", recursive=True)
    family = family.union_all(
        select(RecipeRow.id, family.c.root).join(family, RecipeRow.from_id == family.c.id)
    )
    query = select(AreaRow.job_id, AreaRow.id, AreaRow.uid, family.c.root).outerjoin(
        family, family.c.id == AreaRow.recipe_id
    )
    query = query.where(AreaRow.job_id.in_(_jobs_read()))
    found: dict[int, dict[int, Found]] = defaultdict(dict)
    for row in connection.execute(query):
        found[row.job_id][row.id] = row
    return found


def _samples(connection: Connection) -> dict[int, _Sample]:
    """Standing samples by number."""
    later, load = aliased(EntryRow), aliased(EntryRow)
    columns = (SampleRow.number, SampleRow.load_id, EntryRow.happened, EntryRow.exactness, EntryRow.area_id)
    query = (
        select(*columns, load.area_id.label("of_load"))
        .join(EntryRow, EntryRow.id == SampleRow.entry_id)
        .outerjoin(load, load.id == SampleRow.load_id)
        .outerjoin(later, later.replaces_id == EntryRow.id)
        .where(EntryRow.withdrawn.is_(False), later.id.is_(None))
    )
    rows = connection.execute(query).all()
    split = _only_area(connection)
    return {
        row.number: _Sample(
            None if row.exactness in ROUGH else row.happened,
            row.load_id,
            row.area_id or row.of_load or split.get(row.load_id),
        )
        for row in rows
    }


def _only_area(connection: Connection) -> dict[int, int]:
    """The area of each sampled load that served only one."""
    sampled = select(SampleRow.load_id).where(SampleRow.load_id.is_not(None))
    query = select(LoadAreaRow.entry_id, LoadAreaRow.area_id).where(LoadAreaRow.entry_id.in_(sampled))
    found: dict[int, set[int]] = defaultdict(set)
    for entry, area in connection.execute(query):
        found[entry].add(area)
    return {entry: next(iter(went)) for entry, went in found.items() if len(went) == 1}
