"""Fields of every kind of entry, declared once, in form order.

Forms, `record` and the import read the same fields. A kind's own facts come from `finishlog.trade.events`,
the details (load, coat, reading…) from `finishlog.inputs.entry.details`.
"""

from __future__ import annotations

import difflib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from datetime import tzinfo as Zone
from typing import Any

from finishlog import units
from finishlog.errors import InputError
from finishlog.inputs import moments
from finishlog.inputs.asking import FACT, Field, Wrong, fact, name, note
from finishlog.inputs.entry import details, load_split, materials, swept
from finishlog.inputs.entry.load_split import ALL
from finishlog.inputs.moments import Moment
from finishlog.records.log import Entry
from finishlog.records.writing import NewEntry
from finishlog.trade.events import DOSE, EntryKind, entry_kind, kinds_in_order

EVERYWHERE: details.Split = ((ALL, None),)

_WHEN = {"load": "Arrived", "pour": "Ended"}
_ALIASES = {
    "when": "at",
    "who": "by",
    "person": "by",
    "thrown_lb": "amount",
    "mix": "mix_number",
    "areas": "map",
}
_ENDINGS = ("_in", "_yd3", "_gal", "_psi", "_deg", "_f", "_h", "_percent", "_ft2", "_mph", "_lb", "_mil",
            "_lb_per_yd3", "_lb_per_100ft2", "_ft2_per_gal", "_ft")  # fmt: skip


@dataclass(frozen=True, slots=True)
class Context:
    """Context for reading: clock, site, the job's areas and the numbers of its load entries.

    `day` is the day of a time said without one, `blank` what a blank time means (None: now). `whole_job`:
    a blank area is the whole job also where a load must say where it went.
    """

    now: datetime
    zone: Zone
    areas: tuple[str, ...] = ()
    loads: tuple[int, ...] = ()
    day: date | None = None
    blank: Moment | None = None
    whole_job: bool = False
    units: str = "us"
    home: Zone | None = None
    """The shop's own time zone: if the site's differs, the echo of a time names it."""


def bare() -> Context:
    """A context for listing fields without a job; not for reading."""
    return Context(datetime(2000, 1, 1, tzinfo=UTC), UTC)


def kinds() -> tuple[EntryKind, ...]:
    """All that can be logged, in the order of the work."""
    return kinds_in_order()


def need_kind(key: str) -> EntryKind:
    """The kind of that name, underscores or not. Raises InputError that lists the kinds."""
    word = "_".join(key.casefold().split()).replace("-", "_")
    known = [kind.key for kind in kinds_in_order()]
    if word not in known:
        begun = [each for each in known if word and each.startswith(word)]
        near = begun or difflib.get_close_matches(word[:40], known, n=1)
        if len(begun) == 1:
            return entry_kind(begun[0])
        as_load = _logged_as(word)
        cause = f"It is logged with its {as_load}." if as_load else f"It can be {', '.join(known)}."
        raise InputError(f"“{units.shown(key)}” is not logged on its own.", cause, where="KIND",
                         example=as_load or (near[0] if near else "load"))  # fmt: skip
    return entry_kind(word)


def _logged_as(word: str) -> str:
    try:
        return entry_kind(word).logged_as
    except InputError:
        return ""


def fields_of(kind: str, context: Context) -> tuple[Field, ...]:
    """The fields of a kind of entry, in the order of its form; a load's in the order of the day card."""
    what = need_kind(kind)
    shown = context.units
    own = [_fact(param, what, shown) for param in _asked(what)]
    used = materials.fields(what.product_kinds, shown)
    if what.detail == "load":
        dose, *own = own
        return (
            *details.load_first(shown)[:1], _at(what.key, context), *details.load_first(shown)[1:],
            *used[:4], dose, *used[4:], *details.load_wet(shown), *own,
            _area(context), _split(context), *details.load_last(shown),
            *_closing(),
        )  # fmt: skip
    detail = _DETAIL_FIELDS[what.detail](shown) if what.detail else ()
    return (_at(what.key, context), _area(context), *used, *detail, *own, *_closing())


def _fact(param: Any, kind: EntryKind, shown: str) -> Field:
    field = fact(param, kind.key, shown)
    return swept.field_of(field, shown) if (kind.key, param.name) == (swept.KIND, swept.KEY) else field


_DETAIL_FIELDS: dict[str, Callable[[str], tuple[Field, ...]]] = {
    "coat": details.coat,
    "reading": details.reading,
    "sample": details.sample,
    "approval": details.approval,
    "claim": details.claim,
}


def _asked(kind: EntryKind) -> list[Any]:
    return [param for param in kind.placed if param.entered]


