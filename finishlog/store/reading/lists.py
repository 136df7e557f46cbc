"""Short queries: suggestions, past slabs, doubles, advice."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date, datetime
from functools import cache
from typing import Any

from sqlalchemy import ColumnElement, bindparam, func, select
from sqlalchemy.engine import Connection

from finishlog.records.answers import Advice
from finishlog.records.log import Recipe
from finishlog.store.reading.jobs import load_jobs, load_recipes
from finishlog.store.reading.viewing import pour_days
from finishlog.store.schema.fold import key
from finishlog.store.schema.rows import IDS, Query, by_ids, read, table
from finishlog.store.schema.tables import (
    AdviceRow,
    AreaRow,
    CustomerRow,
    JobRow,
    LotRow,
    MakerRow,
    MixRow,
    PersonRow,
    PlantRow,
    ProductRow,
    RecipeRow,
    SiteRow,
)
from finishlog.store.schema.tables_entry import EntryRow, LoadRow, MaterialUseRow, ReadingRow
from finishlog.store.schema.types import read_instant

LATELY = 20
"""Entries of a person that tell when they worked last: the whole log is not read for it."""


def people(connection: Connection) -> tuple[str, ...]:
    """People, the one that worked last first. Of each what was logged last is looked at, in whatever order."""
    own = select(EntryRow.happened).where(EntryRow.person_id == PersonRow.id).correlate(PersonRow)
    lately = own.order_by(EntryRow.id.desc()).limit(LATELY).subquery()
    last: Any = select(func.max(lately.c.happened)).scalar_subquery()
    return _names(connection, select(PersonRow.name).order_by(_newest(last), PersonRow.id.desc()))


def plants(connection: Connection) -> tuple[str, ...]:
    """Plants, the last used first."""
    query = (
        select(PlantRow.name)
        .outerjoin(MixRow, MixRow.plant_id == PlantRow.id)
        .outerjoin(LoadRow, LoadRow.mix_id == MixRow.id)
        .outerjoin(EntryRow, EntryRow.id == LoadRow.entry_id)
    )
    last = func.max(EntryRow.happened)
    return _names(connection, query.group_by(PlantRow.id).order_by(_newest(last), PlantRow.id.desc()))


def makers(connection: Connection) -> tuple[str, ...]:
    """Makers, the one whose product was named last first."""
    query = select(MakerRow.name).outerjoin(ProductRow, ProductRow.maker_id == MakerRow.id)
    return _names(
        connection, query.group_by(MakerRow.id).order_by(_newest(func.max(ProductRow.id)), MakerRow.id)
    )


LAST_LOGGED = "SELECT logged FROM entry ORDER BY id DESC LIMIT 1"


def last_logged(connection: Connection) -> datetime | None:
    """When the entry that was added last was logged."""
    found = read(connection, LAST_LOGGED, {})
    return read_instant(found[0][0]) if found else None


def customers(connection: Connection) -> tuple[str, ...]:
    """Customers, the last job's first."""
    query = (
        select(CustomerRow.name)
        .outerjoin(JobRow, JobRow.customer_id == CustomerRow.id)
        .where(CustomerRow.merged_into_id.is_(None))
    )
    last = func.max(JobRow.id)
    return _names(connection, query.group_by(CustomerRow.id).order_by(_newest(last), CustomerRow.id.desc()))


def _newest(last: ColumnElement[Any]) -> Any:
    return last.desc().nulls_last()


def _names(connection: Connection, query: Any) -> tuple[str, ...]:
    return tuple(dict.fromkeys(connection.scalars(query)))


def lots(connection: Connection, product: str, kind: str | None) -> tuple[str, ...]:
    """Bag lots of a product of that name, the last used first."""
    query = (
        select(LotRow.code)
        .join(ProductRow, ProductRow.id == LotRow.product_id)
        .outerjoin(MaterialUseRow, MaterialUseRow.lot_id == LotRow.id)
        .outerjoin(EntryRow, EntryRow.id == MaterialUseRow.entry_id)
        .where(ProductRow.name_key == key(product))
        .group_by(LotRow.id)
        .order_by(_newest(func.max(EntryRow.happened)), LotRow.id.desc())
    )
    if kind is not None:
        query = query.where(ProductRow.kind == kind)
    return _names(connection, query)


