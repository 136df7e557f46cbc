"""A finish as it was placed: computed from the entries of a job, never stored.

Where no load says what was weighed in, the recipe's planned dose stands in and says so
(`AsPlaced.dose_from`).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from typing import Literal
from zoneinfo import ZoneInfo

from finishlog.desk.placed import bags, coats
from finishlog.desk.placed import left as placed_left
from finishlog.desk.placed import shares as placed_shares
from finishlog.desk.placed.bags import lots_of, pounds_of
from finishlog.desk.placed.missing import with_missing
from finishlog.desk.placed.shares import Part
from finishlog.records.log import Area, Entry, Fact, Job, MaterialUse, Mix, Product, StageMaterial, main_first
from finishlog.records.placed import AsPlaced, OffLoad, PlacedPigment, stands
from finishlog.records.quantities.placed import PlacedLoad
from finishlog.records.when import has_days, has_hours
from finishlog.trade import dose as dosing
from finishlog.trade import poured
from finishlog.trade.pour import placed as placing
from finishlog.units import exact


@dataclass(frozen=True, slots=True)
class _Load:
    """What of a load an area's color depends on: the whole truck's dose, and the area's part of it."""

    entry: Entry
    number: int
    yards: Fraction | None
    part: Part
    pigment_lb: Mapping[str, Fraction]  # of the whole load by product uid, as weighed; empty: not logged
    solids_lb: Fraction  # of it, what is pigment


def areas(
    job: Job, zone: ZoneInfo, off_percent: Fraction = placing.OFF_PERCENT,
    settled_day: int = placed_left.SETTLED_DAY,
) -> tuple[AsPlaced, ...]:  # fmt: skip
    """Every area of the job as placed, the field first, then the largest."""
    return tuple(as_placed(job, area, zone, off_percent, settled_day) for area in main_first(job.areas))


def as_placed(
    job: Job, area: Area, zone: ZoneInfo, off_percent: Fraction = placing.OFF_PERCENT,
    settled_day: int = placed_left.SETTLED_DAY,
) -> AsPlaced:  # fmt: skip
    """What went into one area of a job and what was done to it.

    Loads more than `off_percent` (the shop's setting) off the pour's dose are named; from `settled_day` (likewise) a
    reading tells release left.
    """
    loads = _loads(job, area)
    end = poured.zero(job, area.uid)
    pigments, dose_from = _pigments(area, loads)
    doses = [d for load in loads if (d := _load_dose(load)) is not None]
    total = _total_dose(pigments)
    release = placed_shares.latest(job, area, "powder_release")
    release_lb, release_rate = _released(job, area, release)
    rinse = _latest(job, area, "rinse")
    left, measured = placed_left.left(job, area, end, rinse, settled_day)
    shared, unshared = _shared(job, area, loads, release)
    placed = AsPlaced(
        area=area,
        poured_on=_local_day(end, zone),
        poured_end=end.happened if end and has_hours(end.exactness) else None,
        pigments=pigments,
        dose_from=dose_from,
        dose_lb_per_yd3=total,
        dose_low=min(doses, default=total),
        dose_high=max(doses, default=total),
        off_loads=_off_loads(loads, off_percent),
        over_limit=_over_limit(loads, pigments),
        mixes=_mixes(loads),
        loads=len(loads),
        balance_loads=sum(load.entry.load.is_balance for load in loads if load.entry.load),
        delivered_yd3=_sum(load.part.brought for load in loads),
        placed_yd3=_sum(load.part.stayed for load in loads),
        slump_in=tuple(
            s for load in loads if load.entry.load and (s := load.entry.load.slump_in) is not None
        ),
        release=_release_name(release, area),
        release_maker=_release_maker(release, area),
        release_lots=lots_of(release.materials if release else ()),
        release_lb=release_lb,
        release_lb_per_100_ft2=release_rate,
        release_reclaimed=any(use.reclaimed for use in release.materials) if release else False,
        pattern=_text((stamp := _stamp_facts(job, area)).get("pattern")),
        stamp=stamp,
        rinse=rinse.facts if rinse else {},
        rinsed_at=rinse.happened if rinse and has_hours(rinse.exactness) else None,
        rinse_age_h=_rinse_age(rinse, end),
        release_left_percent=left,
        coats=coats.coats(job, area, _local_day(end, zone), zone),
        base_reading=base.reading if (base := stands(job, "base", area.uid)) else None,
        release_reading=entry.reading if (entry := stands(job, "release color", area.uid)) else None,
        base_read_on=_local_day(base, zone),
        missing=(),
        bag_mix=bags.bag_mix(job, area),
        release_left_measured=measured,
        shared=shared,
    )
    return with_missing(placed, rinse is not None, len(loads) - len(doses), unshared)


