"""Rows to records: whole jobs, many at a time, a fixed number of queries per 500 jobs."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import cache

from sqlalchemy import select
from sqlalchemy.engine import Connection

from finishlog.records.due import Place
from finishlog.records.log import (
    Area,
    Buried,
    Customer,
    Entry,
    Job,
    Owner,
    Product,
    Recipe,
    Shape,
    Site,
    Stage,
    StageMaterial,
)
from finishlog.store.reading import details
from finishlog.store.reading.entries import by_job, entries_of_jobs_query, ids_of_jobs_query, read_entries
from finishlog.store.reading.shop import load_products
from finishlog.store.schema.kinds import current_params
from finishlog.store.schema.rows import ASKED, IDS, Found, Query, at_once, by_ids, table
from finishlog.store.schema.tables import (
    AreaRow,
    BuriedRow,
    CustomerRow,
    JobRow,
    LotRow,
    OwnershipRow,
    RecipeRow,
    ShapeRow,
    SiteRow,
    StageMaterialRow,
    StageRow,
)


def load_jobs(connection: Connection, ids: Collection[int]) -> dict[int, Job]:
    """Complete jobs by id. Unknown ids are skipped.

    Asked in three goes, where the driver can ask together: the jobs, what they hold, what that names.
    """
    with at_once(connection, *((query, ids) for query in first_queries(noted=ASKED in connection.info))):
        heads = list(by_ids(connection, _heads_query(), ids))
        grounds = list(by_ids(connection, _areas_query(), ids))
        entries = read_entries(connection, ids)
    sites, told = {head.site_id for head in heads}, [entry.id for entry in entries]
    numbers, made_by = {row.id for row in grounds}, {row.recipe_id for row in grounds} - {None}
    held = [(_buried_query(), sites), (_owners_query(), sites), (_shapes_query(), numbers)]
    held += [(query(), made_by) for query in _OF_RECIPES]
    with at_once(connection, *held, *((query, told) for query in details.queries())):
        buried, owners = _buried(connection, sites), _owners(connection, sites)
        shapes, recipes = _shapes(connection, numbers), _read_recipes(connection, made_by)
        rows = details.read_details(connection, told)
    named = details.read_named(connection, rows, recipes.products())
    areas = _areas(grounds, shapes, _recipes(recipes, named.products))
    history = by_job(connection, entries, details.made(rows, named))
    return {
        head.id: _job(
            head,
            areas.get(head.id, ()),
            history.get(head.id, ()),
            buried.get(head.site_id, ()),
            owners.get(head.site_id, ()),
        )
        for head in heads
    }


def load_places(connection: Connection, handles: Collection[str]) -> dict[str, Place]:
    """Whose slab some jobs are, by handle: of what was logged on them nothing is read."""
    heads = list(by_ids(connection, _places_query(), handles))
    areas: dict[int, list[tuple[str, str]]] = defaultdict(list)
    for row in by_ids(connection, _areas_query(), [head.id for head in heads]):
        areas[row.job_id].append((row.uid, row.name))
    return {
        head.handle: Place(head.handle, head.customer, head.name, head.zone, tuple(areas[head.id]))
        for head in heads
    }


@cache
def _places_query() -> Query:
    return (
        select(JobRow.id, JobRow.handle, JobRow.name, CustomerRow.name.label("customer"), SiteRow.zone)
        .join(CustomerRow, CustomerRow.id == JobRow.customer_id)
        .join(SiteRow, SiteRow.id == JobRow.site_id)
        .where(JobRow.handle.in_(IDS))
    )


def first_queries(*, noted: bool) -> list[Query]:
    """What jobs are read by first; `noted`: where it is noted what is asked."""
    told_by = [ids_of_jobs_query()] if noted else []
    return [_heads_query(), _areas_query(), entries_of_jobs_query(), *told_by]


@cache
def _heads_query() -> Query:
    reference = table(JobRow).alias()
    return (
        select(
            JobRow.id,
            JobRow.uid,
            JobRow.version,
            JobRow.handle,
            JobRow.name,
            JobRow.state,
            JobRow.planned_on,
            JobRow.note,
            JobRow.site_id,
            reference.c.handle.label("reference"),
            CustomerRow.uid.label("customer_uid"),
            CustomerRow.name.label("customer"),
            CustomerRow.phone,
            CustomerRow.email,
            CustomerRow.note.label("customer_note"),
            CustomerRow.leave_alone,
            SiteRow.uid.label("site_uid"),
            SiteRow.street,
            SiteRow.town,
            SiteRow.zone,
            SiteRow.exposure,
            SiteRow.map_note,
        )
        .join(CustomerRow, CustomerRow.id == JobRow.customer_id)
        .join(SiteRow, SiteRow.id == JobRow.site_id)
        .outerjoin(reference, reference.c.id == JobRow.reference_id)
        .where(JobRow.id.in_(IDS))
    )


def _job(
    head: Found,
    areas: Iterable[Area],
    history: Iterable[Entry],
    buried: Iterable[Buried],
    owners: Iterable[Owner],
) -> Job:
    kept = tuple(history)
    return Job(
        uid=head.uid,
        handle=head.handle,
        name=head.name,
        customer=Customer(
            head.customer_uid, head.customer, head.phone, head.email, head.customer_note, head.leave_alone
        ),
        site=Site(head.site_uid, head.street, head.town, head.zone, head.exposure, head.map_note),
        state=head.state,
        planned_on=head.planned_on,
        note=head.note,
        reference=head.reference,
        areas=tuple(areas),
        entries=current(kept),
        history=kept,
        buried=tuple(buried),
        owners=tuple(owners),
        version=head.version,
    )


def current(history: Iterable[Entry]) -> tuple[Entry, ...]:
    """Entries neither replaced nor withdrawn, in time order."""
    kept = tuple(history)
    replaced = {entry.replaces for entry in kept}
    standing = (entry for entry in kept if entry.number not in replaced and not entry.withdrawn)
    return tuple(sorted(standing, key=standing_order))


def standing_order(entry: Entry) -> tuple[datetime, int]:
    """Sort key: time of the event."""
    return entry.happened, entry.number


@cache
def _buried_query() -> Query:
    return (
        select(BuriedRow.site_id, BuriedRow.uid, BuriedRow.what, BuriedRow.place, BuriedRow.depth_in)
        .where(BuriedRow.site_id.in_(IDS))
        .order_by(BuriedRow.id)
    )


def _buried(connection: Connection, sites: Collection[int]) -> dict[int, list[Buried]]:
    found: dict[int, list[Buried]] = defaultdict(list)
    for row in by_ids(connection, _buried_query(), sites):
        found[row.site_id].append(Buried(row.uid, row.what, row.place, row.depth_in))
    return found


@cache
def _owners_query() -> Query:
    return (
        select(
            OwnershipRow.site_id,
            OwnershipRow.since,
            OwnershipRow.note,
            CustomerRow.uid,
            CustomerRow.name,
            CustomerRow.phone,
            CustomerRow.email,
            CustomerRow.note.label("customer_note"),
            CustomerRow.leave_alone,
        )
        .join(CustomerRow, CustomerRow.id == OwnershipRow.customer_id)
        .where(OwnershipRow.site_id.in_(IDS))
        .order_by(OwnershipRow.since, OwnershipRow.id)
    )


def _owners(connection: Connection, sites: Collection[int]) -> dict[int, list[Owner]]:
    found: dict[int, list[Owner]] = defaultdict(list)
    for row in by_ids(connection, _owners_query(), sites):
        customer = Customer(row.uid, row.name, row.phone, row.email, row.customer_note, row.leave_alone)
        found[row.site_id].append(Owner(customer, row.since, row.note))
    return found


@cache
def _areas_query() -> Query:
    return (
        select(
            AreaRow.id,
            AreaRow.job_id,
            AreaRow.uid,
            AreaRow.name,
            AreaRow.kind,
            AreaRow.exposure,
            AreaRow.area_ft2,
            AreaRow.depth_in,
            AreaRow.edge_yd3,
            AreaRow.recipe_id,
        )
        .where(AreaRow.job_id.in_(IDS))
        .order_by(AreaRow.position)
    )


def _areas(
    rows: Iterable[Found], shapes: Mapping[int, list[Shape]], recipes: Mapping[int, Recipe]
) -> dict[int, list[Area]]:
    found: dict[int, list[Area]] = defaultdict(list)
    for row in rows:
        area = Area(
            uid=row.uid,
            name=row.name,
            kind=row.kind,
            exposure=row.exposure,
            area_ft2=row.area_ft2,
            depth_in=row.depth_in,
            edge_yd3=row.edge_yd3,
            recipe=recipes.get(row.recipe_id),
            shapes=tuple(shapes.get(row.id, ())),
        )
        found[row.job_id].append(area)
    return found


@cache
def _shapes_query() -> Query:
    return (
        select(ShapeRow.area_id, ShapeRow.sign, ShapeRow.kind, ShapeRow.dimensions, ShapeRow.depth_in)
        .where(ShapeRow.area_id.in_(IDS))
        .order_by(ShapeRow.area_id, ShapeRow.position)
    )


def _shapes(connection: Connection, areas: Collection[int]) -> dict[int, list[Shape]]:
    found: dict[int, list[Shape]] = defaultdict(list)
    for row in by_ids(connection, _shapes_query(), areas):
        found[row.area_id].append(Shape(row.sign, row.kind, row.dimensions, row.depth_in))
    return found


@cache
def _recipes_query() -> Query:
    origin = table(RecipeRow).alias()
    return (
        select(
            RecipeRow.id,
            RecipeRow.uid,
            RecipeRow.name,
            RecipeRow.frozen,
            RecipeRow.reason,
            RecipeRow.version,
            origin.c.uid.label("from_uid"),
        )
        .outerjoin(origin, origin.c.id == RecipeRow.from_id)
        .where(RecipeRow.id.in_(IDS))
    )


@dataclass(frozen=True, slots=True)
class _Recipes:
    """The rows of recipes, of their stages and of the materials of those."""

    recipes: list[Found]
    stages: list[Found]
    materials: list[Found]

    def products(self) -> set[int]:
        """The ids of the products that they name."""
        return {row.product_id for row in self.materials}


def load_recipes(connection: Connection, ids: Collection[int]) -> dict[int, Recipe]:
    """Recipes by id, with their stages and materials."""
    with at_once(connection, *((query(), ids) for query in _OF_RECIPES)):
        rows = _read_recipes(connection, ids)
    return _recipes(rows, load_products(connection, rows.products()))


def _read_recipes(connection: Connection, ids: Collection[int]) -> _Recipes:
    return _Recipes(*(list(by_ids(connection, query(), ids)) for query in _OF_RECIPES))


def _recipes(rows: _Recipes, products: Mapping[int, Product]) -> dict[int, Recipe]:
    stages = _stages(rows, products)
    return {
        row.id: Recipe(
            uid=row.uid,
            name=row.name,
            stages=tuple(stages.get(row.id, ())),
            from_recipe=row.from_uid,
            frozen=row.frozen,
            reason=row.reason,
            version=row.version,
        )
        for row in rows.recipes
    }


@cache
def _stages_query() -> Query:
    return (
        select(
            StageRow.id,
            StageRow.recipe_id,
            StageRow.position,
            StageRow.kind,
            StageRow.params,
            StageRow.params_version,
        )
        .where(StageRow.recipe_id.in_(IDS))
        .order_by(StageRow.recipe_id, StageRow.position)
    )


def _stages(rows: _Recipes, products: Mapping[int, Product]) -> dict[int, list[Stage]]:
    materials = _stage_materials(rows, products)
    found: dict[int, list[Stage]] = defaultdict(list)
    for row in rows.stages:
        params, version = current_params(row.kind, row.params, row.params_version)
        used = tuple(materials.get(row.id, ()))
        found[row.recipe_id].append(Stage(row.position, row.kind, params, version, used))
    return found


@cache
def _stage_materials_query() -> Query:
    return (
        select(
            StageMaterialRow.stage_id,
            StageMaterialRow.product_id,
            LotRow.code,
            StageMaterialRow.rate,
            StageMaterialRow.unit,
        )
        .join(StageRow, StageRow.id == StageMaterialRow.stage_id)
        .outerjoin(LotRow, LotRow.id == StageMaterialRow.lot_id)
        .where(StageRow.recipe_id.in_(IDS))
        .order_by(StageMaterialRow.stage_id, StageMaterialRow.position)
    )


def _stage_materials(rows: _Recipes, products: Mapping[int, Product]) -> dict[int, list[StageMaterial]]:
    found: dict[int, list[StageMaterial]] = defaultdict(list)
    for row in rows.materials:
        found[row.stage_id].append(StageMaterial(products[row.product_id], row.code, row.rate, row.unit))
    return found


_OF_RECIPES = (_recipes_query, _stages_query, _stage_materials_query)
