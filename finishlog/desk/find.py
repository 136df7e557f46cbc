"""Find a job from any scrap, and lay it open."""

from __future__ import annotations

from datetime import date, datetime
from typing import TypedDict
from zoneinfo import ZoneInfo

from finishlog.desk import placed as placing
from finishlog.desk import words as say
from finishlog.desk.services import Services
from finishlog.records.log import Entry, Job
from finishlog.records.plan import AsPlaced, Doing, JobPage, Page
from finishlog.units import exact, write, write_date, write_number


class _Only(TypedDict):
    base: str | None
    release: str | None
    pattern: str | None
    since: date | None
    until: date | None


def page(
    services: Services,
    words: str = "",
    *,
    base: str | None = None,
    release: str | None = None,
    pattern: str | None = None,
    since: date | None = None,
    until: date | None = None,
    limit: int | None = None,
    offset: int = 0,
) -> Page:
    """Jobs that fit, best first; with no words all, newest first."""
    only = _Only(base=base, release=release, pattern=pattern, since=since, until=until)
    with services.log().reading() as log:
        lines = log.lines(words=words, **only, limit=limit, offset=offset)
        total = len(lines) if limit is None and not offset else log.count(words=words, **only)
        nearest = () if total or not words.strip() else log.nearest(words)
        return Page(lines, total, log.count(), nearest)


def job_page(services: Services, job: str) -> JobPage:
    """One job with what was placed and done. `job` is its handle or the start of it."""
    with services.log().reading() as log:
        handle = log.resolve(job)
        held, line, shop = log.job(handle), log.line(handle), log.shop()
    zone = ZoneInfo(held.site.zone)
    today = services.clock().astimezone(zone).date()
    areas = placing.areas(held, zone)
    age = (today - line.poured_on).days if line.poured_on else None
    return JobPage(
        job=held,
        line=line,
        sentence=_sentence(areas, age, shop.first_comparable_day, shop.final_color_day, today),
        age_days=age,
        placed=areas,
        doings=doings(held, zone),
        today=today,
    )


def _sentence(areas: tuple[AsPlaced, ...], age: int | None, compare: int, final: int, today: date) -> str:
    """The answer to why this job was opened: can it be matched, can it be judged."""
    from datetime import timedelta

    if age is None:
        return "Planned, not poured."
    if age < final:
        judge = today + timedelta(days=compare - age)
        done = today + timedelta(days=final - age)
        first = "Judge it already with care" if age >= compare else f"Judge it from {write_date(judge)}"
        return f"Still drying lighter. {first}; final color about {write_date(done)}."
    gaps = areas[0].missing if areas else ()
    if areas and areas[0].dose_lb_per_yd3 is None:
        return "Final color. No pigment dose was logged: a match needs samples."
    return (
        f"Final color. {say.count(len(gaps), 'fact')} missing for a match."
        if gaps
        else "Final color, and the record is whole."
    )


def doings(job: Job, zone: ZoneInfo) -> tuple[Doing, ...]:
    """What was done, in order of happening; a replaced entry follows what replaced it."""
    replaced_by = {e.replaces: e.number for e in job.history if e.replaces is not None}
    withdrawn = {e.number for e in job.history if e.withdrawn}
    shown: list[Doing] = []
    for entry in job.entries:
        shown.append(_doing(entry, zone, None, True))
        shown.extend(_doing(old, zone, entry.number, False) for old in _older(entry, job.history))
    for entry in job.history:
        if entry.number in replaced_by and replaced_by[entry.number] in withdrawn:
            shown.append(_doing(entry, zone, replaced_by[entry.number], False))
    return tuple(shown)


def _older(entry: Entry, history: tuple[Entry, ...]) -> list[Entry]:
    by_number = {e.number: e for e in history}
    chain = []
    while entry.replaces is not None and entry.replaces in by_number:
        entry = by_number[entry.replaces]
        chain.append(entry)
    return chain


def _doing(entry: Entry, zone: ZoneInfo, under: int | None, current: bool) -> Doing:
    return Doing(
        number=entry.number,
        happened=entry.happened,
        when=when(entry.happened.astimezone(zone), entry.exactness),
        what=what(entry),
        who=entry.person,
        note=entry.note,
        under=under,
        current=current,
    )


def when(moment: datetime, exactness: str) -> str:
    """`Jun 4 2026, 7:10a`, with "about" where it was said; the day alone where only that is known."""
    if exactness == "day":
        return write_date(moment.date())
    about = "about " if exactness == "about" else ""
    return f"{write_date(moment.date())}, {about}{say.clock(moment)}"


def what(entry: Entry) -> str:
    """One entry in words."""
    if entry.load is not None:
        return _load(entry)
    if entry.coat is not None:
        return _coat(entry)
    if entry.reading is not None:
        reading = entry.reading
        state = f"{'damp' if reading.damp else 'dry'}, {'sealed' if reading.sealed else 'bare'}"
        lab = " ".join(write_number(v, 1) for v in (reading.L, reading.a, reading.b))
        return f"{reading.spot} read, {state}: L*a*b* {lab}"
    verb = _VERBS.get(entry.kind, entry.kind.replace("_", " "))
    left = entry.facts.get("release_left_percent")
    uses = [_use(u.product.name, u.amount, u.unit) for u in entry.materials]
    parts = [verb, *uses, f"{left} % left" if left is not None else None, _fact(entry, "pattern")]
    return ", ".join(p for p in parts if p)


_VERBS = {
    "pour": "poured, last of it placed",
    "powder_release": "release thrown",
    "stamp": "stamped",
    "sweep": "swept",
    "rinse": "rinsed",
    "seal": "sealed",
    "visit": "visited",
}


def _load(entry: Entry) -> str:
    load = entry.load
    assert load is not None
    name = "balance load" if load.is_balance else "load"
    yards = write("volume_yd3", exact(load.yards)) if load.yards is not None else "yards not logged"
    ticket = f"ticket {load.ticket}" if load.ticket else ""
    uses = [_use(u.product.name, u.amount, u.unit) for u in entry.materials]
    return ", ".join(p for p in (f"{name} {yards}", *uses, ticket) if p)


def _coat(entry: Entry) -> str:
    coat = entry.coat
    assert coat is not None
    verb = "resealed" if coat.reseal else "sealed"
    number = f"coat {coat.number}" if coat.number else ""
    return ", ".join(p for p in (verb, number, *(u.product.name for u in entry.materials)) if p)


def _use(name: str, amount: float | None, unit: str) -> str:
    return f"{name} {write_number(amount)} {unit}" if amount is not None else name


def _fact(entry: Entry, key: str) -> str | None:
    value = entry.facts.get(key)
    return None if value is None else str(value)
