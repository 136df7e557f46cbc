"""Rows to records: entries with their details."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping
from dataclasses import replace
from functools import cache

from sqlalchemy import select
from sqlalchemy.engine import Connection

from finishlog.records.log import Entry
from finishlog.store.reading.details import Details, made, queries, read_details, read_named
from finishlog.store.schema.kinds import current_params
from finishlog.store.schema.prices import hidden, unpriced
from finishlog.store.schema.rows import IDS, Found, Query, at_once, by_ids, table
from finishlog.store.schema.tables import AreaRow, PersonRow
from finishlog.store.schema.tables_entry import EntryRow


def read_entries(connection: Connection, jobs: Collection[int]) -> list[Found]:
    """All entries of these jobs, including replaced ones, in logging order, but for their details."""
    return list(by_ids(connection, entries_of_jobs_query(), jobs, ids_of_jobs_query()))


def by_job(connection: Connection, rows: Collection[Found], details: Details) -> dict[int, list[Entry]]:
    """Entries from their rows and details, by job."""
    found: dict[int, list[Entry]] = defaultdict(list)
    priced = not hidden(connection)
    for row in rows:
        found[row.job_id].append(_entry(row, details, priced))
    return {job: standing_loads(entries) for job, entries in found.items()}


def standing_loads(entries: list[Entry]) -> list[Entry]:
    """Points samples at the current load: if corrected or redone, the entry that did so."""
    if not any(entry.sample is not None and entry.sample.load is not None for entry in entries):
        return entries
    later = {entry.replaces: entry for entry in entries if entry.load is not None or entry.withdrawn}
    return [_with_load(entry, later) for entry in entries]


def _with_load(entry: Entry, later: Mapping[int | None, Entry]) -> Entry:
    sample = entry.sample
    if sample is None or sample.load is None:
        return entry
    load = at = sample.load
    while at in later:  # corrections only name earlier entries, so this ends
        over = later[at]
        at = over.number
        load = load if over.withdrawn else at
    return replace(entry, sample=replace(sample, load=load))


def load_entry(connection: Connection, entry: int, parts: Collection[str] | None = None) -> Entry:
    """One entry by id; `parts` names its details, if known, to skip other queries."""
    with at_once(connection, (_entries_query(), [entry]), *((query, [entry]) for query in queries(parts))):
        (row,) = by_ids(connection, _entries_query(), [entry])
        rows = read_details(connection, [entry], parts)
    return _entry(row, made(rows, read_named(connection, rows)), not hidden(connection))


@cache
def entries_of_jobs_query() -> Query:
    """All entries of jobs, in logging order."""
    return _entries().where(EntryRow.job_id.in_(IDS)).order_by(EntryRow.id)


@cache
def ids_of_jobs_query() -> Query:
    """Stands for all entries of jobs: one never changes, nor do the name of its person and the uid of its area."""
    return select(EntryRow.id).where(EntryRow.job_id.in_(IDS)).order_by(EntryRow.id)


@cache
def _entries_query() -> Query:
    return _entries().where(EntryRow.id.in_(IDS))


def _entries() -> Query:
    replaced = table(EntryRow).alias()
    return (
        select(
            EntryRow.id,
            EntryRow.job_id,
            EntryRow.number,
            EntryRow.uid,
            EntryRow.kind,
            EntryRow.happened,
            EntryRow.logged,
            EntryRow.exactness,
            AreaRow.uid.label("area"),
            PersonRow.name.label("person"),
            EntryRow.note,
            replaced.c.number.label("replaces"),
            EntryRow.withdrawn,
            EntryRow.facts,
            EntryRow.facts_version,
        )
        .outerjoin(AreaRow, AreaRow.id == EntryRow.area_id)
        .outerjoin(PersonRow, PersonRow.id == EntryRow.person_id)
        .outerjoin(replaced, replaced.c.id == EntryRow.replaces_id)
    )


def _entry(row: Found, details: Details, priced: bool) -> Entry:
    facts, version = current_params(row.kind, row.facts, row.facts_version)
    if not priced:
        facts = unpriced(facts)
    return Entry(
        number=row.number,
        uid=row.uid,
        kind=row.kind,
        happened=row.happened,
        logged=row.logged,
        exactness=row.exactness,
        area=row.area,
        person=row.person,
        note=row.note,
        replaces=row.replaces,
        withdrawn=row.withdrawn,
        facts=facts,
        facts_version=version,
        **details.of(row.id),
    )
