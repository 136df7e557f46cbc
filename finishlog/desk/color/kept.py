"""What was learned is a projection of the log, kept in it; this decides whether it holds, and brings it up to date.

The rule. Readings are counted as they were logged, and the scatter of the shop, with all that follows from it
(weathering, the sealed look, the effects of lots), is learned from those up to the last rung of a ladder of counts:
each rung is a tenth more, at most 200 (`finishlog.store.reading.moments`). A slab read later, or again, tells its
recipe alone, each as if it were the only one to come. So an answer rests on what the log holds, never on when
somebody looked; a reading costs its own recipe, and a rung costs learning anew. A correction learns anew only where
its slab taught the scatter; recipes joined do.

Each part has the mark of the snapshot that it was learned from, so whoever keeps it cannot keep it for a later one.
What was logged since is looked through: of jobs that did not teach, nothing else is read.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field, replace
from hashlib import sha256
from typing import TYPE_CHECKING, Any

from finishlog.color.aging.learn import Learned
from finishlog.color.aging.weathering import Look, Pace
from finishlog.desk.color import packing, taught
from finishlog.desk.color.taught import Later, Sites, State
from finishlog.records.learned import KeptLearned

if TYPE_CHECKING:
    from finishlog.color.aging.effects import Factor
    from finishlog.desk.services import Services
    from finishlog.records.answers import LearningRow
    from finishlog.records.learned import Moment, Since
    from finishlog.store import Reader

FAR = 200
"""After so many entries more it is worth a write to say that what was learned still holds."""
SHOP, JOBS, TAUGHT, LATER = "shop", "jobs", "taught", "later"


@dataclass(frozen=True, slots=True)
class Shop:
    """What the shop was learned to be; what its slabs told stands apart, by recipe: `learned.told` is empty.

    `recipes` is how many told.
    """

    learned: Learned
    recipes: int
    pace: Pace
    look: Look
    jobs: int
    coats: tuple[tuple[str, int], ...]


KINDS = (Shop, Learned, Pace, Look, Later)
FORM = packing.form_of("1", *KINDS)
"""A change of the arithmetic needs another number; a change of the fields makes another by itself."""


@dataclass(slots=True)
class Held:
    """What is known of a spot at a moment of the log. `of` names what was learned, `cut` its last entry.

    `parts` are in memory, `unkept` those the log does not have yet, all of them where learned `anew`.
    """

    spot: str
    moment: Moment
    of: str
    cut: int
    shop: Shop
    parts: dict[str, KeptLearned]
    unkept: list[KeptLearned] = field(default_factory=list)
    anew: bool = False
    since: dict[int, Since] = field(default_factory=dict)
    values: dict[object, Any] = field(default_factory=dict)

    def after(self, log: Reader, entry: int) -> Since:
        """What was logged after an entry."""
        if entry not in self.since:
            self.since[entry] = log.since(entry)
        return self.since[entry]

    def part(self, log: Reader, name: str) -> tuple[KeptLearned, dict[str, Any], Any] | None:
        """A part that belongs to what was learned, with its mark and its value; None where there is none."""
        kept = self.parts.get(name) or log.kept_learned(self.spot, name)
        if kept is None or kept.form != FORM or kept.entry > self.moment.entry:
            return None
        with suppress(*packing.UNREADABLE):
            mark = json.loads(kept.mark)
            if mark["of"] == self.of:
                self.parts[name] = kept
                return kept, mark, packing.unpacked(kept.body, *KINDS)
        return None

    def put(self, name: str, value: object, **mark: Any) -> None:
        """Take in a part as of this moment."""
        told = json.dumps({"of": self.of, "token": self.moment.token, **mark})
        kept = KeptLearned(self.spot, name, FORM, self.moment.entry, told, packing.packed(value))
        self.parts[name] = kept
        self.unkept = [*(one for one in self.unkept if one.part != name), kept]

    def taught_jobs(self, log: Reader) -> Mapping[str, Sequence[Any]]:
        """By handle, of the jobs whose readings were learned from: areas, a digest, whether they told anything."""
        if JOBS not in self.values:
            found = self.part(log, JOBS)
            self.values[JOBS] = {} if found is None else found[2]
        jobs: Mapping[str, Sequence[Any]] = self.values[JOBS]
        return jobs


def held(services: Services, log: Reader, spot: str) -> Held:
    """What was learned of a spot as it holds now; learned anew where nothing does."""
    moment, name = log.moment(), f"learned/{spot}"
    before = services.kept.get(name)
    known = before[1] if before is not None and isinstance(before[1], Held) else None
    if known is not None and known.moment == moment:
        return known
    found = _still(log, spot, moment, known) or _anew(services, log, spot, moment)
    services.kept[name] = (moment.token, found)
    return found


def keep(services: Services, spot: str) -> None:
    """Keep in the log what was learned, if it can be written just now; it is in memory anyway."""
    found = services.kept.get(f"learned/{spot}", ("", None))[1]
    if isinstance(found, Held) and found.unkept:
        some, found.unkept = found.unkept, []
        services.log().keep_learned(some, anew=found.anew)
        found.anew = False


# --- the shop -------------------------------------------------------------------------------------------


def _still(log: Reader, spot: str, moment: Moment, known: Held | None) -> Held | None:
    """What is in memory or in the log, if it holds for this moment."""
    for parts in (known.parts if known is not None else {}, {}):
        kept = parts.get(SHOP) or log.kept_learned(spot, SHOP)
        if kept is not None and kept.form == FORM and kept.entry <= moment.entry:
            with suppress(*packing.UNREADABLE):
                mark = json.loads(kept.mark)
                shop = packing.unpacked(kept.body, *KINDS)
                found = Held(spot, moment, mark["of"], mark["cut"], shop, dict(parts))
                if mark["of"] == _named(kept.body) and _holds(log, found, kept, mark):
                    return found
    return None


def _holds(log: Reader, found: Held, kept: KeptLearned, mark: dict[str, Any]) -> bool:
    """Whether the readings that were learned from say what they said, and the next rung is not reached."""
    found.parts[SHOP] = kept
    if mark["token"] == found.moment.token:
        return True
    since = found.after(log, kept.entry)
    count = mark["count"] + since.readings
    if since.joined or log.checkpoint(count).readings != mark["rung"]:
        return False
    jobs = found.taught_jobs(log)
    if mark["jobs"] != len(jobs):
        return False
    areas = log.area_marks(jobs)
    asked = [job for job, told in jobs.items() if job in since.shaken or areas.get(job, "") != told[0]]
    rows = _of_spot(log.learning_rows_of(*asked, until=found.cut), found.spot) if asked else ()
    if any(digest != jobs[job][1] for job, digest in _digests(asked, rows).items()):
        return False
    told = json.dumps({**mark, "token": found.moment.token, "count": count})
    found.parts[SHOP] = replace(kept, entry=found.moment.entry, mark=told)
    if found.moment.entry - kept.entry > FAR:
        found.unkept.append(found.parts[SHOP])
    return True


def _anew(services: Services, log: Reader, spot: str, moment: Moment) -> Held:
    count = log.readings_count()
    point = log.checkpoint(count)
    rows = _of_spot(log.learning_rows(point.entry), spot)
    with services.learning(len(rows)):
        state = taught.learned(rows)
    told = state.learned.told
    shop = Shop(
        replace(state.learned, told={}), len(told), state.pace, state.look, state.jobs, state.coats
    )  # fmt: skip
    found = Held(spot, moment, _named(packing.packed(shop)), point.entry, shop, {}, anew=True)
    jobs = _taught_jobs(log, rows)
    found.put(SHOP, shop, cut=point.entry, rung=point.readings, count=count, jobs=len(jobs))
    found.put(JOBS, jobs)
    for uid, sites in told.items():
        if not uid.startswith("\n"):  # of a slab without a recipe nobody asks
            found.put(f"{TAUGHT} {uid}", sites)
    return found


def _taught_jobs(log: Reader, rows: Sequence[LearningRow]) -> dict[str, tuple[str, str, bool]]:
    jobs = list(dict.fromkeys(row.job for row in rows))
    areas, digests, telling = log.area_marks(jobs), _digests(jobs, rows), taught.telling(taught.slabs(rows))
    return {job: (areas.get(job, ""), digests[job], job in telling) for job in jobs}


def _digests(jobs: Iterable[str], rows: Iterable[LearningRow]) -> dict[str, str]:
    """Of each job's readings."""
    found: dict[str, list[LearningRow]] = {job: [] for job in jobs}
    for row in rows:
        found[row.job].append(row)
    return {job: _named(repr(of)) for job, of in found.items()}


