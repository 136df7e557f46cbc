"""Splits entries logged for several areas: loads by area × depth, surface materials by area.

A logged split wins. If a size is unknown nothing is guessed: the part is unknown, and the answer says so.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from finishlog.desk.words import listed
from finishlog.records.log import Area, Entry, Job
from finishlog.trade.poured import load_areas
from finishlog.trade.stages import KINDS
from finishlog.units import GALLONS_IN, POUNDS_IN, exact, write_number

_ONCE = tuple(kind.key for kind in KINDS if kind.once)
_RATES = {kind.key: kind.rate for kind in KINDS if kind.rate is not None}

Size = Callable[[Area], Fraction | None]


@dataclass(frozen=True, slots=True)
class Part:
    """An area's part of a load: what was brought for it, and what of that stayed; None is unknown.

    `beside` are the other areas it was shared with by size; `unsized` those whose size is missing for that.
    """

    brought: Fraction | None
    stayed: Fraction | None
    share: Fraction | None = None
    beside: tuple[Area, ...] = ()
    unsized: tuple[Area, ...] = ()


def surface_ft2(area: Area) -> Fraction | None:
    """Square feet; None if not measured, or entered as 0."""
    return exact(area.area_ft2) if area.area_ft2 else None


def volume_yd3(area: Area) -> Fraction | None:
    """Neat volume; None where size or depth is not known. 324 ft² an inch deep are a yard."""
    if area.area_ft2 is None or area.depth_in is None:
        return None
    return exact(area.area_ft2) * exact(area.depth_in) / 324 + exact(area.edge_yd3 or 0)


def share_of(area: Area, areas: Sequence[Area], size: Size) -> Fraction | None:
    """The area's share of what they had together, from 0 to 1; None where one of several has no size."""
    if len(areas) == 1:
        return Fraction(1)
    sizes = [size(each) for each in areas]
    known = [each for each in sizes if each is not None]
    total = sum(known, Fraction(0))
    own = size(area)
    return own / total if own is not None and total and len(known) == len(sizes) else None


def of_load(job: Job, entry: Entry, area: Area) -> Part | None:
    """What of a load is the area's; None where nothing of it is."""
    load, served = entry.load, load_areas(job, entry)
    if load is None or area.uid not in {each.uid for each in served}:
        return None
    told = {uid: exact(yards) for uid, yards in load.areas if yards is not None}
    untold = [each for each in served if each.uid not in told]
    share = share_of(area, untold, volume_yd3) if area.uid not in told else None
    brought = None if load.yards is None else exact(load.yards)
    gone = None if load.returned_yd3 is None or load.dumped_yd3 is None else (
        exact(load.returned_yd3) + exact(load.dumped_yd3))  # fmt: skip
    stayed = None if brought is None or gone is None else max(brought - gone, Fraction(0))
    here, kept = _portion(brought, told, area, share), _portion(stayed, told, area, share)
    if area.uid in told or len(untold) == 1:
        return Part(here, kept)
    beside = tuple(each for each in untold if each.uid != area.uid)
    return Part(here, kept, share, beside, tuple(each for each in untold if volume_yd3(each) is None))


def _portion(
    whole: Fraction | None, told: Mapping[str, Fraction], area: Area, share: Fraction | None
) -> Fraction | None:
    """The stated part, capped at the whole; else a share of the remainder."""
    given, all_told = told.get(area.uid), sum(told.values(), Fraction(0))
    if given is not None:
        return given if whole is None or all_told <= whole else given * whole / all_told
    return None if whole is None or share is None else max(whole - all_told, Fraction(0)) * share


def surface_areas(job: Job, kind: str, named: str | None) -> tuple[Area, ...]:
    """The areas on whose surface the material of an entry went: the one that is named, else all that had it."""
    if named is not None:
        return tuple(area for area in job.areas if area.uid == named)
    if kind not in _ONCE:
        return job.areas
    own = {each.area for each in job.of_kind(kind)}
    planned = [area for area in job.areas if not _leaves_out(area, kind)]
    some = planned if any(area.recipe and area.recipe.stage(kind) for area in planned) else job.areas
    return tuple(area for area in some if area.uid not in own) or tuple(some)


def _leaves_out(area: Area, kind: str) -> bool:
    """A recipe that has stages, and not this one."""
    return area.recipe is not None and bool(area.recipe.stages) and area.recipe.stage(kind) is None


def surface(job: Job, kind: str, named: str | None) -> Fraction | None:
    """Square feet that the material of an entry went on; None where a part of them is not known."""
    sizes = [surface_ft2(area) for area in surface_areas(job, kind, named)]
    known = [size for size in sizes if size is not None]
    return sum(known, Fraction(0)) if known and len(known) == len(sizes) else None


