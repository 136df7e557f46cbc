"""Pigment: conversions, the limit of ASTM C979/C979M §1.4, and ounces by load."""

from __future__ import annotations

from fractions import Fraction as F

import pytest
from hypothesis import given
from hypothesis import strategies as st

from finishlog.errors import InputError, LimitError
from finishlog.trade import dose
from finishlog.trade.pour.loads import split
from finishlog.units import ounces


@pytest.mark.parametrize(
    ("percent", "pounds"), [("1", "5.64"), ("2", "11.28"), ("4", "22.56"), ("5", "28.20"), ("10", "56.40")]
)
def test_percent_of_a_six_sack_mix(percent: str, pounds: str) -> None:
    # Derived: dose arithmetic on 564 lb/yd3 (derived).
    assert dose.lb_per_yd3(F(percent), "%", F(564)) == F(pounds)


def test_one_dose_in_every_way_it_is_said() -> None:
    found = dose.rates(F("22.56"), F(480), F(84))
    assert found.lb_per_sack == F("3.76")
    assert found.percent_of_cementitious == 4
    assert found.percent_of_cement == F("4.7")
    # Derived, exact factors: 1 lb/yd3 = 0.593276 kg/m3.
    assert float(dose.rates(F(1), F(564)).kg_per_m3) == pytest.approx(0.593276, abs=1e-6)


@given(
    st.fractions(min_value=F(1, 100), max_value=50, max_denominator=1000),
    st.sampled_from(["lb/yd3", "lb/sack", "%", "kg/m3"]),
    st.integers(300, 900),
    st.integers(0, 300),
)
def test_doses_convert_there_and_back_exactly(value: F, unit: str, cement: int, scm: int) -> None:
    found = dose.rates(dose.lb_per_yd3(value, unit, F(cement), F(scm)), F(cement), F(scm))
    back = {
        "lb/yd3": found.lb_per_yd3,
        "lb/sack": found.lb_per_sack,
        "%": found.percent_of_cementitious,
        "kg/m3": found.kg_per_m3,
    }
    assert back[unit] == value


@pytest.mark.parametrize("cement", range(300, 901))
def test_exactly_ten_percent_passes_and_a_hair_more_does_not(cement: int) -> None:
    # ASTM C979/C979M §1.4: at most 10 % by mass of cement.
    exactly = dose.lb_per_yd3(F(10), "%", F(cement))
    dose.check_limit(exactly, F(cement))
    dose.check_limit(F(str(cement / 10)), F(cement))
    with pytest.raises(LimitError):
        dose.check_limit(exactly + F(1, 10**9), F(cement))


def test_the_limit_is_on_cement_alone() -> None:
    pounds = dose.lb_per_yd3(F(8), "%", F(400), F(200))
    with pytest.raises(LimitError, match=r"12 % of cement") as caught:
        dose.check_limit(pounds, F(400))
    assert caught.value.exit_status == 2
    assert "40 lb/yd³" in caught.value.line()


def test_a_blend_is_held_to_its_smallest_maximum() -> None:
    maxima = (F(6), F(10), F(8))
    assert dose.limit_percent(maxima) == 6
    assert dose.limit_percent([F(15)]) == 10
    dose.check_limit(F(30), F(500), maxima)
    with pytest.raises(LimitError, match="blend"):
        dose.check_limit(F("30.1"), F(500), maxima)


def test_a_hair_over_the_limit_is_not_said_to_be_the_limit() -> None:
    with pytest.raises(LimitError, match="A hair more than 10 % of cement is over the limit of 10 %"):
        dose.check_limit(F("56.40001"), F(564))


def test_only_the_floats_of_the_log_are_settled_at_the_limit() -> None:
    assert dose.settled(F("56.4") + F(1, 10**14), F(564)) == F("56.4")
    assert dose.settled(F("45.12") - F(1, 10**14), F(564), [F(8)]) == F("45.12")
    assert dose.settled(F("56.40001"), F(564)) == F("56.40001")


def test_a_past_load_over_the_limit_is_only_flagged() -> None:
    assert dose.over_limit(F("56.41"), F(564))
    assert not dose.over_limit(F("56.4"), F(564))


def test_a_liquid_weighs_more_than_its_pigment() -> None:
    assert dose.liquid_lb(F(30), F(60)) == 50
    for wrong in (F(0), F(101)):
        with pytest.raises(InputError):
            dose.liquid_lb(F(30), wrong)