def _named(text: str) -> str:
    return sha256(text.encode("utf-8", "surrogatepass")).hexdigest()[:16]


def _of_spot(rows: Iterable[LearningRow], spot: str) -> tuple[LearningRow, ...]:
    return tuple(row for row in rows if row.reading.spot == spot)


# --- a recipe -------------------------------------------------------------------------------------------


def sites(log: Reader, found: Held, uid: str) -> Sites:
    """What the slabs of a recipe told that taught the shop."""
    name = f"{TAUGHT} {uid}"
    if name not in found.values:
        kept = found.part(log, name)
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
        row for of in taught.grouped(_of_spot(log.learning_rows_of(*jobs), found.spot)).values() for row in of
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


def state(services: Services, spot: str, handles: Sequence[str]) -> State:
    """What was learned of a spot, with all that the recipes of these jobs tell; of none, what taught the shop."""
    with services.log().reading() as log:
        found = held(services, log, spot)
        if handles not in found.values:
            found.values[handles] = _of_jobs(log, found, handles) if handles else _whole(log, found)
    keep(services, spot)
    made: State = found.values[handles]
    return made


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
    learned = replace(shop.learned, told=whole, slabs=shop.learned.slabs + slabs)
    alone, alone_coats = _alone(log, found, handles, learned)
    jobs = shop.jobs + len(added | alone)
    return State(learned, shop.pace, shop.look, jobs, tuple(sorted(coats | alone_coats)))


