"""One job laid open: what was placed, what was done, and the answer to why it was opened."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from finishlog.desk import said
from finishlog.desk import words as say
from finishlog.desk.placed import placed as placing
from finishlog.desk.placed import still_to_come
from finishlog.desk.plan import saved
from finishlog.desk.services import Services
from finishlog.records.log import Entry, Job
from finishlog.records.page import Doing, JobPage
from finishlog.records.placed import AsPlaced
from finishlog.records.shop import Shop
from finishlog.records.when import day_of, has_days, has_hours, poured_once, zone_of
from finishlog.trade.poured import END, zero_of_job
from finishlog.trade.upkeep.windows import first_comparable
from finishlog.units import count, write_date


def lay_open(services: Services, job: str) -> JobPage:
    """One job with what was placed and done. `job` is its handle or the start of it."""
    with services.log().reading() as log:
        handle = log.resolve(job)
        with log.page_at_hand(handle):
            held, line, shop = log.job(handle), log.line(handle), log.shop()
            planned = saved.of_job(log, held)
            due = log.due_of(handle)
    zone = zone_of(held)
    today = services.clock().astimezone(zone).date()
    areas = placing.areas(held, zone, shop.off_dose_percent, shop.first_comparable_day)
    zero = zero_of_job(held) if line.poured_on else None
    age = (today - day_of(held, zero)).days if zero and has_days(zero.exactness) else None
    poured = poured_once(held)
    sentence = _sentence(poured, areas, age, shop, today)
    if planned and not poured:
        from finishlog.desk.plan import words

        sentence = words.answer(planned.plan)
    return JobPage(
        job=held,
        line=line,
        sentence=sentence,
        age_days=age,
        placed=areas,
        doings=doings(held, zone),
        today=today,
        planned=planned and replace(planned, given=planned.given.astimezone(zone)),
        to_come=still_to_come.of(due, services.clock(), zone) if poured else {},
        age_h=_age_h(zero, services.clock()),
    )


def _age_h(zero: Entry | None, now: datetime) -> float | None:
    """Hours since the pour ended; None if its hour was not logged."""
    if zero is None or zero.kind != END or not has_hours(zero.exactness):
        return None
    return (now - zero.happened).total_seconds() / 3600


def _sentence(poured: bool, areas: tuple[AsPlaced, ...], age: int | None, shop: Shop, today: date) -> str:
    """The answer to why this job was opened: can it be matched, can it be judged."""
    if age is None:
        return "Pour date unknown: no age." if poured else "Planned, not poured."
    if age < shop.final_color_day:
        judge = first_comparable(today - timedelta(days=age), shop)
        done = today + timedelta(days=shop.final_color_day - age)
        first = "Compare it now, with care" if today >= judge else f"Compare it from {write_date(judge)}"
        return f"Still drying lighter. {first}; final color about {write_date(done)}."
    gaps = areas[0].missing if areas else ()
    if areas and areas[0].dose_lb_per_yd3 is None:
        return "Final color. No pigment dose logged: a match needs samples."
    return (
        f"Final color. {count(len(gaps), 'fact')} missing for a match."
        if gaps
        else "Final color; record complete."
    )


def doings(job: Job, zone: ZoneInfo) -> tuple[Doing, ...]:
    """What was done, in order of happening; what was replaced follows what replaced it, then what was withdrawn."""
    later = {e.replaces: e for e in job.history if e.replaces is not None}
    names = {area.uid: area.name for area in job.areas}
    gone = [e for e in job.history if e.withdrawn and e.number not in later]
    shown: list[Doing] = []
    for last in (*job.entries, *gone):
        shown += [_doing(last, zone, names, None)] if not last.withdrawn else []
        shown += [
            _doing(old, zone, names, later[old.number])
            for old in _older(last, job.history)
            if not old.withdrawn
        ]
    return tuple(shown)


def _older(entry: Entry, history: tuple[Entry, ...]) -> list[Entry]:
    by_number = {e.number: e for e in history}
    chain = []
    while entry.replaces is not None and entry.replaces in by_number:
        entry = by_number[entry.replaces]
        chain.append(entry)
    return chain


def _doing(entry: Entry, zone: ZoneInfo, names: dict[str, str], under: Entry | None) -> Doing:
    return Doing(
        number=entry.number,
        happened=entry.happened,
        when=say.when(entry.happened.astimezone(zone), entry.exactness),
        what=said.what(entry),
        who=entry.person,
        note=entry.note,
        under=under.number if under else None,
        current=under is None,
        further=said.further(entry, names),
        was=_was(under) if under else "",
    )


def _was(under: Entry) -> str:
    """Why an entry is no longer current, from what replaced it."""
    if "moved_to" in under.facts:
        return f"moved to {under.facts['moved_to']}, entry {under.facts['moved_to_entry']}"
    return "withdrawn" if under.withdrawn else "corrected"
