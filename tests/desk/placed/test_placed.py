"""A finish as it was placed is computed from the entries: yards weigh the dose, gaps are said."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from fractions import Fraction
from zoneinfo import ZoneInfo

import pytest

from finishlog.desk.placed.placed import as_placed
from finishlog.desk.words import left_words
from finishlog.records.log import (
    Area,
    Customer,
    Entry,
    Job,
    Load,
    MaterialUse,
    Mix,
    Product,
    Reading,
    Recipe,
    Site,
    Stage,
    StageMaterial,
)
from finishlog.units import read_content_lb_per_yd3, read_volume_yd3

ZONE = ZoneInfo("America/Chicago")
POURED = datetime(2026, 6, 4, 15, 5, tzinfo=UTC)
BISCUIT = Product("p1", "Wet Biscuit", "pigment", "Loamworks", max_percent_of_cement=8)
SOOT = Product("p2", "Lamp Soot", "pigment", "Loamworks")
MIX = Mix("m1", "Hollow Plant", "217", "Type I/II", cement_lb_per_yd3=480, scm_lb_per_yd3=84)
FIELD = Area("a1", "patio", area_ft2=443.566, depth_in=4)
STEPS = Area("a2", "steps", "stairs")


def entry(number: int, kind: str, at: datetime = POURED, **facts: object) -> Entry:
    return Entry(number, f"e{number}", kind, at, at, **facts)  # type: ignore[arg-type]


def load(number: int, yards: float | None, *pigment: tuple[Product, float, str], **facts: object) -> Entry:
    uses = tuple(MaterialUse(product, amount, unit, "K-131") for product, amount, unit in pigment)
    return entry(number, "load", materials=uses, load=Load(yards, mix=MIX, **facts))  # type: ignore[arg-type]


def job(*entries: Entry, areas: tuple[Area, ...] = (FIELD,)) -> Job:
    return Job("j1", "gravelpit-patio", "patio", Customer("c1", "Gravelpit"), Site("s1", "1 Kettle Row"),
               areas=areas, entries=entries, history=entries)  # fmt: skip


def test_the_dose_is_weighted_by_yards() -> None:
    placed = as_placed(
        job(load(1, 4.0, (BISCUIT, 90, "lb")), load(2, 2.25, (BISCUIT, 45, "lb"))), FIELD, ZONE
    )
    assert placed.dose_lb_per_yd3 == Fraction(135) / Fraction(25, 4)
    assert (placed.dose_low, placed.dose_high) == (Fraction(20), Fraction(45, 2))
    assert placed.dose_from == "loads"
    assert placed.pigments[0].lots == ("K-131",)


def test_what_went_back_does_not_weigh_in_the_dose() -> None:
    """Half of the strong load went back: a quarter of the slab is of it, not 2 in 5."""
    weak = load(1, 6.0, (BISCUIT, 120, "lb"), returned_yd3=0.0, dumped_yd3=0.0)
    strong = load(2, 4.0, (BISCUIT, 120, "lb"), returned_yd3=2.0, dumped_yd3=0.0)
    placed = as_placed(job(weak, strong), FIELD, ZONE)
    assert placed.dose_lb_per_yd3 == Fraction(20 * 6 + 30 * 2, 8)
    assert [float(off.off_percent) for off in placed.off_loads] == pytest.approx([-100 / 9, 100 / 3])
    unknown = load(2, 4.0, (BISCUIT, 120, "lb"), returned_yd3=2.0)
    assert as_placed(job(weak, unknown), FIELD, ZONE).dose_lb_per_yd3 == 24  # by the yards it brought


def test_a_load_that_all_went_back_is_no_part_of_the_dose() -> None:
    kept = load(1, 6.0, (BISCUIT, 120, "lb"), returned_yd3=0.0, dumped_yd3=0.0)
    back = load(2, 4.0, (BISCUIT, 120, "lb"), returned_yd3=4.0, dumped_yd3=0.0)
    assert as_placed(job(kept, back), FIELD, ZONE).dose_lb_per_yd3 == 20
    assert as_placed(job(back), FIELD, ZONE).dose_lb_per_yd3 == 30


def test_a_load_more_than_5_percent_off_is_named_with_its_ticket() -> None:
    placed = as_placed(
        job(load(1, 4.0, (BISCUIT, 88, "lb")), load(2, 4.0, (BISCUIT, 78, "lb"), ticket="40722")), FIELD, ZONE
    )
    assert [(off.load, off.ticket, round(float(off.off_percent), 1)) for off in placed.off_loads] == [
        (1, None, 6.0),
        (2, "40722", -6.0),
    ]


def test_how_far_off_a_load_is_named_is_the_shops_setting() -> None:
    made = job(load(1, 4.0, (BISCUIT, 88, "lb")), load(2, 4.0, (BISCUIT, 78, "lb")))
    assert as_placed(made, FIELD, ZONE, Fraction(8)).off_loads == ()
    assert len(as_placed(made, FIELD, ZONE, Fraction(2)).off_loads) == 2


def test_exactly_5_percent_off_is_not_named() -> None:
    placed = as_placed(
        job(load(1, 4.0, (BISCUIT, 105, "lb")), load(2, 4.0, (BISCUIT, 95, "lb"))), FIELD, ZONE
    )
    assert placed.off_loads == ()


def test_a_blend_has_a_dose_for_each_pigment_and_one_together() -> None:
    placed = as_placed(job(load(1, 5.0, (BISCUIT, 80, "lb"), (SOOT, 40, "oz"))), FIELD, ZONE)
    assert [p.dose_lb_per_yd3 for p in placed.pigments] == [16, Fraction(1, 2)]
    assert placed.dose_lb_per_yd3 == Fraction(33, 2)


def test_a_blend_with_a_pigment_that_was_not_weighed_has_no_dose() -> None:
    made = load(1, 5.0, (BISCUIT, 80, "lb"))
    unweighed = replace(made, materials=(*made.materials, MaterialUse(SOOT)))
    placed = as_placed(job(unweighed), FIELD, ZONE)
    assert placed.dose_lb_per_yd3 is None
    assert [p.name for p in placed.pigments] == ["Wet Biscuit", "Lamp Soot"]


def test_a_pigment_that_was_weighed_into_no_load_has_no_dose() -> None:
    blend = load(2, 2.0, (BISCUIT, 40, "lb"))
    unweighed = replace(blend, materials=(*blend.materials, MaterialUse(SOOT)))
    placed = as_placed(job(load(1, 4.0, (BISCUIT, 80, "lb")), unweighed), FIELD, ZONE)
    assert [p.dose_lb_per_yd3 for p in placed.pigments] == [20, None]
    assert placed.dose_lb_per_yd3 is None


def test_loads_that_were_not_weighed_are_missed() -> None:
    placed = as_placed(job(load(1, 4.0, (BISCUIT, 80, "lb")), load(2, 2.0)), FIELD, ZONE)
    assert placed.dose_lb_per_yd3 == 20
    assert "pigment for 1 of 2 loads not logged" in placed.missing


def test_the_recipe_stands_in_where_no_load_was_weighed_and_says_so() -> None:
    recipe = Recipe(
        "r1", "biscuit", (Stage(1, "integral_color", materials=(StageMaterial(BISCUIT, None, 4, "%"),)),)
    )
    area = replace(FIELD, recipe=recipe)
    placed = as_placed(job(load(1, 5.0), areas=(area,)), area, ZONE)
    assert placed.dose_lb_per_yd3 == Fraction(564) * 4 / 100
    assert placed.dose_from == "recipe"
    assert any("using the recipe's dose" in gap for gap in placed.missing)


def test_a_percent_without_the_cement_content_is_unknown_not_guessed() -> None:
    recipe = Recipe(
        "r1", "biscuit", (Stage(1, "integral_color", materials=(StageMaterial(BISCUIT, None, 4, "%"),)),)
    )
    area = replace(FIELD, recipe=recipe)
    bare = entry(1, "load", load=Load(5.0))
    assert as_placed(job(bare, areas=(area,)), area, ZONE).dose_lb_per_yd3 is None


def test_loads_go_to_the_areas_they_were_mapped_to() -> None:
    made = job(
        load(1, 4.0, (BISCUIT, 90, "lb"), areas=(("a1", 4.0),)),
        load(2, 2.0, (BISCUIT, 30, "lb"), areas=(("a1", 1.0), ("a2", 1.0))),
        areas=(FIELD, STEPS),
    )
    assert as_placed(made, STEPS, ZONE).dose_lb_per_yd3 == 15
    field = as_placed(made, FIELD, ZONE)
    assert (field.loads, field.delivered_yd3) == (2, 5.0)
    assert field.dose_lb_per_yd3 == Fraction(90 + 15, 5)


@pytest.mark.parametrize(
    ("pigments", "over"),
    [
        ([(SOOT, 48, "lb")], False),
        ([(SOOT, 48.1, "lb")], True),
        ([(BISCUIT, 38.4, "lb")], False),
        ([(BISCUIT, 30, "lb"), (SOOT, 8.5, "lb")], True),  # together over the 8 % of one of them
    ],
)
def test_over_the_limit_is_kept_and_flagged(pigments: list[tuple[Product, float, str]], over: bool) -> None:
    assert as_placed(job(load(1, 1.0, *pigments)), FIELD, ZONE).over_limit is over


def test_one_load_over_the_limit_is_flagged_though_the_pour_is_not() -> None:
    placed = as_placed(job(load(1, 4.0, (SOOT, 100, "lb")), load(2, 1.0, (SOOT, 49, "lb"))), FIELD, ZONE)
    assert placed.dose_lb_per_yd3 == Fraction(149, 5)
    assert placed.over_limit


def test_a_dose_at_the_limit_is_not_over_it_by_the_floats_of_the_log() -> None:
    cement = float(read_content_lb_per_yd3("399 kg/m3"))
    yards = float(read_volume_yd3("6 m3"))
    mix = Mix("m2", cement_lb_per_yd3=cement)
    pounds = float(read_content_lb_per_yd3("399 kg/m3") / 10 * read_volume_yd3("6 m3"))
    made = entry(1, "load", materials=(MaterialUse(SOOT, pounds, "lb"),), load=Load(yards, mix=mix))
    placed = as_placed(job(made), FIELD, ZONE)
    assert placed.dose_lb_per_yd3 is not None
    assert placed.dose_lb_per_yd3 > Fraction(repr(cement)) / 10
    assert not placed.over_limit


def test_the_rinse_age_counts_from_the_end_of_the_pour() -> None:
    rinsed = entry(3, "rinse", POURED + timedelta(hours=26), facts={"release_left_percent": 33})
    poured = entry(2, "pour")
    placed = as_placed(job(load(1, 5.0), poured, rinsed), FIELD, ZONE)
    assert placed.rinse_age_h == 26
    assert placed.release_left_percent == 33


def test_a_rinse_on_a_day_has_only_the_age_that_was_written_down() -> None:
    rinsed = entry(3, "rinse", POURED + timedelta(hours=20), exactness="day")
    assert as_placed(job(load(1, 5.0), rinsed), FIELD, ZONE).rinse_age_h is None
    assert "rinse age not logged" in as_placed(job(load(1, 5.0), rinsed), FIELD, ZONE).missing
    noted = replace(rinsed, facts={"age_h": 25})
    assert as_placed(job(load(1, 5.0), noted), FIELD, ZONE).rinse_age_h == 25


def test_an_unknown_leftover_leaves_the_placed_yards_unknown() -> None:
    known = load(1, 5.0, returned_yd3=0.5, dumped_yd3=0.0)
    assert as_placed(job(known), FIELD, ZONE).placed_yd3 == 4.5
    assert as_placed(job(known, load(2, 2.0)), FIELD, ZONE).placed_yd3 is None


def test_of_a_shared_load_only_the_areas_own_part_was_placed_there() -> None:
    told = load(1, 4.0, returned_yd3=0.0, dumped_yd3=0.0, areas=(("a1", 3.0), ("a2", 1.0)))
    untold = load(1, 4.0, returned_yd3=0.0, dumped_yd3=0.0, areas=(("a1", None), ("a2", None)))
    assert as_placed(job(told, areas=(FIELD, STEPS)), STEPS, ZONE).placed_yd3 == 1.0
    assert as_placed(job(untold, areas=(FIELD, STEPS)), STEPS, ZONE).placed_yd3 is None


def test_a_dry_bare_reading_comes_before_a_newer_damp_one() -> None:
    dry = entry(1, "reading", reading=Reading(62, 4.5, 16))
    damp = entry(2, "reading", POURED + timedelta(days=50), reading=Reading(48, 5, 17, damp=True))
    placed = as_placed(job(dry, damp), FIELD, ZONE)
    assert placed.base_reading == dry.reading


def test_a_job_with_three_facts_is_worth_keeping() -> None:
    placed = as_placed(job(), FIELD, ZONE)
    assert placed.poured_on is None
    assert len(placed.missing) >= 8


def _field(number: int, day: float, left: float, sd: float | None, **more: object) -> Entry:
    facts: dict[str, float] = {"release_left_percent": left}
    if sd is not None:
        facts["release_left_sd_percent"] = sd
    reading = Reading(56, 5, 16, spot="field", **more)  # type: ignore[arg-type]
    return entry(number, "reading", POURED + timedelta(days=day), reading=reading, facts=facts)


def test_release_left_is_what_the_settled_field_was_measured_at() -> None:
    poured = entry(1, "pour")
    rinsed = entry(2, "rinse", POURED + timedelta(days=1), facts={"release_left_percent": 25})
    placed = as_placed(job(poured, rinsed, _field(3, 30, 18.0, 5.0), _field(4, 90, 19.0, 3.0)), FIELD, ZONE)
    assert placed.release_left_percent == 19.0
    assert placed.release_left_measured
    assert left_words(placed) == "19 % left, measured at final color"


@pytest.mark.parametrize(
    "reading",
    [
        _field(3, 30, 18.0, None),
        _field(3, 30, 18.0, 12.0),
        _field(3, 7, 18.0, 3.0),
        _field(3, 30, 18.0, 3.0, damp=True),
        _field(3, 30, 18.0, 3.0, sample=4),
    ],
    ids=["by eye", "vaguer than the eye", "not settled", "damp", "on a sample"],
)
def test_a_reading_that_is_no_surer_than_the_eye_does_not_stand_for_it(reading: Entry) -> None:
    rinsed = entry(2, "rinse", POURED + timedelta(days=1), facts={"release_left_percent": 25})
    placed = as_placed(job(entry(1, "pour"), rinsed, reading), FIELD, ZONE)
    assert placed.release_left_percent == 25
    assert not placed.release_left_measured
    assert left_words(placed) == "25 % left"
