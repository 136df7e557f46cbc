"""Rows to records: the details of an entry."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, fields
from functools import cache
from typing import Any

from sqlalchemy import select
from sqlalchemy.engine import Connection

from finishlog.records.files import Attachment, Photo
from finishlog.records.log import Load, MaterialUse, Mix, Product, Sample
from finishlog.store.reading.shop import load_mixes, load_products, mixes_query, products_query
from finishlog.store.schema.detail_rows import APPROVAL, CLAIM, COAT, LOAD, READING, SAMPLE, Part
from finishlog.store.schema.rows import IDS, Found, Query, at_once, by_ids, table
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


@dataclass(frozen=True, slots=True)
class Details:
    """By part, then by entry id; parts are named like an Entry's fields."""

    parts: dict[str, dict[int, Any]]

    def of(self, entry: int) -> dict[str, Any]:
        """One entry's non-empty fields."""
        return {part: found[entry] for part, found in self.parts.items() if entry in found}


Rows = Mapping[str, list[Found]]
"""What is told of entries, by part, as it was read."""


@dataclass(frozen=True, slots=True)
class Named:
    """What the rows of details name."""

    products: Mapping[int, Product]
    mixes: Mapping[int, Mix]
    areas: Mapping[int, list[tuple[str, float | None]]]
    doses: Mapping[int, list[tuple[int, float]]]


Making = Callable[[list[Found], Named], dict[int, Any]]


def queries(parts: Collection[str] | None = None) -> list[Query]:
    """What the details of entries are read by; `parts` (None: all) limits which."""
    return [_QUERIES[part]() for part in _wanted(parts)]


def read_details(
    connection: Connection, entries: Collection[int], parts: Collection[str] | None = None
) -> Rows:
    """The details of these entries, but for what they name; `parts` (None: all) limits which."""
    return {part: list(by_ids(connection, _QUERIES[part](), entries)) for part in _wanted(parts)}


def read_named(connection: Connection, rows: Rows, products: Collection[int] = ()) -> Named:
    """What these details name; also the products of these ids."""
    loads, samples = rows.get("load", ()), [row.entry_id for row in rows.get("sample", ())]
    carried = [row.entry_id for row in loads]
    poured = {row.mix_id for row in loads if row.mix_id is not None}
    used = {row.product_id for row in rows.get("materials", ())} | set(products)
    further = (_load_areas_query(), carried), (_doses_query(), samples)
    with at_once(connection, (products_query(), used), (mixes_query(), poured), *further):
        known, doses = load_products(connection, used), _doses(connection, samples)
        mixes, areas = load_mixes(connection, poured), _load_areas(connection, carried)
    of_doses = {product for some in doses.values() for product, _ in some}
    return Named(known | load_products(connection, of_doses - set(known)), mixes, areas, doses)


def made(rows: Rows, named: Named) -> Details:
    """The details of entries, from their rows and what those name."""
    return Details({part: _MADE[part](some, named) for part, some in rows.items()})


def _wanted(parts: Collection[str] | None) -> list[str]:
    return [part for part in PARTS if parts is None or part in parts]


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


def _materials(rows: list[Found], named: Named) -> dict[int, tuple[MaterialUse, ...]]:
    found: dict[int, list[MaterialUse]] = defaultdict(list)
    for row in rows:
        use = MaterialUse(named.products[row.product_id], row.amount, row.unit, row.code, row.reclaimed)
        found[row.entry_id].append(use)
    return _tuples(found)


@cache
def _loads_query() -> Query:
    return LOAD.query("mix_id")


def _loads(rows: list[Found], named: Named) -> dict[int, Load]:
    return {
        row.entry_id: Load(
            **LOAD.fields(row),
            mix=named.mixes.get(row.mix_id),
            areas=tuple(named.areas.get(row.entry_id, ())),
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


def _load_areas(connection: Connection, loads: Collection[int]) -> dict[int, list[tuple[str, float | None]]]:
    found: dict[int, list[tuple[str, float | None]]] = defaultdict(list)
    for row in by_ids(connection, _load_areas_query(), loads):
        found[row.entry_id].append((row.uid, row.yards))
    return found


def _plain(part: Part) -> Making:
    def make(rows: list[Found], _: Named) -> dict[int, Any]:
        return {row.entry_id: part.record(**part.fields(row)) for row in rows}

    return make


@cache
def _samples_query() -> Query:
    loaded = SAMPLE.query("number").add_columns(EntryRow.number.label("load"))
    return loaded.outerjoin(EntryRow, EntryRow.id == SampleRow.load_id)


def _samples(rows: list[Found], named: Named) -> dict[int, Sample]:
    doses = {
        entry: tuple((named.products[product], percent) for product, percent in some)
        for entry, some in named.doses.items()
    }
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


def _doses(connection: Connection, samples: Collection[int]) -> dict[int, list[tuple[int, float]]]:
    found: dict[int, list[tuple[int, float]]] = defaultdict(list)
    for row in by_ids(connection, _doses_query(), samples):
        found[row.entry_id].append((row.product_id, row.percent))
    return found


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


def _files(rows: list[Found], _: Named) -> dict[int, tuple[Attachment, ...]]:
    found: dict[int, list[Attachment]] = defaultdict(list)
    for entry, sha256, name, size, media_type, *facts in rows:
        photo = None if facts[0] is None else Photo(*facts)
        found[entry].append(Attachment(sha256, name, size, media_type, photo))
    return _tuples(found)


def _tuples(found: dict[int, list[Any]]) -> dict[int, tuple[Any, ...]]:
    return {entry: tuple(some) for entry, some in found.items()}


_QUERIES: dict[str, Callable[[], Query]] = {
    "materials": _materials_query,
    "load": _loads_query,
    "coat": cache(COAT.query),
    "reading": cache(READING.query),
    "sample": _samples_query,
    "approval": cache(APPROVAL.query),
    "claim": cache(CLAIM.query),
    "files": _files_query,
}
_MADE: dict[str, Making] = {
    "materials": _materials,
    "load": _loads,
    "coat": _plain(COAT),
    "reading": _plain(READING),
    "sample": _samples,
    "approval": _plain(APPROVAL),
    "claim": _plain(CLAIM),
    "files": _files,
}
PARTS = tuple(_QUERIES)
"""Entry fields with tables of their own."""
