"""The week plan: due reseals spread over weeks, in their windows, within capacity, neighbors together.

It minimizes this cost, in weeks of waiting (ours):
    sum of weight x weeks after the first week it could be done   (weight 1; 2 where worn; 4 where late)
        + TRIP for each street visited in a week, unless a fixed visit is there anyway
        + LEFT for each reseal without a place
Within a week, neighbors share a day if their windows allow.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from finishlog.errors import InputError
from finishlog.records.care import Visit, Week, WeekPlan
from finishlog.trade.upkeep import week_solve
from finishlog.trade.upkeep.season import is_day_off
from finishlog.trade.upkeep.week_solve import LEFT, TRIP, Choice
from finishlog.units import plain, write_date, write_weekday
from finishlog.units.writing import exact

WORKDAYS = 5
WORN, LATE = 2, 4
SPARE_WEEKS = 8
"""Weeks considered beyond those the work fills."""
HORIZON_WEEKS = 160
"""Plans look no further than about three years."""

Progress = Callable[[int, int], None]


@dataclass(frozen=True, slots=True)
class Task:
    """A reseal to plan. `fixed` is the day a person set; `worn`: due by condition."""

    key: str
    title: str
    street: str
    town: str | None
    due_from: date
    due_to: date
    fixed: date | None = None
    worn: bool = False

    @property
    def place(self) -> tuple[str, str]:
        """Street without house number, plus town: the same for neighbors."""
        words = " ".join(self.street.casefold().replace(",", " ").split()).split(" ")
        street = words[1:] if len(words) > 1 and any(c.isdigit() for c in words[0]) else words
        return " ".join(street), (self.town or "").strip().casefold()


def plan(
    tasks: Sequence[Task],
    today: date,
    season: Sequence[int],
    per_week: int,
    progress: Progress | None = None,
    days_off: Sequence[int] = (),
) -> WeekPlan:
    """The plan from tomorrow on. `season` is the months we seal, `per_week` the weekly capacity.

    Deterministic. Raises InputError for no capacity or an empty season.
    """
    if per_week <= 0:
        raise InputError("Zero reseals a week leaves nothing to plan.", where="--per-week", example="4")
    if not season:
        raise InputError(
            "A season with no months leaves nothing to plan.", where="care_months", example="4-10"
        )
    fixed = [task for task in tasks if task.fixed is not None]
    free = sorted((t for t in tasks if t.fixed is None), key=lambda t: (t.due_to, t.due_from, t.key))
    tell = progress or (lambda done, total: None)
    first = today + timedelta(days=1)
    workdays = _workdays(first, set(season), days_off)
    choices = [_choice(task, first, workdays, len(tasks) // per_week + SPARE_WEEKS) for task in free]
    tell(len(tasks) // 4, len(tasks))
    room = _room(choices, fixed, per_week)
    there = {(task.place, _monday(task.fixed)) for task in fixed if task.fixed}
    solved = week_solve.solve([choice for choice, _ in choices], room, there)
    tell(len(tasks) * 3 // 4, len(tasks))
    placed = [
        (t, days[1][w], w) for t, days, w in zip(free, choices, solved.weeks, strict=True) if w is not None
    ]
    left = tuple(
        (task.key, _why_left(task, choice, per_week))
        for task, (choice, _), week in zip(free, choices, solved.weeks, strict=True)
        if week is None
    )
    weeks = _weeks(fixed, placed, per_week)
    tell(len(tasks), len(tasks))
    return WeekPlan(weeks, left, tuple(_how(weeks, fixed, left, per_week, solved)), solved.cost, per_week)


def _monday(day: date) -> date:
    return day - timedelta(days=day.weekday())


_Days = dict[date, tuple[date, ...]]
"""The days of a task by the Monday of their week."""


def _workdays(first: date, season: set[int], days_off: Sequence[int]) -> list[date]:
    """Sealing days from `first` on: Monday to Friday, in season, no days off."""
    days = (first + timedelta(days=step) for step in range(HORIZON_WEEKS * 7))
    return [
        day
        for day in days
        if day.weekday() < WORKDAYS and day.month in season and not is_day_off(day, days_off)
    ]


def _choice(task: Task, first: date, workdays: Sequence[date], most: int) -> tuple[Choice, _Days]:
    """A task's possible weeks with cost and days."""
    from bisect import bisect_left, bisect_right

    low, high = bisect_left(workdays, task.due_from), bisect_right(workdays, task.due_to)
    outside = low >= high
    days = workdays[low:high] if not outside else workdays[min(low, len(workdays)) :]
    by_week: defaultdict[date, list[date]] = defaultdict(list)
    for day in days:
        monday = _monday(day)
        if monday not in by_week and len(by_week) >= most:
            break
        by_week[monday].append(day)
    weight = LATE if task.due_to < first else WORN if task.worn else 1
    begin = min(by_week, default=first)
    costs = {monday: weight * ((monday - begin).days // 7) for monday in by_week}
    return Choice(task.place, costs, outside), {monday: tuple(some) for monday, some in by_week.items()}


def _room(
    choices: Sequence[tuple[Choice, _Days]], fixed: Sequence[Task], per_week: int
) -> Mapping[date, int]:
    """Capacity left in each week besides fixed visits."""
    taken: defaultdict[date, int] = defaultdict(int)
    for task in fixed:
        if task.fixed is not None:
            taken[_monday(task.fixed)] += 1
    mondays = sorted({monday for choice, _ in choices for monday in choice.costs})
    return {monday: max(per_week - taken[monday], 0) for monday in mondays}


# days within the weeks


def _weeks(
    fixed: Sequence[Task], placed: Sequence[tuple[Task, tuple[date, ...], date]], per_week: int
) -> tuple[Week, ...]:
    visits: defaultdict[date, list[Visit]] = defaultdict(list)
    for task in fixed:
        if task.fixed is not None:
            outside = not task.due_from <= task.fixed <= task.due_to
            why = "stays where someone put it" + (", outside its window" if outside else "")
            visits[_monday(task.fixed)].append(_visit(task, task.fixed, why, fixed=True, outside=outside))
    by_week: defaultdict[date, list[tuple[Task, tuple[date, ...]]]] = defaultdict(list)
    for task, days, monday in placed:
        by_week[monday].append((task, days))
    for monday, some in by_week.items():
        visits[monday] += _on_days(some, visits[monday])
    return tuple(
        Week(monday, tuple(sorted(visits[monday], key=lambda v: (v.on, v.street, v.job))),
             len(visits[monday]) >= per_week)
        for monday in sorted(visits)
    )  # fmt: skip


def _on_days(tasks: Sequence[tuple[Task, tuple[date, ...]]], set_already: Sequence[Visit]) -> Iterator[Visit]:
    """The day of each task in a week: neighbors first, on a fixed day if any, else on the least busy."""
    load: defaultdict[date, int] = defaultdict(int)
    for visit in set_already:
        load[visit.on] += 1
    there = {_place_of(visit): visit.on for visit in set_already}
    groups: defaultdict[tuple[str, str], list[tuple[Task, tuple[date, ...]]]] = defaultdict(list)
    for task, days in tasks:
        groups[task.place].append((task, days))
    for place, some in sorted(groups.items(), key=lambda group: (-len(group[1]), group[0])):
        rest = some
        while rest:
            day = _best_day(rest, load, there.get(place))
            here = [task for task, days in rest if day in days]
            rest = [(task, days) for task, days in rest if day not in days]
            load[day] += len(here)
            together = len(here) > 1 or there.get(place) == day
            for task in here:
                outside = not task.due_from <= day <= task.due_to
                yield _visit(task, day, _why(task, day, together), fixed=False, outside=outside)


def _place_of(visit: Visit) -> tuple[str, str]:
    return Task("", "", visit.street, visit.town, visit.due_from, visit.due_to).place


def _best_day(
    rest: Sequence[tuple[Task, tuple[date, ...]]], load: Mapping[date, int], there: date | None
) -> date:
    days = sorted({day for _, some in rest for day in some})
    return max(
        days, key=lambda d: (sum(d in some for _, some in rest), d == there, -load.get(d, 0), -d.toordinal())
    )


def _visit(task: Task, day: date, why: str, *, fixed: bool, outside: bool) -> Visit:
    return Visit(
        task.key, task.title, task.street, task.town, day, task.due_from, task.due_to, fixed, outside, why
    )


def _why(task: Task, day: date, together: bool) -> str:
    parts = ["with its neighbor" if together else "", "worn" if task.worn else ""]
    if day > task.due_to:
        parts.append(f"late: window closed {write_date(task.due_to)}" if task.due_to < day else "")
    elif day < task.due_from:
        parts.append(f"early: window opens {write_date(task.due_from)}")
    else:
        parts.append(f"window to {write_date(task.due_to)}")
    return ", ".join(part for part in parts if part)


# in words


def _why_left(task: Task, choice: Choice, per_week: int) -> str:
    if not choice.costs:
        return "No sealing day found within three years."
    last = max(choice.costs)
    return (
        f"No room through the week of {write_weekday(last)}: {per_week} a week is full. "
        f"Its window is {write_date(task.due_from)} to {write_date(task.due_to)}; raise the number or move others."
    )


def _how(
    weeks: Sequence[Week],
    fixed: Sequence[Task],
    left: Sequence[tuple[str, str]],
    per_week: int,
    solved: week_solve.Solved,
) -> Iterator[str]:
    visits = [visit for week in weeks for visit in week.visits]
    yield f"{len(visits)} reseals in {len(weeks)} weeks, {per_week} a week at most."
    if fixed:
        yield f"{len(fixed)} stay on the day someone set; the rest are planned around them."
    over = [week for week in weeks if len(week.visits) > per_week]
    if over:
        listed = ", ".join(write_weekday(week.monday) for week in over)
        yield f"More than {per_week} set by hand in the week of {listed}: move some."
    yield "Earliest room in each window; worn slabs count double, late ones four times."
    yield f"Extra trips count as {TRIP} weeks' delay, so neighbors share a visit."
    late = sum(visit.outside and not visit.fixed for visit in visits)
    if late:
        yield f"{late} fall outside their windows: past, or with no sealing month."
    if left:
        yield f"{len(left)} found no room."
    yield (
        solved.how
        if not solved.gap
        else f"{solved.how} (at most {plain(exact(round(solved.gap, 1)), 1)} % over the lowest cost)"
    )


__all__ = ["LEFT", "TRIP", "Task", "plan"]
