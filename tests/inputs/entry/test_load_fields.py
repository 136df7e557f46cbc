"""What a load's fields take: where it went, in the words that are offered; pounds to the yard."""

from __future__ import annotations

from dataclasses import replace

import pytest

from finishlog.inputs.entry import entries
from finishlog.inputs.entry.entries import Context, bare

TWO: Context = replace(bare(), areas=("walk", "pool 2 deck"))


def load(text: str, context: Context = TWO, **more: str) -> tuple[object, ...]:
    entry, wrongs = entries.read("load", {"map": text, "yards": "4"} | more, context)
    assert entry is not None, wrongs
    assert entry.load is not None
    return entry.area, entry.load.areas


@pytest.mark.parametrize(
    ("text", "areas"),
    [
        ("walk=2.5, pool 2 deck=1.5", (("walk", 2.5), ("pool 2 deck", 1.5))),
        ("walk 2.5, pool 2 deck 1.5 yd", (("walk", 2.5), ("pool 2 deck", 1.5))),
        ("Walk: 2.5; Pool 2 Deck: 1.5", (("walk", 2.5), ("pool 2 deck", 1.5))),
        ("walk, pool 2 deck", (("walk", None), ("pool 2 deck", None))),
        ("walk", (("walk", None),)),
        ("all", ()),
    ],
)
def test_where_it_went_takes_what_is_offered(text: str, areas: object) -> None:
    assert load(text) == (None, areas)
    [field] = [one for one in entries.fields_of("load", TWO) if one.key == "map"]
    assert field.example in field.help  # what is offered reads
    assert load(field.example, yards="5")[1] == (("walk", 3.5), ("pool 2 deck", 1.0))


@pytest.mark.parametrize("text", ["patio=2", "walk=2, walk=1", "all, walk", "walk=lots", "walk, deck 3"])
def test_what_is_wrong_with_it_is_said_with_a_whole_example(text: str) -> None:
    _, wrongs = entries.read("load", {"map": text, "yards": "5"}, TWO)
    assert [wrong.key for wrong in wrongs] == ["map"]
    assert wrongs[0].example == "walk=3.5, pool 2 deck=1"
    assert load(wrongs[0].example, yards="5")[1] == (("walk", 3.5), ("pool 2 deck", 1.0))


def test_everywhere_and_one_area_are_two_answers() -> None:
    _, wrongs = entries.read("load", {"map": "all", "area": "walk"}, TWO)
    assert [wrong.key for wrong in wrongs] == ["map"]


def used(**texts: str) -> list[tuple[str, float | None, str]]:
    entry, wrongs = entries.read("load", {"area": "walk", **texts}, TWO)
    assert entry is not None, wrongs
    return [(use.product.name, use.amount, use.unit) for use in entry.materials]


def test_pounds_to_the_yard_times_the_yards_are_the_pounds() -> None:
    dose = "dose_told_lb_per_yd3"
    assert used(product="Wet Biscuit", yards="4", **{dose: "7"}) == [("Wet Biscuit", 28, "lb")]
    assert used(yards="4", **{dose: "7 lb/yd3"}) == [("unknown", 28, "lb")]
    assert used(product="Wet Biscuit", yards="4", amount="27 lb 8 oz", **{dose: "7"}) == [
        ("Wet Biscuit", 27.5, "lb")
    ]
    assert used(product="Wet Biscuit", **{dose: "7"}) == [("Wet Biscuit", None, "lb")]
    blend = used(product="Wet Biscuit", product_2="Lamp Soot", yards="4", **{dose: "7"})
    assert [amount for _, amount, _ in blend] == [None, None]
    echo = entries.echoes("load", {"yards": "4", dose: "7"}, TWO)
    assert echo[dose] == "7.00 lb/yd³, 28.00 lb in all"
