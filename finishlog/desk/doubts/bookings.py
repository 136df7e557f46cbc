"""Doubts about a reseal before it is booked or logged: its day, or one coat too many."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from finishlog.records.log import Area, Entry, Job
from finishlog.records.shop import Shop
from finishlog.records.writing import NewEntry
from finishlog.trade.sealing.film import film_now
from finishlog.trade.upkeep import care
from finishlog.trade.upkeep.season import odd_day

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

    from finishlog.desk.doubts.scene import Scene

WORDS = {"wipe": "wipe first", "strip": "strip first"}
"""The work that comes before a coat, in two words."""


def first_of(job: Job, area: str | None, shop: Shop, zone: ZoneInfo) -> tuple[str, str]:
    """What to do before the next coat, in two words and as a sentence with its reason; of an area by its uid, or
    the strictest of all. Blank where nothing is."""
    found = [care.window(job, each, shop, zone) for each in _areas(job, area)]
    for wanted, words in reversed(WORDS.items()):
        if (one := next((w for w in found if w is not None and w.prepare == wanted), None)) is not None:
            return words, one.prepare_why
    return "", ""


def _areas(job: Job, area: str | None) -> tuple[Area | None, ...]:
    return tuple(each for each in job.areas if area in (None, each.uid)) or (None,)


def doubts(new: NewEntry, scene: Scene) -> Iterator[str]:
    """Questions about a booking or a logged reseal, one sentence each."""
    if new.kind == "care" and new.facts.get("state") == "booked" and new.facts.get("by_plan") is not True:
        yield from _booking(new, scene)
    elif _begins_a_reseal(new, scene):
        yield from _too_much(new, scene)


def _booking(new: NewEntry, scene: Scene) -> Iterator[str]:
    on = care.day_of(new.facts.get("on"))
    if on is not None:
        yield from odd_day(on, scene.day(new.happened), scene.shop)
    yield from _too_much(new, scene)


def _begins_a_reseal(new: NewEntry, scene: Scene) -> bool:
    """Whether the first coat of a reseal is logged; later coats are not asked about."""
    done = new.kind == "care" and new.facts.get("state") == "done"
    if not (done or (new.kind == "seal" and new.coat is not None and new.coat.reseal)):
        return False
    before = [entry for entry in scene.entries("seal", "care", area=new.area) if _seals(entry)]
    return not any(abs(new.happened - entry.happened) < care.SAME_SEALING for entry in before)


def _seals(entry: Entry) -> bool:
    return entry.kind == "seal" or entry.facts.get("state") == "done"


def _too_much(new: NewEntry, scene: Scene) -> Iterator[str]:
    """Film over its limit, or a wipe due by count, on any area of the entry."""
    uid = next((each.uid for each in scene.job.areas if each.name == new.area), None)
    told: dict[str, None] = {}
    for area in _areas(scene.job, uid):
        if (window := care.window(scene.job, area, scene.shop, scene.zone)) is None:
            continue
        if window.sealed_on > scene.day(new.happened):
            continue  # an old coat that is logged late: what came after it tells nothing of then
        film = film_now(scene.job, area, scene.shop, scene.zone)
        if window.prepare != "nothing":
            told |= dict.fromkeys(care.too_much(scene.job, area, scene.shop, scene.zone, film))
    yield from (f"{reason}: wipe or strip first." for reason in told)
