"""When a finished slab is due for care (by condition, then by years) and how to prepare it.

Common practice, no source: every number is a setting. A reseal opens the next one's window.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import date, timedelta, tzinfo

from dateutil.relativedelta import relativedelta

from finishlog.records.care import CARE_STATES, CareState, FilmNow, Prepare, Reseal, Sealing, Window
from finishlog.records.log import Area, Customer, Entry, Job
from finishlog.records.shop import Shop
from finishlog.trade import exposure
from finishlog.trade.sealing.chemistry import chemistry_on
from finishlog.trade.sealing.film import film_now
from finishlog.trade.stages.base import FIRST_YEAR, LAST_YEAR
from finishlog.trade.upkeep import care_said, windows
from finishlog.trade.upkeep.season import open_day
from finishlog.units import plain, write_date

SAME_SEALING = timedelta(days=14)
"""Coats closer together than this are one sealing (ours)."""
WORN = ("whitening", "peeling", "tacky", "dull", "worn")
ASK_AGAIN_MONTHS = 3
"""Months until we ask again if no day was named (ours)."""
KINDS = ("seal", "care", "visit", "strip")
"""Entries that decide about care."""
_ORDINAL = ("", "first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth")


# what was done


def sealings(entries: Iterable[Entry], zone: tzinfo) -> tuple[Sealing, ...]:
    """A slab's sealings, oldest first, from its coats and from reseals marked done.

    All but the first are reseals; the first only if logged as one.
    """
    found: list[Sealing] = []
    for entry in entries:
        if not _seals(entry):
            continue
        day = entry.happened.astimezone(zone).date()
        again = entry.kind == "care" or (entry.coat is not None and entry.coat.reseal)
        if found and day - found[-1].last < SAME_SEALING:
            found[-1] = replace(found[-1], last=day, reseal=found[-1].reseal or again)
        else:
            found.append(Sealing(day, day, bool(found) or again))
    return tuple(found)


def _seals(entry: Entry) -> bool:
    return entry.kind == "seal" or (entry.kind == "care" and entry.facts.get("state") == "done")


def _of_area(job: Job, area: Area | None, *kinds: str) -> tuple[Entry, ...]:
    return job.of_kind(*kinds, area=area.uid if area else None)


# the window


def window(job: Job, area: Area | None, shop: Shop, zone: tzinfo) -> Window | None:
    """The next reseal window of an area (None: a job without areas); None if never sealed."""
    entries = _of_area(job, area, *KINDS)
    done = sealings(entries, zone)
    if not done:
        return None
    last = done[-1].last
    harsh = exposure.harsh(job, area)
    opens, closes = windows.reseal_days(last, shop, harsh=bool(harsh))
    seen = _condition(entries, last, zone)
    worn = bool(seen) and seen[1] in WORN if seen else False
    if seen:
        opens, closes = _by_condition(*seen, opens, closes, shop)
    film = film_now(job, area, shop, zone)
    number = sum(sealing.reseal for sealing in done) + 1
    prepare, because = _prepare(job, area, shop, zone, film, seen[1] if seen else None)
    unseen = "" if seen else "; not looked at since"
    lies = f"; {words}" if (words := exposure.lies_words(job, area)) else ""
    why = f"{_by_sight(seen, shop)}sealed {write_date(last)}; {_by_years(harsh, shop)}{lies}{unseen}."
    return Window(
        area.uid if area else None, number, last, opens, closes, f"{why[:1].upper()}{why[1:]}", prepare, because,
        film, worn,
    )  # fmt: skip


def _by_years(harsh: str, shop: Shop) -> str:
    """The interval with its exposure: `due after 1 to 3 years in salt`."""
    low, high = windows.reseal_years(shop, harsh=bool(harsh))
    span = f"{low} to {high} years" if high > low else "a year" if low == 1 else f"{low} years"
    where = f" beside {harsh}" if harsh == "a pool" else f" {harsh}" if harsh else ""
    return f"due after {span}{where or '; no pool, salt or traffic noted'}"


def _by_sight(seen: tuple[date, str] | None, shop: Shop) -> str:
    """Condition seen since and the time it leaves: `dull on May 1 2026, so within 6 months; `."""
    if seen is None:
        return ""
    worn = seen[1] in WORN
    months = shop.reseal_worn_months if worn else shop.reseal_clean_months
    span = f"{months} month" + ("" if months == 1 else "s")
    gives = f", so {'within' if worn else 'not for'} {span}" if months else ""
    return f"{seen[1]} on {write_date(seen[0])}{gives}; "


def _condition(entries: Sequence[Entry], after: date, zone: tzinfo) -> tuple[date, str] | None:
    """Day and condition of the last visit since the slab was sealed."""
    seen = [
        (e.happened.astimezone(zone).date(), str(e.facts["condition"]))
        for e in entries
        if e.kind == "visit" and "condition" in e.facts
    ]
    return seen[-1] if seen and seen[-1][0] > after else None


def _by_condition(seen: date, condition: str, opens: date, closes: date, shop: Shop) -> tuple[date, date]:
    """Worn: due from then, within some months. Clean: not for some months, even past the years."""
    if condition in WORN:
        latest = seen + relativedelta(months=shop.reseal_worn_months)
        return seen, latest if closes < seen else min(closes, latest)
    opens = max(opens, seen + relativedelta(months=shop.reseal_clean_months))
    return opens, closes if closes >= opens else opens + relativedelta(months=shop.reseal_worn_months)


# wipe or strip first


def _prepare(
    job: Job, area: Area | None, shop: Shop, zone: tzinfo, film: FilmNow, condition: str | None
) -> tuple[Prepare, str]:
    """Wipe if the film is thick, hazy or due by count; strip if wiping cannot help."""
    why = "; ".join(_reasons(job, area, shop, zone, film, condition))
    if not why:
        return "nothing", ""
    on = chemistry_on(job, area.uid if area else None)
    if on in ("penetrating", "none"):
        return "nothing", ""
    if condition == "peeling":
        return "strip", f"{why}: strip what's loose; a coat over it peels too."
    if on == "solvent_acrylic":
        return "wipe", f"{why}: wipe with solvent first."
    if on is None:
        return "wipe", f"{why}: do a rag test first; wiping melts only solvent acrylic."
    return "strip", f"{why}: wiping does not melt {on.replace('_', ' ')}, so strip it."


def _reasons(
    job: Job, area: Area | None, shop: Shop, zone: tzinfo, film: FilmNow, condition: str | None
) -> Iterator[str]:
    if condition in ("peeling", "whitening", "tacky"):
        yield f"It is {condition}"
    yield from too_much(job, area, shop, zone, film)


def too_much(job: Job, area: Area | None, shop: Shop, zone: tzinfo, film: FilmNow) -> Iterator[str]:
    """Why one more coat is too many: the film is thick, or a wipe is due by count."""
    if film.over and film.dry_mil is not None:
        yield f"The film is about {plain(film.dry_mil, 1)} mil, over {plain(shop.film_alarm_mil)}"
    since = _since_wipe(job, area, zone) + 1
    if since >= shop.wipe_every:
        yield f"The {_ORDINAL[since] if since < len(_ORDINAL) else f'{since}th'} reseal since the last wipe"


def _since_wipe(job: Job, area: Area | None, zone: tzinfo) -> int:
    """Reseals done since the old film was last wiped or stripped."""
    entries = _of_area(job, area, *KINDS)
    wipes = [
        e.happened
        for e in entries
        if e.kind == "strip" and e.facts.get("extent") != "small_patch" and e.facts.get("how") != "washed"
    ]
    day = wipes[-1].astimezone(zone).date() if wipes else date.min
    return sum(s.reseal and s.first > day for s in sealings(entries, zone))


# as the office has it


def reseal(job: Job, shop: Shop, zone: tzinfo, today: date) -> Reseal | None:
    """The next reseal of a job, led by its earliest-due area; None if never sealed."""
    areas: Sequence[Area | None] = job.areas or (None,)
    found = [(w, area) for area in areas if (w := window(job, area, shop, zone)) is not None]
    if not found:
        return None
    lead, area = min(found, key=lambda one: (one[0].due_from, one[0].due_to))
    with_it = tuple(a.name for w, a in found if a is not None and w.due_from <= lead.due_to)
    said = _said(job, lead.sealed_on, zone)
    state, on, planned, note = _state(said, zone, today)
    owner, before = owner_of(job), care_said.earlier(said, zone)
    written = care_said.reminders(_since(job, said), ("remind", "confirm"), zone, today, shop.care_months)
    if state == "due" and written and not written[-1].bounced:
        state = "written"
    strictest = next((w for wanted in ("strip", "wipe") for w, _ in found if w.prepare == wanted), lead)
    return Reseal(
        uid=uid_of(job, area, lead.number),
        sequence=changes(job),
        job=job.handle, name=job.name, customer=owner, street=job.site.street, town=job.site.town,
        areas=with_it, number=lead.number, sealed_on=lead.sealed_on,
        due_from=lead.due_from, due_to=lead.due_to, why=lead.why,
        state="declined" if owner.leave_alone else state,
        prepare=strictest.prepare, prepare_why=strictest.prepare_why, film=lead.film, worn=lead.worn,
        on=on, planned=planned, moved=_moved(said, on), note=note, left_alone=owner.leave_alone,
        said=before.earlier, wanted=before.asked.day, weekday=before.asked.weekday, written=written,
    )  # fmt: skip


def _since(job: Job, said: Sequence[Entry]) -> list[Entry]:
    """Entries since the last sealing and the last human decision, in order."""
    persons = [e for e in said if e.facts.get("by_plan") is not True]
    words = [e for e in job.entries if _seals(e)] + persons[-1:]
    after = max((_first_number(job, e) for e in words), default=0)
    return sorted(
        (e for e in job.entries if _first_number(job, e) > after), key=lambda e: (e.happened, e.number)
    )


def owner_of(job: Job) -> Customer:
    """Whose slab it is now: houses change hands."""
    return job.owners[-1].customer if job.owners else job.customer


def uid_of(job: Job, area: Area | None, number: int) -> str:
    """A window's stable id: the same in every export for the same reseal of the same slab."""
    return f"{job.uid}-{area.uid if area else 'job'}-reseal-{number}"


