"""What was learned of the recipes of some jobs, brought up to date; what follows from the shop, kept beside it.

`kept_shop` states the rule.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from dataclasses import replace
from statistics import fmean
from typing import TYPE_CHECKING, Any, TypeVar

from finishlog.color.aging.learn import Learned
from finishlog.color.aging.levels import lead as lead_of
from finishlog.desk.color import packing, taught
from finishlog.desk.color.kept_shop import (
    FAR,
    FORM,
    KINDS,
    LATER,
    TAUGHT,
    Held,
    LostError,
    held,
    keep,
    named_by,
    of_spot,
)
from finishlog.desk.color.taught import Later, Sites, State

if TYPE_CHECKING:
    from finishlog.color.aging.effects import Factor
    from finishlog.desk.services import Services
    from finishlog.records.answers import LearningRow
    from finishlog.store import Reader

T = TypeVar("T")


def sites(log: Reader, found: Held, uid: str) -> Sites:
    """What the slabs of a recipe told that taught the shop."""
    name = f"{TAUGHT} {uid}"
    if name not in found.values:
        kept = found.part(log, name) if uid in found.shop.named else None
        if kept is None and uid in found.shop.named:
            raise LostError
        found.values[name] = {} if kept is None else kept[2]
    told: Sites = found.values[name]
    return told


def later(log: Reader, found: Held, uid: str) -> Mapping[str, Later]:
    """What slabs of a recipe tell that were read since, or read again, or were too long ago to teach the shop."""
    name = f"{LATER} {uid}"
    if name not in found.values:
        found.values[name] = _later(log, found, uid, name)
    told: Mapping[str, Later] = found.values[name]
    return told


def _later(log: Reader, found: Held, uid: str, name: str) -> Mapping[str, Later]:
    kept = found.part(log, name)
    if kept is not None and kept[1]["token"] == found.moment.token:
        return dict(kept[2])
    family = log.family_jobs(uid)
    areas = log.area_marks(family)
    stock = log.stock_mark()
    told: dict[str, Later] = dict(kept[2]) if kept is not None and kept[1]["stock"] == stock else {}
    if kept is None or kept[1]["stock"] != stock:
        changed = set(family)
    else:
        touched = found.after(log, kept[0].entry).jobs
        changed = {job for job in family if job in touched or areas.get(job) != kept[1]["areas"].get(job)}
    before = dict(told)
    told = {key: one for key, one in told.items() if (job := _job(key)) in areas and job not in changed}
    told |= _told(log, found, uid, changed)
    if kept is None or told.keys() != before.keys() or changed or found.moment.entry - kept[0].entry > FAR:
        found.put(name, told, stock=stock, areas=areas)
    return told


def _told(log: Reader, found: Held, uid: str, changed: set[str]) -> dict[str, Later]:
    """Of these jobs of a recipe the slabs that tell it beside those that taught the shop."""
    known = found.taught_jobs(log)
    fresh = log.later_readings(changed, found.cut)
    jobs = sorted((changed - known.keys()) | {job for job, _ in fresh})
    if not jobs:
        return {}
    rows = [
        row for of in taught.grouped(of_spot(log.learning_rows_of(*jobs), found.spot)).values() for row in of
        if row.recipe == uid and (row.job not in known or any((one.job, one.number) in fresh for one in of))
    ]  # fmt: skip
    if not rows:
        return {}
    from finishlog.desk.color import made_with

    made = made_with.by_slab(rows, log.made_rows(*{row.job for row in rows}))
    learned = replace(found.shop.learned, told=_with_others(found, {uid: sites(log, found, uid)}))
    telling = frozenset(job for job, of in known.items() if of[2])
    return dict(taught.later(learned, rows, telling, made))


def _job(key: str) -> str:
    return key.partition("/")[0]


def _with_others(found: Held, told: Mapping[str, Sites]) -> dict[str, Sites]:
    """These recipes among as many as told; nobody may ask of the others, which are not read."""
    some = {uid: of for uid, of in told.items() if of}
    return {**some, **{f"\n{number}": {} for number in range(found.shop.recipes - len(some))}}


# --- answers --------------------------------------------------------------------------------------------


def _asked(services: Services, spot: str, ask: Callable[[Reader, Held], T]) -> T:
    """The answer by what was learned as it holds in one snapshot; what had to be learned for it is kept."""
    with services.log().reading() as log:
        try:
            answer = ask(log, held(services, log, spot))
        except LostError:
            answer = ask(log, held(services, log, spot, anew=True))
    keep(services, spot)
    return answer


def state(services: Services, spot: str, handles: Sequence[str]) -> State:
    """What was learned of a spot, with all that the recipes of these jobs tell; of none, what taught the shop."""

    def ask(log: Reader, found: Held) -> State:
        if handles not in found.values:
            found.values[handles] = _of_jobs(log, found, handles) if handles else _whole(log, found)
        made: State = found.values[handles]
        return made

    return _asked(services, spot, ask)


def _of_jobs(log: Reader, found: Held, handles: Sequence[str]) -> State:
    told = {uid: (sites(log, found, uid), later(log, found, uid)) for uid in recipes(log, handles)}
    whole, slabs = _with_others(found, {uid: before for uid, (before, _) in told.items()}), 0
    coats, added = set(found.shop.coats), set[str]()
    for uid, (before, further) in told.items():
        merged = {key: site for key, site in before.items() if key not in further}
        merged |= {key: one.site for key, one in further.items() if one.site is not None}
        slabs += len(merged) - len(before)
        whole |= {uid: merged} if merged or before else {}
        added |= {_job(key) for key, one in further.items() if one.adds}
        coats -= {(_job(key), number) for key, one in further.items() for number in one.numbers}
        coats |= {coat for one in further.values() for coat in one.coats}
    shop = found.shop
    lead = {**_leads({uid: further for uid, (_, further) in told.items()}), **shop.learned.lead}
    learned = replace(shop.learned, told=whole, slabs=shop.learned.slabs + slabs, lead=lead)
    alone, alone_coats = _alone(log, found, handles, learned)
    jobs = shop.jobs + len(added | alone)
    return State(learned, shop.pace, shop.look, jobs, tuple(sorted(coats | alone_coats)), shop.soaked)


def _leads(further: Mapping[str, Mapping[str, Later]]) -> dict[str, float]:
    """What their doses add to the lightening of the recipes of later slabs."""
    doses = {uid: [one.dose for one in of.values() if one.dose is not None] for uid, of in further.items()}
    return {uid: lead_of(fmean(of)) for uid, of in doses.items() if of}


def _alone(
    log: Reader, found: Held, handles: Sequence[str], learned: Learned
) -> tuple[set[str], set[tuple[str, int]]]:
    """Of slabs of these jobs that have no recipe, what was read later: jobs that tell, and what looks sealed."""
    rows = [row for row in of_spot(log.learning_rows_of(*handles), found.spot) if row.recipe is None]
    if not rows:
        return set(), set()
    known, fresh = found.taught_jobs(log), log.later_readings(handles, found.cut)
    some = [
        row for of in taught.grouped(rows).values() for row in of
        if row.job not in known or any((one.job, one.number) in fresh for one in of)
    ]  # fmt: skip
    telling = taught.telling(taught.slabs(some)) - {job for job, of in known.items() if of[2]}
    return telling, set(taught.coats_of(learned, taught.slabs(some)))


def _whole(log: Reader, found: Held) -> State:
    told = _with_others(found, {uid: sites(log, found, uid) for uid in found.shop.named})
    shop = found.shop
    return State(replace(shop.learned, told=told), shop.pace, shop.look, shop.jobs, shop.coats, shop.soaked)


def recipes(log: Reader, handles: Sequence[str]) -> list[str]:
    """The recipes of these jobs' areas, or what they were joined to."""
    told = log.joined()
    return list(dict.fromkeys(told.get(root, root) for root in log.families(*handles).values()))


