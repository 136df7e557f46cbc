"""The day card of a pour: many entries on one screen, in card order, saved all or nothing.

Texts have the section's key before the field's: `load.2.yards`, `rinse.at`. A section of which nothing was
filled in, or only what was offered, is not logged; a blank in a filled one is unknown.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from typing import TYPE_CHECKING

from finishlog.desk.doubts import odd, on_shelf, own_usual, sealer_sheet
from finishlog.desk.doubts.odd import Doubt
from finishlog.desk.doubts.scene import Scene
from finishlog.desk.forms import offers, plan_offers
from finishlog.desk.record import drafts, makers, reading_state
from finishlog.desk.record.job_now import Stand, stand
from finishlog.desk.record.record import Recorded, keep, sentence, wrong_fields
from finishlog.errors import InputError, naming
from finishlog.inputs import moments
from finishlog.inputs.asking import Field, Wrong
from finishlog.inputs.entry import entries
from finishlog.inputs.entry.entries import Context
from finishlog.records.plan import Plan
from finishlog.records.writing import NewEntry
from finishlog.retrying import anew
from finishlog.trade.events import MIX, EntryKind, kinds_in_order
from finishlog.trade.stages.base import DayCard
from finishlog.units import write_date

if TYPE_CHECKING:
    from finishlog.desk.services import Services
    from finishlog.store import Reader, Writer

DAY = "day"
CREW = "crew"
LEFTOVER = "leftover"
LOADS = 2
"""Loads on a fresh card."""

_FIRST_LOAD = ("plant", "mix_number")


@dataclass(frozen=True, slots=True)
class Section:
    """A part of the card: one entry, if it is filled in. `values` are the texts offered, by field key."""

    key: str
    kind: str
    title: str
    fields: tuple[Field, ...]
    values: Mapping[str, str]
    planned: plan_offers.Figures = field(default_factory=dict)
    """What the job's plan says of it: shown, and logged only where somebody takes it."""
    later: bool = False
    """Done on another day than the pour."""


@dataclass(frozen=True, slots=True)
class Card:
    """A day card to be filled in. `day` and `crew` head it; `draft` is what was typed before."""

    job: str
    customer: str
    day: str
    crew: str
    sections: tuple[Section, ...]
    draft_key: str
    draft: Mapping[str, str] | None
    context: Context
    planned_loads: int = 0


def day_card(services: Services, handle: str, *, loads: int = LOADS, day: str = "") -> Card:
    """The card of a job's pour, with the usual values. Raises InputError."""
    from finishlog.desk.plan import saved

    with services.log().reading() as log:
        now = stand(log, services, handle)
        on = _day(day, now)
        key = drafts.draft_key(now.job.handle, drafts.DAY_CARD)
        kept = saved.of_job(log, now.job)
        sections = tuple(_sections(log, _on(now, on), loads))
        if kept is not None:
            sections = tuple(_with_plan(kept.plan, now, each) for each in sections)
        return Card(now.job.handle, now.job.customer.name, on.isoformat(), _crew(log, now), sections, key,
                    drafts.read(log, key, services.who), now.context,
                    len(kept.plan.concrete.loads.loads_yd3) if kept else 0)  # fmt: skip


def _with_plan(plan: Plan, now: Stand, section: Section) -> Section:
    """The section with the plan's figures beside the fields that nothing else fills."""
    if section.key == LEFTOVER:
        return section
    number = len(now.job.of_kind(section.kind)) + int(section.key.partition(".")[2] or 1)
    found = plan_offers.figures(plan, section.kind, number, now.context.units)
    asked = {each.key for each in section.fields}
    shown = {key: one for key, one in found.items() if key in asked and not section.values.get(key)}
    return replace(section, planned={**section.planned, **shown})


