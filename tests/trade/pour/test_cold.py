"""Below 40 °F: when it is cold, and how much slower a slab hardens."""

from __future__ import annotations

from fractions import Fraction as F

import pytest

from finishlog.trade.pour import cold


def test_cold_begins_below_forty() -> None:
    """ACI 306R, as concrete.org defines it: the air has fallen to, or is expected to fall below, 40 °F."""
    assert [cold.is_cold(each) for each in (None, F(40), F("39.9"), F(-10))] == [False, False, True, True]


@pytest.mark.parametrize(
    ("air_f", "times"),
    [(70, F(1)), (40, F(1)), (35, F(33, 12)), (30, F(19, 6)), (25, F(22, 6)), (20, None), (-5, None)],
)
def test_hardening_by_the_table_of_setting_times(air_f: int, times: F | None) -> None:
    """From memory: 6 h at 70 °F, 14 h at 40 °F, 19 h at 30 °F, none at 20 °F."""
    assert cold.slower(F(air_f)) == times


def test_the_caution_says_its_source_and_defers() -> None:
    for words in ("40 °F", "ACI 306R", "from memory", "no calcium chloride", "local codes"):
        assert words in cold.caution()
