"""The book of reseals: due, contacted, booked; each change is an entry of its job."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import replace
from datetime import date, datetime, tzinfo
from fractions import Fraction
from itertools import groupby
from typing import TYPE_CHECKING

from dateutil.relativedelta import relativedelta

from finishlog.desk.doubts.odd import Doubt
from finishlog.desk.plain_data import Json, pick
from finishlog.desk.record import record as recording
from finishlog.desk.record.record import Recorded
from finishlog.errors import InputError
from finishlog.inputs import moments, until
from finishlog.records.care import (
    CARE_STATES,
    MARKS_MOST,
    OPEN,
    Book,
    CareAsked,
    CareCount,
    CareState,
    FilmNow,
    MonthCount,
    Reseal,
    WeekPlan,
)
from finishlog.records.log import Job
from finishlog.records.shop import Shop
from finishlog.records.when import zone_of
from finishlog.retrying import anew
from finishlog.trade.sealing.film import film_now
from finishlog.trade.stages.base import LONGEST_WORDS
from finishlog.trade.upkeep import care, care_line, week
from finishlog.trade.upkeep.asked_day import on_weekday
from finishlog.units import count, exact, write_date

if TYPE_CHECKING:
    from finishlog.desk.services import Services
    from finishlog.store import Reader

AHEAD_MONTHS = 12
PLANNED_TIMES = 2
"""A plan looks at twice the reseals that all its weeks hold (ours): a longer list is cut, and that is said."""
REMINDER = "reminder"
"""The kind of entry that says who was written to."""
Progress = Callable[[int, int], None]


def book(
    services: Services, by: date | None = None, *, limit: int | None = None, offset: int = 0
) -> Book:  # fmt: skip
    """The reseals whose window opens by a day (None: in the next 12 months), and what was done this month.

    Customers who said no stay in it as declined. Archived jobs are left out. With `limit` only so many of
    its lines are read, from `offset` on; counts, months and sentence are of the whole.
    """
    today = services.today()
    until = by or usual_end(today)
    with services.log().reading() as log:
        shop = log.shop()
        asked = care_line.asked(today, until, shop.care_months)
        lines = tuple(
            _in_its_month(line, today, shop)
            for done, job in log.reseals(asked, limit=limit, offset=offset)
            if (line := _line(job, shop, asked, done=done)) is not None
        )
        counts = log.reseal_counts(asked)
        months = _months(log, asked, counts, shop)
    total = sum(each.count for each in counts)
    return Book(today, until, _sentence(counts, by), lines, months, shop.care_months, total, offset,
                tuple(_starts(counts)))  # fmt: skip


def usual_end(today: date) -> date:
    """The book's default end day."""
    return today + relativedelta(months=AHEAD_MONTHS)


def _line(job: Job, shop: Shop, asked: CareAsked, *, done: bool) -> Reseal | None:
    zone = zone_of(job)
    if done:
        return care.done_since(job, shop, zone, asked.since, asked.today)
    return care.reseal(job, shop, zone, asked.today)


def _in_its_month(line: Reseal, today: date, shop: Shop) -> Reseal:
    """What should have been before today stands under this month."""
    return replace(line, month=max(care.month_of(line, today, shop.care_months), (today.year, today.month)))


def _sentence(counts: Sequence[CareCount], by: date | None) -> str:
    still = [each for each in counts if each.state in OPEN]
    many = sum(each.count for each in still)
    if not many:
        return (
            f"No slab due by {write_date(by)}." if by else f"No slab due in the next {AHEAD_MONTHS} months."
        )
    until = f"to {write_date(by)}" if by else f"in the next {AHEAD_MONTHS} months"
    text = f"{count(many, 'reseal')} {'is' if many == 1 else 'are'} open {until}."
    uncalled = sum(each.count for each in still if each.state in ("due", "written"))
    slipped = sum(each.late for each in still)
    text += f" {uncalled} not contacted." if uncalled else " All contacted."
    return text + (f" {slipped} {'is' if slipped == 1 else 'are'} past the window." if slipped else "")


def _months(
    log: Reader, asked: CareAsked, counts: Sequence[CareCount], shop: Shop
) -> tuple[MonthCount, ...]:  # fmt: skip
    numbers = range(asked.month, asked.month + AHEAD_MONTHS)
    sums = {month: sum(each.count for each in counts if each.month == month) for month in numbers}
    few = [month for month, many in sums.items() if 0 < many <= MARKS_MOST]
    states = log.reseal_states(asked, few)
    found = []
    for month, many in sums.items():
        year, at = care_line.month_at(month)
        listed = states.get(month, ())
        closed = at not in shop.care_months
        found.append(MonthCount(year, at, listed, closed, many - len(listed)))
    return tuple(found)