@anew
def pour_day(
    services: Services, handle: str, texts: Mapping[str, str], *, because: str | None = None
) -> tuple[Recorded, ...]:
    """Keep all entries that the card tells of, in one unit of work.

    Raises WrongFields whose keys are the card's, Doubt for what is odd and has no reason, and InputError for
    a card of which nothing was filled in. Nothing is kept then.
    """
    with services.log().writing() as log:
        now = stand(log, services, handle)
        on = _day(texts.get(DAY, ""), now)
        now = _on(now, on)
        sections = tuple(_sections(log, now, _loads_in(texts)))
        told = _told(sections, texts, texts.get(CREW, "").strip())
        _check_keys(sections, texts)
        if not told:
            raise InputError(f"Nothing filled in on the card of {write_date(on)}.", where="card",
                             example="the yards of load 1")  # fmt: skip
        _check(told, now)
        done = _keep_all(log, told, now, services, because)
        drafts.forget(log, services.who, now.job.handle, drafts.DAY_CARD)
        return tuple(done)


Told = tuple[tuple[Section, Mapping[str, str]], ...]
"""Sections that are filled in, with all their texts by field key."""


def _day(text: str, now: Stand) -> date:
    here = now.context.now.astimezone(now.zone).date()
    if not text.strip():
        return now.job.planned_on if now.job.planned_on and now.job.planned_on <= here else here
    with naming(DAY):
        moment = moments.read_moment(text, now.context.now, now.zone)
    return moment.instant.astimezone(now.zone).date()


def _on(now: Stand, day: date) -> Stand:
    """The stand for a card: times are of its day, a blank time is the day alone, a blank area the whole job."""
    blank = moments.of_day(day, now.context.now, now.zone)
    return replace(now, context=replace(now.context, day=day, blank=blank, whole_job=True))


def _crew(log: Reader, now: Stand) -> str:
    last = max((e for e in now.job.entries if e.person), key=lambda entry: entry.number, default=None)
    return (last.person if last else next(iter(log.people()), None)) or ""


def _loads_in(texts: Mapping[str, str]) -> int:
    numbers = [
        key.split(".")[1] for key in texts if key.startswith(("load.", "sample.")) and key.count(".") == 2
    ]
    return max((int(n) for n in numbers if n.isascii() and n.isdigit() and len(n) < 3), default=1)


def _sections(log: Reader, now: Stand, loads: int) -> Iterator[Section]:
    """All sections in the order of the card."""
    for kind, part in _parts(now):
        at = _later(now) if part.later else now
        if kind.key == "load":
            for number in range(1, loads + 1):
                more = _FIRST_LOAD if number == 1 else ()
                yield _section(log, at, f"load.{number}", part, kind, f"Load {number}", more)
        elif kind.key == "sample":
            for number in range(1, loads + 1):
                yield _sample(log, at, number, part, kind)
        elif part.times > 1:
            for number in range(1, part.times + 1):
                title = f"{kind.title}, coat {number}"
                yield _section(log, at, f"{kind.key}.{number}", part, kind, title)
        else:
            yield _section(log, at, kind.key, part, kind, kind.title.partition(",")[0])
        if kind.key == "pour":
            yield _leftover(now)


def _parts(now: Stand) -> list[tuple[EntryKind, DayCard]]:
    """The kinds that have a part of the card, from the top; powder release where no recipe has a release."""
    recipes = [area.recipe for area in now.job.areas if area.recipe]
    planned = {stage.kind for recipe in recipes for stage in recipe.stages}
    found = [(kind, kind.day_card) for kind in kinds_in_order() if isinstance(kind.day_card, DayCard)]
    if not any(part.planned and kind.key in planned for kind, part in found if kind.comes == "on_the_day"):
        planned.add("powder_release")
    here = ((kind, part) for kind, part in found if not part.planned or kind.key in planned)
    return sorted(here, key=lambda each: each[1].place)


def _section(
    log: Reader, now: Stand, key: str, part: DayCard, what: EntryKind, title: str, more: tuple[str, ...] = ()
) -> Section:
    """A part of the card; every other field of the kind may be told under its key too."""
    values, planned, _ = offers.usual(log, now, what, None)
    values = {k: v for k, v in values.items() if k not in ("by", "number")}
    many = len(now.context.areas) > 1
    keys = [k for k in (*part.fields, *more) if many or k not in ("area", "map")]
    by_key = {field.key: field for field in entries.fields_of(what.key, now.context)}
    fields = tuple(replace(by_key[k], required=False) for k in keys)  # a part left blank is not logged
    return Section(key, what.key, title, fields, values,
                   {key: one for key, one in planned.items() if key in keys}, part.later)  # fmt: skip


