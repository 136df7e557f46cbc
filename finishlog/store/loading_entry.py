"""Rows to records: entries with their details."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from functools import cache

from sqlalchemy import select
from sqlalchemy.engine import Connection
from sqlalchemy.orm import aliased

from finishlog.records.log import Coat, Entry, Load, MaterialUse, Mix, Reading
from finishlog.store.kinds import current_params
from finishlog.store.loading_shop import load_mixes, load_products
from finishlog.store.rows import IDS, Found, Query, by_ids
from finishlog.store.tables import AreaRow, LotRow, PersonRow
from finishlog.store.tables_entry import CoatRow, EntryRow, LoadAreaRow, LoadRow, MaterialUseRow, ReadingRow


@dataclass(frozen=True, slots=True)
class _Details:
    materials: dict[int, list[MaterialUse]]
    loads: dict[int, Load]
    coats: dict[int, Coat]
    readings: dict[int, Reading]


def load_entries(connection: Connection, jobs: Collection[int]) -> dict[int, list[Entry]]:
    """All entries of these jobs, replaced ones too, in order of logging."""
    rows = list(by_ids(connection, _entries_of_jobs_query(), jobs))
    found: dict[int, list[Entry]] = defaultdict(list)
    for row, entry in zip(rows, _whole(connection, rows), strict=True):
        found[row.job_id].append(entry)
    return found


def load_entry(connection: Connection, entry: int) -> Entry:
    """One entry by its id."""
    return _whole(connection, list(by_ids(connection, _entries_query(), [entry])))[0]


@cache
def _entries_of_jobs_query() -> Query:
    return _entries().where(EntryRow.job_id.in_(IDS)).order_by(EntryRow.id)


@cache
def _entries_query() -> Query:
    return _entries().where(EntryRow.id.in_(IDS))


def _entries() -> Query:
    replaced = aliased(EntryRow)
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
            replaced.number.label("replaces"),
            EntryRow.withdrawn,
            EntryRow.facts,
            EntryRow.facts_version,
        )
        .outerjoin(AreaRow, AreaRow.id == EntryRow.area_id)
        .outerjoin(PersonRow, PersonRow.id == EntryRow.person_id)
        .outerjoin(replaced, replaced.id == EntryRow.replaces_id)
    )


def _whole(connection: Connection, rows: list[Found]) -> list[Entry]:
    ids = [row.id for row in rows]
    details = _Details(
        materials=_materials(connection, ids),
        loads=_loads(connection, ids),
        coats=_coats(connection, ids),
        readings=_readings(connection, ids),
    )
    return [_entry(row, details) for row in rows]


def _entry(row: Found, details: _Details) -> Entry:
    facts, version = current_params(row.kind, row.facts, row.facts_version)
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
        materials=tuple(details.materials.get(row.id, ())),
        load=details.loads.get(row.id),
        coat=details.coats.get(row.id),
        reading=details.readings.get(row.id),
    )


@cache
def _materials_query() -> Query:
    return (
        select(
            MaterialUseRow.entry_id,
            MaterialUseRow.product_id,
            MaterialUseRow.amount,
            MaterialUseRow.unit,
            LotRow.code,
            MaterialUseRow.reclaimed,
        )
        .outerjoin(LotRow, LotRow.id == MaterialUseRow.lot_id)
        .where(MaterialUseRow.entry_id.in_(IDS))
        .order_by(MaterialUseRow.entry_id, MaterialUseRow.position)
    )


def _materials(connection: Connection, entries: Collection[int]) -> dict[int, list[MaterialUse]]:
    rows = list(by_ids(connection, _materials_query(), entries))
    products = load_products(connection, {row.product_id for row in rows})
    found: dict[int, list[MaterialUse]] = defaultdict(list)
    for row in rows:
        use = MaterialUse(products[row.product_id], row.amount, row.unit, row.code, row.reclaimed)
        found[row.entry_id].append(use)
    return found


@cache
def _loads_query() -> Query:
    return select(
        LoadRow.entry_id,
        LoadRow.mix_id,
        LoadRow.yards,
        LoadRow.returned_yd3,
        LoadRow.dumped_yd3,
        LoadRow.ticket,
        LoadRow.water_gal,
        LoadRow.water_when,
        LoadRow.slump_in,
        LoadRow.slump_end_in,
        LoadRow.is_balance,
    ).where(LoadRow.entry_id.in_(IDS))


def _loads(connection: Connection, entries: Collection[int]) -> dict[int, Load]:
    rows = list(by_ids(connection, _loads_query(), entries))
    mixes = load_mixes(connection, {row.mix_id for row in rows if row.mix_id is not None})
    areas = _load_areas(connection, [row.entry_id for row in rows])
    return {row.entry_id: _load(row, mixes.get(row.mix_id), areas.get(row.entry_id, [])) for row in rows}


def _load(row: Found, mix: Mix | None, areas: list[tuple[str, float | None]]) -> Load:
    return Load(
        yards=row.yards,
        returned_yd3=row.returned_yd3,
        dumped_yd3=row.dumped_yd3,
        ticket=row.ticket,
        mix=mix,
        water_gal=row.water_gal,
        water_when=row.water_when,
        slump_in=row.slump_in,
        slump_end_in=row.slump_end_in,
        is_balance=row.is_balance,
        areas=tuple(areas),
    )


@cache
def _load_areas_query() -> Query:
    return (
        select(LoadAreaRow.entry_id, AreaRow.uid, LoadAreaRow.yards)
        .join(AreaRow, AreaRow.id == LoadAreaRow.area_id)
        .where(LoadAreaRow.entry_id.in_(IDS))
        .order_by(LoadAreaRow.entry_id, AreaRow.position)
    )


def _load_areas(connection: Connection, loads: Iterable[int]) -> dict[int, list[tuple[str, float | None]]]:
    found: dict[int, list[tuple[str, float | None]]] = defaultdict(list)
    for row in by_ids(connection, _load_areas_query(), list(loads)):
        found[row.entry_id].append((row.uid, row.yards))
    return found


@cache
def _coats_query() -> Query:
    return select(
        CoatRow.entry_id,
        CoatRow.number,
        CoatRow.reseal,
        CoatRow.area_ft2,
        CoatRow.slab_f,
        CoatRow.air_f,
        CoatRow.humidity_percent,
    ).where(CoatRow.entry_id.in_(IDS))


def _coats(connection: Connection, entries: Collection[int]) -> dict[int, Coat]:
    return {row[0]: Coat(*row[1:]) for row in by_ids(connection, _coats_query(), entries)}


@cache
def _readings_query() -> Query:
    return select(
        ReadingRow.entry_id,
        ReadingRow.lightness,
        ReadingRow.a,
        ReadingRow.b,
        ReadingRow.sd_lightness,
        ReadingRow.sd_a,
        ReadingRow.sd_b,
        ReadingRow.spot,
        ReadingRow.damp,
        ReadingRow.sealed,
        ReadingRow.source,
    ).where(ReadingRow.entry_id.in_(IDS))


def _readings(connection: Connection, entries: Collection[int]) -> dict[int, Reading]:
    return {row[0]: Reading(*row[1:]) for row in by_ids(connection, _readings_query(), entries)}
