"""Mixes a plant has sent from a day on."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import func, select
from sqlalchemy.engine import Connection

from finishlog.records.log import Mix
from finishlog.store.reading.shop import load_mixes
from finishlog.store.schema.fold import key
from finishlog.store.schema.rows import table
from finishlog.store.schema.tables import MixRow, PlantRow
from finishlog.store.schema.tables_entry import EntryRow, LoadRow


def sent_since(connection: Connection, plant: str, after: datetime) -> tuple[tuple[Mix, datetime], ...]:
    """Each mix of the plant's loads after that instant, with its first such load; the earliest first."""
    later = table(EntryRow).alias()
    first = func.min(EntryRow.happened)
    query = (
        select(LoadRow.mix_id, first)
        .join(EntryRow, EntryRow.id == LoadRow.entry_id)
        .join(MixRow, MixRow.id == LoadRow.mix_id)
        .join(PlantRow, PlantRow.id == MixRow.plant_id)
        .outerjoin(later, later.c.replaces_id == EntryRow.id)
        .where(
            PlantRow.name_key == key(plant),
            EntryRow.happened > after,
            EntryRow.withdrawn.is_(False),
            later.c.id.is_(None),
        )
        .group_by(LoadRow.mix_id)
        .order_by(first)
    )
    rows = [(row[0], row[1]) for row in connection.execute(query) if row[0] is not None]
    mixes = load_mixes(connection, [row[0] for row in rows])
    return tuple((mixes[mix], began) for mix, began in rows)
