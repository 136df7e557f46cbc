"""The form of a change order: the recipe as it is, stage by stage; what is typed otherwise is the change."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from finishlog.desk.jobs import edit
from finishlog.desk.jobs.form import SmallForm
from finishlog.desk.services import Services
from finishlog.errors import InputError
from finishlog.inputs import recipes
from finishlog.inputs.asking import Field, fact, name, note
from finishlog.records.log import Area, Job, Recipe, Stage
from finishlog.trade import stages
from finishlog.units import exact, plain

ADD, DROP = "add", "drop"
_SENTENCE = "Type over what changes. The old version stays as poured."


def form(job: Job, area: str, people: tuple[str, ...]) -> SmallForm:
    """The change order of one area; without a name the field's. Raises InputError for a job without areas."""
    held: Area = edit._area(job, area or None)
    names = tuple(each.name for each in job.areas)
    held_stages = _first_of_each(held.recipe)
    parts: list[Field | str] = [_asked("area", "Area", names[0], help="whose recipe"), *_HEAD]
    values = {"area": held.name, "name": held.recipe.name if held.recipe else ""}
    for stage in held_stages:
        fields = _fields(stage)
        parts += [stages.kind(stage.kind).title, *fields]
        values |= _texts(stage, fields)
    parts += ["More", *_tail(held_stages)]
    choices = {"area": names, "by": people, DROP: tuple(stages.kind(s.kind).title for s in held_stages)}
    version = held.recipe.version if held.recipe else 0
    return SmallForm("change", "Change order", _SENTENCE, tuple(parts), values, choices, version, "area")


def keep(services: Services, handle: str, given: SmallForm, texts: Mapping[str, str]) -> str:
    """The recipe's next version. Raises InputError that names the field."""
    changes = {
        field.key: texts.get(field.key, "")
        for field in given.fields
        if "." in field.key and texts.get(field.key, "") != given.values.get(field.key, "")
    }
    changes |= _with_rates(given, changes)
    named = texts["name"] if texts["name"] != given.values["name"] else ""
    try:
        recipe = edit.change_order(
            services, handle, texts["area"], changes | _added(texts[ADD]), reason=texts["reason"],
            name=named or None, drop=_dropped(texts[DROP]), version=given.version, person=texts["by"] or None,
        )  # fmt: skip
    except InputError as wrong:
        where = {"--reason": "reason", "--area": "area", "--drop": DROP, "--set": ADD}
        raise wrong.at(where.get(wrong.where, wrong.where)) from None
    return f"{recipe.name} is now version {recipe.version}."


def _asked(key: str, title: str, example: str, *, help: str = "", required: bool = False) -> Field:
    return name(key, title, example, part="job", help=help, required=required)


_HEAD = (
    note("reason", "Reason", "she chose darker", part="job", required=True),
    _asked("by", "Who", "Bo", help="who changed it"),
    _asked("name", "New name", "ashlar, two shades"),
)


def _tail(held: tuple[Stage, ...]) -> tuple[Field, ...]:
    add = Field(
        ADD, "Also", recipes.EXAMPLE, _added, part="job", help="stamp.pattern=ashlar; separate with ;"
    )
    return (add, _asked(DROP, "Leave out", "Stamp", help="a stage to skip")) if held else (add,)


def _first_of_each(recipe: Recipe | None) -> tuple[Stage, ...]:
    """One stage of each kind: of a repeated one the first is changed."""
    found: dict[str, Stage] = {}
    for stage in recipe.stages if recipe else ():
        found.setdefault(stage.kind, stage)
    return tuple(found.values())


def _fields(stage: Stage) -> list[Field]:
    kind = stages.kind(stage.kind)
    found: list[Field] = []
    if kind.product_kinds:
        titles = {
            "product": kind.product_kinds[0].capitalize(),
            "maker": "Maker",
            "lot": "Lot",
            "rate": "Rate",
        }
        found = [_asked(f"{stage.kind}.{key}", title, _EXAMPLES[key]) for key, title in titles.items()]
    for param in kind.params:
        if param.when in ("plan", "both") and not (found and param.name in _TOLD_BY_RATE):
            found.append(_own(fact(param), stage.kind))
    return found


_EXAMPLES = {"product": "Wet Biscuit", "maker": "Toadstone Pigments", "lot": "K-131", "rate": "7 lb/yd3"}


_TOLD_BY_RATE = ("dose_lb_per_yd3", "percent_of_cementitious", "lb_per_100ft2", "coverage_ft2_per_gal")
"""Facts that say again what the product's rate says: they follow it, and are not asked beside it."""


def _with_rates(given: SmallForm, changes: Mapping[str, str]) -> dict[str, str]:
    """The facts of the recipe that a changed rate makes untrue."""
    found = {}
    for key, text in changes.items():
        kind, _, what = key.partition(".")
        for fact_of in _TOLD_BY_RATE if what == "rate" else ():
            if (whole := f"{kind}.{fact_of}") in given.values:
                found[whole] = "" if kind == "integral_color" else text
    return found


def _own(field: Field, kind: str) -> Field:
    return replace(field, key=f"{kind}.{field.key}", group=kind)


def _texts(stage: Stage, fields: list[Field]) -> dict[str, str]:
    found = {}
    if stage.materials:
        first = stage.materials[0]
        rate = f"{plain(exact(first.rate), 17)} {first.unit or ''}".strip() if first.rate is not None else ""
        found = {"product": first.product.name, "maker": first.product.maker or "", "lot": first.lot or "",
                 "rate": rate}  # fmt: skip
    texts = {f"{stage.kind}.{key}": text for key, text in found.items()}
    by_key = {field.key: field for field in fields}
    for key, value in stage.params.items():
        whole = f"{stage.kind}.{key}"
        if whole in by_key or key in _TOLD_BY_RATE:
            texts[whole] = by_key[whole].text(value) if whole in by_key else str(value)
    return texts


def _added(text: str) -> dict[str, str]:
    """`stage.fact=value`, several with ; between. Raises InputError."""
    found = {}
    for part in text.split(";") if text.strip() else ():
        key, equals, value = part.partition("=")
        if not equals or "." not in key:
            raise InputError("That is no stage and fact.", where=ADD, example=recipes.EXAMPLE)
        found[key.strip()] = value.strip()
    return found


def _dropped(text: str) -> tuple[str, ...]:
    """A stage by its title or its key."""
    if not text:
        return ()
    word = "_".join(text.casefold().split())
    return (next((kind.key for kind in stages.KINDS if kind.title.casefold() == text.casefold()), word),)