def changes(job: Job) -> int:
    """Count of care-relevant entries, corrections and withdrawals; never decreases."""
    return sum(entry.kind in KINDS for entry in job.history)


def _said(job: Job, sealed_on: date, zone: tzinfo) -> list[Entry]:
    """The office's entries on this window, in order."""
    since = max((_first_number(job, e) for e in job.entries if _seals(e)), default=0)
    return [
        e
        for e in job.of_kind("care")
        if not _seals(e) and e.facts.get("state") in CARE_STATES and _first_number(job, e) > since
        and e.happened.astimezone(zone).date() >= sealed_on
    ]  # fmt: skip


def last_word(job: Job, sealed_on: date, zone: tzinfo) -> tuple[CareState, date | None]:
    """The office's last word on the window since that sealing and its day, however long it waited."""
    return _state(_said(job, sealed_on, zone), zone, date.min)[:2]


def _state(
    said: Sequence[Entry], zone: tzinfo, today: date
) -> tuple[CareState, date | None, bool, str | None]:
    """The latest word: state, its day, whether the plan set it, note."""
    if not said:
        return "due", None, False, None
    last = said[-1]
    state: CareState = last.facts["state"]  # type: ignore[assignment]
    on = day_of(last.facts.get("on"))
    if state == "ask_again":
        on = on or last.happened.astimezone(zone).date() + relativedelta(months=ASK_AGAIN_MONTHS)
        if on <= today:
            return "due", None, False, last.note or f"ask again from {write_date(on)}"
    return state, on, last.facts.get("by_plan") is True, last.note