def test_a_unit_that_is_none() -> None:
    with pytest.raises(InputError):
        dose.lb_per_yd3(F(1), "lb/bucket", F(564))
    with pytest.raises(InputError):
        dose.rates(F(1), F(0))


def test_a_match_keeps_the_ratio_to_cementitious_where_both_are_known() -> None:
    assert dose.kept_dose(F("22.56"), F(564), F(611)) == (F("24.44"), F("22.56"))
    assert dose.kept_dose(F("22.56"), F(564), F(564)) == (F("22.56"), None)
    assert dose.kept_dose(F("22.56"), None, F(611)) == (F("22.56"), None)
    assert dose.kept_dose(F("22.56"), F(564), None) == (F("22.56"), None)
    assert dose.kept_dose(F("22.56"), F(564), F(564) + F(1, 10**13)) == (F("22.56"), None)  # a float's hair


def test_the_issues_example_by_load() -> None:
    plan = dose.plan_pigment("color", F("22.56"), split(F("6.75"), F(4), F(2)).loads_yd3, F(5))
    assert plan.total_lb == F("152.28")
    assert plan.weighed_lb == F("152.25")
    assert [load.pigment_lb for load in plan.loads] == [F("90.25"), F(62)]
    assert [(load.packs, load.remainder_lb) for load in plan.loads] == [(18, F("0.25")), (12, F(2))]
    first, second = (load.rounding_error_percent for load in plan.loads)
    assert first is not None
    assert second is not None
    assert float(first) == pytest.approx(90 / 90.24 * 100 - 100)
    assert float(second) == pytest.approx(60 / 62.04 * 100 - 100)


def test_whole_packs_shift_a_small_balance_load_by_a_lot() -> None:
    # Derived: whole bags on a small load are off by up to a quarter.
    # 2 yd at 4 lb/yd3 is 8 lb: two packs of 5 lb are 25 % too much.
    (load,) = dose.plan_pigment("color", F(4), [F(2)], F(5)).loads
    assert load.rounding_error_percent == 25
    (light,) = dose.plan_pigment("color", F("3.5"), [F(2)], F(5)).loads
    assert light.rounding_error_percent == F(5, 7) * 100 - 100


def test_without_a_pack_size_nothing_is_said_of_packs() -> None:
    (load,) = dose.plan_pigment("color", F(4), [F(2)]).loads
    assert (load.packs, load.remainder_lb, load.rounding_error_percent) == (None, None, None)


@given(
    st.lists(st.fractions(min_value=F(1, 8), max_value=12, max_denominator=100), min_size=1, max_size=12),
    st.fractions(min_value=F(1, 50), max_value=60, max_denominator=1000),
    st.fractions(min_value=F(1, 4), max_value=60, max_denominator=16),
)
def test_loads_sum_to_the_total_to_the_ounce(yards: list[F], rate: F, pack: F) -> None:
    plan = dose.plan_pigment("color", rate, yards, pack)
    assert plan.weighed_lb == F(ounces(plan.total_lb), 16)
    assert sum(load.pigment_lb for load in plan.loads) == plan.weighed_lb
    for load in plan.loads:
        assert (load.pigment_lb * 16).denominator == 1
        assert abs(load.pigment_lb - rate * load.yards) < F(1, 16)
        assert load.packs is not None
        assert load.remainder_lb is not None
        assert load.packs * pack + load.remainder_lb == load.pigment_lb
        assert 0 <= load.remainder_lb < pack


def test_what_is_weighed_of_a_liquid_holds_its_solids() -> None:
    assert dose.pigment_in(F(50), 60) == 30
    assert dose.pigment_in(F(50), None) == 50
    assert dose.liquid_lb(F(30), F(100)) == 30


def test_ounces_go_to_the_largest_remainders_the_first_first() -> None:
    """8.5, 8.5, 8.25 and 8.75 oz are 34: one more to the largest, one to the first of two alike."""
    exact = [F(each) / 16 for each in ("8.5", "8.5", "8.25", "8.75")]
    assert dose.share_ounces(exact) == (9, 8, 8, 9)
    assert dose.share_ounces(exact, 32) == (8, 8, 8, 8)
    assert dose.share_ounces(exact, 35) == (9, 9, 8, 9)


def test_a_load_without_pigment_and_one_of_half_a_pack() -> None:
    assert dose.pigment_load(F(2), F(0), F(0), F(5)).rounding_error_percent == 0
    half = dose.pigment_load(F(1), F("2.5"), F("2.5"), F(5))
    assert (half.packs, half.remainder_lb, half.rounding_error_percent) == (0, F("2.5"), 100)