def recipes(connection: Connection, limit: int) -> tuple[Recipe, ...]:
    """Recipes, the one of the newest job first."""
    query = select(RecipeRow.id).outerjoin(AreaRow, AreaRow.recipe_id == RecipeRow.id).group_by(RecipeRow.id)
    last = func.max(AreaRow.job_id)
    ids = list(connection.scalars(query.order_by(_newest(last), RecipeRow.id.desc()).limit(limit)))
    found = load_recipes(connection, ids)
    return tuple(found[number] for number in ids)


def same_pour(
    connection: Connection, customer: str, street: str, job_name: str, poured_on: date
) -> str | None:
    """The handle of the job of that customer, street and name that was poured on that day."""
    called = select(func.coalesce(CustomerRow.merged_into_id, CustomerRow.id)).where(
        CustomerRow.name_key == key(customer)
    )
    query = (
        select(JobRow.id)
        .join(SiteRow, SiteRow.id == JobRow.site_id)
        .where(
            JobRow.customer_id.in_(called),
            SiteRow.street_key == key(street),
            JobRow.name_key == key(job_name),
        )
        .order_by(JobRow.id)
    )
    jobs = load_jobs(connection, list(connection.scalars(query)))
    return next((job.handle for job in jobs.values() if poured_on in pour_days(job)), None)


_ADVICE = (
    AdviceRow.uid,
    AdviceRow.kind,
    AdviceRow.method,
    AdviceRow.inputs,
    AdviceRow.answer,
    AdviceRow.given,
)


def advices_of(connection: Connection, kind: str) -> tuple[tuple[str, Advice], ...]:
    """Advice of a kind over all jobs, oldest first, each with its job's handle."""
    query = select(JobRow.handle, *_ADVICE).join(JobRow, JobRow.id == AdviceRow.job_id)
    rows = connection.execute(query.where(AdviceRow.kind == kind).order_by(AdviceRow.id))
    return tuple((row[0], Advice(*row[1:])) for row in rows)


def advices_among(
    connection: Connection, kind: str, handles: Collection[str]
) -> tuple[tuple[str, Advice], ...]:
    """Advice of a kind of these jobs, job by job in their order, oldest first."""
    named = select(JobRow.id, JobRow.handle).where(JobRow.handle.in_(IDS))
    jobs = {row.id: row.handle for row in by_ids(connection, named, handles)}
    query = select(AdviceRow.job_id, AdviceRow.id.label("row"), *_ADVICE)
    rows = list(by_ids(connection, query.where(AdviceRow.job_id.in_(IDS), AdviceRow.kind == kind), jobs))
    place = {handle: number for number, handle in enumerate(handles)}
    rows.sort(key=lambda row: (place[jobs[row.job_id]], row.row))
    return tuple((jobs[row.job_id], Advice(*row[2:])) for row in rows)


def advices(connection: Connection, job: int) -> tuple[Advice, ...]:
    """Advice kept with a job, oldest first."""
    return tuple(Advice(*row) for row in by_ids(connection, advices_query(), [job]))


@cache
def advices_query() -> Query:
    """The advice kept with jobs, oldest first."""
    return select(*_ADVICE).where(AdviceRow.job_id.in_(IDS)).order_by(AdviceRow.id)


def cards(connection: Connection, camera: str, but: str, most: int) -> tuple[str, ...]:
    """How a camera's newest photos show the card in them, one each, newest first; the photo `but` left out."""
    found = connection.execute(_cards_query(), {"camera": camera, "but": but, "most": most})
    return tuple(row.card for row in found)


@cache
def _cards_query() -> Query:
    later, held = table(EntryRow).alias(), table(ReadingRow).c
    newest = (
        select(func.max(held.entry_id))
        .join(EntryRow, EntryRow.id == held.entry_id)
        .outerjoin(later, later.c.replaces_id == EntryRow.id)
        .where(
            held.camera == bindparam("camera"), held.card.is_not(None), held.photo != bindparam("but"),
            EntryRow.withdrawn.is_(False), later.c.id.is_(None),
        )
        .group_by(held.photo)
    )  # fmt: skip
    return (
        select(held.card)
        .where(held.entry_id.in_(newest))
        .order_by(held.entry_id.desc())
        .limit(bindparam("most"))
    )
