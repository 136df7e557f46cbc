"""Shelf data: moves (bought, opened, counted…) and use by entries of all jobs."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import replace
from functools import cache
from typing import Any

from sqlalchemy import select
from sqlalchemy.engine import Connection

from finishlog.records.answers import StockMove, Swept, UsedMaterial
from finishlog.records.log import Product
from finishlog.store.reading.shop import load_products
from finishlog.store.schema.prices import hidden
from finishlog.store.schema.rows import IDS, Found, Query, by_ids, table
from finishlog.store.schema.tables import AreaRow, JobRow, LotRow, PersonRow, ProductRow
from finishlog.store.schema.tables_entry import EntryRow, MaterialUseRow, StockMoveRow


@cache
def _moves_query() -> Query:
    replaced, later = table(StockMoveRow).alias(), table(StockMoveRow).alias()
    return (
        select(
            StockMoveRow.uid,
            StockMoveRow.product_id,
            StockMoveRow.what,
            StockMoveRow.happened,
            StockMoveRow.logged,
            StockMoveRow.amount,
            StockMoveRow.unit,
            LotRow.code,
            StockMoveRow.price_usd,
            PersonRow.name,
            JobRow.handle,
            StockMoveRow.note,
            replaced.c.uid.label("replaces"),
            StockMoveRow.withdrawn,
            later.c.id.label("later"),
        )
        .outerjoin(LotRow, LotRow.id == StockMoveRow.lot_id)
        .outerjoin(PersonRow, PersonRow.id == StockMoveRow.person_id)
        .outerjoin(JobRow, JobRow.id == StockMoveRow.job_id)
        .outerjoin(replaced, replaced.c.id == StockMoveRow.replaces_id)
        .outerjoin(later, later.c.replaces_id == StockMoveRow.id)
        .order_by(StockMoveRow.happened, StockMoveRow.id)
    )


def moves(connection: Connection, product: str | None, *, history: bool) -> tuple[StockMove, ...]:
    """Moves of one product (by uid) or all, in order of happening; with `history` all, in order of logging."""
    query = _moves_query()
    if history:
        query = query.order_by(None).order_by(StockMoveRow.id)
    if product is not None:
        query = query.where(StockMoveRow.product_id == _product_id(product))
    return _moves_of(connection, connection.execute(query).all(), history=history)


def moves_with(connection: Connection, ids: Collection[int], without: str | None) -> tuple[StockMove, ...]:
    """The current ones of these moves, without the one of that uid."""
    found = sorted(by_ids(connection, _moves_with_query(), ids), key=lambda row: (row.happened, row.id))
    return _moves_of(connection, [row for row in found if row.uid != without], history=False)


@cache
def _moves_with_query() -> Query:
    return _moves_query().add_columns(StockMoveRow.id).where(StockMoveRow.id.in_(IDS))


def _moves_of(connection: Connection, rows: Sequence[Found], *, history: bool) -> tuple[StockMove, ...]:
    kept = [row for row in rows if history or (row.later is None and not row.withdrawn)]
    products = load_products(connection, {row.product_id for row in kept})
    priced = not hidden(connection)
    return tuple(_move(row, products[row.product_id], priced) for row in kept)


def move(connection: Connection, uid: str) -> StockMove:
    """One move by its uid."""
    row = connection.execute(_moves_query().where(StockMoveRow.uid == uid)).one()
    product = load_products(connection, [row.product_id])[row.product_id]
    return _move(row, product, not hidden(connection))


def _move(row: Found, product: Product, priced: bool) -> StockMove:
    uid, _, *rest = row
    made = StockMove(uid, product, *rest[:12])
    return made if priced else replace(made, price_usd=None)


def _product_id(uid: str) -> Any:
    return select(ProductRow.id).where(ProductRow.uid == uid).scalar_subquery()


def uses(connection: Connection, product: str | None, kinds: Iterable[str]) -> tuple[UsedMaterial, ...]:
    """What the standing entries used of one product (by uid), or of all of these kinds (none: all)."""
    query = _uses_query()
    wanted = tuple(kinds)
    if product is not None:
        query = query.where(MaterialUseRow.product_id == _product_id(product))
    if wanted:
        of_kind = select(ProductRow.id).where(ProductRow.kind.in_(wanted))
        query = query.where(MaterialUseRow.product_id.in_(of_kind))
    return _uses_of(connection, connection.execute(query).all())


def uses_in(connection: Connection, entries: Collection[int]) -> tuple[UsedMaterial, ...]:
    """What the standing ones of these entries used."""
    return _uses_of(
        connection, sorted(by_ids(connection, _uses_in_query(), entries), key=lambda row: row[-3:])
    )


@cache
def _uses_in_query() -> Query:
    return _uses_query().where(EntryRow.id.in_(IDS))


@cache
def _uses_query() -> Query:
    later = table(EntryRow).alias()
    return (
        select(
            JobRow.handle,
            EntryRow.number,
            EntryRow.kind,
            EntryRow.happened,
            MaterialUseRow.product_id,
            LotRow.code,
            MaterialUseRow.amount,
            MaterialUseRow.unit,
            MaterialUseRow.reclaimed,
            AreaRow.uid,
            EntryRow.facts,
            EntryRow.happened.label("then"),
            EntryRow.id,
            MaterialUseRow.position,
        )
        .join(EntryRow, EntryRow.id == MaterialUseRow.entry_id)
        .join(JobRow, JobRow.id == EntryRow.job_id)
        .outerjoin(LotRow, LotRow.id == MaterialUseRow.lot_id)
        .outerjoin(AreaRow, AreaRow.id == EntryRow.area_id)
        .outerjoin(later, later.c.replaces_id == EntryRow.id)
        .where(EntryRow.withdrawn.is_(False), later.c.id.is_(None))
        .order_by(EntryRow.happened, EntryRow.id, MaterialUseRow.position)
    )


def _uses_of(connection: Connection, rows: Sequence[Found]) -> tuple[UsedMaterial, ...]:
    products = load_products(connection, {row.product_id for row in rows})
    return tuple(_use(row, products[row.product_id]) for row in rows)


def _use(row: Found, product: Product) -> UsedMaterial:
    job, number, kind, happened, _, *rest = row
    return UsedMaterial(job, number, kind, happened, product, *rest[:-3])


@cache
def _swept_query() -> Query:
    later = table(EntryRow).alias()
    return (
        select(JobRow.handle, EntryRow.number, EntryRow.happened, AreaRow.uid, EntryRow.facts, EntryRow.id)
        .join(JobRow, JobRow.id == EntryRow.job_id)
        .outerjoin(AreaRow, AreaRow.id == EntryRow.area_id)
        .outerjoin(later, later.c.replaces_id == EntryRow.id)
        .where(EntryRow.kind == "sweep", EntryRow.withdrawn.is_(False), later.c.id.is_(None))
        .order_by(EntryRow.happened, EntryRow.id)
    )


@cache
def _swept_in_query() -> Query:
    return _swept_query().where(EntryRow.id.in_(IDS))


def swept(connection: Connection, entries: Collection[int] | None = None) -> tuple[Swept, ...]:
    """What the standing sweep entries reclaimed clean: of all jobs, or these entries."""
    if entries is None:
        rows = connection.execute(_swept_query()).all()
    else:
        found = by_ids(connection, _swept_in_query(), entries)
        rows = sorted(found, key=lambda row: (row.happened, row.id))
    return tuple(
        Swept(job, number, happened, area, float(facts["reclaimed_lb"]))
        for job, number, happened, area, facts, _ in rows
        if "reclaimed_lb" in facts
    )
