"""The clock of a pour day, against hours reckoned another way."""

from __future__ import annotations

import math
from datetime import date, time
from fractions import Fraction as F
from statistics import median
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from finishlog.records.quantities.pour_day import ClockLine, PastPour, PourClock, Span
from finishlog.records.shop import Shop
from finishlog.trade import stages
from finishlog.trade.pour import clock

SHOP = Shop.from_values({})
ON = date(2026, 7, 3)
AIR = st.none() | st.integers(-10, 130).map(F)
MINUTES = st.none() | st.floats(5, 700)


def day(**more: Any) -> clock.PourDay:
    more = {"loads": 1, "area_ft2": F(300), "air_f": F(70), "released": True, "stamped": True} | more
    return clock.PourDay(
        on=ON,
        saw=stages.kind("joint").window({}, SHOP),
        rinse=stages.kind("rinse").window({}, SHOP),
        start=time(7),
        **more,
    )


def line(found: PourClock, key: str, number: int = 0) -> ClockLine:
    return next(each for each in found.lines if each.key == key and each.number == number)


def test_one_load_in_mild_air() -> None:
    found = clock.clock(day(), (), SHOP)
    assert [each.key for each in found.lines] == ["truck", "release", "stamp", "joint", "rinse"]
    assert found.truck_minutes == 82  # 90 up to 65 °F, 60 from 85: 90 - 30 * 5 / 20 = 82.5
    assert line(found, "release").opens == Span(60, 120)
    assert line(found, "stamp").opens == Span(90, 150)
    assert line(found, "stamp").closes == Span(90 + 120, 150 + 120)
    # placed in 30 to 60 min; cut 6 to 18 h later, rinsed 24 to 48 h later
    assert line(found, "joint").opens == Span(30 + 360, 60 + 360)
    assert line(found, "joint").closes == Span(30 + 1080, 60 + 1080)
    assert line(found, "rinse").opens == Span(30 + 1440, 60 + 1440)
    assert line(found, "rinse").closes == Span(30 + 2880, 60 + 2880)


@given(st.integers(1, 8))
def test_trucks_follow_each_other_and_the_last_moves_what_is_after_it(loads: int) -> None:
    found, one = clock.clock(day(loads=loads), (), SHOP), clock.clock(day(), (), SHOP)
    for number in range(1, loads + 1):
        truck = line(found, "truck", number)
        assert (truck.opens.low, truck.opens.high) == (30 * (number - 1), 60 * (number - 1))
        assert truck.closes.low - truck.opens.low == truck.closes.high - truck.opens.high == 82
    later = 30 * (loads - 1)
    assert line(found, "release").opens == line(one, "release").opens
    assert line(found, "release").closes.low == line(one, "release").opens.low + later
    for key in ("stamp", "joint", "rinse"):
        assert line(found, key).closes.low == line(one, key).closes.low + later


@given(st.integers(40, 99), st.integers(1, 40))
def test_heat_never_makes_it_later(air: int, more: int) -> None:
    cool, hot = (clock.clock(day(air_f=F(a)), (), SHOP) for a in (air, air + more))
    for key in ("release", "stamp"):
        assert line(hot, key).opens.low <= line(cool, key).opens.low
        assert line(hot, key).closes.high <= line(cool, key).closes.high
    assert hot.truck_minutes <= cool.truck_minutes
    assert hot.hands is not None and cool.hands is not None  # noqa: PT018
    assert hot.hands.hands >= cool.hands.hands


@pytest.mark.parametrize(
    ("air", "low"), [(60, 90), (70, 60), (80, 40), (90, 25), (100, 20), (120, 20), (30, 205)]
)
def test_a_third_sooner_for_each_ten_degrees(air: int, low: int) -> None:
    """60 min at 70 °F times (2/3) to the tenth of the difference, from 40 to 100 °F, to five minutes."""
    assert line(clock.clock(day(air_f=F(air)), (), SHOP), "release").opens.low == low


@given(st.integers(1, 5), AIR)
def test_air_that_was_not_said_holds_all_that_it_may_be(loads: int, air: F | None) -> None:
    unsaid = clock.clock(day(loads=loads, air_f=None), (), SHOP)
    said = clock.clock(day(loads=loads, air_f=air), (), SHOP)
    if air is None or 50 <= air <= 90:
        for key in ("release", "stamp"):
            assert line(unsaid, key).opens.low <= line(said, key).opens.low
            assert line(said, key).opens.high <= line(unsaid, key).opens.high
    assert unsaid.truck_minutes == 60


pours = st.lists(
    st.builds(PastPour, air_f=st.none() | st.floats(30, 110), gap=MINUTES, release=MINUTES, stamp=MINUTES,
              joint=MINUTES, rinse=MINUTES),
    max_size=12,
)  # fmt: skip


@given(pours, AIR)
def test_three_pours_of_ones_own_are_the_median_fewer_say_nothing(
    past: list[PastPour], air: F | None
) -> None:
    found = clock.clock(day(air_f=air), past, SHOP)
    like = [p for p in past if air is not None and p.air_f is not None and abs(p.air_f - float(air)) <= 10]
    asked = like if len(like) >= 3 else past
    assert found.near == (len(like) >= 3)
    for key in ("release", "stamp"):
        minutes = [m for p in asked if (m := getattr(p, key)) is not None]
        opens = line(found, key).opens
        if len(minutes) >= 3:
            assert opens.own == line(found, key).own == len(minutes)
            assert opens.low == opens.high
            assert abs(opens.low - median(minutes)) <= 2.5
        else:
            assert opens.own == 0
            assert opens == line(clock.clock(day(air_f=air), (), SHOP), key).opens


