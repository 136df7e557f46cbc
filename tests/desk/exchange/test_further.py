"""What a paper log tells beside pigment and powder release: hardener, liquid release, wash, stain, gallons."""

from __future__ import annotations

import pytest

from finishlog.records.log import Entry, MaterialUse
from tests.desk.conftest import SheetShop

ROW = {"customer": "Ada Quagmire", "poured_on": "2026-04-02", "area_ft2": "100", "yards": "1.5"}
FURTHER = {
    "hardener": "Bread Crust", "hardener_lot": "H-12", "hardener_lb": "60",
    "liquid_release": "Slick Eel", "liquid_release_gal": "1/2",
    "antiquing": "Dark Broth", "antiquing_gal": "0.25", "antiquing_on": "2026-05-01",
    "stain": "Rust Water", "stain_maker": "Mallow Coatings", "stain_base": "water based", "stain_gal": "1 qt",
    "stain_on": "2026-05-02",
}  # fmt: skip


def use_of(shop: SheetShop, kind: str) -> tuple[Entry, MaterialUse]:
    (entry,) = shop.only().of_kind(kind)
    (use,) = entry.materials
    return entry, use


def test_each_is_an_entry_and_a_stage(sheet_shop: SheetShop) -> None:
    assert sheet_shop.bring({**ROW, **FURTHER}).bad == ()
    _, hardener = use_of(sheet_shop, "color_hardener")
    assert (hardener.product.kind, hardener.lot, hardener.amount, hardener.unit) == (
        "color hardener", "H-12", 60, "lb",
    )  # fmt: skip
    _, release = use_of(sheet_shop, "liquid_release")
    assert (release.product.form, release.amount, release.unit) == ("liquid", 0.5, "gal")
    wash, _ = use_of(sheet_shop, "antiquing_wash")
    stain, used = use_of(sheet_shop, "stain")
    assert (wash.happened.date().isoformat(), stain.happened.date().isoformat()) == (
        "2026-05-01",
        "2026-05-02",
    )
    assert (stain.facts["base"], used.amount, used.product.maker) == ("water_based", 0.25, "Mallow Coatings")
    recipe = sheet_shop.only().areas[0].recipe
    assert recipe is not None
    assert [stage.kind for stage in recipe.stages] == [
        "color_hardener", "liquid_release", "antiquing_wash", "stain",
    ]  # fmt: skip


def test_it_comes_in_once_and_told_otherwise_is_named(sheet_shop: SheetShop) -> None:
    sheet_shop.bring({**ROW, **FURTHER})
    assert sheet_shop.bring({**ROW, **FURTHER}).skipped == 1
    other = sheet_shop.bring({**ROW, **FURTHER, "stain_gal": "2"})
    assert [remark.column for remark in other.bad] == ["stain_gal"]


def test_the_gallons_of_each_coat(sheet_shop: SheetShop) -> None:
    sealed = {"sealer": "Slow Duck 25", "sealer_lot": "C-21", "sealed_on": "2026-05-10"}
    assert sheet_shop.bring({**ROW, **sealed, "sealer_gal": "2.2", "sealer_2_gal": "1.65"}).bad == ()
    coats = sheet_shop.only().of_kind("seal")
    assert [(c.coat.number, c.materials[0].amount, c.materials[0].lot) for c in coats if c.coat] == [
        (1, 2.2, "C-21"), (2, 1.65, "C-21"),
    ]  # fmt: skip


def test_what_went_into_one_load(sheet_shop: SheetShop) -> None:
    first = {**ROW, "ticket": "T-1", "accelerator": "non chloride", "retarder": "no", "air": "6"}
    second = {**ROW, "ticket": "T-2", "plasticizer": "yes"}
    assert sheet_shop.bring(first, second).bad == ()
    loads = sheet_shop.only().of_kind("load")
    assert [dict(load.facts) for load in loads] == [
        {"accelerator": "non_chloride", "retarder": False, "air_percent": 6},
        {"plasticizer": True},
    ]


@pytest.mark.parametrize(
    ("further", "column"),
    [
        ({"stain": "Rust Water"}, "stain_on"),
        ({"antiquing_gal": "1"}, "antiquing_on"),
        ({"antiquing_on": "2026-05-01"}, "antiquing"),
        ({"stain_base": "reactive", "stain_on": "2026-05-01"}, "stain"),
        ({"stain": "Rust Water", "stain_on": "2026-04-01"}, "stain_on"),
        ({"sealer": "Slow Duck 25", "sealer_gal": "1"}, "sealed_on"),
        ({"sealer_gal": "1", "sealer_2_gal": "1", "coats": "1", "sealed_on": "2026-05-01"}, "coats"),
        ({"air": "60"}, "air"),
    ],
)  # fmt: skip
def test_loose_ends_are_named(sheet_shop: SheetShop, further: dict[str, str], column: str) -> None:
    assert [remark.column for remark in sheet_shop.bring({**ROW, **further}).bad] == [column]


def test_the_weather_at_a_load_and_why_it_ran_short(sheet_shop: SheetShop) -> None:
    row = {**ROW, "ticket": "T-1", "wind": "12", "light": "part shade", "why_short": "low at the gate"}
    assert sheet_shop.bring(row).bad == ()
    [load], [pour] = (sheet_shop.only().of_kind(kind) for kind in ("load", "pour"))
    assert dict(load.facts) == {"load_wind_mph": 12, "light": "part_shade"}
    assert dict(pour.facts) == {"ran_short": True, "why_short": "low at the gate"}
    assert sheet_shop.bring(row).skipped == 1
