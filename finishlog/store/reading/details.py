"""Rows to records: the details of an entry."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass, fields
from functools import cache
from typing import Any

from sqlalchemy import select
from sqlalchemy.engine import Connection

from finishlog.records.files import Attachment, Photo
from finishlog.records.log import Load, MaterialUse, Product, Sample
from finishlog.store.reading.shop import load_mixes, load_products
from finishlog.store.schema.detail_rows import APPROVAL, CLAIM, COAT, LOAD, READING, SAMPLE
from finishlog.store.schema.rows import IDS, Query, at_once, by_ids, table
from finishlog.store.schema.tables import AreaRow, LotRow
from finishlog.store.schema.tables_entry import (
    EntryFileRow,
    EntryRow,
    FileRow,
    LoadAreaRow,
    MaterialUseRow,
    PhotoRow,
    SampleDoseRow,
    SampleRow,
)

Loading = Callable[[Connection, Collection[int]], dict[int, Any]]


@dataclass(frozen=True, slots=True)
class Details:
    """By part, then by entry id; parts are named like an Entry's fields."""

    parts: dict[str, dict[int, Any]]

    def of(self, entry: int) -> dict[str, Any]:
        """One entry's non-empty fields."""
        return {part: found[entry] for part, found in self.parts.items() if entry in found}


def load_details(
    connection: Connection, entries: Collection[int], parts: Collection[str] | None = None
) -> Details:
    """The details of these entries; `parts` (None: all) limits which to load."""
    wanted = _PARTS if parts is None else {part: _PARTS[part] for part in _PARTS if part in parts}
    with at_once(connection, *((_query_of(part), entries) for part in wanted)):
        return Details({part: load(connection, entries) for part, load in wanted.items()})


def _query_of(part: str) -> Query:
    """What a part is read by first."""
    return _plain_query(part) if part in _PLAIN else _FIRST[part]()


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
    return LOAD.query("mix_id")


def _loads(connection: Connection, entries: Collection[int]) -> dict[int, Load]:
    rows = list(by_ids(connection, _loads_query(), entries))
    mixes = load_mixes(connection, {row.mix_id for row in rows if row.mix_id is not None})
    areas = _load_areas(connection, [row.entry_id for row in rows])
    return {
        row.entry_id: Load(
            **LOAD.fields(row), mix=mixes.get(row.mix_id), areas=tuple(areas.get(row.entry_id, []))
        )
        for row in rows
    }


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
def _plain_query(part: str) -> Query:
    return _PLAIN[part].query()


_PLAIN = {"coat": COAT, "reading": READING, "approval": APPROVAL, "claim": CLAIM}


def _plain(part: str) -> Loading:
    def load(connection: Connection, entries: Collection[int]) -> dict[int, Any]:
        rows = by_ids(connection, _plain_query(part), entries)
        return {row.entry_id: _PLAIN[part].record(**_PLAIN[part].fields(row)) for row in rows}

    return load


@cache
def _samples_query() -> Query:
    loaded = SAMPLE.query("number").add_columns(EntryRow.number.label("load"))
    return loaded.outerjoin(EntryRow, EntryRow.id == SampleRow.load_id)


def _samples(connection: Connection, entries: Collection[int]) -> dict[int, Sample]:
    rows = list(by_ids(connection, _samples_query(), entries))
    doses = _doses(connection, [row.entry_id for row in rows])
    return {
        row.entry_id: Sample(
            number=row.number, load=row.load, **SAMPLE.fields(row), doses=doses.get(row.entry_id, ())
        )
        for row in rows
    }


@cache
def _doses_query() -> Query:
    return (
        select(SampleDoseRow.entry_id, SampleDoseRow.product_id, SampleDoseRow.percent)
        .where(SampleDoseRow.entry_id.in_(IDS))
        .order_by(SampleDoseRow.entry_id, SampleDoseRow.position)
    )


def _doses(connection: Connection, samples: Collection[int]) -> dict[int, tuple[tuple[Product, float], ...]]:
    rows = list(by_ids(connection, _doses_query(), samples))
    products = load_products(connection, {row.product_id for row in rows})
    found: dict[int, list[tuple[Product, float]]] = defaultdict(list)
    for row in rows:
        found[row.entry_id].append((products[row.product_id], row.percent))
    return _tuples(found)


@cache
def _files_query() -> Query:
    facts = [table(PhotoRow).c[each.name] for each in fields(Photo)]
    return (
        select(
            EntryFileRow.entry_id,
            FileRow.sha256,
            EntryFileRow.name,
            FileRow.size,
            FileRow.media_type,
            *facts,
        )
        .join(FileRow, FileRow.sha256 == EntryFileRow.sha256)
        .outerjoin(PhotoRow, PhotoRow.sha256 == FileRow.sha256)
        .where(EntryFileRow.entry_id.in_(IDS))
        .order_by(EntryFileRow.entry_id, EntryFileRow.position)
    )


def _files(connection: Connection, entries: Collection[int]) -> dict[int, tuple[Attachment, ...]]:
    found: dict[int, list[Attachment]] = defaultdict(list)
    for entry, sha256, name, size, media_type, *facts in by_ids(connection, _files_query(), entries):
        photo = None if facts[0] is None else Photo(*facts)
        found[entry].append(Attachment(sha256, name, size, media_type, photo))
    return _tuples(found)


def _tuples(found: dict[int, list[Any]]) -> dict[int, tuple[Any, ...]]:
    return {entry: tuple(some) for entry, some in found.items()}


_PARTS: dict[str, Loading] = {
    "materials": _materials,
    "load": _loads,
    "coat": _plain("coat"),
    "reading": _plain("reading"),
    "sample": _samples,
    "approval": _plain("approval"),
    "claim": _plain("claim"),
    "files": _files,
}
_FIRST = {
    "materials": _materials_query,
    "load": _loads_query,
    "sample": _samples_query,
    "files": _files_query,
}
PARTS = tuple(_PARTS)
"""Entry fields with tables of their own."""
