"""Rows to records: what belongs to an entry beside the entry itself."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass
from functools import cache
from typing import Any

from sqlalchemy import select
from sqlalchemy.engine import Connection

from finishlog.records.log import (
    Approval,
    Attachment,
    Claim,
    Coat,
    Load,
    MaterialUse,
    Mix,
    Reading,
    Sample,
)
from finishlog.store.loading_shop import load_mixes, load_products
from finishlog.store.rows import IDS, Found, Query, by_ids
from finishlog.store.tables import AreaRow, LotRow
from finishlog.store.tables_entry import (
    ApprovalRow,
    ClaimRow,
    CoatRow,
    EntryFileRow,
    EntryRow,
    FileRow,
    LoadAreaRow,
    LoadRow,
    MaterialUseRow,
    ReadingRow,
    SampleRow,
)


@dataclass(frozen=True, slots=True)
class Details:
    """By part, then by id of the entry; the parts are named as the fields of an Entry are."""

    parts: dict[str, dict[int, Any]]

    def of(self, entry: int) -> dict[str, Any]:
        """The fields of one entry that have something to say."""
        return {part: found[entry] for part, found in self.parts.items() if entry in found}


def load_details(
    connection: Connection, entries: Collection[int], parts: Collection[str] | None = None
) -> Details:
    """The details of these entries; `parts` (None: all) names those to look for."""
    wanted = _PARTS if parts is None else {part: _PARTS[part] for part in _PARTS if part in parts}
    return Details({part: load(connection, entries) for part, load in wanted.items()})


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


def _materials(connection: Connection, entries: Collection[int]) -> dict[int, tuple[MaterialUse, ...]]:
    rows = list(by_ids(connection, _materials_query(), entries))
    products = load_products(connection, {row.product_id for row in rows})
    found: dict[int, list[MaterialUse]] = defaultdict(list)
    for row in rows:
        use = MaterialUse(products[row.product_id], row.amount, row.unit, row.code, row.reclaimed)
        found[row.entry_id].append(use)
    return _tuples(found)


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


@cache
def _samples_query() -> Query:
    return (
        select(
            SampleRow.entry_id,
            SampleRow.number,
            EntryRow.number.label("load"),
            SampleRow.size,
            SampleRow.kept_where,
            SampleRow.half_sealed,
        )
        .outerjoin(EntryRow, EntryRow.id == SampleRow.load_id)
        .where(SampleRow.entry_id.in_(IDS))
    )


def _samples(connection: Connection, entries: Collection[int]) -> dict[int, Sample]:
    return {row[0]: Sample(*row[1:]) for row in by_ids(connection, _samples_query(), entries)}


@cache
def _approvals_query() -> Query:
    columns = (ApprovalRow.entry_id, ApprovalRow.sample, ApprovalRow.signed_by, ApprovalRow.approved)
    return select(*columns).where(ApprovalRow.entry_id.in_(IDS))


def _approvals(connection: Connection, entries: Collection[int]) -> dict[int, Approval]:
    return {row[0]: Approval(*row[1:]) for row in by_ids(connection, _approvals_query(), entries)}


@cache
def _claims_query() -> Query:
    return select(
        ClaimRow.entry_id,
        ClaimRow.complaint,
        ClaimRow.cause,
        ClaimRow.action,
        ClaimRow.outcome,
        ClaimRow.settled,
    ).where(ClaimRow.entry_id.in_(IDS))


def _claims(connection: Connection, entries: Collection[int]) -> dict[int, Claim]:
    return {row[0]: Claim(*row[1:]) for row in by_ids(connection, _claims_query(), entries)}


@cache
def _files_query() -> Query:
    return (
        select(EntryFileRow.entry_id, FileRow.sha256, EntryFileRow.name, FileRow.size, FileRow.media_type)
        .join(FileRow, FileRow.sha256 == EntryFileRow.sha256)
        .where(EntryFileRow.entry_id.in_(IDS))
        .order_by(EntryFileRow.entry_id, EntryFileRow.position)
    )


def _files(connection: Connection, entries: Collection[int]) -> dict[int, tuple[Attachment, ...]]:
    found: dict[int, list[Attachment]] = defaultdict(list)
    for row in by_ids(connection, _files_query(), entries):
        found[row[0]].append(Attachment(*row[1:]))
    return _tuples(found)


def _tuples(found: dict[int, list[Any]]) -> dict[int, tuple[Any, ...]]:
    return {entry: tuple(some) for entry, some in found.items()}


_PARTS: dict[str, Callable[[Connection, Collection[int]], dict[int, Any]]] = {
    "materials": _materials,
    "load": _loads,
    "coat": _coats,
    "reading": _readings,
    "sample": _samples,
    "approval": _approvals,
    "claim": _claims,
    "files": _files,
}
PARTS = tuple(_PARTS)
"""The fields of an Entry that stand in tables of their own."""
