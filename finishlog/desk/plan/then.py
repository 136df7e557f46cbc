"""That day's conditions: facts of the old slab that are not stages to repeat, most important first.

What must not be done again, or moved the color, is marked; the rest is good to know. Free notes stay on the job's page.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from zoneinfo import ZoneInfo

from finishlog.desk.words import inches, listed, mix
from finishlog.records.log import Area, Coat, Entry, Fact, Job, Load, MaterialUse
from finishlog.records.placed import AsPlaced
from finishlog.records.plan import Difference
from finishlog.trade import exposure, stages
from finishlog.trade.events import entry_kind, kinds_in_order
from finishlog.trade.stages.base import Param, StageKind
from finishlog.units import exact, write, write_date, write_number

_DAY = tuple(kind for kind in kinds_in_order() if kind.in_plan == "day" and kind.detail != "load")


def then(job: Job, placed: AsPlaced, zone: ZoneInfo, system: str = "us") -> tuple[Difference, ...]:
    """The facts of the day, problems first; for a planned stage, what its own line omits."""
    area = placed.area
    found = [
        *_concrete(job, area, system),
        *_place(job, area),
        *_loads(job, area, system),
        *(
            line
            for kind in sorted(_DAY, key=lambda kind: kind.detail == "sample")  # it lies apart from the slab
            for entry in job.of_kind(kind.key, area=area.uid)
            for line in _line(entry, job, zone, system)
        ),
        *(line for kind in stages.KINDS if kind.in_plan != "day" for line in _stage(job, kind, area, system)),
        *_crew(job, area),
    ]
    return tuple(sorted(found, key=lambda one: one.weight != "act"))


def fact(param: Param, value: Fact, system: str) -> str:
    """`Mixing after the color: 10 min`, `Tip to slab: 14 in`."""
    title = param.title.removesuffix(", min")
    said = _said(param, value, system)
    return f"{title}: {said}" if title == param.title else f"{title}: {said} min"


def _said(param: Param, value: Fact, system: str) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, str):
        return value.replace("_", " ") if param.choices else value
    if not param.unit:
        return write_number(value)
    return _measure(param.unit, value, system)


def _measure(unit: str, value: float, system: str) -> str:
    """`10 gal`, `38 °F`: as short as it was written."""
    if unit == "temperature_f" and system == "us":
        return f"{write_number(value)} °F"
    number, space, label = write(unit, exact(value), system).partition(" ")
    return f"{number.rstrip('0').rstrip('.') if '.' in number else number}{space}{label}"


def _concrete(job: Job, area: Area, system: str) -> Iterator[Difference]:
    """What the plant sent, with what the line of a mix leaves out; of a load for all also where bags were mixed."""
    came = (entry.load for entry in job.of_kind("load") if entry.load and here(entry, area))
    for one in {load.mix.uid: load.mix for load in came if load.mix}.values():
        rest = None if one.scm_lb_per_yd3 else one.scm_kind
        more = (
            ("mill", one.cement_mill),
            ("other cementitious", rest),
            ("with", one.admixtures),
            ("sand", one.sand),
        )
        told = [f"{title} {text}" for title, text in more if text]
        told += [f"from {write_date(one.valid_from)}"] if one.valid_from else []
        yield Difference("then_mix", "Mix", "; ".join((mix(one, system), *told)), "know")


def _place(job: Job, area: Area) -> Iterator[Difference]:
    lies = exposure.lies(job, area)
    if lies != "unknown":
        yield Difference("then_exposure", "Exposure", f"{lies}", "know")


def _loads(job: Job, area: Area, system: str) -> Iterator[Difference]:
    for number, entry in enumerate(job.of_kind("load"), start=1):
        load = entry.load
        if load is None or not here(entry, area):
            continue
        name = f"Load {number}, balance" if load.is_balance else f"Load {number}"
        others = [use for use in entry.materials if use.product.kind != "pigment"]
        text = (*_wet(load, system), *_uses(others, system), *_map(load, area, system))
        yield from _told(entry, name, text, system)


def here(entry: Entry, area: Area) -> bool:
    """Whether a load came to the area: by its map, else by what it was logged on."""
    serves = dict(entry.load.areas) if entry.load else {}
    return area.uid in serves if serves else entry.area in (None, area.uid)


def _wet(load: Load, system: str) -> Iterator[str]:
    ends = [
        (load.slump_in, "slump"),
        (load.slump_end_in, "at the end" if load.slump_in is not None else "slump at the end"),
    ]
    slump = [f"{inches(value, system)} {words}" for value, words in ends if value is not None]
    if slump:
        yield ", ".join(slump)
    if load.water_gal is not None or load.water_when:
        much = (
            "water"
            if load.water_gal is None
            else f"{_measure('liquid_gal', load.water_gal, system)} of water"
        )
        yield f"{much} added{f', {load.water_when}' if load.water_when else ''}"


def _map(load: Load, area: Area, system: str) -> Iterator[str]:
    part = dict(load.areas).get(area.uid)
    if len(load.areas) > 1:
        much = "part" if part is None else _measure("volume_yd3", part, system)
        yield f"{much} of it here"
    if load.ticket:
        yield f"ticket {load.ticket}"


def _line(entry: Entry, job: Job, zone: ZoneInfo, system: str) -> Iterator[Difference]:
    on = write_date(entry.happened.astimezone(zone).date())
    if entry.coat is not None:
        number = f"Coat {entry.coat.number}" if entry.coat.number else "Coat"
        name = "Reseal" if entry.coat.reseal else number
        yield from _told(
            entry, name, (on, *_uses(entry.materials, system), *_coat(entry.coat, system)), system
        )
    elif entry.sample is not None:
        yield from _told(entry, f"Sample {entry.sample.number}", tuple(_sample(entry, job)), system)
    else:
        yield from _told(entry, entry_kind(entry.kind).title, tuple(_uses(entry.materials, system)), system)


def _coat(coat: Coat, system: str) -> Iterator[str]:
    for value, unit, words in (
        (coat.area_ft2, "area_ft2", ""), (coat.slab_f, "temperature_f", " slab"), (coat.air_f, "temperature_f", " air"),
        (coat.humidity_percent, "percent", " humidity"),
    ):  # fmt: skip
        if value is not None:
            yield f"{_measure(unit, value, system)}{words}"


def _sample(entry: Entry, job: Job) -> Iterator[str]:
    sample = entry.sample
    assert sample is not None
    numbers = {load.number: i for i, load in enumerate(job.of_kind("load"), start=1)}
    if sample.load is not None:
        yield f"of load {numbers.get(sample.load, '?')}"
    half = {None: None, True: "half sealed", False: "not half sealed"}[sample.half_sealed]
    where = f"kept {sample.kept_where}" if sample.kept_where else None
    cement = f"cement {sample.cement}" if sample.cement else None
    yield from (part for part in (sample.size, where, half, cement) if part)
    yield from (f"{write_number(percent)} % {pigment.name}" for pigment, percent in sample.doses)


_BASE = {"lb": ("mass_lb", 1), "oz": ("mass_lb", 16), "gal": ("liquid_gal", 1), "fl oz": ("liquid_gal", 128)}
"""What a material is kept in, as metric is written of it: the quantity, and how many make its unit."""


def _much(amount: float, unit: str, system: str) -> str:
    """As it was written; in metric what is not, converted."""
    if system == "metric" and unit in _BASE:
        quantity, parts = _BASE[unit]
        return write(quantity, exact(amount) / parts, system)
    return f"{write_number(amount)} {unit}"


def _uses(uses: Iterable[MaterialUse], system: str) -> Iterator[str]:
    """`8 lb of Otter Back, lot R-77, reclaimed`."""
    for use in uses:
        much = f"{_much(use.amount, use.unit, system)} of " if use.amount is not None else ""
        lot = f", lot {use.lot}" if use.lot else ""
        yield f"{much}{use.product.name}{lot}{', reclaimed' if use.reclaimed else ''}"


def _told(entry: Entry, title: str, text: tuple[str, ...], system: str) -> Iterator[Difference]:
    amiss, plain = _facts(entry, entry.facts, system)
    said = "; ".join((*amiss, *text, *plain))
    if said:
        yield Difference(f"then_{entry.kind}", title, said, "act" if amiss else "know")


def _facts(entry: Entry, facts: Mapping[str, Fact], system: str) -> tuple[list[str], list[str]]:
    """Problems first, then the rest, in form order."""
    amiss: list[str] = []
    plain: list[str] = []
    for param in entry_kind(entry.kind).params:
        if (value := facts.get(param.name)) is None:
            continue
        wrong = param.is_amiss(value)
        words = param.amiss_said if wrong and param.amiss_said else fact(param, value, system)
        (amiss if wrong else plain).append(words[:1].lower() + words[1:])
    return amiss, plain


def _stage(job: Job, kind: StageKind, area: Area, system: str) -> Iterator[Difference]:
    """A stage's problems and materials; if done in parts, how the other parts differed."""
    entries = job.of_kind(kind.key, area=area.uid)
    for entry in entries:
        amiss, _ = _facts(entry, entry.facts, system)
        others = (
            () if kind.repeatable or entry is entries[-1] else tuple(_otherwise(entry, entries[-1], system))
        )
        text = "; ".join(dict.fromkeys((*amiss, *others, *_uses(entry.materials, system))))
        if text:
            yield Difference(f"then_{kind.key}", kind.title, text, "act" if amiss else "know")


def _otherwise(entry: Entry, last: Entry, system: str) -> Iterator[str]:
    other = {name: value for name, value in entry.facts.items() if last.facts.get(name) != value}
    amiss, plain = _facts(entry, other, system)
    yield from (*amiss, *plain)


def _crew(job: Job, area: Area) -> Iterator[Difference]:
    """Who did what there: every crew leaves its trace."""
    who: dict[str, dict[str, None]] = {}
    for entry in job.entries:
        if entry.person and entry_kind(entry.kind).in_plan and here(entry, area):
            who.setdefault(entry.kind, {})[entry.person] = None
    if who:
        said = (f"{entry_kind(kind).verb} by {listed(people)}" for kind, people in who.items())
        yield Difference("then_crew", "Crew", "; ".join(said), "know")
