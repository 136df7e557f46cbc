"""Cameras of the log's photos, and the cards they photographed."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

from sqlalchemy import bindparam, func, select

from finishlog.store.schema.rows import table
from finishlog.store.schema.tables_entry import EntryRow, ReadingRow

if TYPE_CHECKING:
    from sqlalchemy import Connection, Select


def cards(connection: Connection, camera: str, but: str, most: int) -> tuple[str, ...]:
    """How a camera's newest photos show the card in them, one each, newest first; the photo `but` left out."""
    rows = connection.execute(_cards_query(), {"camera": camera, "but": but, "most": most})
    return tuple(row.card for row in rows)


@cache
def _cards_query() -> Select[tuple[str]]:
    later, held = table(EntryRow).alias(), table(ReadingRow).c
    newest = func.max(ReadingRow.entry_id)
    return (
        select(held.card, newest)  # SQLite gives the card of the row with that id
        .join(EntryRow, EntryRow.id == held.entry_id)
        .outerjoin(later, later.c.replaces_id == EntryRow.id)
        .where(
            held.camera == bindparam("camera"), held.card.is_not(None), held.photo != bindparam("but"),
            EntryRow.withdrawn.is_(False), later.c.id.is_(None),
        )
        .group_by(held.photo)
        .order_by(newest.desc())
        .limit(bindparam("most"))
    )  # fmt: skip