def _at(kind: str, context: Context) -> Field:
    def read(text: str) -> Moment:
        return moments.read_moment(text, context.now, context.zone, day=context.day, home=context.home)

    def write(moment: Moment) -> str:
        return moments.text_of(moment.instant, moment.exactness, context.zone)

    return Field("at", _WHEN.get(kind, "When"), "about 7:30a", read, lambda moment: moment.echo, write,
                 part="entry", group="when", help="blank: now")  # fmt: skip


def _area(context: Context) -> Field:
    areas, choices = context.areas, load_split.choices(context.areas)
    return Field(
        "area", "Area", choices[0] if choices else "field", lambda text: load_split.one_area(text, areas),
        part="entry", group="when", choices=choices, suggest="areas",
        help=f"{ALL}: the whole job" if len(choices) > 1 else "",
    )  # fmt: skip


def _split(context: Context) -> Field:
    areas, example = context.areas, load_split.split_example(context.areas)
    yards = "yards by area, if one truck fed several"
    return Field(
        "map", "Where it went", example, lambda text: load_split.read_split(text, areas),
        load_split.write_split, load_split.write_split, part="load", group="load", suggest="areas",
        help=f"{example}: {yards}" if areas else yards.replace("each", "each area"),
    )  # fmt: skip


def _closing() -> tuple[Field, ...]:
    return (
        name("by", "Who", "Bo", part="entry", group="note", suggest="people"),
        note("note", "Note", "two passes at the gate", part="entry", group="note"),
    )


def key_for(kind: str, key: str) -> str:
    """The field for a typed key: whole, without unit, or a prefix. Raises InputError listing the keys."""
    keys = [field.key for field in fields_of(kind, bare())]
    word = "_".join(key.casefold().split()).replace("-", "_")
    if word in keys:
        return word
    if _ALIASES.get(word) in keys:
        return _ALIASES[word]
    whole = [each for each in keys if any(each == word + ending for ending in _ENDINGS)]
    begun = whole or [each for each in keys if word and each.startswith(word)]
    if len(begun) == 1:
        return begun[0]
    near = begun or difflib.get_close_matches(word[:40], keys, n=1)
    title = f"“{units.shown(key)}” is no fact of a {kind.replace('_', ' ')}."
    if len(begun) > 1:
        title = f"“{units.shown(key)}” may be {' or '.join(begun)}."
    raise InputError(title, f"It has {', '.join(keys)}.", where="--set", example=f"{(near or keys)[0]}=…")


def read(
    kind: str, texts: Mapping[str, str], context: Context, *, old: Mapping[str, Any] | None = None
) -> tuple[NewEntry | None, tuple[Wrong, ...]]:
    """The entry from texts by key, or None and all errors.

    `old` are the values of the corrected entry: a text that still reads as one of them keeps it exactly.
    """
    what = need_kind(kind)
    values, wrongs = _values(fields_of(what.key, context), texts, old or {})
    if not wrongs:
        try:
            return _entry(what, values, context), ()
        except InputError as wrong:
            wrongs = [_as_wrong(wrong)]
    return None, tuple(wrongs)


def _values(
    fields: tuple[Field, ...], texts: Mapping[str, str], old: Mapping[str, Any]
) -> tuple[dict[str, Any], list[Wrong]]:
    by_key = {field.key: field for field in fields}
    wrongs = [Wrong(key, "No such field.") for key in texts if key not in by_key]
    values: dict[str, Any] = {}
    for key, field in by_key.items():
        text = texts.get(key, "")
        try:
            kept = old.get(key)
            same = kept is not None and text.strip() == field.text(kept).strip()
            values[key] = kept if same else field.read(text)
        except InputError as wrong:
            wrongs.append(_as_wrong(wrong))
            continue
        if values[key] is None and field.required:
            wrongs.append(Wrong(key, f"{field.title}: nothing to log without it.", field.example))
    return values, wrongs


def echoes(kind: str, texts: Mapping[str, str], context: Context) -> dict[str, str]:
    """Echo of each readable text by key; for pigment with yards also the dose."""
    found: dict[str, str] = {}
    values: dict[str, Any] = {}
    for field in fields_of(kind, context):
        try:
            values[field.key] = field.read(texts.get(field.key, ""))
        except InputError:
            continue
        if values[field.key] is not None:
            found[field.key] = field.shows(values[field.key])
    if total := materials.pounds_of(values):
        found[DOSE] += f", {units.write('mass_lb', total, context.units, 2)} in all"
    for end, dose in materials.doses(values.get("yards"), values):
        found[f"amount{end}"] += f", {units.write('dose_lb_per_yd3', dose, context.units)}"
    return found


def _as_wrong(wrong: InputError) -> Wrong:
    return Wrong(wrong.where, " ".join(p for p in (wrong.title, wrong.cause) if p), wrong.example)