Make = Callable[[State, tuple["LearningRow", ...], "Reader"], object]


def beside(
    services: Services, spot: str, name: str, make: Make, *kinds: type[Any], by_loads: bool = False
) -> Any:
    """What follows from the readings that taught the shop, made by `make` once; `by_loads`: and from their loads."""

    def ask(log: Reader, found: Held) -> Any:
        if name not in found.values:
            found.values[name] = _beside(log, found, name, make, kinds, by_loads)
        return found.values[name]

    return _asked(services, spot, ask)


def _beside(
    log: Reader, found: Held, name: str, make: Make, kinds: Sequence[type[Any]], by_loads: bool
) -> Any:
    kept = _kept_beside(log, found, name, kinds)
    loads: dict[str, str] = {}
    if kept is not None and (not by_loads or kept[0]["token"] == found.moment.token):
        return kept[1]
    if by_loads:
        if kept is not None and _loads_stand(log, found, kept[0]):
            return kept[1]
        rows = log.made_rows(*found.taught_jobs(log)) if found.taught_jobs(log) else ()
        loads = {"made": named_by(repr(rows)), "stock": log.stock_mark()}
    if kept is not None and kept[0].get("made") == loads["made"]:
        value = kept[1]
    else:
        value = make(_whole(log, found), of_spot(log.learning_rows(found.cut), found.spot), log)
    found.put(name, value, entry=found.moment.entry, fields=packing.form_of(FORM, *kinds), **loads)
    return value


def _kept_beside(
    log: Reader, found: Held, name: str, kinds: Sequence[type[Any]]
) -> tuple[dict[str, Any], Any] | None:
    kept = found.parts.get(name) or log.kept_learned(found.spot, name)
    form = packing.form_of(FORM, *kinds)
    with suppress(*packing.UNREADABLE):
        if kept is not None and kept.form == FORM and kept.entry <= found.moment.entry:
            mark = json.loads(kept.mark)
            if mark["of"] == found.of and mark["fields"] == form:
                return mark, packing.unpacked(kept.body, *KINDS, *kinds)
    return None


def _loads_stand(log: Reader, found: Held, mark: dict[str, Any]) -> bool:
    """Whether neither a load of the jobs that taught was logged or corrected since, nor what loads name changed."""
    shaken = found.after(log, mark["entry"]).shaken
    return not shaken & found.taught_jobs(log).keys() and log.stock_mark() == mark["stock"]


def family_of(
    services: Services, spot: str, handles: Sequence[str]
) -> dict[str, Mapping[Factor, str] | None]:
    """The slabs of the recipes of these jobs, with what a later one was made with; None of one that taught."""

    def ask(log: Reader, found: Held) -> dict[str, Mapping[Factor, str] | None]:
        told: dict[str, Mapping[Factor, str] | None] = {}
        for uid in recipes(log, handles):
            told |= dict.fromkeys(sites(log, found, uid))
            told |= {key: one.made for key, one in later(log, found, uid).items()}
        return told

    return _asked(services, spot, ask)