def _starts(counts: Sequence[CareCount]) -> Iterator[tuple[tuple[int, int], int]]:
    at = 0
    for month, group in groupby(counts, key=lambda each: each.month):
        yield care_line.month_at(month), at
        at += sum(each.count for each in group)


def of_job(services: Services, handle: str) -> Reseal | None:
    """The next reseal of one job; None if it never was sealed. Raises InputError for a job that is not there."""
    with services.log().reading() as log:
        job, shop = log.job(log.resolve(handle)), log.shop()
    line = care.reseal(job, shop, zone_of(job), services.today())
    return None if line is None else _in_its_month(line, services.today(), shop)


def film_of(services: Services, handle: str, area: str | None = None) -> tuple[FilmNow, Fraction | None]:
    """The film on a job's slab, and the slab's size in ft2; of one area where it is named. Raises InputError."""
    from finishlog.desk.placed.named import area_of

    with services.log().reading() as log:
        job, shop = log.job(log.resolve(handle)), log.shop()
    one = area_of(job, area)
    sizes = [each.area_ft2 for each in ([one] if one else job.areas)]
    size = sum((exact(each) for each in sizes if each), Fraction(0)) if sizes and all(sizes) else None
    return film_now(job, one, shop, zone_of(job)), size


# what the office does


def read_state(text: str) -> CareState:
    """A state as people write it: `ask-again`, `Booked`. Raises InputError that lists them."""
    word = "_".join(text.strip().lower().replace("-", " ").split())
    found = [state for state in CARE_STATES if state == word] or [
        s for s in CARE_STATES if word and s.startswith(word)
    ]
    if len(found) != 1:
        listed = ", ".join(state.replace("_", "-") for state in CARE_STATES)
        raise InputError(f"“{text[:40]}” is not a reseal state.", f"It can be {listed}.", example="contacted")
    return found[0]


def read_on(text: str, state: CareState, now: datetime, zone: tzinfo) -> date:
    """The day that goes with a state: past for done, else to come, a span too. Raises InputError."""
    if state not in ("written", "done"):
        return until.read_day(text, now.astimezone(zone).date())
    return moments.read_moment(text, now, zone).instant.astimezone(zone).date()


def set_state(
    services: Services,
    handle: str,
    state: CareState,
    *,
    on: date | None = None,
    note: str | None = None,
    person: str | None = None,
    because: str | None = None,
) -> Recorded:
    """Keep what the office did about a reseal; `taking_back.undo` takes it back.

    `on` is the day it is booked for, asked again from (None: some months on), or was done on. done opens the
    next window. Raises InputError where a booking has no day or the job was never sealed, Doubt for a customer
    who said no, an odd day of a booking, or a coat too many (`desk.doubts.bookings`).
    """
    line = of_job(services, handle)
    if line is None:
        raise InputError(f"{handle} was never sealed, so there is nothing to reseal.", where="JOB")
    if state == "booked" and on is None:
        raise InputError("A booking needs a day.", where="--on", example="--on 2026-08-14")
    if line.left_alone and state in ("written", "contacted", "booked") and not because:
        raise Doubt(f"{line.customer.name} wants no reminders.", "If it is so, say why.")
    if state == "written":
        return _written_by_hand(services, line, on=on, note=note, person=person, because=because)
    texts = {"state": state, "note": note or "", "by": person or ""}
    if state == "ask_again":
        on = on or services.today() + relativedelta(months=care.ASK_AGAIN_MONTHS)
    if state in ("due", "contacted") and line.planned and line.on is not None and on in (None, line.on):
        texts |= {"on": line.on.isoformat(), "by_plan": "yes"}
    elif on is not None:
        texts["at" if state == "done" else "on"] = on.isoformat()
    done = recording.record(services, line.job, "care", texts, because=because)
    if state == "booked" and on is not None and not line.due_from <= on <= line.due_to:
        window = f"{write_date(line.due_from)} to {write_date(line.due_to)}"
        return replace(done, warnings=(*done.warnings, f"{write_date(on)} is outside its window, {window}."))
    return done


def offered_day(services: Services, handle: str) -> date | None:
    """The day that was asked for in a call, else the week plan's: None where it has no place in it.

    A weekday that was asked for is its first from the plan's day on.
    """
    line = of_job(services, handle)
    if line is None:
        return None
    if line.wanted is not None and line.wanted >= services.today():
        return line.wanted
    day = _planned_day(services, line)
    return on_weekday(day, line.weekday) if day is not None and line.weekday is not None else day


def _planned_day(services: Services, line: Reseal) -> date | None:
    made = plan(services, max(line.due_from, usual_end(services.today())))
    return next((visit.on for each in made.weeks for visit in each.visits if visit.job == line.job), None)


def to_whom(line: Reseal) -> str:
    """The customer as a reminder keeps it: an imported name may be longer than a person may type."""
    return line.customer.name[:LONGEST_WORDS]


