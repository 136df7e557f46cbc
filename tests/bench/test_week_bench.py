"""The week plan of 2,000 due reseals."""

from __future__ import annotations

import random
import time
from datetime import date, timedelta

import pytest

from finishlog.trade.upkeep import week

TODAY = date(2026, 6, 14)
MOST_S = 5.0


def tasks(number: int, streets: int) -> list[week.Task]:
    rolled = random.Random(7)
    found = []
    for i in range(number):
        opens = TODAY + timedelta(days=rolled.randint(-900, 200))
        closes = opens + timedelta(days=rolled.randint(100, 730))
        street = f"{rolled.randint(1, 99)} Lane {rolled.randint(1, streets)}"
        found.append(
            week.Task(f"j{i}", f"j{i}", street, "Nettlewick", opens, closes, None, rolled.random() < 0.1)
        )
    return found


@pytest.mark.bench
@pytest.mark.parametrize("streets", [300, 1500])
def test_two_thousand_due_jobs_are_planned_in_five_seconds_with_progress(streets: int) -> None:
    told: list[int] = []
    work = tasks(2000, streets)
    start = time.perf_counter()
    made = week.plan(work, TODAY, (4, 5, 6, 7, 8, 9, 10), 40, lambda done, _total: told.append(done))
    took = time.perf_counter() - start
    print(f"\n2,000 due, {streets} streets: {took:.2f} s (at most {MOST_S:.0f}); {made.how[-1]}")
    assert told[-1] == 2000
    assert len(told) >= 3
    assert max(len(each.visits) for each in made.weeks) <= 40
    assert took <= MOST_S
