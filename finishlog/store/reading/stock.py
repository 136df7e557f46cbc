"""The shelf: what was bought, opened, counted…, and what the entries of all jobs used."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import datetime
from functools import cache
from typing import Any

from sqlalchemy import select
from sqlalchemy.engine import Connection
from sqlalchemy.orm import aliased

from finishlog.errors import InputError
from finishlog.records.answers import StockMove, Swept, UsedMaterial
from finishlog.records.log import Product
from finishlog.records.writing import NewStockMove
from finishlog.store.entering.finding import Finder
from finishlog.store.reading.shop import load_products
from finishlog.store.schema import typed
from finishlog.store.schema.rows import Found, Query, put
from finishlog.store.schema.tables import AreaRow, JobRow, LotRow, PersonRow, ProductRow
from finishlog.store.schema.tables_entry import EntryRow, MaterialUseRow, StockMoveRow


class Stocking:
    """Writes moves of the shelf within one transaction."""

    def __init__(self, connection: Connection, find: Finder, new_uid: Callable[[], str]) -> None:
        self._connection = connection
        self._find = find
        self._new_uid = new_uid

    def add(self, new: NewStockMove, job: int | None, now: datetime) -> str:
        """Keep a move; its uid. Raises InputError for a replaced move that is not there, or was replaced."""
        product = self._find.product(new.product)
        uid = self._new_uid()
        put(
            self._connection,
            StockMoveRow,
            uid=uid,
            product_id=product,
            lot_id=self._find.lot(product, new.lot),
            what=new.what,
            amount=new.amount,
            unit=new.unit,
            price_usd=new.price_usd,
            happened=new.happened,
            logged=now,
            person_id=self._find.person(new.person),
            job_id=job,
            note=typed.note(new.note),
            replaces_id=None if new.replaces is None else self._standing(new.replaces).id,
            withdrawn=new.withdrawn,
        )
        return uid

    def undo(self, taken: str, person: str | None, now: datetime) -> str:
        """Take a move back; the uid of the new one. Raises InputError as `add` does."""
        old = self._standing(taken)
        values = {name: old._mapping[name] for name in ("product_id", "lot_id", "what", "unit", "happened")}
        uid = self._new_uid()
        who = self._find.person(person)
        further = {"replaces_id": old.id, "withdrawn": True, "person_id": who, "logged": now}
        put(self._connection, StockMoveRow, uid=uid, **values, **further)
        return uid

    def again(self, gone: str, person: str | None, now: datetime) -> str:
        """Bring back what a move undid; returns the new uid. Raises InputError if already done."""
        moves = StockMoveRow.__table__
        taken = self._connection.execute(select(moves).where(moves.c.uid == gone, moves.c.withdrawn)).one()
        if self._connection.scalar(select(moves.c.id).where(moves.c.replaces_id == taken.id)) is not None:
            raise InputError("This shelf line was already brought back.", where="replaces")
        old = self._connection.execute(select(moves).where(moves.c.id == taken.replaces_id)).one()
        uid, who = self._new_uid(), self._find.person(person) or old.person_id
        kept = {name: value for name, value in old._mapping.items() if name != "id"}
        further = {"uid": uid, "replaces_id": taken.id, "person_id": who, "logged": now}
        put(self._connection, StockMoveRow, **{**kept, **further})
        return uid

    def _standing(self, uid: str) -> Found:
        moves = StockMoveRow.__table__
        found = self._connection.execute(select(moves).where(moves.c.uid == uid)).first()
        if found is None:
            raise InputError("No such shelf line.", where="replaces")
        by = self._connection.scalar(select(moves.c.id).where(moves.c.replaces_id == found.id))
        if by is not None or found.withdrawn:
            raise InputError("This shelf line was already corrected or undone.", where="replaces")
        return found


@cache
def _moves_query() -> Query:
    replaced, later = aliased(StockMoveRow), aliased(StockMoveRow)
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
            replaced.uid.label("replaces"),
            StockMoveRow.withdrawn,
            later.id.label("later"),
        )
        .outerjoin(LotRow, LotRow.id == StockMoveRow.lot_id)
        .outerjoin(PersonRow, PersonRow.id == StockMoveRow.person_id)
        .outerjoin(JobRow, JobRow.id == StockMoveRow.job_id)
        .outerjoin(replaced, replaced.id == StockMoveRow.replaces_id)
        .outerjoin(later, later.replaces_id == StockMoveRow.id)
        .order_by(StockMoveRow.happened, StockMoveRow.id)
    )


def moves(connection: Connection, product: str | None, *, history: bool) -> tuple[StockMove, ...]:
    """Moves of one product (by uid) or all, in order of happening; with `history` all, in order of logging."""
    query = _moves_query()
    if history:
        query = query.order_by(None).order_by(StockMoveRow.id)
    if product is not None:
        query = query.where(StockMoveRow.product_id == _product_id(product))
    rows = connection.execute(query).all()
    kept = [row for row in rows if history or (row.later is None and not row.withdrawn)]
    products = load_products(connection, {row.product_id for row in kept})
    return tuple(_move(row, products[row.product_id]) for row in kept)


def move(connection: Connection, uid: str) -> StockMove:
    """One move by its uid."""
    row = connection.execute(_moves_query().where(StockMoveRow.uid == uid)).one()
    return _move(row, load_products(connection, [row.product_id])[row.product_id])


def _move(row: Found, product: Product) -> StockMove:
    uid, _, *rest = row
    return StockMove(uid, product, *rest[:-1])


def _product_id(uid: str) -> Any:
    return select(ProductRow.id).where(ProductRow.uid == uid).scalar_subquery()


def uses(connection: Connection, product: str | None, kinds: Iterable[str]) -> tuple[UsedMaterial, ...]:
    """What the standing entries used of one product (by uid), or of all of these kinds (none: all)."""
    later = aliased(EntryRow)
    query = (
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
        )
        .join(EntryRow, EntryRow.id == MaterialUseRow.entry_id)
        .join(JobRow, JobRow.id == EntryRow.job_id)
        .outerjoin(LotRow, LotRow.id == MaterialUseRow.lot_id)
        .outerjoin(AreaRow, AreaRow.id == EntryRow.area_id)
        .outerjoin(later, later.replaces_id == EntryRow.id)
        .where(EntryRow.withdrawn.is_(False), later.id.is_(None))
        .order_by(EntryRow.happened, EntryRow.id, MaterialUseRow.position)
    )
    wanted = tuple(kinds)
    if product is not None:
        query = query.where(MaterialUseRow.product_id == _product_id(product))
    if wanted:
        of_kind = select(ProductRow.id).where(ProductRow.kind.in_(wanted))
        query = query.where(MaterialUseRow.product_id.in_(of_kind))
    rows = connection.execute(query).all()
    products = load_products(connection, {row.product_id for row in rows})
    return tuple(_use(row, products[row.product_id]) for row in rows)


def _use(row: Found, product: Product) -> UsedMaterial:
    job, number, kind, happened, _, *rest = row
    return UsedMaterial(job, number, kind, happened, product, *rest)


def swept(connection: Connection) -> tuple[Swept, ...]:
    """What the standing sweep entries of all jobs reclaimed clean."""
    later = aliased(EntryRow)
    query = (
        select(JobRow.handle, EntryRow.number, EntryRow.happened, AreaRow.uid, EntryRow.facts)
        .join(JobRow, JobRow.id == EntryRow.job_id)
        .outerjoin(AreaRow, AreaRow.id == EntryRow.area_id)
        .outerjoin(later, later.replaces_id == EntryRow.id)
        .where(EntryRow.kind == "sweep", EntryRow.withdrawn.is_(False), later.id.is_(None))
        .order_by(EntryRow.happened, EntryRow.id)
    )
    rows = connection.execute(query)
    return tuple(
        Swept(job, number, happened, area, float(facts["reclaimed_lb"]))
        for job, number, happened, area, facts in rows
        if "reclaimed_lb" in facts
    )