def _written_by_hand(
    services: Services, line: Reseal, *, on: date | None, note: str | None, person: str | None,
    because: str | None,
) -> Recorded:  # fmt: skip
    """Log that a customer was written to outside the program."""
    texts = {"how": "letter", "to": to_whom(line), "note": note or "", "by": person or ""}
    texts["what"] = {"booked": "confirm", "done": "thank"}.get(line.state, "remind")
    if on is not None and on != services.today():
        texts["at"] = on.isoformat()
    return recording.record(services, line.job, REMINDER, texts, because=because)


# the week plan


def plan(
    services: Services,
    by: date | None = None,
    *,
    per_week: int | None = None,
    progress: Progress | None = None,
) -> WeekPlan:
    """The open reseals spread over weeks: within their windows, never over capacity, neighbors together.

    What people booked or moved stays on its day. `per_week` is the shop's setting where None; 0 is refused.
    """
    shop = services.shop()
    capacity = shop.care_per_week if per_week is None else per_week
    if capacity <= 0:
        raise InputError(
            "Zero reseals a week leaves nothing to plan.", where="--per-week", example="--per-week 4"
        )
    most = PLANNED_TIMES * week.HORIZON_WEEKS * capacity
    held = book(services, by, limit=most)
    jobs = [_task(line) for line in held.lines if _to_plan(line, held.today)]
    made = week.plan(jobs, held.today, held.season, capacity, progress, shop.days_off)
    gone_by = [
        (line.job, _gone_by(line.on)) for line in held.lines if line.on and _was_booked(line, held.today)
    ]
    rest = held.total - most
    beyond = (f"Of {held.total:,} reseals the first {most:,} were looked at; the rest are later.",)
    return replace(made, left=(*made.left, *gone_by), how=(*made.how, *(beyond if rest > 0 else ())))


def _to_plan(line: Reseal, today: date) -> bool:
    return line.open and line.state != "ask_again" and not _was_booked(line, today)


def _is_free(line: Reseal, today: date) -> bool:
    """Whether the plan may set its day: nobody did meanwhile."""
    return _to_plan(line, today) and (line.planned or line.on is None)


def _was_booked(line: Reseal, today: date) -> bool:
    return line.state == "booked" and line.on is not None and line.on < today


def _gone_by(on: date) -> str:
    return f"It was booked for {write_date(on)}: was it done?"


def _task(line: Reseal) -> week.Task:
    fixed = None if line.planned else line.on
    return week.Task(
        line.job, line.title, line.street, line.town, line.due_from, line.due_to, fixed, line.worn
    )


@anew
def keep_plan(services: Services, made: WeekPlan, progress: Progress | None = None) -> int:
    """Keep the plan's days with their jobs, all or none; what people set is left alone. Returns how many changed."""
    file_path = services.log().file_path
    with services.log().writing() as log:  # nobody else writes from here on: what others kept is seen
        visits = [visit for each in made.weeks for visit in each.visits]
        held = _free(log, {visit.job for visit in visits}, services.today())
        moved = [v for v in visits if not v.fixed and v.job in held and held[v.job].on != v.on]
        for at, visit in enumerate(moved, 1):
            state = held[visit.job].state
            texts = {
                "state": "due" if state == "written" else state,
                "on": visit.on.isoformat(),
                "by_plan": "yes",
            }
            recording.record_in(log, services, visit.job, "care", texts, file_path=file_path)
            if progress is not None:
                progress(at, len(moved))
    return len(moved)


def _free(log: Reader, handles: Collection[str], today: date) -> dict[str, Reseal]:
    """The reseals of these jobs whose day the plan may set."""
    shop, jobs = log.shop(), log.jobs(handles).values()
    found = [care.reseal(job, shop, zone_of(job), today) for job in jobs if job.state != "archived"]
    return {line.job: line for line in found if line is not None and _is_free(line, today)}


# for other programs


_RESEAL = (
    "job customer=customer.name due_from due_to state wipe strip prepare=prepare_why? why on by_plan=planned moved",
    "number sealed_on areas film_mil=film.dry_mil film_at_least=film.at_least street town customer.phone",
    "customer.email leave_alone=left_alone note said wanted written_on=last_written.on written_how=last_written.how",
    "written_to=last_written.to bounced",
)


def reseal_json(line: Reseal) -> Json:
    """A reseal as `care --json` has it."""
    first, *rest = _RESEAL
    return {**pick(line, first), "month": "{:04d}-{:02d}".format(*line.month), **pick(line, *rest)}


def plan_json(made: WeekPlan) -> Json:
    """The week plan as `care --plan --json` has it."""
    return {
        **pick(made, "per_week cost"),
        "weeks": [
            {
                **pick(each, "monday full"),
                "visits": [pick(v, "job on fixed outside why") for v in each.visits],
            }
            for each in made.weeks
        ],
        "left": [{"job": job, "why": why} for job, why in made.left],
        "how": list(made.how),
    }
