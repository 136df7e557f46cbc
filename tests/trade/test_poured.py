"""The end of the pour and what an entry follows: each fallback by its effect. Rules are ours."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest

from finishlog.records.log import Area, Customer, Entry, Exactness, Job, Load, Site
from finishlog.trade import poured

START = datetime(2026, 6, 4, 13, tzinfo=UTC)
FIELD, STEPS = Area("a1", "field", area_ft2=400), Area("a2", "steps", "stairs")


def entry(kind: str, hours: float, area: str | None = None, exact: Exactness = "exact", *to: str) -> Entry:
    at = START + timedelta(hours=hours)
    load = Load(4.0, areas=tuple((uid, None) for uid in to)) if to else None
    return Entry(int(hours * 10), f"e{kind}{hours}", kind, at, at, exact, area, load=load)


def job(*entries: Entry, areas: tuple[Area, ...] = (FIELD, STEPS)) -> Job:
    return Job("j", "j", "patio", Customer("c", "Ottoline Quillfeather"),
               Site("s", "12 Teakettle Lane", zone="America/Chicago"), areas=areas, entries=entries)  # fmt: skip


@pytest.mark.parametrize(("entries", "field", "steps", "whole"), [
    ((entry("load", 1), entry("pour", 2, "a1"), entry("pour", 50, "a1"), entry("load", 60)), 500, 600, 500),
    ((entry("pour", 2),), 20, 20, 20),  # logged for the whole job
    ((entry("load", 1, None, "exact", "a1"), entry("load", 2, "a2")), 10, 20, 10),
    ((entry("load", 1, "a1"), entry("bag_mix", 30, "a1")), 300, None, 300),
    ((entry("pour", 3, "a2"),), None, 30, 30),  # the field was not poured yet
    ((entry("sample", 1),), None, None, None),
])  # fmt: skip
def test_the_zero_is_the_last_end_else_the_last_load_or_bag(
    entries: tuple[Entry, ...], field: int | None, steps: int | None, whole: int | None
) -> None:
    made = job(*entries)
    found = poured.zero(made, "a1"), poured.zero(made, "a2"), poured.zero_of_job(made)
    assert tuple(each and each.number for each in found) == (field, steps, whole)


@pytest.mark.parametrize(("hours", "exact", "number"), [
    (1, "exact", 20),  # before the first: it is that one's
    (2, "exact", 20),
    (49.5, "exact", 20),
    (49.5, "about", 500),  # within an hour of "about"
    (47, "day", 500),  # on the day of the second, the hour not known
    (60, "exact", 500),
])  # fmt: skip
def test_an_entry_follows_the_last_end_it_may_have_come_after(
    hours: float, exact: Exactness, number: int
) -> None:
    made = job(entry("pour", 2), entry("pour", 50), entry("pour", 900, None, "month"))
    found = poured.end_before(made, entry("photo", hours, None, exact))
    assert found is not None
    assert found.number == number
    ended = poured.ended(made)
    assert ended is not None
    assert ended.number == 500  # a month is no zero of an age in days


@pytest.mark.parametrize(("hours", "exact", "day"), [
    (0, "exact", date(2026, 6, 4)),
    (39.5, "exact", date(2026, 6, 4)),  # 11:30 pm at the site, the next day in UTC
    (45, "exact", date(2026, 6, 6)),  # before the end, on its day
    (45, "month", None),
])  # fmt: skip
def test_the_day_of_a_pour_is_its_own_or_the_last_before_it(
    hours: float, exact: Exactness, day: date | None
) -> None:
    made = job(entry("load", 1), entry("pour", 2), entry("pour", 50))
    assert poured.day_before(made, entry("stamp", hours, None, exact)) == day


def test_without_an_end_the_day_is_that_of_the_loads() -> None:
    assert poured.day_before(job(entry("load", 1)), entry("stamp", 2)) == date(2026, 6, 4)
    assert poured.day_before(job(), entry("stamp", 2)) is None