def latest(job: Job, area: Area, kind: str) -> Entry | None:
    """The last entry of this kind whose material went on the area."""
    found = [e for e in job.of_kind(kind, area=area.uid) if area in surface_areas(job, e.kind, e.area)]
    return found[-1] if found else None


def with_rate(job: Job, entry: Entry) -> Entry:
    """The entry with its spread or coverage as the amount used and the surface tell it, where no rate was said."""
    of, told = _RATES.get(entry.kind), rate(job, entry)
    if of is None or not of.fact or told is None:
        return entry
    return replace(entry, facts={of.fact: float(told), **entry.facts})


def rate(job: Job, entry: Entry) -> Fraction | None:
    """What was put on: lb/100 ft² of a powder, ft²/gal (each coat) of a liquid; as weighed, else as it was said."""
    powder = entry.kind in _RATES and _RATES[entry.kind].quantity == "spread"
    said = entry.facts.get("lb_per_100ft2" if powder else "coverage_ft2_per_gal")
    told = entry.coat.area_ft2 if entry.coat else None
    covered = exact(told) if told else surface(job, entry.kind, entry.area)
    used = _used(entry, POUNDS_IN if powder else GALLONS_IN)
    if not used or covered is None:
        return exact(said) if isinstance(said, int | float) and said else None
    coats = entry.facts.get("coats")
    times = exact(coats) if isinstance(coats, int | float) and coats else Fraction(1)
    return used / covered * 100 if powder else covered * times / used


def used_gal(entry: Entry) -> Fraction | None:
    """Gallons of a liquid that an entry used; None where a part was not measured."""
    return _used(entry, GALLONS_IN)


def _used(entry: Entry, units: Mapping[str, Fraction]) -> Fraction | None:
    """All of it in pounds or gallons; None where a part was not measured, else what the entry says was thrown."""
    product = _RATES[entry.kind].product if entry.kind in _RATES else ""
    uses = [use for use in entry.materials if use.product.kind == product]
    uses = uses or list(entry.materials)
    amounts = [exact(use.amount) * units[use.unit] for use in uses if use.amount and use.unit in units]
    if amounts:
        return sum(amounts, Fraction(0)) if len(amounts) == len(uses) else None
    thrown = entry.facts.get("thrown_lb")
    return exact(thrown) if isinstance(thrown, int | float) and units is POUNDS_IN else None


# in words


def said(
    loads: Iterable[tuple[int, Part]], release: tuple[Entry | None, Job], coats: Sequence[Entry], area: Area
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """What was shared, and what could not be since a size is not known: each in words."""
    entry, job = release
    trucks = [_what(f"load {number}", part.share, part.beside, part.unsized, "area × depth")
              for number, part in loads]  # fmt: skip
    powders = [("release", entry)] if entry is not None else []
    layers = [(f"coat {number}", coat) for number, coat in enumerate(coats, 1)]
    spread = [_surfaces(name, job, each, area) for name, each in (*powders, *layers) if each.materials]
    found = [*_grouped(trucks), *_grouped(spread)]
    return tuple(text for known, text in found if known), tuple(text for known, text in found if not known)


@dataclass(frozen=True, slots=True)
class _Shared:
    """How one thing was shared; things shared alike are said together."""

    share: Fraction | None
    beside: str
    by: str
    lacking: str


def _what(
    name: str, share: Fraction | None, beside: Sequence[Area], unsized: Sequence[Area], by: str
) -> tuple[str, _Shared] | None:
    depth = by != "area" and all(area.area_ft2 for area in unsized)
    lacking = f"the {'depth' if depth else 'size'} of {listed(area.name for area in unsized)}"
    return (name, _Shared(share, listed(area.name for area in beside), by, lacking)) if beside else None


def _surfaces(name: str, job: Job, entry: Entry, area: Area) -> tuple[str, _Shared] | None:
    there = surface_areas(job, entry.kind, entry.area)
    unsized = [each for each in there if surface_ft2(each) is None]
    beside = [each for each in there if each.uid != area.uid]
    return _what(name, share_of(area, there, surface_ft2), beside, unsized, "area")


def _grouped(whats: Iterable[tuple[str, _Shared] | None]) -> Iterator[tuple[bool, str]]:
    """One sentence for all that was shared alike, and whether it could be."""
    alike: dict[_Shared, list[str]] = {}
    for what in whats:
        if what is not None:
            alike.setdefault(what[1], []).append(what[0])
    for how, names in alike.items():
        if how.share is None:
            yield False, f"{listed(names)} not split between the areas: {how.lacking} is unknown"
        else:
            yield True, f"{listed(names)} with {how.beside}, by {how.by}: {_percent(how.share)} here"


def _percent(share: Fraction) -> str:
    return f"{write_number(share * 100, 0 if share >= Fraction(1, 10) else 1)} %"
