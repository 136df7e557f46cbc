"""The shop's settings: one list, one class, every default inside its own range."""

from __future__ import annotations

from fractions import Fraction as F

import pytest

from finishlog.errors import InputError
from finishlog.records.shop import SETTINGS, Shop


@pytest.mark.parametrize("setting", SETTINGS, ids=lambda setting: setting.key)
def test_every_default_is_in_range_and_has_a_source(setting) -> None:  # type: ignore[no-untyped-def]
    assert setting.read(setting.default) == setting.default
    assert setting.title
    assert setting.source
    assert type(setting.read(setting.default)) is type(setting.default)


def test_the_issues_defaults() -> None:
    shop = Shop.from_values({})
    assert (shop.price_per_yd3, shop.leftover_per_yd3, shop.short_load_fee) == (165, 45, 200)
    assert (shop.mismatch, shop.joint, shop.increment_yd3) == (600, 250, F(1, 4))
    assert (shop.minimum_yd3, shop.truck_yd3, shop.waste_percent) == (2, 9, 2)
    assert shop.photo_ages == (1, 3, 7, 14, 28, 45, 180)
    assert (shop.first_comparable_day, shop.final_color_day) == (28, 45)


def test_values_are_read_as_people_write_them() -> None:
    shop = Shop.from_values(
        {
            "price_per_yd3": "$180.50",
            "truck_yd3": "8 yd",
            "slump_in": "4 1/4 in",
            "photo_ages": "1, 7 28",
            "seal_usual_day": "30",
            "release_lb_per_100ft2": 4,
            "waste_percent": 2.5,
            "seal_slab_low_f": "50 F",
            "evaporation_care": "0.15",
            "cementitious_lb_per_yd3": F(600),
        }
    )
    assert shop.price_per_yd3 == F("180.5")
    assert (shop.truck_yd3, shop.slump_in, shop.photo_ages) == (8, F(17, 4), (1, 7, 28))
    assert (shop.seal_usual_day, shop.release_lb_per_100ft2, shop.waste_percent) == (30, 4, F("2.5"))
    assert (shop.evaporation_care, shop.cementitious_lb_per_yd3) == (F("0.15"), 600)
    assert shop.joint == 250


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("price_per_yd3", "-1"),
        ("price_per_yd3", "NaN"),
        ("increment_yd3", "0"),
        ("truck_yd3", "400 yd"),
        ("waste_percent", "0.02"),
        ("waste_percent", "26"),
        ("seal_usual_day", "28.5"),
        ("photo_ages", "1 x"),
        ("evaporation_care", "much"),
        ("slump_in", float("nan")),
    ],
)
def test_a_wrong_setting_is_named(key: str, value: object) -> None:
    with pytest.raises(InputError) as caught:
        Shop.from_values({key: value})
    assert caught.value.where == key


def test_a_setting_that_is_none_lists_those_that_are() -> None:
    with pytest.raises(InputError, match="No setting") as caught:
        Shop.from_values({"prize": "1"})
    assert "price_per_yd3" in caught.value.line()
