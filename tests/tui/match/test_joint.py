"""The joint as it is painted, and a plan in few words."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from fractions import Fraction
from typing import Any

import pytest

from finishlog.desk.plan import brief
from finishlog.records.log import Shape
from finishlog.records.plan import Difference, Plan, PlanDay, PlanRequest
from finishlog.records.quantities.dose import PigmentLoad
from finishlog.records.shelf import Enough, Take, Wanted
from finishlog.tui.match import joint, paint
from finishlog.tui.match.joint import Slab
from finishlog.tui.paint import swatch

F = Fraction
OLD = Slab("bare, Sep 2026", "#a98f78", "light brown", "#6f6458", "grayish brown", 19.0)
NEW = replace(OLD, state="day 45, bare", base="#ad927a", says="alike")
DEPTHS = ("full", "gray")


def pixels(lines: list[Any]) -> list[str]:
    """Both pixels of every cell of a picture; the saw cut is none."""
    found: list[str] = []
    for line in lines:
        for piece in line.pieces:
            if piece.text.startswith("▀"):
                found += [piece.tone, piece.back] * len(piece.text)
    return found


@pytest.mark.parametrize("percent", [3.0, 19.0, 33.4, 60.0])
@pytest.mark.parametrize(("width", "rows"), [(58, 2), (76, 3), (116, 6)])
def test_the_share_of_release_in_the_picture_is_the_share_that_is_left(
    percent: float, width: int, rows: int
) -> None:
    old = replace(OLD, left_percent=percent)
    shown = pixels(joint.paint(old, replace(NEW, left_percent=percent), width, rows, "full", True))
    assert len(shown) == (width - 1) * rows * 2
    assert abs(shown.count(OLD.release) - len(shown) * percent / 100) <= 2
    assert {OLD.base, NEW.base} < set(shown)


@pytest.mark.parametrize("depth", DEPTHS)
def test_a_repaint_is_the_same_picture(depth: Any) -> None:
    once = joint.paint(OLD, NEW, 76, 3, depth, True)
    swatch._spots.cache_clear()
    again = joint.paint(OLD, NEW, 76, 3, depth, True)
    assert [line.pieces for line in once] == [line.pieces for line in again]


def test_the_two_slabs_are_no_copy_of_each_other_and_neither_is_a_plain_rectangle() -> None:
    row = joint.paint(OLD, replace(NEW, base=OLD.base), 77, 6, "full", True)[1:7]
    shown = [pixels([line]) for line in row]
    left, right = [one[:76] for one in shown], [one[76:] for one in shown]
    assert left != right
    assert all(len({pixel for row in side for pixel in row}) == 2 for side in (left, right))


def test_a_slab_whose_release_was_not_read_shows_the_relief_of_its_stamp() -> None:
    plain = replace(OLD, release=None)
    shown = set(pixels(joint.paint(plain, replace(plain, state="x"), 76, 3, "full", True)))
    assert shown == {OLD.base, swatch.shaded(OLD.base)}


@pytest.mark.parametrize("dark", [True, False])
def test_without_colors_words_stand_in_place_of_the_picture(dark: bool) -> None:
    said = " ".join(line.text.strip() for line in joint.paint(OLD, NEW, 76, 3, "glyphs", dark))
    assert not set(said) & set("░▒▓█▀▄")
    assert said.startswith("OLD  bare, Sep 2026: light brown, L* 61; 19 % release, grayish brown, L* 43")
    assert "NEW  day 45, bare: alike, L* 62" in said
    wanted = joint.paint(OLD, replace(NEW, like_old=True, says="a sample decides"), 76, 3, "glyphs", dark)
    assert wanted[-1].text == "NEW  day 45, bare; a sample decides"


@pytest.mark.parametrize("width", [58, 76, 116])
def test_nothing_of_the_joint_is_wider_than_its_room(width: int) -> None:
    long = replace(NEW, says="a touch lighter, plainly warmer, a touch duller")
    for depth in ("full", "gray", "glyphs"):
        assert all(line.width <= width for line in joint.paint(OLD, long, width, 3, depth, True))  # type: ignore[arg-type]
    assert long.says in " ".join(line.text for line in joint.paint(OLD, long, width, 3, "full", True))


# the plan in few words


@pytest.fixture
def plan(fake: Any) -> Plan:
    request = PlanRequest("puddlecombe-patio", (Shape(1, "rect", "20x12"),), "4 in", on=date(2026, 6, 13))
    made: Plan = fake.plan_for(request, fake.job_view(fake.lines[0]))
    return made


def test_one_load_says_its_packs_and_several_how_many(plan: Plan) -> None:
    assert plan.pigment is not None
    load = PigmentLoad(F(9, 2), F("76.125"), 15, F("1.125"), F(-1))
    part = replace(plan.pigment.parts[0], loads=(load,), loads_lb=(F("76.125"),))

    def row(*loads: PigmentLoad) -> brief.Ordered:
        pigment = replace(
            plan.pigment, parts=(replace(part, loads=loads, loads_lb=tuple(x.pigment_lb for x in loads)),)
        )  # type: ignore[type-var]
        return list(brief.order(replace(plan, pigment=pigment)))[1]

    assert row(load)[:2] == ("Pigment", "76 lb 2 oz")
    assert row(load).text.startswith("15 packs + 1 lb 2 oz; ")
    assert row(load, load).text.startswith("in 2 loads; ")
    assert row(replace(load, packs=None, remainder_lb=None)).text.startswith("weighed; ")
    assert row(replace(load, remainder_lb=F(0))).text.startswith("15 packs; ")


@pytest.mark.parametrize(
    ("short", "one_lot", "same_lot", "settle", "ends"),
    [
        (F(0), True, True, "", "; enough on the shelf"),
        (F("2.5"), False, None, "2.5 lb short", ""),
        (F(0), False, None, "of several lots", ""),
        (F(0), True, False, "lot H-9, was H-1", ""),
        (None, False, None, "", ""),
    ],
)
def test_the_shelf_is_told_in_the_row_of_the_product(
    plan: Plan, short: F | None, one_lot: bool, same_lot: bool | None, settle: str, ends: str
) -> None:
    assert plan.release is not None
    wanted = Wanted(plan.release.name, None, "powder release", F(10), "lb", "H-1")
    there = Enough(wanted, (Take("H-9", F(10)),), short, one_lot, same_lot, F(0), "", bool(settle))
    row = next(row for row in brief.order(replace(plan, shelf=(there,))) if row.label == "Release")
    assert row.settle == settle
    assert row.text == plan.release.name + ends


def test_without_a_dose_the_row_says_what_to_do(plan: Plan) -> None:
    row = list(brief.order(replace(plan, pigment=None, pigment_advice="Weigh a bag.")))[1]
    assert row == ("Pigment", "—", "", "Weigh a bag.")


def test_the_days_stand_in_their_order_and_one_day_once(plan: Plan) -> None:
    days = brief.timeline(plan)
    assert [(day.when, day.what, day.warned) for day in days] == [
        ("Sat Jun 13", "pour", True), ("Sun", "rinse", True), ("Jul 11", "seal, compare", False),
    ]  # fmt: skip


def test_a_slab_sealed_in_another_season_comes_last(plan: Plan) -> None:
    spring = PlanDay("seal", "Seal", date(2027, 4, 1), date(2027, 6, 1), "in spring, from Apr 1 2027")
    days = (*(day for day in plan.days if day.key != "seal"), spring)
    assert [day[:2] for day in brief.timeline(replace(plan, days=days))][-2:] == [
        ("Jul 11", "compare"), ("Apr 2027", "seal"),
    ]  # fmt: skip


def test_a_usual_day_after_the_turn_of_the_year_is_of_the_next_year() -> None:
    day = PlanDay("seal", "Seal", date(2026, 12, 20), date(2027, 2, 1), "Wed Jan 6, or …")
    assert brief._begins(day) == date(2027, 1, 6)


def test_what_is_to_be_asked_is_one_row_and_what_is_known_none(plan: Plan) -> None:
    differences = (
        Difference("lot", "Lots", "then W-1; ask", "ask"), Difference("mix", "Mix", "was 470, now 480", "act"),
        Difference("season", "Season", "summer then", "know"), Difference("x", "Lot of Sleepy Brick", "ask", "ask"),
    )  # fmt: skip
    buried = (
        "gas line, 18 in down, from the meter, then along the wall",
        "wire, depth unknown",
        "nobody knows",
    )
    rows = list(brief.to_settle(replace(plan, differences=differences, buried=buried)))
    assert rows[0] == ("!", "Buried", "gas line 18 in; wire depth unknown; nobody knows")
    assert rows[1] == ("!", "Mix", "was 470, now 480")
    assert [row.title for row in rows[2:4]] == ["Pour", "Rinse"]
    assert rows[4:] == [("?", "Ask", "lots, lot of Sleepy Brick")]


@pytest.mark.parametrize("width", [58, 76, 100])
def test_no_row_of_what_differs_has_a_mark_without_a_title(plan: Plan, width: int) -> None:
    long = Difference("scm", "Other cementitious", "was 94 lb/yd³, now 84 lb/yd³", "act")
    plan = replace(plan, buried=("gas line, 18 in down", "drip irrigation, 6 in down"), differences=(long,))
    rows = [line.text for one in paint.differing(plan, width) for line in one]
    assert not [row for row in rows if row.strip() == "!" or row.startswith("!  ")]
    assert rows[:2] == [f"{'! Buried':17}gas line, 18 in down", f"{'':17}drip irrigation, 6 in down"]
    assert "! Other cementitious" in rows
    assert all(len(row) <= width for row in rows)


def test_the_row_of_days_gives_way_on_a_narrow_screen(plan: Plan) -> None:
    assert paint.dates(plan, 76).text == "Sat Jun 13 pour ! ─ Sun rinse ! ─ Jul 11 seal, compare"
    assert paint.dates(plan, 50).text == "Sat pour !─Sun rinse !─Jul 11 seal, compare"
