"""Writing a log: one unit of work. What happened is only ever added to."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import Any

from sqlalchemy import delete, func, select, update
from sqlalchemy.engine import Connection

from finishlog.errors import InputError
from finishlog.records.log import Area, Entry, Job, JobState
from finishlog.records.writing import (
    NewAdvice,
    NewArea,
    NewBuried,
    NewEntry,
    NewJob,
    NewRecipe,
    NewStage,
)
from finishlog.store import projections, typed
from finishlog.store.entering import Entering
from finishlog.store.finding import Finder
from finishlog.store.fold import key, slug
from finishlog.store.kinds import version_of
from finishlog.store.loading import load_jobs
from finishlog.store.reader import Reader
from finishlog.store.rows import put, table
from finishlog.store.tables import (
    AdviceRow,
    AreaRow,
    BuriedRow,
    DraftRow,
    JobRow,
    RecipeRow,
    SettingRow,
    ShapeRow,
    StageMaterialRow,
    StageRow,
)

HANDLE_MOST = 60


class Writer(Reader):
    """What can be done to a log. Made by `Log.writing`, which commits or rolls back as a whole."""

    def __init__(
        self, connection: Connection, clock: Callable[[], datetime], new_uid: Callable[[], str]
    ) -> None:
        super().__init__(connection)
        self._clock = clock
        self._new_uid = new_uid
        self._find = Finder(connection, new_uid)
        self._enter = Entering(connection, self._find, new_uid)
        self._touched: set[int] = set()

    # jobs

    def add_job(self, new: NewJob) -> Job:
        """Keep a job with its areas, recipes and what is buried at its site."""
        name = typed.name(new.name, "job's name")
        customer = self._find.customer(new.customer)
        site = self._find.site(new.site, customer, self._zone())
        job = put(
            self._connection,
            JobRow,
            uid=self._new_uid(),
            handle=self._handle(new),
            name=name,
            name_key=key(name),
            customer_id=customer,
            site_id=site,
            reference_id=None if new.reference is None else self._job_id(new.reference),
            state=new.state,
            planned_on=new.planned_on,
            note=typed.note(new.note),
            logged=self._clock(),
        )
        for area in new.areas:
            self._add_area(job, area)
        for buried in new.buried:
            self._add_buried(site, buried)
        self._touch_site(site)
        return self._job(job)

    def _zone(self) -> str:
        """The zone of a new site that names none: the setting "zone", which is no setting of the forms."""
        return self.settings().get("zone", "UTC")

    def _handle(self, new: NewJob) -> str:
        if new.handle is not None:
            return self._given_handle(new.handle)
        wanted = slug(f"{new.customer.name} {new.name}")[:HANDLE_MOST].strip("-") or "job"
        query = select(JobRow.handle).where(JobRow.handle >= wanted, JobRow.handle < wanted + "~")
        taken = set(self._connection.scalars(query))
        numbered = (f"{wanted}-{number}" for number in range(2, len(taken) + 3))
        return next(handle for handle in (wanted, *numbered) if handle not in taken)

    def _given_handle(self, text: str) -> str:
        handle = slug(text)
        if not handle or handle != text or len(handle) > HANDLE_MOST:
            shown = handle[:HANDLE_MOST].strip("-") or "hill-back-patio"
            cause = f"It has small letters, digits and hyphens only, {HANDLE_MOST} at most."
            raise InputError("This is no handle.", cause, where="handle", example=shown)
        if self._connection.scalar(select(JobRow.id).where(JobRow.handle == handle)) is not None:
            raise InputError(f"There is already a job {handle}.", where="handle", example=f"{handle}-2")
        return handle

    def update_job_state(self, handle: str, state: JobState, *, version: int | None = None) -> Job:
        """Plan, pour or archive. `version` is the one that was read; another means somebody was quicker."""
        job = self._job_id(handle)
        self._change_job(job, version, state=state)
        return self._job(job)

    def update_note(self, handle: str, note: str | None, *, version: int | None = None) -> Job:
        """Replace the job's note."""
        job = self._job_id(handle)
        self._change_job(job, version, note=typed.note(note))
        return self._job(job)

    def _change_job(self, job: int, version: int | None, **values: Any) -> None:
        change = update(JobRow).where(JobRow.id == job)
        if version is not None:
            change = change.where(JobRow.version == version)
        done = self._connection.execute(change.values(version=JobRow.version + 1, **values))
        if done.rowcount == 0:
            raise InputError("The job was changed meanwhile.", "Read it again first.", where="version")
        self._touched.add(job)

    def _job(self, job: int) -> Job:
        return load_jobs(self._connection, [job])[job]

    # areas and recipes

    def add_area(self, handle: str, new: NewArea) -> Area:
        """Add an area to a job."""
        job = self._job_id(handle)
        self._add_area(job, new)
        self._change_job(job, None)
        return self._job(job).areas[-1]

    def _add_area(self, job: int, new: NewArea) -> None:
        name = typed.name(new.name, "area's name")
        same = select(AreaRow.id).where(AreaRow.job_id == job, AreaRow.name_key == key(name))
        if self._connection.scalar(same) is not None:
            raise InputError(f"The job already has an area {name}.", where="area", example="field, border")
        last = select(func.max(AreaRow.position)).where(AreaRow.job_id == job)
        area = put(
            self._connection,
            AreaRow,
            uid=self._new_uid(),
            job_id=job,
            position=(self._connection.scalar(last) or 0) + 1,
            name=name,
            name_key=key(name),
            kind=new.kind,
            exposure=new.exposure,
            area_ft2=new.area_ft2,
            depth_in=new.depth_in,
            edge_yd3=new.edge_yd3,
            recipe_id=self._recipe(new),
        )
        for position, shape in enumerate(new.shapes, 1):
            self._put(
                ShapeRow,
                area_id=area,
                position=position,
                sign=shape.sign,
                kind=shape.kind,
                dimensions=typed.name(shape.dimensions, "dimensions"),
                depth_in=shape.depth_in,
            )

    def _put(self, row: Any, **values: Any) -> int:
        return put(self._connection, row, **values)

    def _recipe(self, new: NewArea) -> int | None:
        if new.recipe is not None:
            return self._add_recipe(new.recipe)
        return None if new.recipe_uid is None else self._recipe_id(new.recipe_uid)

    def _recipe_id(self, uid: str) -> int:
        found = self._connection.scalar(select(RecipeRow.id).where(RecipeRow.uid == uid))
        if found is None:
            raise InputError(f"There is no recipe {uid}.", where="recipe")
        return found

    def _add_recipe(self, new: NewRecipe) -> int:
        name = typed.name(new.name, "recipe's name")
        origin = None if new.from_recipe is None else self._recipe_id(new.from_recipe)
        recipe = self._put(RecipeRow, uid=self._new_uid(), name=name, name_key=key(name), from_id=origin)
        for position, stage in enumerate(new.stages, 1):
            self._add_stage(recipe, position, stage)
        return recipe

    def _add_stage(self, recipe: int, position: int, new: NewStage) -> None:
        stage = self._put(
            StageRow,
            recipe_id=recipe,
            position=position,
            kind=new.kind,
            params=typed.facts(new.params),
            params_version=version_of(new.kind),
        )
        for place, material in enumerate(new.materials, 1):
            product = self._find.product(material.product)
            self._put(
                StageMaterialRow,
                stage_id=stage,
                position=place,
                product_id=product,
                lot_id=self._find.lot(product, material.lot),
                rate=material.rate,
                unit=material.unit,
            )

    # what happened

    def add_entry(self, handle: str, new: NewEntry) -> Entry:
        """Log what happened. With `replaces`, a correction; the first pour freezes the recipes."""
        job = self._job_id(handle)
        entry = self._enter.add(job, new, self._clock())
        self._touched.add(job)
        return entry

    def undo(self, handle: str, number: int | None = None, *, person: str | None = None) -> Entry:
        """Take an entry back (None: the one logged last). The log keeps both. Returns the new entry."""
        job = self._job_id(handle)
        taken = self._enter.standing(job, number)
        again = NewEntry(
            kind=taken.kind,
            happened=taken.happened,
            exactness=taken.exactness,
            person=person,
            replaces=taken.number,
            withdrawn=True,
        )
        return self.add_entry(handle, again)

    def add_buried(self, handle: str, new: NewBuried) -> None:
        """Note what lies under or near the job's site."""
        site = self._connection.scalar(select(JobRow.site_id).where(JobRow.handle == handle))
        if site is None:
            raise self._unresolved(handle, [])
        self._add_buried(site, new)
        self._touch_site(site)

    def _add_buried(self, site: int, new: NewBuried) -> None:
        self._put(
            BuriedRow,
            uid=self._new_uid(),
            site_id=site,
            what=typed.name(new.what, "buried item"),
            place=typed.maybe(new.where, "place of the buried item"),
            depth_in=new.depth_in,
        )

    def add_advice(self, handle: str, new: NewAdvice) -> None:
        """Keep advice that was acted on, as given."""
        self._put(
            AdviceRow,
            uid=self._new_uid(),
            job_id=self._job_id(handle),
            kind=new.kind,
            method=new.method,
            inputs=new.inputs,
            answer=new.answer,
            given=self._clock(),
        )

    # settings and drafts

    def set_setting(self, key: str, value: str | None) -> None:
        """Keep the shop's own value of a setting; None takes the default again."""
        self._replace(SettingRow, key, value=value, changed=self._clock())

    def save_draft(self, key: str, body: str | None) -> None:
        """Keep an unfinished form; None throws it away."""
        self._replace(DraftRow, key, body=body, saved=self._clock())

    def _replace(self, row: type[SettingRow] | type[DraftRow], key: str, **values: Any) -> None:
        self._connection.execute(delete(table(row)).where(table(row).c.key == key))
        if None not in values.values():
            self._put(row, key=key, **values)

    # projections

    def _touch_site(self, site: int) -> None:
        self._touched.update(self._connection.scalars(select(JobRow.id).where(JobRow.site_id == site)))

    def _fresh(self) -> None:
        if self._touched:
            projections.refresh(self._connection, self._touched)
            self._touched = set()

    def finish(self) -> None:
        """Bring the projections of all touched jobs up to date; `Log.writing` calls it before the commit."""
        self._fresh()