def _moved(said: Sequence[Entry], on: date | None) -> bool:
    """Whether a person moved it off the week plan's day."""
    if on is None or said[-1].facts.get("by_plan") is True:
        return False
    if said[-1].facts["state"] in ("due", "contacted"):
        return True
    planned = [day_of(e.facts.get("on")) for e in said if e.facts.get("by_plan") is True]
    return said[-1].facts["state"] == "booked" and bool(planned) and planned[-1] != on


def _first_number(job: Job, entry: Entry) -> int:
    """The number of its first entry: a correction is not a new statement."""
    if entry.replaces is None:
        return entry.number
    by_number = {each.number: each for each in job.history}
    while entry.replaces is not None and entry.replaces in by_number:
        entry = by_number[entry.replaces]
    return entry.number


def day_of(fact: object) -> date | None:
    """A day stored as text; None if invalid."""
    try:
        day = date.fromisoformat(fact) if isinstance(fact, str) else None
    except ValueError:
        return None
    return day if day is not None and FIRST_YEAR <= day.year <= LAST_YEAR else None


def _last_done(job: Job, zone: tzinfo) -> tuple[Sealing, Area | None, int] | None:
    """The latest reseal of a job with its area and number."""
    best: tuple[Sealing, Area | None, int] | None = None
    for area in job.areas or (None,):
        done = sealings(_of_area(job, area, *KINDS), zone)
        if done and done[-1].reseal and (best is None or done[-1].last > best[0].last):
            best = done[-1], area, sum(s.reseal for s in done)
    return best