def _leftover(now: Stand) -> Section:
    by_key = {field.key: field for field in entries.fields_of("load", now.context)}
    fields = (by_key["returned_yd3"], by_key["dumped_yd3"])
    return Section(LEFTOVER, "load", "Left over, last load", fields, {})


def _sample(log: Reader, now: Stand, number: int, part: DayCard, kind: EntryKind) -> Section:
    section = _section(log, now, f"sample.{number}", part, kind, f"Sample of load {number}")
    return replace(section, values={**section.values, "load": str(number)})


def _later(now: Stand) -> Stand:
    """What is done on another day: a time without a day is of today, and a blank one is asked for."""
    return replace(now, context=replace(now.context, day=None, blank=None))


def full_key(section: str, field: str) -> str:
    """The card's key of a field typed in short: `load.1.slump` is load.1.slump_in. Raises InputError."""
    return f"{section}.{entries.key_for(_kind_of(section), field)}"


def _kind_of(section: str) -> str:
    kind = section.partition(".")[0]
    return "load" if kind == LEFTOVER else kind


def _check_keys(sections: tuple[Section, ...], texts: Mapping[str, str]) -> None:
    known = {section.key: section for section in sections}
    for key, text in texts.items():
        name, _, field = key.rpartition(".")
        if key in (DAY, CREW) or not text.strip():
            continue
        if name not in known:
            raise InputError(f"The card has no “{key[:40]}”.", f"It has {', '.join(known)}.", where="card",
                             example="load.1.yards")  # fmt: skip
        entries.key_for(known[name].kind, field)


def _told(sections: tuple[Section, ...], texts: Mapping[str, str], crew: str) -> Told:
    found = []
    for section in sections:
        typed = _typed(section, texts)
        if section.key != LEFTOVER and _is_filled(section, typed):
            whole = {**_unseen(section, typed), **typed}
            if section.kind == "sample" and f"{section.key}.load" not in texts:
                whole |= _of_its_load(section, texts)
            if crew and not whole.get("by"):
                whole["by"] = crew
            found.append((section, whole))
    left = next(section for section in sections if section.key == LEFTOVER)
    return _with_leftover(_as_first_load(found, texts), _typed(left, texts))


def _typed(section: Section, texts: Mapping[str, str]) -> dict[str, str]:
    start = f"{section.key}."
    found = {key.removeprefix(start): text for key, text in texts.items() if key.startswith(start)}
    return {key: text for key, text in found.items() if "." not in key and text.strip()}


def _is_filled(section: Section, typed: Mapping[str, str]) -> bool:
    return any(text.strip() != section.values.get(key, "") for key, text in typed.items())


def _unseen(section: Section, typed: Mapping[str, str]) -> dict[str, str]:
    """What belongs to the product that was offered and has no room on the card: its maker."""
    same = typed.get("product") is not None and typed["product"] == section.values.get("product")
    return {k: section.values[k] for k in ("maker", "product_kind") if same and k in section.values}


def _of_its_load(sample: Section, texts: Mapping[str, str]) -> dict[str, str]:
    """A sample is of the load of its number, where the card has that load and says no other."""
    place = sample.values["load"]
    filled = any(key.startswith(f"load.{place}.") and text.strip() for key, text in texts.items())
    return {"load": place} if filled else {}


def _as_first_load(
    found: list[tuple[Section, dict[str, str]]], texts: Mapping[str, str]
) -> list[tuple[Section, dict[str, str]]]:
    """The card names mix and pigment once: further loads have them too, unless they say another or a blank."""
    first = next((told for section, told in found if section.key == "load.1"), {})
    mix = {key: first[key] for key in MIX if key in first}
    shade = ("product", "maker", "lot", "product_kind")
    pigment = {key: first[key] for key in shade if key in first}
    none: dict[str, str] = {}
    whole = []
    for section, told in found:
        if section.kind == "load":
            same = none if f"{section.key}.product" in texts else pigment
            told = {**(mix if mix.keys().isdisjoint(told) else none), **same, **told}
        whole.append((section, told))
    return whole


