"""What was learned is a projection of the log, kept in it; this decides whether it still holds.

The rule. Readings are counted as they were logged, and the scatter of the shop, with all that follows from it
(weathering, the sealed look, the effects of lots), is learned from those up to the last rung of a ladder of counts:
each of the first hundred, then a tenth more, at most 200 (`finishlog.store.search.moments`). A slab read later, or
again, tells its recipe alone, each as if it were the only one to come (`kept`). So an answer rests on what the log
holds, never on when somebody looked; a reading costs its own recipe, and a rung costs learning anew. A correction
learns anew only where its slab taught the scatter; recipes joined do.

Each part has the mark of the snapshot that it was learned from, so whoever keeps it cannot keep it for a later one.
What was logged since is looked through: of jobs that did not teach, nothing else is read.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field, replace
from hashlib import sha256
from typing import TYPE_CHECKING, Any

from finishlog.color.aging.learn import Learned
from finishlog.color.aging.weathering import Look, Pace
from finishlog.desk.color import packing, taught
from finishlog.desk.color.taught import Later
from finishlog.records.answers import KeptLearned

if TYPE_CHECKING:
    from finishlog.desk.services import Services
    from finishlog.records.answers import LearningRow, Moment, Since
    from finishlog.store import Reader

FAR = 200
"""After so many entries more it is worth a write to say that what was learned still holds."""
SHOP, JOBS, TAUGHT, LATER = "shop", "jobs", "taught", "later"
"""The shop, the jobs that taught it; of each recipe what its slabs told that taught the shop, and what others tell."""


@dataclass(frozen=True, slots=True)
class Shop:
    """What the shop was learned to be; what its slabs told stands apart, by recipe: `learned.told` is empty.

    `recipes` is how many told, `named` those that have a name.
    """

    learned: Learned
    recipes: int
    named: tuple[str, ...]
    pace: Pace
    look: Look
    jobs: int
    coats: tuple[tuple[str, int], ...]
    soaked: Look


class LostError(Exception):
    """A part of what was learned is gone or damaged, and all is to be learned anew."""


KINDS = (Shop, Learned, Pace, Look, Later)
FORM = packing.form_of("3", *KINDS)
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
            if found is None:
                raise LostError
            self.values[JOBS] = found[2]
        jobs: Mapping[str, Sequence[Any]] = self.values[JOBS]
        return jobs


def held(services: Services, log: Reader, spot: str, *, anew: bool = False) -> Held:
    """What was learned of a spot as it holds now; learned anew where nothing does, or where told."""
    moment, name = log.moment(), f"learned/{spot}"
    before = services.kept.get(name)
    known = before[1] if before is not None and isinstance(before[1], Held) else None
    if known is not None and known.moment == moment and not anew:
        return known
    found = (None if anew else _still(log, spot, moment, known)) or _anew(services, log, spot, moment)
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
            with suppress(*packing.UNREADABLE, LostError):
                mark = json.loads(kept.mark)
                shop = packing.unpacked(kept.body, *KINDS)
                found = Held(spot, moment, mark["of"], mark["cut"], shop, dict(parts))
                if _holds(log, found, kept, mark):
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
    areas = log.area_marks(jobs)
    again = log.sealers_mark() != mark["sealers"]  # a label that was filled in tells which look a reading has
    asked = [
        job for job, told in jobs.items() if again or job in since.shaken or areas.get(job, "") != told[0]
    ]
    rows = of_spot(log.learning_rows_of(*asked, until=found.cut), found.spot) if asked else ()
    if any(digest != jobs[job][1] for job, digest in _digests(asked, rows).items()):
        return False
    if any(areas.get(job, "") != jobs[job][0] for job in asked):  # so that it is not looked through again
        found.values[JOBS] = {job: (areas.get(job, ""), *of[1:]) for job, of in jobs.items()}
        found.put(JOBS, found.values[JOBS])
    now = {"token": found.moment.token, "count": count, "sealers": log.sealers_mark()}
    told = json.dumps({**mark, **now})
    found.parts[SHOP] = replace(kept, entry=found.moment.entry, mark=told)
    if found.moment.entry - kept.entry > FAR:
        found.unkept.append(found.parts[SHOP])
    return True


def _anew(services: Services, log: Reader, spot: str, moment: Moment) -> Held:
    count = log.readings_count()
    point = log.checkpoint(count)
    rows = of_spot(log.learning_rows(point.entry), spot)
    with services.learning(len(rows)):
        state = taught.learned(rows)
    told = state.learned.told
    named = tuple(uid for uid in told if not uid.startswith("\n"))  # of a slab without a recipe nobody asks
    bare = replace(state.learned, told={})
    shop = Shop(bare, len(told), named, state.pace, state.look, state.jobs, state.coats, state.soaked)
    jobs = _taught_jobs(log, rows)
    found = Held(spot, moment, _named(shop, point.entry, jobs), point.entry, shop, {}, anew=True)
    marks = {"rung": point.readings, "count": count, "sealers": log.sealers_mark()}
    found.put(SHOP, shop, cut=point.entry, **marks)
    found.put(JOBS, jobs)
    for uid in named:
        found.put(f"{TAUGHT} {uid}", told[uid])
    return found


def _named(shop: Shop, cut: int, jobs: Mapping[str, Sequence[Any]]) -> str:
    """By what was learned and of which readings: others may tell the same of the shop, but not of what follows."""
    return named_by(packing.packed((shop, cut, {job: told[1] for job, told in jobs.items()})))


def _taught_jobs(log: Reader, rows: Sequence[LearningRow]) -> dict[str, tuple[str, str, bool]]:
    jobs = list(dict.fromkeys(row.job for row in rows))
    areas, digests, telling = log.area_marks(jobs), _digests(jobs, rows), taught.telling(taught.slabs(rows))
    return {job: (areas.get(job, ""), digests[job], job in telling) for job in jobs}


def _digests(jobs: Iterable[str], rows: Iterable[LearningRow]) -> dict[str, str]:
    """Of each job's readings."""
    found: dict[str, list[LearningRow]] = {job: [] for job in jobs}
    for row in rows:
        found[row.job].append(row)
    return {job: named_by(repr(of)) for job, of in found.items()}


def named_by(text: str) -> str:
    """A short name of a text."""
    return sha256(text.encode("utf-8", "surrogatepass")).hexdigest()[:16]


def of_spot(rows: Iterable[LearningRow], spot: str) -> tuple[LearningRow, ...]:
    """The readings of a spot."""
    return tuple(row for row in rows if row.reading.spot == spot)
