"""One reading of any value, wrongly typed or of the wrong thing, does not rule: not its own job, and no other."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from finishlog.color.aging import learn, weathering
from finishlog.color.notation.space import delta_e_2000
from finishlog.desk.color import color
from finishlog.desk.color import learned as color_learned
from finishlog.desk.color.learned import State
from finishlog.records.answers import LearningRow
from finishlog.records.log import Reading
from tests.color.cure_truth import READING_SD, Floats, Shop, Truth

POURED = datetime(2025, 3, 1, tzinfo=UTC)
AGES = (7.0, 45.0, 180.0, 720.0)
START = State(learn.unlearned(), weathering.learn_pace([]), weathering.learn_look([]), 0)


def row(
    number: int, job: str, recipe: str, age: float, lab: Floats | tuple[float, ...], **more: bool
) -> LearningRow:
    L, a, b = map(float, lab)
    return LearningRow(
        job, "field", recipe, POURED, number, POURED + timedelta(days=age), Reading(L, a, b, **more)
    )


class Past:
    """A sane log, every second job read again at ten months, and new slabs of known and unknown recipes."""

    def __init__(self, seed: int, jobs: int, recipes: int) -> None:
        shop = Shop(seed, Truth(jobs=jobs, recipes=recipes))
        self.rows: list[LearningRow] = []
        for i, slab in enumerate(shop.log):
            self.rows += [row(100 * i + k, f"j{i}", slab.recipe, age, lab)
                          for k, (age, lab) in enumerate(zip(slab.ages, slab.lab, strict=True))]  # fmt: skip
            if i % 2 == 0:
                weathered = slab.true(300) + (0.7, 0, -0.4) + shop.rng.normal(0, 1, 3) * READING_SD
                self.rows.append(row(100 * i + 50, f"j{i}", slab.recipe, 300, weathered))
        fresh = [shop.another(recipe) for recipe in ("r0", "r1", "r2", None, None)]
        self.new = [
            [
                row(9000, "new", slab.recipe, age, lab)
                for age, lab in zip(slab.ages[:2], slab.lab[:2], strict=True)
            ]
            for slab in fresh
        ]

    def forecasts(self, state: State) -> tuple[Floats, Floats]:
        """L*a*b* and sd of the new slabs at AGES, (slabs, ages, 3)."""
        made = [
            color.curve(state, rows[0].recipe, color_learned.sort(rows), ()).at(AGES) for rows in self.new
        ]
        sd = [np.sqrt(np.einsum("mii->mi", cov)) for _, cov in made]
        return np.array([lab for lab, _ in made]), np.array(sd)


PAST = Past(1, 9, 3)
RECIPES = {r.job: r.recipe or "" for r in PAST.rows}
CLEAN = PAST.forecasts(color_learned.learned(tuple(PAST.rows)))
UNREAD = np.sqrt(np.diag(START.learned.prior("new").cov)[:3]) * START.learned.prior("new").widen
"""What the built-in start gives an unread slab's settled color."""

concrete = st.tuples(st.floats(8, 98), st.floats(-50, 50), st.floats(-50, 50))
anything = st.one_of(
    concrete, concrete, st.tuples(st.floats(0, 100), st.floats(-128, 128), st.floats(-128, 128))
)
ages = st.one_of(st.floats(0, 60), st.floats(60, 4000))


def poisoned(job: str, recipe: str, age: float, lab: tuple[float, ...], sealed: bool) -> State:
    wrong = row(8000, job, recipe, age, lab, sealed=sealed)
    return color_learned.learned.__wrapped__((*PAST.rows, wrong))


def check(job: str, recipe: str, age: float, lab: tuple[float, ...], sealed: bool) -> None:
    found, sd = PAST.forecasts(poisoned(job, recipe, age, lab, sealed))
    off = delta_e_2000(found, CLEAN[0])
    assert np.median(off) < 1
    assert off.max() < 6
    assert (found[..., 0] >= 0).all()
    assert (found[..., 0] <= 100).all()
    assert (sd <= UNREAD).all()
    assert (sd / CLEAN[1]).max() < 2


def one_reading(examples: int):  # type: ignore[no-untyped-def]
    def wrap(test):  # type: ignore[no-untyped-def]
        told = given(
            where=st.sampled_from([*((job, RECIPES[job]) for job in ("j0", "j1")),
                                   ("x", "r0"), ("x", "unlike any")]),
            age=ages, lab=anything, sealed=st.booleans(),
        )  # fmt: skip
        return settings(
            max_examples=examples, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck)
        )(told(test))

    return wrap


