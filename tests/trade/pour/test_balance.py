"""The worst moment: how stiff the edge is, how far the truck still reaches, what remains."""

from __future__ import annotations

from fractions import Fraction as F

import pytest
from hypothesis import given
from hypothesis import strategies as st

from finishlog.errors import InputError
from finishlog.records.shop import Shop
from finishlog.trade.pour import balance, order, takeoff
from finishlog.trade.pour.balance import PLASTIC, STIFF, STIFFENING

SHOP = Shop.from_values({})
NO_HISTORY = order.depth_error()
AIR = st.none() | st.integers(-20, 130).map(F)
MINUTES = st.integers(0, 300).map(F)


@pytest.mark.parametrize(
    ("air", "hurry", "stop"),
    [(None, 30, 60), (85, 30, 60), (110, 30, 60), (65, 45, 90), (40, 45, 90), (75, F("37.5"), 75)],
)
def test_the_clock_of_the_edge(air: int | None, hurry: F, stop: F) -> None:
    # 30 to 60 min in heat: common practice, no source. The limits are the shop's truck limits.
    assert balance.edge_limits(None if air is None else F(air), SHOP) == (hurry, stop)


def test_the_clock_follows_the_settings() -> None:
    shop = Shop.from_values({"truck_minutes_hot": "45", "truck_minutes": "75"})
    assert balance.edge_limits(F(90), shop) == (F("22.5"), 45)
    assert balance.edge_limits(F(60), shop) == (F("37.5"), 75)


@pytest.mark.parametrize(
    ("minutes", "state", "left"),
    [(0, PLASTIC, 60), (29, PLASTIC, 31), (30, STIFFENING, 30), (35, STIFFENING, 25), (59, STIFFENING, 1),
     (60, STIFF, 0), (200, STIFF, 0)],
)  # fmt: skip
def test_the_edge_by_the_clock_in_heat(minutes: int, state: str, left: int) -> None:
    edge = balance.edge(SHOP, F(minutes), F(85))
    assert (edge.now, edge.left_minutes, edge.at_arrival, edge.felt) == (state, left, None, False)


def test_the_words_are_those_of_the_trade() -> None:
    assert balance.STATES == {
        PLASTIC: "still plastic",
        STIFFENING: "stiffening: hurry or stop at a joint",
        STIFF: "too stiff: stop at a joint",
    }


def test_a_hand_on_the_edge_decides_not_the_clock() -> None:
    edge = balance.edge(SHOP, F(50), F(85), felt=PLASTIC)
    assert (edge.now, edge.felt) == (PLASTIC, True)
    stiff = balance.edge(SHOP, F(5), F(60), F(5), felt=STIFF)
    assert (stiff.now, stiff.at_arrival, stiff.left_minutes) == (STIFF, STIFF, None)
    with pytest.raises(InputError):
        balance.edge(SHOP, felt="gooey")


def test_the_edge_when_the_truck_comes() -> None:
    assert balance.edge(SHOP, F(25), F(85), F(40)).at_arrival == STIFF
    assert balance.edge(SHOP, F(5), F(85), F(20)).at_arrival == PLASTIC
    assert balance.edge(SHOP, None, F(85), F(40)).at_arrival is None
    assert balance.edge(SHOP, None, F(85), F(40), felt=STIFFENING).at_arrival == STIFFENING


@given(MINUTES, AIR, st.none() | MINUTES)
def test_an_edge_never_softens(minutes: F, air: F | None, wait: F | None) -> None:
    order_of = list(balance.STATES)
    edge = balance.edge(SHOP, minutes, air, wait)
    later = balance.edge(SHOP, minutes + 1, air, wait)
    assert edge.now is not None
    assert later.now is not None
    assert order_of.index(later.now) >= order_of.index(edge.now)
    if edge.at_arrival is not None:
        assert order_of.index(edge.at_arrival) >= order_of.index(edge.now)


def test_what_an_area_really_takes() -> None:
    # 108 ft2 at 4 in and 0.25 in more (the starting mean, from memory), 2 % waste:
    # 108 * 4.25 / 324 * 1.02 = 1.445 yd3.
    assert balance.expected_yd3(F(108), F(4), NO_HISTORY, F(2)) == F("1.445")
    shallow = order.depth_error([-9.0] * 50)
    assert balance.expected_yd3(F(108), F(4), shallow, F(2)) == 0


