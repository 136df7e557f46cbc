"""Loads: full trucks first, none that mixes badly or is refused where it can be helped, exact in all."""

from __future__ import annotations

from fractions import Fraction as F

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from finishlog.errors import InputError
from finishlog.trade.pour.loads import MOST_LOADS, split


@pytest.mark.parametrize(
    ("total", "truck", "minimum", "loads"),
    [
        ("6.75", 6, 2, ["4.75", "2"]),
        ("6.75", 9, 2, ["6.75"]),
        ("6.75", 4, 2, ["4", "2.75"]),
        ("18", 9, 2, ["9", "9"]),
        ("18.25", 9, 2, ["9", "7.25", "2"]),
        ("9.25", 3, 2, ["3", "2.25", "2", "2"]),
        ("1.5", 9, 2, ["1.5"]),
        ("7", 6, 4, ["6", "1"]),
        ("9", 9, 0, ["9"]),
        ("3", 2, 2, ["2", "1"]),
    ],
)
def test_how_the_order_is_split(total: str, truck: int, minimum: int, loads: list[str]) -> None:
    plan = split(F(total), F(truck), F(minimum))
    assert plan.loads_yd3 == tuple(F(load) for load in loads)
    assert plan.badly_mixed == ()  # nothing is known of how little mixes well


def test_what_the_plant_may_refuse_is_named() -> None:
    assert split(F("1.5"), F(9), F(2)).below_minimum == (1,)
    assert split(F(7), F(6), F(4)).below_minimum == (2,)
    assert split(F("6.75"), F(6), F(2)).below_minimum == ()


def test_colored_loads_are_evened_out() -> None:
    """20.5 yd in trucks of 9: not 9 + 9 + 2.5, since color mixes badly under 3 yd."""
    assert split(F("20.5"), F(9), F(2), F(3), colored=True, step_yd3=F("0.25")).loads_yd3 == (9, F("8.5"), 3)
    assert split(F("6.75"), F(4), F(2), F(3), colored=True).loads_yd3 == (F("3.75"), 3)


def test_badly_mixed_loads_are_only_named_where_the_color_is_not_known() -> None:
    plan = split(F("6.75"), F(4), F(2), F(3))
    assert plan.badly_mixed == (2,)
    assert plan.below_minimum == ()


def test_loads_are_of_whole_steps() -> None:
    assert split(F("18.25"), F(9), F(2), F("3.1"), colored=True, step_yd3=F("0.25")).loads_yd3 == (
        9,
        6,
        F("3.25"),
    )
    assert split(F("10"), F("9.3"), F(2), F(3), colored=True, step_yd3=F("0.5")).loads_yd3 == (7, 3)
    assert split(F("19"), F("9.3"), F(2), F(3), colored=True, step_yd3=F("0.5")).loads_yd3 == (9, 7, 3)


def test_what_cannot_be_mixed_well_is_still_what_the_plant_sends() -> None:
    plan = split(F("5"), F(4), F(2), F(3), colored=True)
    assert plan.loads_yd3 == (3, 2)
    assert plan.badly_mixed == (2,)
    assert plan.below_minimum == ()
    assert split(F("6"), F(9), F(2), F(3)).badly_mixed == ()


@given(
    st.integers(min_value=1, max_value=1200),
    st.integers(min_value=8, max_value=48),
    st.integers(min_value=0, max_value=8),
    st.integers(min_value=0, max_value=16),
    st.sampled_from((F(1, 20), F(1, 4), F(1, 2), F(1))),
)
def test_no_colored_load_is_small_where_the_order_allows(
    steps: int, truck_quarters: int, minimum_quarters: int, mixed_quarters: int, step: F
) -> None:
    total, truck = steps * step, F(truck_quarters, 4)
    minimum, mixed = F(minimum_quarters, 4), F(mixed_quarters, 4)
    assume(total <= truck * MOST_LOADS)
    plan = split(total, truck, minimum, mixed, colored=True, step_yd3=step)
    count = len(plan.loads_yd3)
    assert sum(plan.loads_yd3) == total
    assert all(0 < load <= truck and load % step == 0 for load in plan.loads_yd3)
    assert count == -(-total // (truck // step * step))
    for least in (minimum, mixed):
        in_steps = -(-least // step) * step
        if in_steps <= truck // step * step and in_steps * count <= total:
            assert min(plan.loads_yd3) >= least


@given(
    st.fractions(min_value=F(1, 100), max_value=300, max_denominator=100),
    st.fractions(min_value=2, max_value=12, max_denominator=4),
    st.fractions(min_value=0, max_value=2, max_denominator=4),
)
def test_loads_sum_to_the_order_and_fit_the_truck(total: F, truck: F, minimum: F) -> None:
    plan = split(total, truck, minimum)
    assert sum(plan.loads_yd3) == total
    assert all(0 < load <= truck for load in plan.loads_yd3)
    assert len(plan.loads_yd3) == -(-total // truck)
    can = total >= minimum * len(plan.loads_yd3)
    assert bool(plan.below_minimum) != can


def test_five_hundred_loads_are_the_most() -> None:
    assert len(split(F(1000), F(2), F(0)).loads_yd3) == MOST_LOADS == 500
    assert split(F("0.25"), F("0.5"), F("0.5")).below_minimum == (1,)


def test_a_total_that_is_no_whole_number_of_steps_is_split_as_it_is() -> None:
    assert split(F("18.1"), F(9), F(2), step_yd3=F("0.25")).loads_yd3 == (9, F("7.1"), 2)
    assert split(F("18.25"), F("9.1"), F(2), step_yd3=F(0)).loads_yd3 == (F("9.1"), F("7.15"), 2)


def test_a_truck_smaller_than_a_step_is_filled_whole() -> None:
    assert split(F(4), F("1.5"), F(0), step_yd3=F(2)).loads_yd3 == (F("1.5"), F("1.5"), 1)


@pytest.mark.parametrize(
    ("total", "truck", "minimum"),
    [("5", "2", "3"), ("0", "9", "2"), ("5", "0", "0"), ("9e3", "9", "2"), ("1001", "2", "0")],
)
def test_loads_that_cannot_be(total: str, truck: str, minimum: str) -> None:
    with pytest.raises(InputError):
        split(F(total), F(truck), F(minimum))