def _alone(
    log: Reader, found: Held, handles: Sequence[str], learned: Learned
) -> tuple[set[str], set[tuple[str, int]]]:
    """Of slabs of these jobs that have no recipe, what was read later: jobs that tell, and what looks sealed."""
    rows = [row for row in _of_spot(log.learning_rows_of(*handles), found.spot) if row.recipe is None]
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
    named = {*found.parts, *log.learned_parts(found.spot)}
    uids = sorted(name.partition(" ")[2] for name in named if name.startswith(f"{TAUGHT} "))
    told = _with_others(found, {uid: sites(log, found, uid) for uid in uids})
    shop = found.shop
    return State(replace(shop.learned, told=told), shop.pace, shop.look, shop.jobs, shop.coats)


def recipes(log: Reader, handles: Sequence[str]) -> list[str]:
    """The recipes of these jobs' areas, or what they were joined to."""
    told = log.joined()
    return list(dict.fromkeys(told.get(root, root) for root in log.families(*handles).values()))


Make = Callable[[State, tuple["LearningRow", ...], "Reader"], object]


def beside(
    services: Services, spot: str, name: str, make: Make, *kinds: type[Any], by_loads: bool = False
) -> Any:
    """What follows from the readings that taught the shop, made by `make` once; `by_loads`: and from their loads."""
    with services.log().reading() as log:
        found = held(services, log, spot)
        if name not in found.values:
            found.values[name] = _beside(log, found, name, make, kinds, by_loads)
    keep(services, spot)
    return found.values[name]


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
        loads = {"made": _named(repr(rows)), "stock": log.stock_mark()}
    if kept is not None and kept[0].get("made") == loads["made"]:
        value = kept[1]
    else:
        value = make(_whole(log, found), _of_spot(log.learning_rows(found.cut), found.spot), log)
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
) -> Iterator[tuple[str, Mapping[Factor, str] | None]]:
    """The slabs of the recipes of these jobs, with what a later one was made with; None of one that taught."""
    with services.log().reading() as log:
        found = held(services, log, spot)
        for uid in recipes(log, handles):
            further = later(log, found, uid)
            yield from ((key, None) for key in sites(log, found, uid) if key not in further)
            yield from ((key, one.made) for key, one in further.items())