def _entry(kind: EntryKind, values: Mapping[str, Any], context: Context) -> NewEntry:
    moment: Moment = values["at"] or context.blank or moments.read_moment("now", context.now, context.zone)
    said = {p.name: swept.fact_of(values.get(p.name)) for p in _asked(kind)}
    facts = {name: value for name, value in said.items() if value is not None}
    entry = NewEntry(
        kind=kind.key,
        happened=moment.instant,
        exactness=moment.exactness,
        area=_where(kind, values, context),
        person=values["by"],
        note=values["note"],
        facts=facts,
        materials=materials.uses(kind.product_kinds, values),
    )
    return _with_detail(kind, entry, values, context)


def _with_detail(kind: EntryKind, entry: NewEntry, values: Mapping[str, Any], context: Context) -> NewEntry:
    if kind.detail == "load":
        split = values.get("map") or ()
        split = () if split == EVERYWHERE else split
        load_split.check_split(split, values.get("yards"))
        return replace(
            entry,
            materials=materials.weighed(entry.materials, materials.pounds_of(values)),
            load=details.new_load(values, split),
        )
    if kind.detail == "coat":
        return replace(_described(entry), coat=details.new_coat(values))
    if kind.detail == "reading":
        return replace(entry, reading=details.new_reading(values))
    if kind.detail == "sample":
        return replace(entry, sample=details.new_sample(values, context.loads))
    if kind.detail == "approval":
        return replace(entry, approval=details.new_approval(values))
    return replace(entry, claim=details.new_claim(values)) if kind.detail == "claim" else entry


def _described(seal: NewEntry) -> NewEntry:
    """The sealer with its stated chemistry and solids, so that the shelf knows them too."""
    if not seal.materials:
        return seal
    facts, use = seal.facts, seal.materials[0]
    kinds = " ".join(str(facts[key]) for key in ("carrier", "chemistry") if key in facts)
    solids = facts.get("solids_percent")
    product = replace(use.product, form="liquid", chemistry=kinds if "chemistry" in facts else None,
                      solids_percent=float(solids) if solids is not None else None)  # fmt: skip
    return replace(seal, materials=(replace(use, product=product), *seal.materials[1:]))


def _where(kind: EntryKind, values: Mapping[str, Any], context: Context) -> str | None:
    """The entry's area; optional in a one-area job. Raises InputError for a load without a destination."""
    area, split = values["area"], values.get("map")
    if split == EVERYWHERE and area in (None, ALL):
        return None
    if split:
        if area not in (None, ALL) and area not in dict(split):
            raise InputError(f"The load went to {area}, but its map leaves it out.", "Pick one.",
                             where="map", example=f"{area}=1.5")  # fmt: skip
        return None
    if area == ALL:
        return None
    if area is None and len(context.areas) == 1 and kind.needs_area | (kind.detail == "load"):
        return context.areas[0]
    if area is None and kind.detail == "load" and not context.whole_job:
        _no_area(context)
    return str(area) if area else None


def _no_area(context: Context) -> None:
    if not context.areas:
        raise InputError("The job has no area for this load.", "Add one first.", where="area",
                         example="finishlog job area JOB field")  # fmt: skip
    cause = f"The job has {', '.join(context.areas)}; “{ALL}” if nobody knows."
    raise InputError("Where did the load go?", cause, where="area", example=context.areas[0])


def values_of(entry: Entry, context: Context, names: Mapping[str, str]) -> dict[str, Any]:
    """An entry's values by key, to start a correction. `names` maps area uids to names."""
    kind = entry_kind(entry.kind)
    split = tuple((names[uid], yards) for uid, yards in entry.load.areas) if entry.load else ()
    return {
        "at": Moment(entry.happened, entry.exactness, ""),
        "by": entry.person,
        "note": entry.note,
        "area": names.get(entry.area) if entry.area else _whole(context, bool(split)),
        "map": split or None,
        **dict(entry.facts),
        **materials.values(kind.product_kinds, entry.materials),
        **details.values_of(entry, context.loads),
    }


def _whole(context: Context, split: bool) -> str | None:
    return ALL if len(context.areas) > 1 and not split else None


def texts_of(kind: str, values: Mapping[str, Any], context: Context) -> dict[str, str]:
    """Texts of the known values, in form order."""
    told = ((field.key, field.text(values.get(field.key))) for field in fields_of(kind, context))
    return {key: text for key, text in told if text}


__all__ = [
    "ALL", "FACT", "Context", "Field", "bare", "echoes", "fields_of", "key_for", "kinds", "need_kind", "read",
    "texts_of", "values_of",
]  # fmt: skip
