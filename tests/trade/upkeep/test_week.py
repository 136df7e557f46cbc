"""The week plan: against all plans there are on small cases; its rules on any."""

from __future__ import annotations

import itertools
import random
from collections import Counter
from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from finishlog.errors import InputError
from finishlog.records.care import WeekPlan
from finishlog.trade.upkeep import week, week_solve
from finishlog.trade.upkeep.week import Task

TODAY = date(2026, 6, 14)  # a Sunday
SEASON = (4, 5, 6, 7, 8, 9, 10)
MONDAYS = [TODAY + timedelta(days=1 + 7 * k) for k in range(12)]


def task(
    key: str, opens: int, closes: int, street: str = "", fixed: int | None = None, worn: bool = False
) -> Task:
    """A task with its window in days from today."""
    day = None if fixed is None else TODAY + timedelta(days=fixed)
    return Task(key, key, street or f"{key} Street", "Nettlewick", TODAY + timedelta(days=opens),
                TODAY + timedelta(days=closes), day, worn)  # fmt: skip


def visits(made: WeekPlan) -> dict[str, date]:
    return {visit.job: visit.on for each in made.weeks for visit in each.visits}


def some_tasks(number: int, seed: int, streets: int, longest: int = 600) -> list[Task]:
    rolled = random.Random(seed)
    found = []
    for i in range(number):
        opens = rolled.randint(-900, 150)
        closes = opens + rolled.randint(60, longest)
        found.append(task(f"j{i}", opens, closes, f"{rolled.randint(1, 99)} Lane {rolled.randint(1, streets)}",
                          worn=rolled.random() < 0.2))  # fmt: skip
    return found


# the least cost


def brute(
    choices: list[week_solve.Choice], room: dict[date, int], there: set[tuple[week_solve.Place, date]]
) -> float:
    """The least cost over all plans there are."""
    options = [[*choice.costs, None] for choice in choices]
    return min(
        week_solve.cost(choices, plan, there)
        for plan in itertools.product(*options)
        if all(number <= room.get(w, 0) for w, number in Counter(p for p in plan if p is not None).items())
    )


@st.composite
def small(
    draw: st.DrawFn,
) -> tuple[list[week_solve.Choice], dict[date, int], set[tuple[week_solve.Place, date]]]:
    weeks = MONDAYS[:4]
    choices = []
    for _ in range(draw(st.integers(1, 5))):
        first = draw(st.integers(0, 3))
        last = draw(st.integers(first, 3))
        weight = draw(st.sampled_from([1, 2, 4]))
        place = (draw(st.sampled_from("abc")), "nettlewick")
        choices.append(
            week_solve.Choice(place, {weeks[k]: weight * (k - first) for k in range(first, last + 1)})
        )
    room = {monday: draw(st.integers(0, 2)) for monday in weeks}
    there = {(("a", "nettlewick"), weeks[1])} if draw(st.booleans()) else set()
    return choices, room, there


@settings(max_examples=40, deadline=None)
@given(small())
def test_within_two_percent_of_all_plans_there_are(
    case: tuple[list[week_solve.Choice], dict[date, int], set[tuple[week_solve.Place, date]]],
) -> None:
    choices, room, there = case
    solved = week_solve.solve(choices, room, there)
    assert solved.cost == pytest.approx(week_solve.cost(choices, solved.weeks, there))
    assert solved.cost <= brute(choices, room, there) * 1.02 + 1e-9
    used = Counter(w for w in solved.weeks if w is not None)
    assert all(number <= room[w] for w, number in used.items())


@settings(max_examples=40, deadline=None)
@given(small())
def test_the_way_for_many_keeps_its_rules_and_says_how_far_it_may_be_off(
    case: tuple[list[week_solve.Choice], dict[date, int], set[tuple[week_solve.Place, date]]],
) -> None:
    choices, room, there = case
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(week_solve, "EXACT_MOST", 0)
        solved = week_solve.solve(choices, room, there)
    least = brute(choices, room, there)
    assert least - 1e-9 <= solved.cost
    assert solved.cost <= least * (1 + solved.gap / 100) + 1e-6
    used = Counter(w for w in solved.weeks if w is not None)
    assert all(number <= room[w] for w, number in used.items())