def last_done(job: Job, zone: tzinfo) -> Sealing | None:
    """The latest reseal of a job, else None."""
    best = _last_done(job, zone)
    return best[0] if best else None


def done_since(job: Job, shop: Shop, zone: tzinfo, since: date, today: date) -> Reseal | None:
    """The latest reseal if it was done on or after `since`, else None."""
    best = _last_done(job, zone)
    if best is None or best[0].last < since:
        return None
    sealing, area, number = best
    before = [s for s in sealings(_of_area(job, area, *KINDS), zone) if s.last < sealing.first]
    sealed_on = before[-1].last if before else sealing.first
    opens, closes = (
        windows.reseal_days(sealed_on, shop, harsh=bool(exposure.harsh(job, area)))
        if before
        else (sealing.first, sealing.last)
    )
    return Reseal(
        uid_of(job, area, number), changes(job), job.handle, job.name, owner_of(job), job.site.street,
        job.site.town, (area.name,) if area else (), number, sealed_on, opens, closes, "done",
        f"Resealed {write_date(sealing.last)}.", on=sealing.last,
        written=care_said.reminders(_since(job, ()), ("thank",), zone, today, shop.care_months),
    )  # fmt: skip


def gone(job: Job, shop: Shop, zone: tzinfo, today: date) -> tuple[str, ...]:
    """Ids of windows that no longer exist because their cause was withdrawn."""
    replaced = {entry.replaces for entry in job.history}
    if not any(_seals(entry) and entry.number in replaced for entry in job.history):
        return ()
    found: dict[str, None] = {}
    for area in job.areas or (None,):
        now = _next_number(job.entries, area, zone)
        ever = max(_next_number(_standing(job, k), area, zone) for k in range(1, len(job.history) + 1))
        found |= {uid_of(job, area, number): None for number in range(now + 1, ever + 1)}
    return tuple(found)


def _standing(job: Job, logged: int) -> list[Entry]:
    """The entries current after the first `logged` ones, in time order."""
    some = job.history[:logged]
    replaced = {entry.replaces for entry in some}
    standing = [entry for entry in some if entry.number not in replaced and not entry.withdrawn]
    return sorted(standing, key=lambda entry: (entry.happened, entry.number))


def _next_number(entries: Iterable[Entry], area: Area | None, zone: tzinfo) -> int:
    """Number of the window these entries leave open; 0 if nothing was sealed."""
    here = [e for e in entries if area is None or e.area in (None, area.uid)]
    done = sealings(here, zone)
    return sum(s.reseal for s in done) + 1 if done else 0


# the months of the book


def month_of(line: Reseal, today: date, season: Sequence[int]) -> tuple[int, int]:
    """The book's month for a reseal: that of its day, else the first in-season month of its window."""
    if line.on is not None:
        return line.on.year, line.on.month
    return open_month(max(line.due_from, today), season)


def open_month(day: date, season: Sequence[int]) -> tuple[int, int]:
    """A day's month, or the next one in season. `season` must not be empty."""
    opened = open_day(day, season)
    return opened.year, opened.month
