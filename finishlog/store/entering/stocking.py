"""Shelf moves: add, undo, redo."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime

from sqlalchemy import select
from sqlalchemy.engine import Connection

from finishlog.errors import InputError
from finishlog.records.writing import NewStockMove
from finishlog.store.engine.protocol import put
from finishlog.store.entering.finding import Finder
from finishlog.store.schema import typed
from finishlog.store.schema.rows import Found, table
from finishlog.store.schema.tables_entry import StockMoveRow


class Stocking:
    """Writes moves of the shelf within one transaction."""

    def __init__(self, connection: Connection, find: Finder, new_uid: Callable[[], str]) -> None:
        self._connection = connection
        self._find = find
        self._new_uid = new_uid

    def add(self, new: NewStockMove, job: int | None, now: datetime) -> str:
        """Save a move; returns its uid. InputError if the move to replace is missing or already replaced."""
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
        """Undo a move; returns the new one's uid. Raises InputError as `add` does."""
        old = self._standing(taken)
        values = {name: old._mapping[name] for name in ("product_id", "lot_id", "what", "unit", "happened")}
        uid = self._new_uid()
        who = self._find.person(person)
        further = {"replaces_id": old.id, "withdrawn": True, "person_id": who, "logged": now}
        put(self._connection, StockMoveRow, uid=uid, **values, **further)
        return uid

    def again(self, gone: str, person: str | None, now: datetime) -> str:
        """Redo what a move undid; returns the new uid. Raises InputError if already done."""
        moves = table(StockMoveRow)
        taken = self._connection.execute(
            select(moves).where(moves.c.uid == gone, moves.c.withdrawn.is_(True))
        ).one()
        if self._connection.scalar(select(moves.c.id).where(moves.c.replaces_id == taken.id)) is not None:
            raise InputError("This shelf line was already brought back.", where="replaces")
        old = self._connection.execute(select(moves).where(moves.c.id == taken.replaces_id)).one()
        uid, who = self._new_uid(), self._find.person(person) or old.person_id
        kept = {name: value for name, value in old._mapping.items() if name != "id"}
        further = {"uid": uid, "replaces_id": taken.id, "person_id": who, "logged": now}
        put(self._connection, StockMoveRow, **{**kept, **further})
        return uid

    def _standing(self, uid: str) -> Found:
        moves = table(StockMoveRow)
        found = self._connection.execute(select(moves).where(moves.c.uid == uid)).first()
        if found is None:
            raise InputError("No such shelf line.", where="replaces")
        by = self._connection.scalar(select(moves.c.id).where(moves.c.replaces_id == found.id))
        if by is not None or found.withdrawn:
            raise InputError("This shelf line was already corrected or undone.", where="replaces")
        return found
