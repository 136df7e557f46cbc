"""A form's initial state: usual values, their source, and suggestions from the log."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

from finishlog.desk.forms import plan_offers
from finishlog.desk.forms.plan_offers import Figures, Planned
from finishlog.desk.record import before_rinse, drafts
from finishlog.desk.record.job_now import Stand, as_meant, of_entry, stand, standing
from finishlog.inputs.asking import Field
from finishlog.inputs.entry import entries, load_split, materials
from finishlog.inputs.entry.entries import Context
from finishlog.records.log import Area, Entry, Job, MaterialUse, Stage
from finishlog.trade.cautions import cautions
from finishlog.trade.events import EntryKind
from finishlog.trade.stages import KINDS

if TYPE_CHECKING:
    from finishlog.desk.services import Services
    from finishlog.store import Reader

Texts = dict[str, str]
UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True)
class Offer:
    """A form: its fields in order, the texts they begin with, and what stands beside them.

    `copied` says in a sentence where the texts come from. `choices` are the log's suggestions by field.
    `draft` is what was typed before and not logged; `replaces` the entry that is corrected.
    """

    job: str
    customer: str
    kind: str
    title: str
    fields: tuple[Field, ...]
    values: Mapping[str, str]
    copied: str
    cautions: tuple[str, ...]
    choices: Mapping[str, tuple[str, ...]]
    draft_key: str
    draft: Mapping[str, str] | None
    context: Context
    replaces: int | None = None
    asks: tuple[str, ...] = ()
    """Fields worth asking on Today's sheet though nothing is usual."""
    typed_over: Mapping[str, str] | None = None
    """What the draft is a change of, where the entry was corrected since it was typed."""
    planned: Figures = field(default_factory=dict)
    """What the job's plan says, by field: shown beside a blank one, logged only where somebody takes it."""


def offer(services: Services, handle: str, kind: str, area: str | None = None) -> Offer:
    """The form for a new entry of a kind. Raises InputError."""
    what = entries.need_kind(kind)
    with services.log().reading() as log:
        now = stand(log, services, handle)
        values, by_recipe, copied = usual(log, now, what, area)
        made = _offer(log, now, what, values, copied, None, services.who)
        made = replace(made, fields=before_rinse.asked(log, now, what.key, area, made.fields))
        return _with_plan(made, {**by_recipe, **planned(log, now, what.key)})


def planned(log: Reader, now: Stand, kind: str) -> dict[str, Planned]:
    """The plan's figures for the next entry of a kind, of a job that was saved with one."""
    from finishlog.desk.plan import saved

    kept = saved.of_job(log, now.job)
    if kept is None:
        return {}
    return plan_offers.figures(kept.plan, kind, len(now.job.of_kind(kind)) + 1, now.context.units)


def _with_plan(made: Offer, figures: dict[str, Planned]) -> Offer:
    """The form with the plan's figures beside the fields that nothing else fills."""
    asked = {each.key for each in made.fields}
    shown = {key: figure for key, figure in figures.items() if key in asked and not made.values.get(key)}
    return replace(made, planned=shown)


def correction(services: Services, handle: str, number: int) -> Offer:
    """The form for a correction, filled with what the entry says. Raises InputError."""
    with services.log().reading() as log:
        now = stand(log, services, handle)
        old = standing(now.job, number)
        what = entries.need_kind(old.kind)
        now = replace(now, context=of_entry(old, now))
        values = entries.texts_of(what.key, entries.values_of(old, now.context, now.names), now.context)
        made = _offer(log, now, what, values, f"From entry {number}.", number, services.who)
        return made if made.draft else _typed_before(log, now, made, old, services.who)


def corrected(services: Services, handle: str, number: int) -> Offer:
    """As `correction`, of what that entry has become: the one that replaced it; where it was undone, its own texts,
    to be logged as a new entry. Raises InputError."""
    with services.log().reading() as log:
        history = log.job(log.resolve(handle)).history
    after = {entry.replaces: entry for entry in history if entry.replaces is not None}
    while (by := after.get(number)) is not None and not by.withdrawn:
        number = by.number
    if by is None:
        return correction(services, handle, number)
    with services.log().reading() as log:
        now = stand(log, services, handle)
        old = next(entry for entry in now.job.history if entry.number == number)
        now = replace(now, context=of_entry(old, now))
        values = entries.texts_of(old.kind, entries.values_of(old, now.context, now.names), now.context)
        gone = f"Entry {number} was undone meanwhile; saving logs it as a new one."
        return _offer(log, now, entries.need_kind(old.kind), values, gone, None, services.who)


def _typed_before(log: Reader, now: Stand, made: Offer, old: Entry, who: str) -> Offer:
    """The form with what was typed over an earlier version of the entry and not logged, if anything was."""
    while old.replaces is not None:
        old = next(entry for entry in now.job.history if entry.number == old.replaces)
        if old.kind != made.kind:
            break
        key = drafts.draft_key(made.job, made.kind, old.number)
        draft = drafts.read(log, key, who)
        if draft is not None:
            begun = entries.values_of(old, now.context, now.names)
            texts = entries.texts_of(made.kind, begun, now.context)
            return replace(made, draft=draft, draft_key=key, typed_over=texts)
    return made


def lots(services: Services, product: str, kind: str | None = None) -> tuple[str, ...]:
    """Bag lots of a product of that name, the last used first."""
    with services.log().reading() as log:
        return log.lots(product, kind)


