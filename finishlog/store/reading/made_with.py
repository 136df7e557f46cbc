"""What slabs are made with: plant, cement, contents, pigment lots from their loads, and the sealer on them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable
from fractions import Fraction
from functools import cache
from typing import Any

from sqlalchemy import select
from sqlalchemy.engine import Connection

from finishlog.records.answers import MadeRow
from finishlog.store.schema.rows import IDS, Query, by_ids, looked_at, table
from finishlog.store.schema.tables import (
    AreaRow,
    JobRow,
    LotRow,
    MakerRow,
    MixRow,
    PlantRow,
    ProductRow,
    StageMaterialRow,
    StageRow,
)
from finishlog.store.schema.tables_entry import EntryRow, LoadAreaRow, LoadRow, MaterialUseRow
from finishlog.trade.dose import lb_per_yd3
from finishlog.trade.sealing.chemistry import chemistry_of
from finishlog.units import exact

SEAL = "seal"
_DOSES, _CONTENT = ("%", "lb/yd3", "lb/sack", "kg/m3"), Fraction(564)
"""Units of a dose; lb/yd³ of cementitious, the shop's starting value: 517 to 611 moves a dose by a tenth."""
_MOST = 100.0


def rows(connection: Connection, jobs: Collection[int]) -> tuple[MadeRow, ...]:
    """Every current load of these jobs, in time order."""
    found = sorted(by_ids(connection, _loads(), jobs), key=lambda row: (row.happened, row.id))
    loads = {row.id for row in found}
    areas, pigments = _areas(connection, loads), _pigments(connection, loads)
    return tuple(_row(row, areas, pigments) for row in found)


def _row(row: Any, areas: dict[int, tuple[str, ...]], pigments: dict[int, tuple[Any, ...]]) -> MadeRow:
    own = (row.area,) if row.area else ()
    used = pigments.get(row.id, ())
    return MadeRow(
        row.handle,
        areas.get(row.id) or own,
        row.happened,
        row.plant,
        row.cement_kind,
        row.cement_lb_per_yd3,
        row.scm_lb_per_yd3,
        tuple(use.code for use in used),
        tuple(use.maker for use in used),
    )


@cache
def _loads() -> Query:
    later = table(EntryRow).alias()
    return (
        select(
            EntryRow.id, JobRow.handle, EntryRow.happened, AreaRow.uid.label("area"), PlantRow.name.label("plant"),
            MixRow.cement_kind, MixRow.cement_lb_per_yd3, MixRow.scm_lb_per_yd3,
        )
        .join(LoadRow, LoadRow.entry_id == EntryRow.id)
        .join(JobRow, JobRow.id == EntryRow.job_id)
        .outerjoin(AreaRow, AreaRow.id == EntryRow.area_id)
        .outerjoin(MixRow, MixRow.id == LoadRow.mix_id)
        .outerjoin(PlantRow, PlantRow.id == MixRow.plant_id)
        .outerjoin(later, later.c.replaces_id == EntryRow.id)
        .where(EntryRow.withdrawn.is_(False), later.c.id.is_(None), EntryRow.job_id.in_(IDS))
    )  # fmt: skip


@cache
def _areas_query() -> Query:
    query = select(LoadAreaRow.entry_id, AreaRow.uid).join(AreaRow, AreaRow.id == LoadAreaRow.area_id)
    return query.where(LoadAreaRow.entry_id.in_(IDS))


def _areas(connection: Connection, loads: Collection[int]) -> dict[int, tuple[str, ...]]:
    return _grouped((row.entry_id, row.uid) for row in by_ids(connection, _areas_query(), loads))


@cache
def _pigments_query() -> Query:
    return (
        select(MaterialUseRow.entry_id, LotRow.code, MakerRow.name.label("maker"))
        .join(ProductRow, ProductRow.id == MaterialUseRow.product_id)
        .outerjoin(LotRow, LotRow.id == MaterialUseRow.lot_id)
        .outerjoin(MakerRow, MakerRow.id == ProductRow.maker_id)
        .where(ProductRow.kind == "pigment", MaterialUseRow.entry_id.in_(IDS))
        .order_by(MaterialUseRow.entry_id, MaterialUseRow.position)
    )


def _pigments(connection: Connection, loads: Collection[int]) -> dict[int, tuple[Any, ...]]:
    """The pigments of each load: lot and maker, None where not logged."""
    return _grouped((row.entry_id, row) for row in by_ids(connection, _pigments_query(), loads))


def _grouped(pairs: Iterable[tuple[int, Any]]) -> dict[int, tuple[Any, ...]]:
    found: dict[int, list[Any]] = defaultdict(list)
    for key, value in pairs:
        found[key].append(value)
    return {key: tuple(values) for key, values in found.items()}


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


@cache
def _doses_query() -> Query:
    return (
        select(StageRow.recipe_id, StageMaterialRow.rate, StageMaterialRow.unit)
        .join(StageRow, StageRow.id == StageMaterialRow.stage_id)
        .where(looked_at(StageRow.kind) == "integral_color", StageRow.recipe_id.in_(IDS))
    )


def doses(connection: Connection, recipes: Collection[int]) -> dict[int, float]:
    """Pigment of recipes in percent of cementitious, of a mix of the usual content; none where a rate is unknown."""
    percents: dict[int, float] = defaultdict(float)
    unknown: set[int] = set()
    for recipe, rate, unit in by_ids(connection, _doses_query(), recipes):
        if rate is None or unit not in _DOSES:
            unknown.add(recipe)
        else:
            percents[recipe] += float(lb_per_yd3(exact(rate), unit, _CONTENT) * 100 / _CONTENT)
    return {recipe: dose for recipe, dose in percents.items() if recipe not in unknown and dose <= _MOST}