@one_reading(5)
def test_one_reading_of_any_value_moves_other_jobs_little(where, age, lab, sealed) -> None:  # type: ignore[no-untyped-def]
    check(*where, age, lab, sealed)


@pytest.mark.long
@one_reading(400)
def test_four_hundred_readings_of_any_value_move_other_jobs_little(where, age, lab, sealed) -> None:  # type: ignore[no-untyped-def]
    check(*where, age, lab, sealed)


@pytest.mark.parametrize(
    ("job", "age", "lab", "sealed"),
    [
        ("j1", 107.0, (0.0, 0.0, 0.0), False),
        ("j1", 107.0, (12.0, 0.0, 0.0), False),
        ("j1", 107.0, (60.0, 45.0, -45.0), False),
        ("x", 30.0, (95.0, 0.0, 0.0), False),
        ("j1", 107.0, (50.0, 120.0, -120.0), False),
        ("j1", 720.0, (100.0, 0.0, 0.0), False),
        ("x", 30.0, (0.0, 0.0, 0.0), False),
        ("j0", 100.0, (12.0, 0.0, 0.0), True),
    ],
)
def test_what_once_poisoned_the_log_does_so_no_more(
    job: str, age: float, lab: tuple[float, ...], sealed: bool
) -> None:
    check(job, RECIPES.get(job, "r0"), age, lab, sealed)


def test_a_pace_of_weathering_is_not_learned_from_a_slab_far_off_the_others() -> None:
    """A black reading three weeks after the curve's end is a pace of some -300 L* a year: that is no weathering."""
    settled, doubt = np.array([58.0, 5, 13]), np.full(3, 0.5)
    years = weathering.effective_years([107.0])
    black = weathering.Aged(years, np.array([[0.0, 0, 0]]), np.full((1, 3), 1.0), settled, doubt)
    learned = weathering.learn_pace([black])
    assert learned.mean == pytest.approx(weathering.START_PACE, abs=0.1)
    assert (learned.sd <= weathering.START_PACE_SD).all()


@pytest.mark.parametrize("order", [1, -1])
def test_late_readings_are_weighed_together_whichever_came_first(order: int) -> None:
    ages = np.array([100.0, 160.0, 220.0])
    read = np.array([[58.0, 5, 13], [58.5, 5, 13], [5.0, 0, 0]])[::order]
    made = weathering.settle(np.array([57.0, 5, 13]), np.diag([4.0, 1, 1]), weathering.learn_pace([]), ages, read,
                             np.tile(READING_SD**2, (3, 1)))  # fmt: skip
    assert made.weight[::order] == pytest.approx([1, 1, 0], abs=0.01)
    assert made.at([200.0])[0][0] == pytest.approx([58.4, 5, 12.8], abs=0.5)


def some_readings(examples: int):  # type: ignore[no-untyped-def]
    def wrap(test):  # type: ignore[no-untyped-def]
        told = given(
            read=st.lists(st.tuples(ages, anything), min_size=1, max_size=4),
            recipe=st.sampled_from(["r0", "unlike any"]), learned=st.booleans(),
        )  # fmt: skip
        told = example(read=[(0.0, (8.0, -37.0, -19.0))], recipe="unlike any", learned=True)(told(test))
        return settings(
            max_examples=examples, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck)
        )(told)

    return wrap


@some_readings(40)
def test_no_readings_make_a_forecast_that_no_slab_can_have(read, recipe, learned) -> None:  # type: ignore[no-untyped-def]
    check_possible(read, recipe, learned)


@pytest.mark.long
@some_readings(400)
def test_four_hundred_sets_of_readings_make_none_either(read, recipe, learned) -> None:  # type: ignore[no-untyped-def]
    check_possible(read, recipe, learned)


def check_possible(read, recipe, learned) -> None:  # type: ignore[no-untyped-def]
    """L* within 0 to 100, and no wider than what is said of a slab that nobody read."""
    when = (0.0, *AGES, 3650.0)
    rows = [row(n, "new", recipe, age, lab) for n, (age, lab) in enumerate(read)]
    state = color_learned.learned(tuple(PAST.rows)) if learned else START
    lab, cov = color.curve(state, recipe, color_learned.sort(rows), ()).at(when)
    assert np.isfinite(lab).all()
    assert (lab[:, 0] >= 0).all()
    assert (lab[:, 0] <= 100).all()
    _, widest = color.curve(START, recipe, color_learned.sort([]), ()).at(when)
    assert (np.sqrt(np.einsum("mii->mi", cov)) <= 1.02 * np.sqrt(np.einsum("mii->mi", widest))).all()