def _offer(
    log: Reader, now: Stand, what: EntryKind, values: Texts, copied: str, replaces: int | None, who: str
) -> Offer:
    fields = entries.fields_of(what.key, now.context)
    key = drafts.draft_key(now.job.handle, what.key, replaces)
    return Offer(
        job=now.job.handle,
        customer=now.job.customer.name,
        kind=what.key,
        title=what.title,
        fields=fields,
        values=values,
        copied=copied,
        cautions=tuple(caution.text for caution in cautions(*what.cautions)),
        choices=_choices(log, fields, values, now),
        draft_key=key,
        draft=_as_meant(drafts.read(log, key, who), now.context),
        context=now.context,
        replaces=replaces,
        asks=what.asks,
    )


def _as_meant(draft: drafts.Draft | None, context: Context) -> drafts.Draft | None:
    """The typed text with the moment it meant then."""
    if draft is None or draft.since is None or not draft.get("at", "").strip():
        return draft
    return drafts.Draft({**draft, "at": as_meant(draft["at"], draft.since, context.zone)}, draft.since)


def usual(
    log: Reader, now: Stand, what: EntryKind, area: str | None
) -> tuple[Texts, dict[str, Planned], str]:
    """A new entry's starting texts, what its recipe only plans, and where they come from."""
    where = next((a for a in now.job.areas if area and a.name.casefold() == area.casefold()), None)
    found: Texts = {"area": where.name} if where else {}
    by_recipe: dict[str, Planned] = {}
    last = _last(now.job, what.key, where)
    if last is not None and what.same_as_last:
        found |= _as_last(last, what, now)
        copied = f"Filled from {_named(last, now)}."
    else:
        told = _planned(what, _stage(now.job, where, what.key), now.context)
        how, by_recipe = plan_offers.split(what, told)
        found |= how
        copied = "From the recipe." if how else ""
    if what.key == "seal":
        found |= _next_coat(last, where or _only(now.job.areas))
    who = _who(log, now.job)
    return ({**found, "by": who} if who else found), by_recipe, copied


def _last(job: Job, kind: str, area: Area | None) -> Entry | None:
    found = job.of_kind(kind, area=area.uid if area else None)
    return max(found, key=lambda entry: entry.number, default=None)


def _named(last: Entry, now: Stand) -> str:
    if last.kind == "load":
        return f"load {now.context.loads.index(last.number) + 1}"
    return f"entry {last.number}"


def _as_last(last: Entry, what: EntryKind, now: Stand) -> Texts:
    """What is usually the same the next time; its materials are too, but for the amount."""
    values = entries.values_of(last, now.context, now.names)
    same = set(what.same_as_last) | _product_keys(what)
    kept = {k: v for k, v in values.items() if k in same and v not in (load_split.ALL, UNKNOWN)}
    return entries.texts_of(what.key, kept, now.context)


def _product_keys(what: EntryKind) -> set[str]:
    parts = ("product", "maker", "lot", "product_kind")
    return {f"{part}{end}" for end in materials.slots(what.product_kinds) for part in parts}


def _stage(job: Job, area: Area | None, kind: str) -> Stage | None:
    """The recipe's stage of that kind (of a load its color): of the area, else of the first that has one."""
    wanted = next((each.key for each in KINDS if each.logged_as == kind), kind)
    recipes = [a.recipe for a in ((area,) if area else job.areas) if a.recipe]
    return next((stage for recipe in recipes if (stage := recipe.stage(wanted))), None)


def _planned(what: EntryKind, stage: Stage | None, context: Context) -> Texts:
    """What the recipe planned: products, lots, and the facts that are asked when it is done too."""
    if stage is None:
        return {}
    used = tuple(MaterialUse(m.product, None, "lb", m.lot) for m in stage.materials)
    values: dict[str, Any] = materials.values(what.product_kinds, used)
    if stage.kind == what.key:
        values |= stage.params
    return entries.texts_of(what.key, values, context)


def _next_coat(last: Entry | None, area: Area | None) -> Texts:
    number = (last.coat.number or 0) + 1 if last and last.coat else 1
    size = {"area_ft2": f"{area.area_ft2:g} ft²"} if area and area.area_ft2 else {}
    return {"number": str(number), **size}


def _only(areas: tuple[Area, ...]) -> Area | None:
    return areas[0] if len(areas) == 1 else None


def _who(log: Reader, job: Job) -> str:
    """Who logged last on this job, else who worked last at all."""
    last = max((e for e in job.entries if e.person), key=lambda entry: entry.number, default=None)
    return (last.person if last else next(iter(log.people()), None)) or ""


def _choices(
    log: Reader, fields: tuple[Field, ...], values: Mapping[str, str], now: Stand
) -> dict[str, tuple[str, ...]]:
    return {
        field.key: found
        for field in fields
        if (found := field.choices or tuple(_suggested(log, field, values)))
    }


def _suggested(log: Reader, field: Field, values: Mapping[str, str]) -> Iterator[str]:
    what, _, of = field.suggest.partition(":")
    if what == "people":
        yield from log.people()
    elif what == "plants":
        yield from log.plants()
    elif what == "makers":
        yield from log.makers()
    elif what == "products":
        yield from dict.fromkeys(product.name for product in log.products(of) if product.name != UNKNOWN)
    elif what == "lots" and values.get(of):
        yield from log.lots(values[of])
