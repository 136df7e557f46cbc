"""Writes a log in one unit of work. Events are append-only."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping
from datetime import date, datetime
from typing import Any

from sqlalchemy import delete, select, update
from sqlalchemy.engine import Connection

from finishlog.errors import InputError
from finishlog.records.log import Area, Entry, Fact, Job, JobState, Owner, Recipe
from finishlog.records.writing import (
    NewAdvice,
    NewArea,
    NewBuried,
    NewCustomer,
    NewEntry,
    NewJob,
    NewRecipe,
)
from finishlog.store.disk.attachments import Files
from finishlog.store.engine.protocol import put, run
from finishlog.store.entering.entries import POURS, Entering
from finishlog.store.entering.expected import Expected
from finishlog.store.entering.handles import new_handle
from finishlog.store.entering.held import HeldJobs
from finishlog.store.entering.known import KnownJob
from finishlog.store.entering.recipes import Recipes
from finishlog.store.reading.jobs import load_jobs, load_recipes
from finishlog.store.schema import typed
from finishlog.store.schema.fold import key
from finishlog.store.schema.rows import Found
from finishlog.store.schema.tables import AdviceRow, AreaRow, BuriedRow, JobRow, ShapeRow
from finishlog.store.shop_reader import whole
from finishlog.store.shop_writer import ShopWriter

_POSITIONS = "SELECT name_key, position FROM area WHERE job_id = :job"


class Writer(ShopWriter):
    """Changes to a log. Made by `Log.writing`, which commits or rolls back as a whole."""

    def __init__(
        self,
        connection: Connection,
        clock: Callable[[], datetime],
        new_uid: Callable[[], str],
        attachments: Files,
        *,
        alone: bool = False,
    ) -> None:
        super().__init__(connection, clock, new_uid, alone)
        self._recipes = Recipes(connection, self._find, new_uid)
        self._enter = Entering(connection, self._find, new_uid, attachments)
        self._held = HeldJobs(connection)

    # jobs

    def job(self, handle: str) -> Job:
        """Like `Reader.job`, cached within the unit of work."""
        found = self._job_id(handle)
        with whole():
            return self._held.job(found)

    def take(self, known: Collection[KnownJob], expected: Expected | None = None) -> bool:
        """Use jobs read ahead, and what was made ahead for one; whether they all still are as they were read."""
        self._expected = expected
        self._ids |= {each.job.handle: each.number for each in known}
        now = self.moment()
        if expected is not None and all(each.moment == now for each in known):
            self._shop = expected.shop
        return self._held.take(known, now)

    def _load(self, jobs: list[int]) -> Mapping[int, Job]:
        return self._held.jobs(jobs)

    def save_draft(self, key: str, body: str | None) -> None:
        """Save an unfinished form; None discards it."""
        with self._held.beside():
            super().save_draft(key, body)

    def add_job(self, new: NewJob) -> Job:
        """Save a job with areas, recipes and buried items of its site."""
        return self._job(self._keep_job(new)[0])

    def begin_job(self, new: NewJob) -> str:
        """Like `add_job`, but returns only the handle."""
        return self._keep_job(new)[1]

    def _keep_job(self, new: NewJob) -> tuple[int, str]:
        name = typed.name(new.name, "job's name")
        customer = self._find.customer(new.customer)
        site = self._find.site(new.site, customer, new.site.zone or self._zone())
        handle = new_handle(self._connection, new)
        job = put(
            self._connection,
            JobRow,
            uid=self._new_uid(),
            handle=handle,
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
        return job, handle

    def _zone(self) -> str:
        """Default zone of a new site: the setting "zone", which no form shows."""
        return self.settings().get("zone", "UTC")

    def update_job_state(self, handle: str, state: JobState, *, version: int | None = None) -> Job:
        """Plan, pour or archive. `version` is the one read; a newer one means a concurrent edit."""
        job = self._job_id(handle)
        if state == "archived":
            before = self._connection.scalar(select(JobRow.state).where(JobRow.id == job))
            values = {"archived_from": before} if before != "archived" else {}
        else:
            values = {"archived_from": None}
        self._change_job(job, version, state=state, **values)
        return self._job(job)

    def archive(self, handle: str, *, version: int | None = None) -> Job:
        """Take a job off the list; nothing is lost, and its handle still works."""
        return self.update_job_state(handle, "archived", version=version)

    def unarchive(self, handle: str, *, version: int | None = None) -> Job:
        """Return a job to the list in its former state, or as poured if it was meanwhile."""
        job = self.job(handle)
        query = select(JobRow.archived_from).where(JobRow.handle == handle)
        before = self._connection.scalar(query) or job.state
        state: JobState = "planned" if before == "planned" and not job.of_kind(*POURS) else "poured"
        return job if job.state != "archived" else self.update_job_state(handle, state, version=version)

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
            raise InputError("The job changed meanwhile.", "Read it again first.", where="version")
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
        positions = {row[0]: row[1] for row in run(self._connection, _POSITIONS, job=job)}
        if key(name) in positions:
            raise InputError(f"The job already has an area {name}.", where="area", example="field, border")
        area = put(
            self._connection,
            AreaRow,
            uid=self._new_uid(),
            job_id=job,
            position=max(positions.values(), default=0) + 1,
            name=name,
            name_key=key(name),
            kind=new.kind,
            exposure=new.exposure,
            area_ft2=new.area_ft2,
            depth_in=new.depth_in,
            edge_yd3=new.edge_yd3,
            recipe_id=self._recipe(new),
        )
        self._put_shapes(area, new)

    def _put_shapes(self, area: int, new: NewArea) -> None:
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

    def replan(self, handle: str, new: NewArea, on: date) -> None:
        """Update a plan: its area's measures and next recipe, and the day. Refused once poured."""
        job = self._job_id(handle)
        held = self._recipes.area(job, new.name)
        if held.frozen is not None:
            raise InputError("It was already poured.", "Its plan stays as is.", where="job")
        with self._all_or_nothing():
            if new.recipe is not None:
                self._recipes.change(held, new.recipe)
            sizes = {"area_ft2": new.area_ft2, "depth_in": new.depth_in, "edge_yd3": new.edge_yd3}
            self._connection.execute(update(AreaRow).where(AreaRow.id == held.id).values(**sizes))
            self._connection.execute(delete(ShapeRow).where(ShapeRow.area_id == held.id))
            self._put_shapes(held.id, new)
            self._change_job(job, None, planned_on=on)

    def _recipe(self, new: NewArea) -> int | None:
        if new.recipe is not None:
            return self._recipes.add(new.recipe)
        return None if new.recipe_uid is None else self._recipes.id_of(new.recipe_uid)

    def change_recipe(
        self, handle: str, area: str, new: NewRecipe, *, version: int, person: str | None = None
    ) -> Recipe:
        """A change order: the area's next recipe version, and an entry with its reason.

        `version` is that of the recipe read, 0 if the area had none. Raises InputError
        without a reason, or after a concurrent edit.
        """
        reason = typed.note(new.reason, "reason")
        if reason is None:
            raise _no_reason()
        job = self._job_id(handle)
        held = self._recipes.area(job, area)
        self._recipes.unchanged(held, version)
        with self._all_or_nothing():
            return self._changed(handle, held, self._recipes.change(held, new), reason, person)

    def copy_recipe(
        self,
        from_handle: str,
        from_area: str,
        to_handle: str,
        to_area: str,
        *,
        reason: str | None = None,
        person: str | None = None,
    ) -> Recipe:
        """Copy the recipe of another area, of any job, to an area.

        Replacing a recipe already poured is a change order and needs a reason.
        """
        source = self._recipes.area(self._job_id(from_handle), from_area)
        target = self._recipes.area(self._job_id(to_handle), to_area)
        why = typed.note(reason, "reason")
        if target.frozen is not None and why is None:
            raise _no_reason()
        with self._all_or_nothing():
            return self._changed(to_handle, target, self._recipes.copy(source, target, why), why, person)

    def _changed(
        self, handle: str, area: Found, recipe: int, reason: str | None, person: str | None
    ) -> Recipe:
        made = load_recipes(self._connection, [recipe])[recipe]
        self._touched.add(self._job_id(handle))
        if reason is not None:
            facts: dict[str, Fact] = {"recipe": made.name, "version": made.version}
            self.add_entry(
                handle,
                NewEntry("change", self._clock(), area=area.name, person=person, note=reason, facts=facts),
            )
        return made

    # what happened

    def add_entry(self, handle: str, new: NewEntry) -> Entry:
        """Log what happened. With `replaces`, a correction; the first pour freezes the recipes."""
        job = self._job_id(handle)
        with self._all_or_nothing(), self._held.beside():
            entry, changed = self._enter.add(job, new, self._clock())
            if changed:
                self._held.forget()
            else:
                self._held.add(job, entry)
        self._touched.add(job)
        return entry

    def add_entries(self, handle: str, news: Iterable[NewEntry]) -> None:
        """Log many in order, consumed lazily: on an error, the last one consumed was refused."""
        job = self._job_id(handle)
        with self._all_or_nothing():
            self._enter.add_all(job, news, self._clock())
        self._touched.add(job)

    def undo(self, handle: str, number: int | None = None, *, person: str | None = None) -> Entry:
        """Undo an entry (None: the last logged). The log keeps both. Returns the new entry."""
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
        """Add a buried item at or near the job's site."""
        site = self._site_of(handle)
        self._add_buried(site, new)
        self._touch_site(site)

    def _site_of(self, handle: str) -> int:
        site = self._connection.scalar(select(JobRow.site_id).where(JobRow.handle == handle))
        if site is None:
            raise self._unresolved(handle, [])
        return site

    def _add_buried(self, site: int, new: NewBuried) -> None:
        self._put(
            BuriedRow,
            uid=self._new_uid(),
            site_id=site,
            what=typed.name(new.what, "buried item"),
            place=typed.maybe(new.where, "place of the buried item"),
            depth_in=new.depth_in,
        )

    def add_owner(self, handle: str, new: NewCustomer, since: date, note: str | None = None) -> Owner:
        """Set a new owner of the job's site from that day on; all jobs there are found by the name."""
        site = self._site_of(handle)
        owner = self._owning.add_owner(site, new, since, note)
        self._touch_site(site)
        return owner

    def add_advice(self, handle: str, new: NewAdvice) -> None:
        """Save advice acted on, as given."""
        job = self._job_id(handle)
        with self._held.beside():
            self._put(
                AdviceRow,
                uid=self._new_uid(),
                job_id=job,
                kind=new.kind,
                method=new.method,
                inputs=new.inputs,
                answer=new.answer,
                given=new.given or self._clock(),
            )


def _no_reason() -> InputError:
    return InputError(
        "A change order needs a reason.", "It is kept with the recipe.", where="reason",
        example="the customer chose a darker border",
    )  # fmt: skip