def _with_leftover(found: list[tuple[Section, dict[str, str]]], left: Mapping[str, str]) -> Told:
    """What was left over is the last load's; the loads before it were placed whole."""
    loads = [i for i, (section, _) in enumerate(found) if section.kind == "load"]
    if left and not loads:
        raise InputError("Something is left over, but no load is filled in.", where=LEFTOVER,
                         example="the yards of load 1")  # fmt: skip
    for i in loads if left else ():
        section, told = found[i]
        whole = {"returned_yd3": "0", "dumped_yd3": "0"}
        found[i] = section, {**(left if i == loads[-1] else whole), **told}
    return tuple(found)


def _context(section: Section, now: Stand) -> Context:
    return _later(now).context if section.later else now.context


def _check(told: Told, now: Stand) -> None:
    """Read all before anything is kept, so that everything wrong is said at once. Raises WrongFields."""
    loads = {section.key: 1 for section, _ in told if section.kind == "load"}
    wrongs: list[Wrong] = []
    news: list[tuple[Section, Mapping[str, str], NewEntry]] = []
    for section, texts in told:
        if section.later and not texts.get("at"):
            wrongs.append(Wrong(f"{section.key}.at", f"{section.title}: when was it?", "Jun 6 7:30a"))
        new, found = entries.read(section.kind, texts, _with_loads(section, now, loads))
        wrongs += [replace(wrong, key=f"{section.key}.{wrong.key}") for wrong in found]
        news += [(section, texts, new)] if new is not None else []
    beside = [new for _, _, new in news]
    for section, texts, new in news:
        found = (*_area_unsaid(new, now), *reading_state.unsaid(new, texts, now.job, now.zone, beside))
        wrongs += [replace(wrong, key=f"{section.key}.{wrong.key}") for wrong in found]
    if wrongs:
        raise wrong_fields(tuple(wrongs))


def _area_unsaid(new: NewEntry, now: Stand) -> Iterator[Wrong]:
    """A color is of one slab; nobody could say later which."""
    if new.reading is not None and new.area is None and len(now.context.areas) > 1:
        yield Wrong("area", "Which area was read?", now.context.areas[0])


def _with_loads(section: Section, now: Stand, loads: Mapping[str, int]) -> Context:
    """The context of a section: a sample's load is one of the card, by its place on it."""
    last = max((int(key.partition(".")[2]) for key in loads), default=0)
    numbers = tuple(loads.get(f"load.{place}", 0) for place in range(1, last + 1))
    return replace(_context(section, now), loads=numbers)


def _keep_all(log: Writer, told: Told, now: Stand, services: Services, because: str | None) -> list[Recorded]:
    """Loads first, so that their samples can name them; then the end of the pour, then the rest as on the card."""
    first = {"load": 0, "pour": 1}
    loads: dict[str, int] = {}
    asked: list[str] = []
    kept: list[Recorded] = []
    for section, texts in sorted(told, key=lambda each: first.get(each[0].kind, 2)):
        new, _ = entries.read(section.kind, texts, _with_loads(section, now, loads))
        assert new is not None
        try:
            kept.append(_keep(log, new, now, services, because))
        except Doubt as doubt:
            asked += doubt.doubts
        if section.kind == "load":
            loads[section.key] = kept[-1].entry.number if kept else 1
    odd.ask(tuple(dict.fromkeys(asked)))
    return kept


def _keep(log: Writer, new: NewEntry, now: Stand, services: Services, because: str | None) -> Recorded:
    job = log.job(now.job.handle)
    new = makers.told(log, job, new)
    sheets = sealer_sheet.sheets(log) if new.kind == "seal" else {}
    own = own_usual.of(log, job.handle) if new.kind in own_usual.LEARNED else {}
    since = on_shelf.since(log, new.materials, now.zone)
    scene = Scene(job, now.zone, services.clock(), log.shop(), sheets=sheets, own=own, since=since,
                  before=len(now.job.history))  # fmt: skip
    entry, warnings = keep(log, new, scene, because if odd.doubts(new, scene) else None)
    return Recorded(job.handle, entry, sentence(entry, now.zone), (), warnings)