def test_how_far_the_truck_reaches() -> None:
    panel = takeoff.read_shape("rect", "6x18")
    (stop,) = balance.stops([panel], F("0.4"), F(4), NO_HISTORY, F(2))
    assert (stop.width_ft, stop.of_ft) == (18, 6)
    # the same concrete again, over what it fills
    assert balance.expected_yd3(stop.fills_ft * 18, F(4), NO_HISTORY, F(2)) == F("0.4")
    assert stop.rest_ft2 == 108 - stop.fills_ft * 18
    (all_of_it,) = balance.stops([panel], F(9), F(4), NO_HISTORY, F(2))
    assert (all_of_it.fills_ft, all_of_it.rest_ft2) == (6, 0)
    (nothing,) = balance.stops([panel], F(0), F(4), NO_HISTORY, F(2))
    assert (nothing.fills_ft, nothing.rest_ft2) == (0, 108)


@given(
    st.fractions(F(1, 10), 100),
    st.fractions(F(1, 10), 100),
    st.fractions(0, 20),
    st.fractions(1, 24),
    st.fractions(0, 25),
)
def test_a_stop_never_promises_more_than_there_is(length: F, width: F, left: F, depth: F, waste: F) -> None:
    panel = takeoff.FlatShape("rect", 1, (length, width))
    (stop,) = balance.stops([panel], left, depth, NO_HISTORY, waste)
    assert 0 <= stop.fills_ft <= length
    assert balance.expected_yd3(stop.fills_ft * width, depth, NO_HISTORY, waste) <= left


def test_what_is_still_to_be_brought_can_be_weighed_as_an_order() -> None:
    take = takeoff.take_off([takeoff.read_shape("rect", "6x18")], F(4))
    missing = balance.still_to_bring(take, F("0.4"), F(2))
    for extra in (F(0), F(1), F(5, 4)):
        assert order.chance_short(missing, F(2), NO_HISTORY, extra) == pytest.approx(
            order.chance_short(take, F(2), NO_HISTORY, extra + F("0.4"))
        )


def test_samples_from_a_leftover() -> None:
    # 2 x 2 ft at 4 in is 4 * 4 / 324 = 0.0494 yd3.
    assert balance.samples_from(F(1), F(4)) == 20
    assert balance.samples_from(F(0), F(4)) == 0
    assert balance.samples_from(F(-1), F(4)) == 0
    assert balance.samples_from(F(1), F(0)) == 0


@pytest.mark.parametrize(("rest", "bags"), [("1", 45), ("0.2", 9), ("0.201", 10), ("0.001", 1)])
def test_a_small_rest_out_of_bags(rest: str, bags: int) -> None:
    # 80 lb make 0.6 ft3, so 45 bags a yard: as bag makers print it. Whole bags, never too few.
    found = balance.bags(F(rest), SHOP)
    assert (found.bags, found.bag_lb, found.parts) == (bags, 80, ())


def test_pigment_for_bags_is_by_the_cement_in_them() -> None:
    # 4 % of 12 lb of cement is 0.48 lb a bag; 9 bags take 4.32 lb.
    known, unsaid = balance.bags(F("0.2"), SHOP, F(12), [("Otter Back", F(4, 100)), ("Fox Ear", None)]).parts
    assert (known.name, known.lb_per_bag, known.total_lb) == ("Otter Back", F("0.48"), F("4.32"))
    assert (unsaid.lb_per_bag, unsaid.total_lb) == (None, None)
    (no_cement,) = balance.bags(F("0.2"), SHOP, None, [("Otter Back", F(4, 100))]).parts
    assert (no_cement.lb_per_bag, no_cement.total_lb) == (None, None)
    with pytest.raises(InputError, match="more than the bag"):
        balance.bags(F("0.2"), SHOP, F(80))


def test_a_sample_is_poured_of_all_it_takes_or_not() -> None:
    assert balance.samples_from(F(16, 324), F(4)) == 1
    assert balance.samples_from(F(16, 324) - F(1, 10**6), F(4)) == 0
