"""The small forms of a job: change order, recipe copied, area, buried item, owner, customers merged, note.

Each is declared once, as fields with what stands in them; keeping one calls `finishlog.desk.jobs.edit`.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from finishlog.desk.jobs import change_form, edit
from finishlog.desk.jobs.form import SmallForm, Texts
from finishlog.desk.meanwhile import Meanwhile
from finishlog.errors import InputError
from finishlog.inputs import jobs
from finishlog.inputs.asking import Field, name, note
from finishlog.records.log import Area, Job, main_first
from finishlog.units import read_date, write_weekday

if TYPE_CHECKING:
    from finishlog.desk.services import Services
    from finishlog.store import Reader

LISTED = 200
"""Jobs that are offered by their handle."""


@dataclass(frozen=True, slots=True)
class _Kind:
    title: str
    sentence: str
    fields: tuple[Field, ...]
    keep: Callable[[Services, str, Texts, int], str]


def form(services: Services, handle: str, what: str, area: str = "") -> SmallForm:
    """The form of that name, on a job; a change order on one of its areas. Raises InputError."""
    with services.log().reading() as log:
        job = log.job(log.resolve(handle))
        if what == "change":
            return change_form.form(job, area, log.people())
        kind = _KINDS[what]
        values = _values(what, job)
        choices = {field.key: found for field in kind.fields if (found := _choices(log, field, job))}
        return SmallForm(what, kind.title, kind.sentence, kind.fields, values, choices, job.version)


def keep(services: Services, handle: str, form: SmallForm, texts: Texts) -> str:
    """Do what the form says; the answer is a sentence. Raises InputError that names the field, Meanwhile."""
    told = {key: text.strip() for key, text in texts.items()}
    try:
        if form.what == "change":
            return change_form.keep(services, handle, form, told)
        return _KINDS[form.what].keep(services, handle, told, form.version)
    except InputError as wrong:
        if wrong.where == "version":
            raise Meanwhile(wrong.title, "Nothing was written.") from wrong
        wrongs = getattr(wrong, "wrongs", None)
        if wrongs or wrong.where in texts:
            raise
        raise wrong.at(_FIELD_OF.get((form.what, wrong.where), wrong.where)) from None


_FIELD_OF = {
    ("owner", "--since"): "since",
    ("owner", "customer"): "owner",
    ("bury", "buried"): "what",
    ("area", "areas"): "areas",
    ("copy", "--area"): "to_area",
    ("copy", "JOB"): "source",
    ("copy", "job"): "source",
    ("copy", "reason"): "reason",
    ("copy", "--reason"): "reason",
    ("merge", "customer"): "double",
    ("merge", "keep"): "keep",
}
"""Where the desk says something is wrong, the field it is typed in."""


def _values(what: str, job: Job) -> dict[str, str]:
    if what == "merge":
        return {"keep": job.customer.name}
    if what == "copy":
        return {"to_area": _main(job).name} if job.areas else {}
    return {"note": job.note or ""} if what == "note" else {}


def _main(job: Job) -> Area:
    return main_first(job.areas)[0]


def _choices(log: Reader, field: Field, job: Job) -> tuple[str, ...]:
    if field.suggest == "customers":
        return tuple(dict.fromkeys(log.customers()))
    if field.suggest == "jobs":
        return tuple(line.handle for line in log.lines(limit=LISTED) if line.handle != job.handle)
    return tuple(area.name for area in job.areas) if field.suggest == "areas" else field.choices


def _add_area(services: Services, handle: str, texts: Texts, version: int) -> str:
    return edit.add_area(services, handle, texts["areas"]).sentence


def _bury(services: Services, handle: str, texts: Texts, version: int) -> str:
    return edit.bury(services, handle, texts["what"]).sentence


def _note(services: Services, handle: str, texts: Texts, version: int) -> str:
    return edit.set_note(services, handle, texts["note"], version=version).sentence


def _owner(services: Services, handle: str, texts: Texts, version: int) -> str:
    owner = edit.new_owner(services, handle, texts["owner"], texts["since"], phone=texts["phone"],
                           email=texts["email"], note=texts["note"])  # fmt: skip
    return f"The site is {owner.customer.name}'s since {write_weekday(owner.since)}."


def _merge(services: Services, handle: str, texts: Texts, version: int) -> str:
    kept = edit.merge(services, texts["keep"], texts["double"])
    return f"Merged {texts['double']} into {kept.name}."


def _copy(services: Services, handle: str, texts: Texts, version: int) -> str:
    recipe = edit.copy_recipe(
        services, texts["source"], handle, from_area=texts["from_area"] or None, to_area=texts["to_area"] or None,
        reason=texts["reason"] or None,
    )  # fmt: skip
    return f"It now has its own copy of recipe {recipe.name}."


def _text(key: str, title: str, example: str, **more: str | bool) -> Field:
    return name(key, title, example, part="job", group="", **more)  # type: ignore[arg-type]


_SINCE = Field("since", "Since", "2026-06-16", read_date, write_weekday, part="job", help="blank: today")
_KINDS: dict[str, _Kind] = {
    "area": _Kind("Another area", "Name, size and depth; leave out what you do not know.", (
        Field("areas", "Areas", jobs.AREAS, jobs.read_areas, part="job", required=True),
    ), _add_area),
    "bury": _Kind("Buried item", "What is under this site, how deep and where; separate with ;", (
        Field("what", "Buried", jobs.BURIED, jobs.read_buried, part="job", required=True),
    ), _bury),
    "owner": _Kind("New owner", "The site changed hands. Work done for the old owner stays theirs.", (
        _text("owner", "New owner", "Barnaby Crumpet", suggest="customers", required=True), _SINCE,
        _text("phone", "Phone", "555-0142"), _text("email", "E-mail", "crumpet@example.com"),
        note("note", "Note", "bought it in spring", part="job"),
    ), _owner),
    "merge": _Kind("Merge customers", "Merge two entries of one customer. All jobs move to "
                   "the one that stays.", (
        _text("double", "Drop", "O. Quillfeather", suggest="customers", required=True,
              help="a name, or a job's handle"),
        _text("keep", "Keep", "Ottoline Quillfeather", suggest="customers", required=True),
    ), _merge),
    "copy": _Kind("Copy a recipe", "This job gets its own copy of another job's recipe.", (
        _text("source", "From the job", "old-patio", suggest="jobs", required=True, help="its handle"),
        _text("from_area", "From its", "field", help="blank: its field"),
        _text("to_area", "For the", "field", suggest="areas", help="an area of this job"),
        note("reason", "Reason", "she chose the front's color", part="job"),
    ), _copy),
    "note": _Kind("The job's note", "Anything with no other place. Blank removes it.", (
        note("note", "Note", "she wants it like the front", part="job"),
    ), _note),
}  # fmt: skip
WHATS = ("change", *_KINDS)

__all__ = ["WHATS", "SmallForm", "form", "keep"]
