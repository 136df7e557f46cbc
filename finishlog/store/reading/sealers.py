"""Which readings of sealed slabs lie under a penetrating sealer, as far as their coats were logged."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable
from functools import cache
from typing import Any

from sqlalchemy import select
from sqlalchemy.engine import Connection

from finishlog.store.schema.rows import IDS, Query, by_ids, looked_at, table
from finishlog.store.schema.tables import ProductRow
from finishlog.store.schema.tables_entry import EntryRow, MaterialUseRow
from finishlog.trade.sealing.compatibility import chemistry_of

SEAL = "seal"


def penetrating(connection: Connection, readings: Iterable[Any]) -> set[int]:
    """The ids of the sealed readings whose last coat before them, of their area or of all, was a penetrating one.

    A reading has `id`, `job_id`, `area_id`, `happened` and `sealed`.
    """
    sealed = [row for row in readings if row.sealed]
    coats = _coats(connection, {row.job_id for row in sealed})
    return {row.id for row in sealed if _last(coats.get(row.job_id, ()), row)}


def _last(coats: Collection[tuple[Any, bool]], row: Any) -> bool:
    before = [
        kind
        for coat, kind in coats
        if coat.happened <= row.happened
        and (None in (coat.area_id, row.area_id) or coat.area_id == row.area_id)
    ]
    return bool(before) and before[-1]


def _coats(connection: Connection, jobs: Collection[int]) -> dict[int, list[tuple[Any, bool]]]:
    """By job its coats in time order, and whether each was penetrating."""
    found = sorted(by_ids(connection, _coats_query(), jobs), key=lambda row: (row.happened, row.id))
    labels = {row.entry_id: row.chemistry for row in by_ids(connection, _labels(), {row.id for row in found})}
    coats: dict[int, list[tuple[Any, bool]]] = defaultdict(list)
    for row in found:
        told = " ".join(str(row.facts[key]) for key in ("carrier", "chemistry") if key in row.facts)
        coats[row.job_id].append((row, chemistry_of(told or labels.get(row.id)) == "penetrating"))
    return coats


@cache
def _coats_query() -> Query:
    later = table(EntryRow).alias()
    return (
        select(EntryRow.id, EntryRow.job_id, EntryRow.area_id, EntryRow.happened, EntryRow.facts)
        .outerjoin(later, later.c.replaces_id == EntryRow.id)
        .where(
            looked_at(EntryRow.kind) == SEAL,
            EntryRow.withdrawn.is_(False),
            later.c.id.is_(None),
            EntryRow.job_id.in_(IDS),
        )
    )


@cache
def _labels() -> Query:
    """The chemistry on the first sealer's label, of entries."""
    return (
        select(MaterialUseRow.entry_id, ProductRow.chemistry)
        .join(ProductRow, ProductRow.id == MaterialUseRow.product_id)
        .where(ProductRow.kind == "sealer", MaterialUseRow.entry_id.in_(IDS))
        .order_by(MaterialUseRow.entry_id, MaterialUseRow.position.desc())
    )
