"""What is logged for several areas at once is shared by size, said, and never counted twice."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from fractions import Fraction as F
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from finishlog.desk.placed import shares
from finishlog.desk.placed.placed import areas, as_placed
from finishlog.records.log import (
    Area,
    Coat,
    Customer,
    Entry,
    Job,
    Load,
    MaterialUse,
    Product,
    Recipe,
    Site,
    Stage,
)
from finishlog.records.placed import AsPlaced

ZONE = ZoneInfo("America/Chicago")
POURED = datetime(2026, 6, 4, 13, tzinfo=UTC)
BISCUIT = Product("p1", "Wet Biscuit", "pigment", "Loamworks")
OTTER = Product("p2", "Otter Back", "powder release")
BADGER = Product("p3", "Slick Badger", "sealer")
HARD = Product("p4", "Hard Toast", "color hardener")
TEA = Product("p5", "Old Tea", "stain")
WALK = Area("a1", "walk", area_ft2=48, depth_in=4)
YARD = Area("a2", "yard", area_ft2=252, depth_in=4)


def entry(number: int, kind: str, **facts: object) -> Entry:
    at = POURED + timedelta(minutes=number)
    return Entry(number, f"e{number}", kind, at, at, **facts)  # type: ignore[arg-type]


def used(number: int, kind: str, product: Product, amount: float, unit: str, **facts: object) -> Entry:
    return entry(number, kind, materials=(MaterialUse(product, amount, unit),), **facts)


def load(number: int, yards: float | None = 4.0, back: float | None = 0.0, **facts: object) -> Entry:
    uses = (MaterialUse(BISCUIT, 28.0, "lb"),)
    made = Load(yards, back, 0.0, **facts)  # type: ignore[arg-type]
    return entry(number, "load", materials=uses, load=made)


def job(*entries: Entry, areas: tuple[Area, ...] = (WALK, YARD)) -> Job:
    return Job("j1", "two", "two slabs", Customer("c1", "Gravelpit"), Site("s1", "1 Kettle Row"),
               areas=areas, entries=entries, history=entries)  # fmt: skip


def of(made: Job, area: Area) -> AsPlaced:
    return as_placed(made, area, ZONE)


def test_one_load_and_one_release_for_two_areas_are_shared() -> None:
    made = job(load(1), used(2, "powder_release", OTTER, 10, "lb"))
    walk, yard = of(made, WALK), of(made, YARD)
    assert (walk.delivered_yd3, yard.delivered_yd3) == (float(F(4) * 48 / 300), float(F(4) * 252 / 300))
    assert (walk.placed_yd3, yard.placed_yd3) == (0.64, 3.36)
    assert (walk.release_lb, yard.release_lb) == (1.6, 8.4)
    for each in (walk, yard):
        assert each.release_lb_per_100_ft2 == float(F(10, 3))
        assert each.dose_lb_per_yd3 == 7
    assert walk.shared == (
        "load 1 with yard, by area × depth: 16 % here",
        "release with yard, by area: 16 % here",
    )


def test_deeper_areas_take_more_of_a_load_and_no_more_of_the_release() -> None:
    deep = replace(WALK, depth_in=8)
    made = job(load(1), used(2, "powder_release", OTTER, 10, "lb"), areas=(deep, YARD))
    assert of(made, deep).placed_yd3 == float(F(4) * (48 * 8) / (48 * 8 + 252 * 4))
    assert of(made, deep).release_lb == 1.6


def test_what_went_back_was_placed_in_neither_area() -> None:
    made = job(load(1, 5.0, 1.0))
    assert of(made, WALK).placed_yd3 == 0.64
    assert of(made, YARD).delivered_yd3 == 4.2
    unknown = job(load(1, 5.0, None))
    assert of(unknown, YARD).placed_yd3 is None
    assert of(unknown, YARD).delivered_yd3 == 4.2


def test_a_split_that_was_logged_stands_and_only_the_rest_is_shared() -> None:
    band = Area("a3", "band", "band", area_ft2=100, depth_in=4)
    made = job(load(1, 4.0, 0.5, areas=(("a1", 1.0), ("a2", None), ("a3", None))), areas=(WALK, YARD, band))
    assert of(made, WALK).placed_yd3 == 1.0
    assert of(made, YARD).placed_yd3 == float(F(5, 2) * 252 / 352)
    assert of(made, band).placed_yd3 == float(F(5, 2) * 100 / 352)
    assert of(made, WALK).shared == ()
    one_left = job(load(1, 4.0, 0.5, areas=(("a1", 1.0), ("a2", None))))
    assert of(one_left, YARD).placed_yd3 == 2.5
    assert of(one_left, YARD).shared == ()


def test_a_split_of_more_than_stayed_is_cut_to_what_stayed() -> None:
    made = job(load(1, 4.0, 1.0, areas=(("a1", 1.0), ("a2", 3.0))))
    assert (of(made, WALK).placed_yd3, of(made, YARD).placed_yd3) == (0.75, 2.25)


def test_a_load_for_one_area_is_that_areas_and_a_balance_load_for_all_is_shared() -> None:
    made = job(replace(load(1, 3.0), area="a2"), load(2, 2.0, is_balance=True))
    assert of(made, WALK).placed_yd3 == 0.32
    assert of(made, YARD).placed_yd3 == 4.68
    assert (of(made, WALK).loads, of(made, WALK).balance_loads) == (1, 1)


@pytest.mark.parametrize(
    ("other", "words"),
    [
        (Area("a2", "steps", "stairs"), "the size of steps is unknown"),
        (Area("a2", "steps", "stairs", area_ft2=40), "the depth of steps is unknown"),
    ],
)
def test_what_cannot_be_shared_is_no_areas_and_is_said(other: Area, words: str) -> None:
    made = job(load(1), areas=(WALK, other))
    for area in made.areas:
        placed = of(made, area)
        assert (placed.delivered_yd3, placed.placed_yd3, placed.dose_lb_per_yd3) == (None, None, 7)
        assert f"load 1 not split between the areas: {words}" in placed.missing


def test_a_release_on_an_area_of_unknown_size_is_not_shared() -> None:
    steps = Area("a2", "steps", "stairs")
    made = job(used(1, "powder_release", OTTER, 10, "lb"), areas=(WALK, steps))
    assert (of(made, WALK).release_lb, of(made, WALK).release_lb_per_100_ft2) == (None, None)
    assert "release not split between the areas: the size of steps is unknown" in of(made, WALK).missing


def test_a_release_for_no_area_is_of_those_that_have_none_of_their_own() -> None:
    own = replace(used(1, "powder_release", OTTER, 9, "lb"), area="a2")
    made = job(own, used(2, "powder_release", OTTER, 2, "lb"))
    assert (of(made, WALK).release_lb, of(made, YARD).release_lb) == (2.0, 9.0)


def test_an_area_whose_recipe_has_no_release_had_none_of_it() -> None:
    stamped = replace(YARD, recipe=Recipe("r1", "s", (Stage(1, "powder_release"),)))
    broomed = replace(WALK, recipe=Recipe("r2", "b", (Stage(1, "integral_color"),)))
    made = job(used(1, "powder_release", OTTER, 9, "lb"), areas=(broomed, stamped))
    assert (of(made, stamped).release_lb, of(made, broomed).release_lb) == (9.0, None)


def test_a_coat_for_both_areas_has_one_spread_and_each_its_gallons() -> None:
    bare = used(1, "seal", BADGER, 2, "gal")
    told = used(2, "seal", BADGER, 4, "gal", coat=Coat(2, area_ft2=320))
    for area, share in ((WALK, F(48, 300)), (YARD, F(252, 300))):
        first, second = of(job(bare, told), area).coats
        assert (first.ft2_per_gal, first.gal) == (150.0, float(2 * share))
        assert (second.ft2_per_gal, second.gal) == (80.0, float(4 * share))


def test_hardener_and_stain_for_both_areas_go_by_the_surface_of_both() -> None:
    hard, stain = used(1, "color_hardener", HARD, 180, "lb"), used(2, "stain", TEA, 1.5, "gal")
    made = job(hard, stain)
    assert shares.with_rate(made, hard).facts == {"lb_per_100ft2": 60.0}
    assert shares.with_rate(made, stain).facts == {"coverage_ft2_per_gal": 200.0}
    named = replace(hard, area="a2")
    assert shares.with_rate(job(named), named).facts == {"lb_per_100ft2": float(F(180, 252) * 100)}
    said = replace(hard, facts={"lb_per_100ft2": 50})
    assert shares.with_rate(made, said).facts["lb_per_100ft2"] == 50


def test_the_field_or_the_largest_comes_first_never_the_first_typed() -> None:
    border = Area("a0", "border", "border", area_ft2=900)
    found = [placed.area.name for placed in areas(job(areas=(border, WALK, YARD)), ZONE)]
    assert found == ["yard", "walk", "border"]


SIZES = st.integers(1, 4000).map(lambda n: n / 4)
AREAS = st.lists(st.tuples(SIZES, st.sampled_from([4.0, 5.5, 6.0])), min_size=1, max_size=5)
LOADS = st.lists(
    st.tuples(st.integers(1, 40), st.integers(0, 40), st.booleans()).map(
        lambda t: (t[0] / 4, min(t[0], t[1]) / 4, t[2])
    ),
    min_size=1,
    max_size=4,
)


@settings(deadline=None)
@given(AREAS, LOADS, st.data())
def test_all_areas_together_have_what_stayed_whatever_their_order(
    sizes: list[tuple[float, float]], trucks: list[tuple[float, float, bool]], data: st.DataObject
) -> None:
    made = tuple(Area(f"u{i}", f"area {i}", area_ft2=a, depth_in=d) for i, (a, d) in enumerate(sizes))
    entries = []
    for number, (yards, back, split) in enumerate(trucks, 1):
        names = data.draw(st.sets(st.sampled_from([a.uid for a in made]))) if split else set()
        told = data.draw(st.sampled_from(sorted(names))) if len(names) > 1 else None
        part = (yards - back) / 2
        entries.append(
            load(number, yards, back, areas=tuple((u, part if u == told else None) for u in sorted(names)))
        )
    whole = job(*entries, areas=made)
    for each in entries:
        assert each.load is not None
        parts = [shares.of_load(whole, each, area) for area in made]
        stayed = [part.stayed for part in parts if part is not None and part.stayed is not None]
        assert sum(stayed, F(0)) == F(each.load.yards or 0) - F(each.load.returned_yd3 or 0)
        assert all(part >= 0 for part in stayed)
    turned = replace(whole, areas=tuple(data.draw(st.permutations(made))))
    for area in made:
        assert of(turned, area) == replace(of(whole, area), shared=of(turned, area).shared)
    if len(made) == 1:
        (placed,) = areas(whole, ZONE)
        assert placed.shared == ()
        assert placed.placed_yd3 == sum(yards - back for yards, back, _ in trucks)


@settings(deadline=None)
@given(AREAS, st.integers(1, 400), st.booleans())
def test_all_areas_together_have_the_release_and_the_gallons(
    sizes: list[tuple[float, float]], pounds: int, bare: bool
) -> None:
    made = tuple(Area(f"u{i}", f"area {i}", area_ft2=a, depth_in=d) for i, (a, d) in enumerate(sizes))
    coat = used(2, "seal", BADGER, pounds, "gal", coat=None if bare else Coat(1, area_ft2=500))
    whole = job(used(1, "powder_release", OTTER, pounds, "lb"), coat, areas=made)
    found = areas(whole, ZONE)
    assert sum(placed.release_lb or 0 for placed in found) == pytest.approx(pounds)
    assert sum(placed.coats[0].gal or 0 for placed in found) == pytest.approx(pounds)
    assert len({placed.release_lb_per_100_ft2 for placed in found}) == 1