def _shared(
    job: Job, area: Area, loads: list[_Load], release: Entry | None
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """What was shared with other areas, and what could not be, in words."""
    parts = [(load.number, load.part) for load in loads]
    return placed_shares.said(parts, (release, job), job.of_kind("seal", area=area.uid), area)


def _loads(job: Job, area: Area) -> list[_Load]:
    found = []
    for number, entry in enumerate(job.of_kind("load"), start=1):
        part = placed_shares.of_load(job, entry, area)
        if entry.load is None or part is None:
            continue
        weights, yards = _weights(entry), entry.load.yards
        whole = None if yards is None else exact(yards)
        found.append(_Load(entry, number, whole, part, weights, _solids(entry, weights)))
    return found


def _weights(entry: Entry) -> dict[str, Fraction]:
    """Pounds by pigment; nothing where one of them was not weighed, for then the dose is not known."""
    weights: dict[str, Fraction] = {}
    for use in entry.materials:
        if use.product.kind != "pigment":
            continue
        pounds = pounds_of(use)
        if pounds is None:
            return {}
        weights[use.product.uid] = weights.get(use.product.uid, Fraction(0)) + pounds
    return weights


def _solids(entry: Entry, weights: Mapping[str, Fraction]) -> Fraction:
    solids = {use.product.uid: _solids_percent(use.product) for use in entry.materials}
    return sum((dosing.pigment_in(lb, solids[uid]) for uid, lb in weights.items()), Fraction(0))


def _solids_percent(product: Product) -> float | None:
    return product.solids_percent if product.form == "liquid" else None


def _load_dose(load: _Load) -> Fraction | None:
    return sum(load.pigment_lb.values(), Fraction(0)) / load.yards if load.yards and load.pigment_lb else None


DoseFrom = Literal["loads", "recipe"] | None


def _pigments(area: Area, loads: list[_Load]) -> tuple[tuple[PlacedPigment, ...], DoseFrom]:
    """The pigments with their doses, and where the doses come from: "loads", "recipe" or None."""
    weighed = [load for load in loads if _load_dose(load) is not None]
    uses: dict[str, list[MaterialUse]] = {}
    for load in loads:
        for use in load.entry.materials:
            if use.product.kind == "pigment":
                uses.setdefault(use.product.uid, []).append(use)
    if weighed:
        return tuple(
            _pigment(some[0].product, lots_of(some), _weighed_dose(uid, weighed))
            for uid, some in uses.items()
        ), "loads"
    planned = _planned(area, "integral_color")
    cementitious = _cementitious(_mixes(loads))
    from_recipe = tuple(
        _pigment(
            m.product, (m.lot,) if m.lot else lots_of(uses.get(m.product.uid, ())), _rate(m, cementitious)
        )
        for m in planned
    )
    known = any(p.dose_lb_per_yd3 is not None for p in from_recipe)
    return from_recipe or tuple(_pigment(s[0].product, lots_of(s), None) for s in uses.values()), (
        "recipe" if known else None
    )


def _weighed_dose(uid: str, weighed: list[_Load]) -> Fraction | None:
    """Pounds of one pigment to the yard placed; unknown where only loads that were not weighed had it."""
    if not any(uid in load.pigment_lb for load in weighed):
        return None
    shares = placing.weights([_placed_load(load) for load in weighed])
    doses = (load.pigment_lb.get(uid, Fraction(0)) / (load.yards or 1) for load in weighed)
    return sum((dose * share for dose, share in zip(doses, shares, strict=True)), Fraction(0))


def _placed_load(load: _Load) -> PlacedLoad:
    """The area's part of a load; where the part is not known the load counts whole."""
    dose, part = _load_dose(load), load.part
    yards = load.yards if part.brought is None else part.brought
    pounds = None if dose is None or yards is None else dose * yards
    return PlacedLoad(str(load.number), yards, pounds, part.stayed)


def _rate(material: StageMaterial, cementitious: Fraction | None) -> Fraction | None:
    """The planned rate in lb/yd3; None where it needs a cement content that is not known."""
    if material.rate is None or material.unit is None:
        return None
    if material.unit in ("%", "lb/sack") and cementitious is None:
        return None
    return dosing.lb_per_yd3(exact(material.rate), material.unit, cementitious or Fraction(0))


def _pigment(product: Product, lots: tuple[str, ...], dose: Fraction | None) -> PlacedPigment:
    return PlacedPigment(
        product.name,
        product.maker,
        lots,
        dose,
        product.max_percent_of_cement,
        product.pack_lb,
        _solids_percent(product),
    )


def _total_dose(pigments: tuple[PlacedPigment, ...]) -> Fraction | None:
    """All pigments together: known only if each is."""
    doses = [p.dose_lb_per_yd3 for p in pigments]
    known = [d for d in doses if d is not None]
    return sum(known, Fraction(0)) if known and len(known) == len(doses) else None


def _off_loads(loads: list[_Load], off_percent: Fraction) -> tuple[OffLoad, ...]:
    by_number = {str(load.number): load for load in loads}
    dose = placing.placed_dose((_placed_load(load) for load in loads), off_percent)
    return tuple(_off_load(by_number[off.label], off.percent) for off in dose.off) if dose else ()


def _off_load(load: _Load, percent: Fraction) -> OffLoad:
    return OffLoad(load.number, load.entry.load.ticket if load.entry.load else None, percent)


def _over_limit(loads: list[_Load], pigments: tuple[PlacedPigment, ...]) -> bool:
    """Whether the pour, or any load of it, had more pigment than its cement may hold."""
    maxima = [exact(p.max_percent_of_cement) for p in pigments if p.max_percent_of_cement is not None]
    mean = [(p.dose_lb_per_yd3, p.solids_percent) for p in pigments]
    total = sum((dosing.pigment_in(dose, solids) for dose, solids in mean if dose is not None), Fraction(0))
    pairs = [
        (dose, exact(mix.cement_lb_per_yd3))
        for load in loads
        if load.entry.load and (mix := load.entry.load.mix) and mix.cement_lb_per_yd3
        for dose in (
            None if any(dose is None for dose, _ in mean) else total,
            load.solids_lb / load.yards if load.yards else None,
        )
        if dose is not None
    ]
    return any(
        dosing.over_limit(dosing.settled(dose, cement, maxima), cement, maxima) for dose, cement in pairs
    )


def _mixes(loads: list[_Load]) -> tuple[Mix, ...]:
    found: dict[str, Mix] = {}
    for load in loads:
        if load.entry.load and load.entry.load.mix:
            found.setdefault(load.entry.load.mix.uid, load.entry.load.mix)
    return tuple(found.values())


def _cementitious(mixes: tuple[Mix, ...]) -> Fraction | None:
    contents = {m.cementitious_lb_per_yd3 for m in mixes}
    only = contents.pop() if len(contents) == 1 else None
    return None if only is None else exact(only)


def _sum(values: Iterable[Fraction | None]) -> float | None:
    some = list(values)
    known = [v for v in some if v is not None]
    return float(sum(known)) if known and len(known) == len(some) else None


def _latest(job: Job, area: Area, kind: str) -> Entry | None:
    entries = job.of_kind(kind, area=area.uid)
    return entries[-1] if entries else None


def _planned(area: Area, kind: str) -> tuple[StageMaterial, ...]:
    stage = area.recipe.stage(kind) if area.recipe else None
    return stage.materials if stage else ()


def _release_name(release: Entry | None, area: Area) -> str | None:
    return _joined(m.product.name for m in _release_materials(release, area))


def _release_maker(release: Entry | None, area: Area) -> str | None:
    makers = {m.product.maker for m in _release_materials(release, area)}
    return makers.pop() if len(makers) == 1 else None


def _release_materials(release: Entry | None, area: Area) -> tuple[MaterialUse | StageMaterial, ...]:
    return release.materials if release and release.materials else _planned(area, "powder_release")


def _released(job: Job, area: Area, release: Entry | None) -> tuple[float | None, float | None]:
    """Pounds thrown on the area and lb/100 ft², as weighed; else by the spread that was said."""
    if release is None:
        return None, None
    there, size = (
        placed_shares.surface_areas(job, release.kind, release.area),
        placed_shares.surface_ft2(area),
    )
    rate, weighed = placed_shares.rate(job, release), _sum([pounds_of(use) for use in release.materials])
    if not weighed:
        return _float(rate * size / 100 if rate is not None and size else None), _float(rate)
    share = placed_shares.share_of(area, there, placed_shares.surface_ft2)
    return _float(None if share is None else exact(weighed) * share), _float(rate)


def _float(value: Fraction | None) -> float | None:
    return None if value is None else float(value)


def _stamp_facts(job: Job, area: Area) -> Mapping[str, Fact]:
    """The recipe's stamp with what was logged on the day laid over it."""
    stage = area.recipe.stage("stamp") if area.recipe else None
    entry = _latest(job, area, "stamp")
    return {**(stage.params if stage else {}), **(entry.facts if entry else {})}


def _rinse_age(rinse: Entry | None, end: Entry | None) -> float | None:
    """Hours from the end of the pour; the paper log's own figure where only days are known."""
    if rinse is None:
        return None
    if end is not None and has_hours(rinse.exactness, end.exactness):
        return (rinse.happened - end.happened).total_seconds() / 3600
    return _number(rinse.facts.get("age_h"))


def _local_day(entry: Entry | None, zone: ZoneInfo) -> date | None:
    """The day of an entry; None where its month or season alone is known."""
    return entry.happened.astimezone(zone).date() if entry and has_days(entry.exactness) else None


def _joined(names: Iterable[str]) -> str | None:
    return " + ".join(dict.fromkeys(names)) or None


def _text(fact: Fact | None) -> str | None:
    return None if fact is None else str(fact)


def _number(fact: Fact | None) -> float | None:
    return float(fact) if isinstance(fact, int | float) else None
