"""When the work of a slab falls due."""

from __future__ import annotations

from datetime import date

from finishlog.records.shop import Shop
from finishlog.trade.upkeep import windows

SHOP = Shop.from_values({})


def test_the_sheet_is_down_for_its_hours_before_the_slab_may_be_sealed() -> None:
    # ASTM D4263: 16 h at least.
    window = windows.dryness_test({}, SHOP)
    assert 14 * 24 - window.opens_h >= 16
    assert 28 * 24 - window.usual_from_h >= 16


def test_windows_follow_the_settings() -> None:
    shop = Shop.from_values(
        {"rinse_usual_from_h": "30", "seal_usual_day": "40", "seal_to_day": "50", "photo_ages": "2 9"}
    )
    assert windows.sweep({}, shop).usual_from_h == 30
    assert windows.dryness_test({}, shop).usual_from_h == 39 * 24


def test_a_photo_a_little_late_still_counts() -> None:
    assert windows.photo(1).closes_h == 24 + 24 + 2
    assert windows.photo(180).closes_h > 181 * 24


def test_a_slab_is_compared_from_one_day_on() -> None:
    # Day 28 to the day the color stops moving, about 45: common practice, no source.
    assert windows.first_comparable(date(2026, 6, 4), SHOP) == date(2026, 7, 2)
    assert (windows.compare(SHOP).opens_h, windows.compare(SHOP).closes_h) == (28 * 24, 45 * 24)


def test_a_photo_counts_on_its_day_and_for_a_tenth_of_its_age() -> None:
    window = windows.photo(10)
    assert (window.opens_h, window.usual_from_h, window.usual_to_h) == (240, 240, 264)
    assert window.closes_h == 240 + 24 + 24
