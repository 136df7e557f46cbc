"""Overlays and repairs as placed: the dose is per bag, and what nobody can know is said."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from finishlog.desk import words
from finishlog.desk.placed.placed import as_placed
from finishlog.records.log import Area, Entry, MaterialUse, Product
from finishlog.records.placed import AsPlaced
from tests.desk.placed.test_placed import SOOT, ZONE, entry, job, load

PELT = Product("p3", "Thin Pelt", "overlay mix", "Mallow Coatings")
TOP = Area("a3", "top", "overlay", area_ft2=200)
CEMENT = "cement per bag unknown: no percent, no limit check"


def bags(number: int, pigment: MaterialUse, count: float | None = 6, **facts: float) -> Entry:
    mix = MaterialUse(PELT, count, "bag", "B-4")
    return entry(number, "bag_mix", area="a3", materials=(mix, pigment), facts=facts)


def placed_of(*entries: Entry) -> AsPlaced:
    return as_placed(job(*entries, areas=(TOP,)), TOP, ZONE)


def test_pigment_in_bags_has_a_dose_per_bag() -> None:
    pigment = MaterialUse(SOOT, 8, "oz", "S-9")
    placed = placed_of(bags(1, pigment, water_per_bag_gal=1.25), bags(2, pigment, 4, water_per_bag_gal=1.25))
    mix = placed.bag_mix
    assert mix is not None
    assert (mix.bags, mix.product, mix.lots, mix.water_per_bag_gal) == (10, "Thin Pelt", ("B-4",), 1.25)
    (soot,) = mix.pigments
    assert (soot.lb, soot.lb_per_bag, soot.lots) == (1, Fraction(1, 10), ("S-9",))
    assert placed.dose_lb_per_yd3 is None
    assert placed.poured_on is not None
    assert CEMENT in placed.missing
    assert not [text for text in placed.missing if "mix was" in text or "dose" in text]


def test_the_bags_that_are_said_come_before_those_that_are_counted() -> None:
    mix = placed_of(bags(1, MaterialUse(SOOT, 1, "lb"), None, bags=5)).bag_mix
    assert mix is not None
    assert mix.pigments[0].lb_per_bag == Fraction(1, 5)


@pytest.mark.parametrize(
    ("pigment", "count", "missing"),
    [
        (MaterialUse(SOOT, None, "lb"), 6, "pigment in the bags not weighed"),
        (MaterialUse(SOOT, 1, "lb"), None, "number of bags not logged"),
    ],
)
def test_what_was_not_weighed_or_counted_is_unknown(
    pigment: MaterialUse, count: float | None, missing: str
) -> None:
    placed = placed_of(bags(1, pigment, count))
    assert placed.bag_mix is not None
    assert placed.bag_mix.pigments[0].lb_per_bag is None
    assert missing in placed.missing


def test_the_lines_of_an_overlay_speak_of_bags_not_of_loads() -> None:
    placed = placed_of(bags(1, MaterialUse(SOOT, 12, "oz", "S-9"), water_per_bag_gal=1.25))
    lines = [(line.label, line.text, line.figure) for line in words.placed_lines(placed)][:3]
    assert lines == [
        ("Pigment", "Lamp Soot, Loamworks, lot S-9", "2 oz a bag"),
        ("", "cement per bag unknown: no percent", ""),
        ("Bags", "Thin Pelt, Mallow Coatings, lot B-4, 1.25 gal of water a bag", "6 bags"),
    ]
    assert "Concrete" not in {line.label for line in words.placed_lines(placed)}


def test_an_overlay_over_poured_concrete_has_both() -> None:
    truck = replace(load(1, 4.0, (SOOT, 8, "lb")), area="a3")
    placed = placed_of(truck, bags(2, MaterialUse(SOOT, 6, "oz")))
    assert placed.dose_lb_per_yd3 == 2
    assert placed.bag_mix is not None
    assert {"Concrete", "Bags", "Pigment"} <= {line.label for line in words.placed_lines(placed)}
