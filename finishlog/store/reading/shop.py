"""Rows to records: products and mixes, with the names of their makers and plants."""

from __future__ import annotations

from collections.abc import Collection
from functools import cache

from sqlalchemy import select
from sqlalchemy.engine import Connection

from finishlog.records.log import Mix, Product
from finishlog.store.schema.rows import IDS, Query, by_ids
from finishlog.store.schema.tables import MakerRow, MixRow, PlantRow, ProductRow


@cache
def products_query() -> Query:
    """Products, with the names of their makers."""
    return (
        select(
            ProductRow.id,
            ProductRow.uid,
            ProductRow.name,
            ProductRow.kind,
            MakerRow.name.label("maker"),
            ProductRow.form,
            ProductRow.solids_percent,
            ProductRow.max_percent_of_cement,
            ProductRow.pack_lb,
            ProductRow.chemistry,
            ProductRow.safety,
        )
        .outerjoin(MakerRow, MakerRow.id == ProductRow.maker_id)
        .where(ProductRow.id.in_(IDS))
    )


def load_products(connection: Connection, ids: Collection[int]) -> dict[int, Product]:
    """Products by id."""
    return {row[0]: Product(*row[1:]) for row in by_ids(connection, products_query(), ids)}


@cache
def mixes_query() -> Query:
    """Mixes, with the names of their plants."""
    return (
        select(
            MixRow.id,
            MixRow.uid,
            PlantRow.name.label("plant"),
            MixRow.number,
            MixRow.cement_kind,
            MixRow.cement_mill,
            MixRow.cement_lb_per_yd3,
            MixRow.scm_kind,
            MixRow.scm_lb_per_yd3,
            MixRow.admixtures,
            MixRow.sand,
            MixRow.valid_from,
            MixRow.valid_to,
        )
        .outerjoin(PlantRow, PlantRow.id == MixRow.plant_id)
        .where(MixRow.id.in_(IDS))
    )


def load_mixes(connection: Connection, ids: Collection[int]) -> dict[int, Mix]:
    """Mixes by id."""
    return {row[0]: Mix(*row[1:]) for row in by_ids(connection, mixes_query(), ids)}