# the rules


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 10_000), st.integers(1, 5), st.integers(2, 12))
def test_never_over_capacity_nor_outside_a_window_unless_said(seed: int, per_week: int, number: int) -> None:
    tasks = some_tasks(number, seed, 4)
    made = week.plan(tasks, TODAY, SEASON, per_week)
    by_key = {each.key: each for each in tasks}
    seen = [visit for each in made.weeks for visit in each.visits]
    assert sorted([v.job for v in seen] + [job for job, _ in made.left]) == sorted(by_key)
    for each in made.weeks:
        assert len(each.visits) <= per_week
        assert each.full == (len(each.visits) == per_week)
    for visit in seen:
        of = by_key[visit.job]
        inside = of.due_from <= visit.on <= of.due_to
        assert inside != visit.outside
        assert inside or "window" in visit.why
        assert visit.on > TODAY
        assert visit.on.month in SEASON
        assert visit.on.weekday() < 5


def test_due_work_is_spread_in_the_order_of_need() -> None:
    tasks = [
        task("late", -900, -10),
        task("worn", -5, 300, worn=True),
        *(task(f"n{k}", -5, 300) for k in range(4)),
    ]
    days = visits(week.plan(tasks, TODAY, SEASON, 2))
    assert {k for k, on in days.items() if on < MONDAYS[1]} == {"late", "worn"}
    assert sorted(Counter(on - timedelta(days=on.weekday()) for on in days.values()).values()) == [2, 2, 2]


def test_neighbors_come_on_one_day_even_if_one_waits() -> None:
    tasks = [task("a", -5, 300, "12 Teakettle Lane"), task("b", 16, 300, "14 Teakettle Lane")]
    days = visits(week.plan(tasks, TODAY, SEASON, 4))
    assert days["a"] == days["b"] >= TODAY + timedelta(days=16)
    apart = [task("a", -5, 300, "12 Teakettle Lane"), task("b", 80, 300, "14 Teakettle Lane")]
    assert len(set(visits(week.plan(apart, TODAY, SEASON, 4)).values())) == 2


def test_the_same_street_of_another_town_is_no_neighbor() -> None:
    one = task("a", -5, 300, "12 Main Street")
    other = Task("b", "b", "14 Main Street", "Puddlecombe", one.due_from, one.due_to)
    assert one.place != other.place
    assert one.place == task("c", 0, 9, "212 main  street").place


def test_what_people_set_stays_and_draws_the_neighbor() -> None:
    tasks = [task("set", -5, 300, "12 Teakettle Lane", fixed=17), task("b", -5, 300, "14 Teakettle Lane")]
    made = week.plan(tasks, TODAY, SEASON, 4)
    assert visits(made) == {"set": TODAY + timedelta(days=17), "b": TODAY + timedelta(days=17)}
    assert any("stay on the day" in line for line in made.how)


def test_a_day_set_outside_its_window_stays_and_is_said() -> None:
    made = week.plan([task("set", 100, 300, fixed=17)], TODAY, SEASON, 4)
    [visit] = made.weeks[0].visits
    assert (visit.fixed, visit.outside) == (True, True)
    assert "outside its window" in visit.why


def test_people_may_fill_a_week_beyond_its_number_but_the_plan_does_not() -> None:
    tasks = [*(task(f"s{k}", -5, 300, fixed=2) for k in range(3)), task("free", -5, 300)]
    made = week.plan(tasks, TODAY, SEASON, 2)
    assert visits(made)["free"] >= MONDAYS[1]
    assert any("More than 2" in line for line in made.how)


def test_what_finds_no_room_is_left_with_the_reason() -> None:
    made = week.plan([task(f"n{k}", -5, 5) for k in range(3)], TODAY, SEASON, 2)
    assert len(made.left) == 1
    assert "No room" in made.left[0][1]
    assert len(visits(made)) == 2


def test_a_window_in_the_closed_months_is_said_to_be_outside() -> None:
    winter = Task("w", "w", "1 Hill", None, date(2026, 12, 1), date(2027, 2, 1))
    made = week.plan([winter], TODAY, SEASON, 2)
    [visit] = [visit for each in made.weeks for visit in each.visits]
    assert visit.outside
    assert visit.on.month == 4


@pytest.mark.parametrize(("per_week", "season"), [(0, SEASON), (-1, SEASON), (4, ())])
def test_no_capacity_and_no_season_are_refused(per_week: int, season: tuple[int, ...]) -> None:
    with pytest.raises(InputError):
        week.plan([task("a", 0, 9)], TODAY, season, per_week)