@given(pours, AIR, st.integers(1, 6))
def test_every_line_opens_before_it_closes(past: list[PastPour], air: F | None, loads: int) -> None:
    for each in clock.clock(day(air_f=air, loads=loads), past, SHOP).lines:
        assert 0 <= each.opens.low <= each.opens.high
        assert each.opens.low <= each.closes.low
        assert each.opens.high <= each.closes.high


@given(st.lists(st.floats(1, 5000), min_size=3, max_size=9))
def test_an_early_rinse_of_the_past_is_never_planned_before_it_may_be(minutes: list[float]) -> None:
    past = [PastPour(rinse=each, joint=each) for each in minutes]
    found = clock.clock(day(), past, SHOP)
    assert line(found, "rinse").opens.low - 30 >= SHOP.rinse_from_h * 60
    assert line(found, "joint").opens.low - 30 >= SHOP.saw_cut_from_h * 60


@given(st.integers(20, 4000), AIR, st.integers(1, 5))
def test_hands_and_mats_do_the_area_in_the_window(area: int, air: F | None, loads: int) -> None:
    found = clock.clock(day(area_ft2=F(area), air_f=air, loads=loads), (), SHOP)
    assert found.hands is not None
    window = line(found, "stamp").closes.low - line(found, "stamp").opens.low
    assert found.hands.hands * 100 * window / 60 >= area
    assert found.hands.minutes <= math.ceil(window)
    assert found.hands.hands == 2 or (found.hands.hands - 1) * 100 * window / 60 < area
    assert found.hands.mats == 2 * found.hands.hands
    assert found.hands.ft2_per_h == 100 * found.hands.hands


def test_what_is_not_done_has_no_line() -> None:
    bare = clock.PourDay(ON, 1, F(300), released=False, stamped=False, saw=None, rinse=None)
    found = clock.clock(bare, (), SHOP)
    assert ([each.key for each in found.lines], found.hands) == (["truck"], None)


def test_the_shop_sets_the_ranges() -> None:
    shop = Shop.from_values({"release_from_min": "45", "release_to_min": "30", "truck_gap_from_min": 20})
    assert line(clock.clock(day(), (), shop), "release").opens == Span(45, 45)


def test_own_pours_count_that_were_within_ten_degrees_and_their_air_is_said() -> None:
    def at(air: float | None, release: float) -> PastPour:
        return PastPour(air_f=air, gap=None, release=release, stamp=None, joint=None, rinse=None)

    near = [at(60, 40), at(80, 50), at(70.4, 60)]
    found = clock.clock(day(), [*near, at(81, 200), at(None, 200)], SHOP)
    assert (found.near, found.own_air_f, line(found, "release").opens) == (True, (60, 80), Span(50, 50, 3))
    far = clock.clock(day(), [*near[:2], at(81, 200), at(None, 200)], SHOP)
    assert (far.near, far.own_air_f, line(far, "release").opens) == (False, (60, 81), Span(125, 125, 4))
    assert clock.clock(day(), [], SHOP).own_air_f is None


def test_own_gaps_move_the_trucks_and_all_after_them() -> None:
    past = [PastPour(gap=each) for each in (40, 44, 60)]
    found = clock.clock(day(loads=3), past, SHOP)
    assert [(line(found, "truck", n).opens, line(found, "truck", n).own) for n in (1, 2, 3)] == [
        (Span(0, 0, 3), 0), (Span(45, 45, 3), 3), (Span(90, 90, 3), 3),
    ]  # fmt: skip
    assert line(found, "joint").opens == Span(135 + 360, 135 + 360)


def test_own_hours_open_the_rinse_within_its_window_and_leave_its_close() -> None:
    for own, opens in ((10 * 60, 18 * 60), (30 * 60, 30 * 60), (90 * 60, 48 * 60)):
        past = [PastPour(rinse=float(own))] * 3
        rinse = line(clock.clock(day(), past, SHOP), "rinse")
        assert rinse.opens == Span(30 + opens, 60 + opens, 3)
        assert rinse.closes == Span(30 + 48 * 60, 60 + 48 * 60)


@pytest.mark.parametrize(("minutes", "said"), [(52.4, 50), (52.5, 55), (1, 5)])
def test_minutes_are_said_to_the_nearest_five(minutes: float, said: int) -> None:
    past = [PastPour(release=minutes)] * 3
    assert line(clock.clock(day(), past, SHOP), "release").opens.low == said


def test_hands_for_a_small_slab_and_a_large_one() -> None:
    """120 min of stamping at 70 °F, 100 ft² an hour and hand: 2 hands do 400 ft², 3 do 600."""
    for area, hands, minutes in ((100, 2, 30), (400, 2, 120), (401, 3, 81)):
        found = clock.clock(day(area_ft2=F(area)), (), SHOP).hands
        assert found is not None
        assert (found.hands, found.minutes, found.mats) == (hands, minutes, 2 * hands)
