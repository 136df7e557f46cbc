"""The sweep before a rinse: asked if due and not logged, saved with the rinse."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from finishlog.desk.doubts.odd import Doubt
from finishlog.inputs.asking import Field
from finishlog.inputs.entry import entries
from finishlog.inputs.entry.swept import KEY, KIND, Swept, read_swept
from finishlog.records.log import Area, Entry, Job
from finishlog.records.when import NO_HOUR, zone_of
from finishlog.records.writing import NewEntry
from finishlog.trade.poured import ends, followed, is_before

if TYPE_CHECKING:
    from finishlog.desk.record.job_now import Stand
    from finishlog.records.shop import Shop
    from finishlog.store import Reader

RINSE, SWEEP = KIND, "sweep"
POWDER = "powder_release"
QUESTION = "Swept before the rinse? The pounds of powder kept, yes, no or unknown."


@dataclass(frozen=True, slots=True)
class Before:
    """What a rinse says about the sweep: a sweep entry if there is none yet, and warnings."""

    sweep: NewEntry | None = None
    note: str = ""


def is_due(log: Reader, job: Job, area: str | None, now: datetime, shop: Shop) -> bool:
    """Whether a sweep of powder known to be there is still due.

    `area` is an area's name; None: the whole job.
    """
    places: tuple[Area | None, ...] = tuple(e for e in job.areas if area in (None, e.name)) or (None,)
    uids = {None if place is None else place.uid for place in places}
    back = now - timedelta(days=shop.let_go_days)
    lines = [
        line
        for line in log.due_of(job.handle)
        if line.key == SWEEP and line.closes >= back and (line.area is None or line.area in uids)
    ]
    return bool(lines) and any(_has_powder(job, place) for place in places)


def _has_powder(job: Job, area: Area | None) -> bool:
    recipe = area.recipe if area else None
    planned = recipe is not None and recipe.stage(POWDER) is not None
    return planned or bool(job.of_kind(POWDER, area=area.uid if area else None))


def asked(
    log: Reader, now: Stand, kind: str, area: str | None, fields: tuple[Field, ...]
) -> tuple[Field, ...]:
    """Fields of a new entry's form: the sweep is asked only if it is due."""
    if kind != KIND:
        return fields
    if is_due(log, now.job, area, now.context.now, log.shop()):
        return tuple(replace(f, required=True, ask=QUESTION) if f.key == KEY else f for f in fields)
    return tuple(field for field in fields if field.key != KEY)


def told(log: Reader, now: Stand, texts: Mapping[str, str], because: str | None, asks: bool = True) -> Before:
    """The answer's result. Raises Doubt if it `asks`, the sweep was due and the answer is blank."""
    rinse, _ = entries.read(KIND, texts, now.context)
    if rinse is None:  # what is wrong with it is said when it is kept
        return Before()
    text = texts.get(KEY, "").strip()
    if not text:
        asks = asks and not (because or "").strip()
        if asks and is_due(log, now.job, rinse.area, now.context.now, log.shop()):
            example = '--set swept="3 lb" or --set swept=no'
            raise Doubt(QUESTION, "The sweep before it is not logged.", where=KEY, example=example)
        return Before()
    answer = read_swept(text)
    if not answer.was:
        return Before()
    there = _last_sweep(now.job, rinse)
    if there is not None:
        return Before(note=_stands(there, answer))
    return Before(_sweep(rinse, answer))


def _last_sweep(job: Job, rinse: NewEntry) -> Entry | None:
    """The logged sweep of this pour, or None."""
    area = next((each.uid for each in job.areas if each.name == rinse.area), None)
    zone = zone_of(job)
    end = followed(ends(job, area), rinse, zone)
    found = [each for each in job.of_kind(SWEEP, area=area) if end is None or not is_before(each, end, zone)]
    return found[-1] if found else None


def _stands(sweep: Entry, answer: Swept) -> str:
    kept = sweep.facts.get("reclaimed_lb")
    if answer.kept_lb is None or kept == float(answer.kept_lb):
        return ""
    return f"The sweep is already logged as entry {sweep.number}: correct that one if the pounds are off."


def _sweep(rinse: NewEntry, answer: Swept) -> NewEntry:
    """Done before the rinse, hour unknown."""
    exactness = rinse.exactness if rinse.exactness in NO_HOUR else "about"
    facts = {} if answer.kept_lb is None else {"reclaimed_lb": float(answer.kept_lb)}
    return NewEntry(SWEEP, rinse.happened, exactness, rinse.area, person=rinse.person, facts=facts)