def test_nothing_to_plan_is_no_failure_and_progress_is_told() -> None:
    told: list[tuple[int, int]] = []
    assert week.plan([], TODAY, SEASON, 4).weeks == ()
    week.plan(some_tasks(20, 1, 5), TODAY, SEASON, 4, lambda done, total: told.append((done, total)))
    assert told[-1] == (20, 20)
    assert sorted(told) == told


def test_the_same_work_gives_the_same_plan_in_any_order() -> None:
    tasks = some_tasks(12, 3, 4, longest=300)
    assert visits(week.plan(tasks, TODAY, SEASON, 3)) == visits(week.plan(tasks[::-1], TODAY, SEASON, 3))


def test_what_was_solved_is_remembered_until_something_else_is_asked() -> None:
    mondays = [date(2026, 6, 15), date(2026, 6, 22)]
    choices = [week_solve.Choice(("kiln row", ""), {monday: at for at, monday in enumerate(mondays)})]
    room = dict.fromkeys(mondays, 1)
    first = week_solve.solve(choices, room)
    assert week_solve.solve(list(choices), dict(room)) is first
    assert week_solve.solve(choices, {mondays[0]: 0, mondays[1]: 1}).weeks == (mondays[1],)
    assert first.weeks == (mondays[0],)


def test_why_a_day_is_said() -> None:
    first = MONDAYS[0]
    late, early, worn = task("late", -900, -10), task("early", 300, 330), task("worn", -5, 300, worn=True)
    made = week.plan([late, early, worn], TODAY, SEASON, 4)
    why = {visit.job: visit.why for each in made.weeks for visit in each.visits}
    assert why["late"] == "late: window closed Jun 4 2026"
    assert why["worn"] == "worn, window to Apr 10 2027"
    assert why["early"] == "window to May 10 2027"
    winter = Task("w", "w", "1 Hill", None, date(2026, 12, 1), date(2027, 2, 1))
    [visit] = [v for each in week.plan([winter], TODAY, SEASON, 2).weeks for v in each.visits]
    assert visit.why == "late: window closed Feb 1 2027"
    both = [task("a", -5, 300, "12 Teakettle Lane"), task("b", -5, 300, "14 Teakettle Lane")]
    assert {v.why for each in week.plan(both, TODAY, SEASON, 4).weeks for v in each.visits} == {
        "with its neighbor, window to Apr 10 2027"
    }
    assert visits(made)["late"] == first


def test_the_day_before_a_window_opens_and_the_day_after_it_closes_are_outside() -> None:
    edges = [task("opens", 17, 300, "1 A", fixed=17), task("closes", -5, 17, "2 B", fixed=17),
             task("early", 18, 300, "3 C", fixed=17), task("late", -5, 16, "4 D", fixed=17)]  # fmt: skip
    [only] = week.plan(edges, TODAY, SEASON, 4).weeks
    assert {v.job: v.outside for v in only.visits} == {
        "opens": False,
        "closes": False,
        "early": True,
        "late": True,
    }
    assert {v.why for v in only.visits} == {
        "stays where someone put it", "stays where someone put it, outside its window",
    }  # fmt: skip


def test_within_a_week_the_work_is_spread_over_its_days() -> None:
    made = week.plan([task(key, -5, 5) for key in "abcdefg"], TODAY, SEASON, 7)
    assert sorted(Counter(visits(made).values()).items()) == [
        (MONDAYS[0] + timedelta(days=k), n) for k, n in enumerate((2, 2, 1, 1, 1))
    ]


def test_a_day_off_and_a_weekend_are_left_out() -> None:
    off = [(MONDAYS[0] + timedelta(days=k)) for k in range(3)]
    days = [day.month * 100 + day.day for day in off]
    made = week.plan([task(key, -5, 5) for key in "abc"], TODAY, SEASON, 7, days_off=days)
    assert set(visits(made).values()) == {MONDAYS[0] + timedelta(days=3), MONDAYS[0] + timedelta(days=4)}


def test_the_last_day_of_a_window_is_within_it() -> None:
    [visit] = [v for each in week.plan([task("a", -5, 1)], TODAY, SEASON, 4).weeks for v in each.visits]
    assert (visit.on, visit.outside, visit.why) == (MONDAYS[0], False, "window to Jun 15 2026")
