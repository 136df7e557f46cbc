"""Edits: a new job, its areas, owners, recipes by change order; archives instead of deleting.

Entries are never edited; see `finishlog.desk.record.record`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from typing import TYPE_CHECKING, Any

from finishlog.desk.record.record import wrong_fields
from finishlog.errors import InputError, naming
from finishlog.inputs import jobs
from finishlog.inputs.asking import Wrong, name, yes_no
from finishlog.records.log import Customer, Job, Owner, Recipe, main_first
from finishlog.records.writing import NewArea, NewBuried, NewCustomer, NewEntry, NewJob, NewSite
from finishlog.retrying import anew
from finishlog.units import read_date, write_date

if TYPE_CHECKING:
    from finishlog.desk.services import Services
    from finishlog.store import Writer

UNKNOWN = "unknown"
NOON = time(12)
_OF_CUSTOMER = (
    *(field for field in jobs.FIELDS if field.key in ("phone", "email", "note")),
    yes_no("leave_alone", "Leave alone", part="job", help="wants no reminders"),
)
_NAMED = name("customer", "Customer", "Ottoline Quillfeather", part="job")


@dataclass(frozen=True, slots=True)
class Edited:
    """What was done, in a sentence, and the job it was done to."""

    job: str
    sentence: str
    version: int


@anew
def new_job(services: Services, texts: Mapping[str, str]) -> Edited:
    """Keep a new job; its fields are `inputs.jobs.FIELDS`. Raises WrongFields.

    It is planned until something is poured; `poured_on` logs the day of a pour of the past.
    """
    with services.log().writing() as log:
        return new_job_in(log, services, texts)


def new_job_in(log: Writer, services: Services, texts: Mapping[str, str]) -> Edited:
    """`new_job` within a unit of work."""
    values = _need(jobs.read(texts))
    poured: date | None = values["poured_on"]
    today = services.today()
    if poured is not None and poured > today:
        raise InputError(f"{write_date(poured)} is in the future.", "Use planned_on for a future day.",
                         where="poured_on", example=today.isoformat())  # fmt: skip
    job = log.add_job(_new_job(values, services.zone.key))
    if poured is not None:
        at = datetime.combine(poured, NOON, services.zone).astimezone(UTC)
        log.add_entry(job.handle, NewEntry("pour", at, "day"))
    state = f"poured {write_date(poured)}" if poured else "planned"
    return _edited(log, job.handle, f"{job.customer.name} · {job.name} saved, {state}.")


def job_of(services: Services, texts: Mapping[str, str]) -> NewJob:
    """The job that these texts would make. Raises WrongFields."""
    return _new_job(_need(jobs.read(texts)), services.zone.key)


def _need(found: tuple[dict[str, Any] | None, tuple[Wrong, ...]]) -> dict[str, Any]:
    values, wrongs = found
    if values is None:
        raise wrong_fields(wrongs)
    return values


def _new_job(values: Mapping[str, Any], zone: str) -> NewJob:
    customer = values["customer"] or UNKNOWN
    name = values["job"] or "pour"
    return NewJob(
        name=name,
        customer=NewCustomer(customer, values["phone"], values["email"]),
        site=NewSite(
            values["street"] or f"street {UNKNOWN} ({values['customer'] or name})",
            values["town"],
            zone,
            values["exposure"] or "unknown",
        ),
        state="planned",
        planned_on=values["planned_on"],
        note=values["note"],
        areas=values["areas"] or (NewArea("field"),),
        buried=values["buried"] or (),
        handle=values["handle"],
    )


def _edited(log: Writer, handle: str, sentence: str) -> Edited:
    return Edited(handle, sentence, log.job(handle).version)


@anew
def add_area(services: Services, handle: str, text: str) -> Edited:
    """Add areas to a job, said as in a new job: `border 76 ft2 4 in`. Raises InputError."""
    areas = jobs.read_areas(text)
    with services.log().writing() as log:
        whole = log.resolve(handle)
        for area in areas:
            log.add_area(whole, area)
        return _edited(log, whole, f"Added {', '.join(area.name for area in areas)}.")


@anew
def bury(services: Services, handle: str, text: str) -> Edited:
    """Note what is buried at the job's site: `gas line, 18 in, along the fence`. Raises InputError."""
    items: tuple[NewBuried, ...] = jobs.read_buried(text)
    with services.log().writing() as log:
        whole = log.resolve(handle)
        for item in items:
            log.add_buried(whole, item)
        return _edited(log, whole, f"Buried at this site: {', '.join(item.what for item in items)}.")


@anew
def archive(services: Services, handle: str, *, version: int | None = None) -> Edited:
    """Out of the list; nothing is lost, and the handle still finds it."""
    with services.log().writing() as log:
        whole = log.resolve(handle)
        log.archive(whole, version=version)
        return _edited(log, whole, "Archived. unarchive brings it back.")


@anew
def unarchive(services: Services, handle: str, *, version: int | None = None) -> Edited:
    """Back in the list."""
    with services.log().writing() as log:
        whole = log.resolve(handle)
        job = log.unarchive(whole, version=version)
        return _edited(log, whole, f"Back on the list, {job.state}.")


@anew
def set_note(services: Services, handle: str, text: str, *, version: int | None = None) -> Edited:
    """Replace the job's note; blank takes it away."""
    with services.log().writing() as log:
        whole = log.resolve(handle)
        log.update_note(whole, text, version=version)
        return _edited(log, whole, "Note saved.")


@anew
def merge(services: Services, keep: str, double: str) -> Customer:
    """Two entries of one customer become one; each is a name or the handle of a job. Raises InputError."""
    named = [_who(text, where) for text, where in ((keep, "keep"), (double, "double"))]
    with services.log().writing() as log:
        return log.merge_customers(*named)


def _who(text: str, where: str) -> str:
    """The named customer. Raises InputError for a blank or invalid text."""
    with naming(where):
        named: str | None = _NAMED.read(text)
    if named is None:
        raise InputError("Which customer?", where=where, example="Ottoline Quillfeather, or a job of hers")
    return named


@anew
def customer(services: Services, who: str, texts: Mapping[str, str]) -> Customer:
    """Set phone, email, note or leave_alone (yes: no reminders) of a customer; a blank is unknown.

    `who` is a name or the handle of one of their jobs. Raises InputError.
    """
    fields = {field.key: field for field in _OF_CUSTOMER}
    facts = {key: fields[key].read(text) for key, text in texts.items()}
    if not facts:
        raise InputError("Nothing would change.", where="customer", example="--phone 555-0101")
    if "leave_alone" in facts:
        facts["leave_alone"] = bool(facts["leave_alone"])
    with services.log().writing() as log:
        return log.update_customer(_who(who, "customer"), **facts)


@anew
def new_owner(
    services: Services,
    handle: str,
    name: str,
    since: str = "",
    *,
    phone: str = "",
    email: str = "",
    note: str = "",
) -> Owner:
    """The job's site has a new owner from a day on (blank: today). Raises InputError."""
    if not name.strip():
        raise InputError("Who is the new owner?", where="owner", example="Ottoline Quillfeather")
    day = _day(since, services.today(), "--since")
    if day > services.today():
        raise InputError(
            f"{write_date(day)} is in the future.", where="--since", example=services.today().isoformat()
        )
    told = {"phone": phone, "email": email}
    reach = {field.key: field.read(told[field.key]) for field in _OF_CUSTOMER if field.key in told}
    with services.log().writing() as log:
        whole = log.resolve(handle)
        return log.add_owner(whole, NewCustomer(name, **reach), day, note or None)


def _day(text: str, today: date, where: str) -> date:
    with naming(where):
        return read_date(text) if text.strip() else today


@anew
def change_order(
    services: Services,
    handle: str,
    area: str | None,
    changes: Mapping[str, str],
    *,
    reason: str,
    name: str | None = None,
    drop: tuple[str, ...] = (),
    version: int | None = None,
    person: str | None = None,
) -> Recipe:
    """The next version of an area's recipe, with its reason; the old one stays as it was poured.

    `changes` are texts by `stage.fact`, `stage.product`, `.maker`, `.lot` or `.rate`; a stage that the
    recipe lacks is added. `version` is that of the recipe that was read: another means that somebody
    else changed it meanwhile. Raises InputError.
    """
    from finishlog.inputs import recipes

    if not reason.strip():
        raise InputError(
            "A change order needs a reason.", where="--reason", example='--reason "she chose darker"'
        )
    if not (changes or drop or name):
        raise InputError(
            "Nothing would change.", where="--set", example='--set integral_color.rate="7 lb/yd3"'
        )
    with services.log().writing() as log:
        job = log.job(log.resolve(handle))
        held = _area(job, area)
        new = recipes.changed(held.recipe, changes, drop=drop, name=name, reason=reason)
        read = version if version is not None else held.recipe.version if held.recipe else 0
        return log.change_recipe(job.handle, held.name, new, version=read, person=person)


@anew
def copy_recipe(
    services: Services, source: str, target: str, *, from_area: str | None = None, to_area: str | None = None,
    reason: str | None = None,
) -> Recipe:  # fmt: skip
    """Give an area of a job the recipe of another job's, as one of its own. Raises InputError."""
    with services.log().writing() as log:
        one, other = log.job(log.resolve(source)), log.job(log.resolve(target))
        origin = _area(one, from_area)
        if origin.recipe is None:
            raise InputError(f"The {origin.name} of {one.handle} has no recipe.", where="JOB",
                             example="a job whose show lists its pigment")  # fmt: skip
        return log.copy_recipe(
            one.handle, origin.name, other.handle, _area(other, to_area).name, reason=reason
        )


def _area(job: Job, name: str | None) -> Any:
    """The area of that name; without one the field, or the only one. Raises InputError."""
    names = ", ".join(area.name for area in job.areas)
    if name is not None:
        found = next((a for a in job.areas if a.name.casefold() == name.strip().casefold()), None)
        if found is None:
            raise InputError(f"{job.handle} has no area “{name[:40]}”.", f"It has {names}.", where="--area",
                             example=job.areas[0].name if job.areas else "field")  # fmt: skip
        return found
    found = next(iter(main_first(job.areas)), None)
    if found is None:
        raise InputError(
            f"{job.handle} has no area yet.", where="--area", example="finishlog job area JOB field"
        )
    return found
