"""What stands on the shelf, lot by lot; enough of it, and from one lot; what it costs."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from fractions import Fraction as F
from itertools import count
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as some

from finishlog.records.answers import StockMove, StockWhat, Swept, UsedMaterial
from finishlog.records.log import Product
from finishlog.records.shelf import ShelfLot, Wanted
from finishlog.records.shop import Shop
from finishlog.trade import money
from finishlog.trade.powder_back import SAME_POWDER
from finishlog.trade.shelf import amount as said
from finishlog.trade.shelf import enough, in_base, lots
from finishlog.units import exact

START = datetime(2026, 6, 1, 12, tzinfo=UTC)
OTTER = Product("p1", "Otter Back", "powder release", "Toadstone Pigments")
BISCUIT = Product("p2", "Wet Biscuit", "pigment", "Toadstone Pigments", pack_lb=25)
UIDS = count(1)
SHOP = Shop.from_values({})


def move(what: StockWhat, amount: float | None, day: int = 0, product: Product = OTTER, lot: str | None = "0329",
         unit: str = "lb", price: float | None = None) -> StockMove:  # fmt: skip
    when = START + timedelta(days=day)
    return StockMove(f"m{next(UIDS)}", product, what, when, when, amount, unit, lot, price)


def use(amount: float | None, day: int = 1, product: Product = OTTER, lot: str | None = "0329", unit: str = "lb",
        reclaimed: bool = False, job: str = "walk", area: str | None = "a") -> UsedMaterial:  # fmt: skip
    return UsedMaterial(job, day, "powder_release", START + timedelta(days=day), product, lot, amount, unit,
                        reclaimed, area)  # fmt: skip


def only(*moves: StockMove, uses: tuple[UsedMaterial, ...] = (), swept: tuple[Swept, ...] = ()) -> ShelfLot:
    [lot] = lots(moves, uses, swept)
    return lot


def test_bought_less_used_is_left() -> None:
    lot = only(move("bought", 50, price=150), move("opened", None, 1), uses=(use(8.4), use(12, 2)))
    assert (lot.bought, lot.used, lot.left) == (F(50), F("20.4"), F("29.6"))
    assert lot.usd_per_unit == 3
    assert lot.largest_use == 12
    assert lot.opened_on == date(2026, 6, 2)
    assert lot.is_kept


def test_a_count_sets_what_is_left() -> None:
    lot = only(move("bought", 50), move("counted", 31, 3), uses=(use(8), use(5, 4)))
    assert lot.left == 26
    assert only(move("counted", 0)).left == 0


def test_more_used_than_bought_is_kept_as_a_negative() -> None:
    assert only(move("bought", 5), uses=(use(8),)).left == -3


def test_what_was_never_bought_or_has_an_unknown_amount_cannot_be_told() -> None:
    never = only(uses=(use(8),))
    assert never.left is None
    assert not never.is_kept
    assert only(move("bought", 50), uses=(use(None),)).left is None
    assert only(move("bought", 50), move("counted", 9, 5), uses=(use(None),)).left == 9
    assert only(move("bought", None)).left is None


def test_units_are_one_and_bags_are_weighed_where_the_bag_is_known() -> None:
    assert in_base(2, "bag", BISCUIT) == (F(50), "lb")
    assert in_base(2, "bag", OTTER) == (F(2), "bag")
    assert in_base(8, "oz", OTTER) == (F(1, 2), "lb")
    assert in_base(64, "fl oz", OTTER) == (F(1, 2), "gal")
    assert (
        only(move("bought", 2, product=BISCUIT, unit="bag"), uses=(use(16, product=BISCUIT, unit="oz"),)).left
        == 49
    )
    mixed = only(move("bought", 2, unit="bag"), uses=(use(8),))
    assert mixed.left is None
    assert "bag" in mixed.doubts[0]


def test_a_sweep_brings_the_powder_of_that_area_back_apart_from_fresh() -> None:
    swept = Swept("walk", 9, START + timedelta(days=2), "a", 3.0)
    lot = only(move("bought", 50), uses=(use(8), use(2, 5, reclaimed=True)), swept=(swept,))
    assert (lot.left, lot.reclaimed, lot.reclaimed_used, lot.reclaimed_left) == (F(42), F(3), F(2), F(1))
    elsewhere = Swept("walk", 9, START + timedelta(days=2), "b", 3.0)
    assert only(move("bought", 50), uses=(use(8),), swept=(elsewhere,)).reclaimed == 0


def test_powder_of_two_lots_comes_back_as_no_lot() -> None:
    swept = Swept("walk", 9, START + timedelta(days=2), None, 3.0)
    found = lots((), (use(8), use(4, lot="0330")), (swept,))
    assert {lot.lot: lot.reclaimed for lot in found} == {None: F(3), "0329": F(0), "0330": F(0)}


@given(
    lb=some.decimals("0.25", "7.75", places=2).map(float),
    sweep_day=some.integers(2, 4),
    shelf_day=some.integers(2, 30),
    two_buckets=some.booleans(),
    lot=some.sampled_from([None, "0329"]),
)
def test_one_powder_counts_once_whoever_told_of_it(
    lb: float, sweep_day: int, shelf_day: int, two_buckets: bool, lot: str | None
) -> None:
    """By the sweep, by the shelf, or by both: as much stands there. What was used of it is off once, too."""
    swept = (Swept("walk", 9, START + timedelta(days=sweep_day), "a", lb),)
    parts = (lb / 2, lb / 2) if two_buckets else (lb,)
    shelved = [replace(move("reclaimed", part, shelf_day, lot=lot), job="walk") for part in parts]
    thrown = (use(8), use(0.25, 40, reclaimed=True))
    one = [lots([move("bought", 50), *moves], thrown, told) for moves, told in (
        ([], swept), (shelved, ()), (shelved, swept))]  # fmt: skip
    sums = [(sum(x.left or 0 for x in held), sum(x.reclaimed for x in held), sum(x.reclaimed_left for x in held))
            for held in one]  # fmt: skip
    assert sums[2][:2] == (F(42), exact(lb))
    assert sums[0] == sums[2]
    if lot:
        assert sums[1] == sums[2]


def test_the_larger_account_counts_and_another_job_or_season_is_other_powder() -> None:
    swept = (Swept("walk", 9, START + timedelta(days=2), "a", 3.0),)
    later = replace(move("reclaimed", 2, 3), job="walk")
    assert only(move("bought", 50), later, uses=(use(8),), swept=swept).reclaimed == 3
    more = replace(move("reclaimed", 4, 3), job="walk")
    assert only(move("bought", 50), more, uses=(use(8),), swept=swept).reclaimed == 4
    elsewhere = replace(later, job="yard", uid="x")
    assert only(move("bought", 50), elsewhere, uses=(use(8),), swept=swept).reclaimed == 5
    nowhere = replace(later, job=None, uid="y")
    assert only(move("bought", 50), nowhere, uses=(use(8),), swept=swept).reclaimed == 5
    season = replace(move("reclaimed", 2, 60), job="walk")
    assert only(move("bought", 50), season, uses=(use(8),), swept=swept).reclaimed == 5


def test_a_sweep_of_two_powders_is_of_the_one_that_the_shelf_took_back() -> None:
    soot = Product("p3", "Soot Cat", "powder release", "Toadstone Pigments")
    thrown = (use(8), use(2, 1, product=soot, lot="0401"))
    swept = (Swept("walk", 9, START + timedelta(days=2), "a", 3.0),)
    held = lots([move("bought", 50), replace(move("reclaimed", 3, 3), job="walk")], thrown, swept)
    assert {lot.product.name: lot.reclaimed for lot in held} == {"Otter Back": F(3), "Soot Cat": F(0)}


def test_spoiled_is_reclaimed_powder_first_and_thrown_away_is_fresh() -> None:
    lot = only(move("bought", 50), move("reclaimed", 3, 1), move("spoiled", 5, 2), move("thrown", 4, 3))
    assert (lot.left, lot.reclaimed_left) == (F(44), F(0))


def test_more_reclaimed_than_thrown_and_more_used_than_reclaimed_is_said() -> None:
    lot = only(move("bought", 50), move("reclaimed", 9, 2), uses=(use(8),))
    assert any("ever thrown" in doubt for doubt in lot.doubts)
    over = only(move("bought", 50), uses=(use(2, reclaimed=True),))
    assert over.reclaimed_left == 0
    assert any("swept up" in doubt for doubt in over.doubts)


def test_a_lot_used_before_it_was_bought_says_so() -> None:
    lot = only(move("bought", 50, 9), uses=(use(8),))
    assert lot.left == 42
    assert lot.doubts == ("8 lb was used before it was bought.",)
    of_no_lot = only(move("bought", 50, 9, lot=None), uses=(use(8, lot=None), use(5, 10, lot=None)))
    assert (of_no_lot.left, of_no_lot.doubts) == (F(45), ())


@given(
    some.lists(
        some.tuples(some.sampled_from(["bought", "used"]), some.integers(1, 500)), min_size=1, max_size=12
    )
)
def test_what_is_left_is_the_sum_in_any_order(parts: list[tuple[str, int]]) -> None:
    moves = [move("bought", n / 16, i) for i, (what, n) in enumerate(parts) if what == "bought"]
    uses = [use(n / 16, i) for i, (what, n) in enumerate(parts) if what == "used"]
    left = lots(moves, uses)[0].left
    assert left == (sum((F(n, 16) * (1 if what == "bought" else -1) for what, n in parts)) if moves else None)


# enough


def wanted(amount: float, lot: str | None = "0329", **more: Any) -> Wanted:
    return Wanted(OTTER.name, OTTER.maker, OTTER.kind, F(str(amount)), "lb", lot, **more)


def shelf(**left: float) -> tuple[ShelfLot, ...]:
    return lots([move("bought", amount, lot=lot.removeprefix("L")) for lot, amount in left.items()], ())


def test_fresh_of_the_same_lot_comes_first() -> None:
    found = enough(wanted(8.4), shelf(L0400=60, L0329=10))
    assert [(take.lot, take.amount) for take in found.takes] == [("0329", F("8.4"))]
    assert (found.one_lot, found.same_lot, found.short, found.settle) == (True, True, 0, False)
    assert found.text == "8.4 lb of Otter Back: enough, all of lot 0329."


def test_not_from_one_lot_and_not_of_the_old_one() -> None:
    two = enough(wanted(12), shelf(L0329=10, L0400=5))
    assert [(take.lot, take.amount) for take in two.takes] == [("0329", F(10)), ("0400", F(2))]
    assert two.settle
    assert "not in one lot" in two.text
    other = enough(wanted(12), shelf(L0400=30, L0500=20))
    assert (other.one_lot, other.same_lot, other.takes[0].lot) == (
        True,
        False,
        "0500",
    )  # the smallest that has it all
    assert "not of 0329 as before" in other.text
    assert enough(wanted(12, None), shelf(L0400=30)).same_lot is None


def test_short_and_unknown() -> None:
    short = enough(wanted(12), shelf(L0329=10))
    assert (short.short, short.one_lot) == (F(2), False)
    assert "2 lb short" in short.text
    assert enough(wanted(12), ()).short is None
    assert enough(wanted(12), lots((), (use(8),))).short is None
    assert enough(wanted(12), lots([move("bought", 1)], (use(8),))).short == 12


def test_reclaimed_powder_is_never_on_a_match_unasked() -> None:
    held = lots([move("bought", 10), move("reclaimed", 6, 1)], (use(2),))
    match = enough(wanted(12), held)
    assert not any(take.reclaimed for take in match.takes)
    assert match.short == 4
    assert "6 lb reclaimed left out." in match.text
    asked = enough(wanted(12), held, reclaimed=True)
    assert [(take.reclaimed, take.amount) for take in asked.takes] == [(False, F(8)), (True, F(4))]


def test_another_makers_shade_of_the_same_name_is_another() -> None:
    other = Wanted(OTTER.name, "Hollow Kettle", OTTER.kind, F(8), "lb")
    assert enough(other, shelf(L0329=50)).short is None


# money


def test_a_price_is_the_lots_then_another_lots_then_the_setting() -> None:
    held = lots([move("bought", 50, price=150), move("bought", 50, lot="0400", price=200)], ())
    assert money.price(wanted(8), held, SHOP) == (F(3), "lot 0329")
    assert money.price(wanted(8, "0400"), held, SHOP) == (F(4), "lot 0400")
    assert money.price(wanted(8), (), SHOP) == (SHOP.release_per_lb, "setting")
    assert money.price(Wanted("Muriatic", None, "acid", F(1), "gal"), (), SHOP) is None


def test_the_cost_of_material_and_of_running_short() -> None:
    parts, unknown = money.parts((wanted(10), Wanted("Muriatic", None, "acid", F(1), "gal")), (), SHOP)
    cost = money.total((money.concrete(F(3), SHOP), *parts), F(100), money.running_short(SHOP, F(3)), unknown)
    assert cost.usd == 3 * 165 + 10 * 3
    assert cost.usd_per_ft2 == F("5.25")
    assert cost.running_short_usd == 3 * 165 + 200 + 250 + 600  # the settings of the order's own weighing
    assert cost.unknown == ("Muriatic",)
    assert money.total((money.concrete(None, SHOP),), None).unknown == ("concrete",)
    with pytest.raises(AttributeError):
        cost.usd = F(0)  # type: ignore[misc]


# the edges


def test_the_powder_a_sweep_names_is_not_used_again() -> None:
    named = replace(use(3, 2), kind="sweep")
    lot = only(move("bought", 50), uses=(use(8), named))
    assert (lot.used, lot.left) == (F(8), F(42))
    named_other = replace(use(3, 2, lot="0330"), kind="sweep", number=9)
    found = lots(
        [move("bought", 50)], (use(8), named_other), (Swept("walk", 9, START + timedelta(days=2), "a", 3.0),)
    )
    assert {lot.lot: lot.reclaimed for lot in found} == {"0329": F(0), "0330": F(3)}


def test_powder_comes_back_within_the_time_it_is_the_same_powder() -> None:
    swept = (Swept("walk", 9, START + timedelta(days=2), "a", 3.0),)
    for after, reclaimed in ((SAME_POWDER, 3), (SAME_POWDER + timedelta(seconds=1), 5)):
        back = replace(move("reclaimed", 2), job="walk", happened=START + timedelta(days=2) + after)
        assert only(move("bought", 50), back, uses=(use(8),), swept=swept).reclaimed == reclaimed


def test_a_lot_in_bags_is_not_filled_up_in_pounds() -> None:
    swept = (Swept("walk", 9, START + timedelta(days=2), "a", 3.0),)
    back = replace(move("reclaimed", 5, 3), job="walk")
    lot = only(move("bought", 2, unit="bag"), back, uses=(use(1, unit="bag"),), swept=swept)
    assert lot.unit == "bag"
    assert any("It is logged in bag and in lb" in doubt for doubt in lot.doubts)


def test_exactly_all_that_was_thrown_may_come_back() -> None:
    lot = only(move("bought", 50), move("reclaimed", 8, 2), uses=(use(8),))
    assert lot.doubts == ()
    even = only(move("bought", 50), move("reclaimed", 3, 2), uses=(use(8), use(3, 5, reclaimed=True)))
    assert (even.doubts, even.reclaimed_left, even.largest_use) == ((), F(0), F(8))


def test_a_price_is_by_what_was_paid_for_and_the_first_use_is_kept() -> None:
    lot = only(move("bought", 50, price=150), move("bought", 50, 2, price=250), move("bought", 20, 3),
               uses=(use(1, 4), use(1, 6)))  # fmt: skip
    assert (lot.usd_per_unit, lot.bought) == (F(4), F(120))
    assert (lot.first_used, lot.last_used) == (date(2026, 6, 5), date(2026, 6, 7))


def test_spoiled_beyond_what_was_reclaimed_is_fresh() -> None:
    less = only(move("bought", 50), move("reclaimed", 9, 1), move("spoiled", 5, 2), uses=(use(9, 0),))
    assert (less.left, less.reclaimed_left) == (F(41), F(4))


def test_the_lots_stand_by_kind_name_and_lot() -> None:
    cat = Product("p3", "ash cat", "powder release")
    moves = [move("bought", 1, lot=lot) for lot in ("2", "1", None)]
    found = lots([*moves, move("bought", 1, product=cat), move("bought", 1, product=BISCUIT)], ())
    assert [(lot.product.name, lot.lot) for lot in found] == [
        ("Wet Biscuit", "0329"), ("ash cat", "0329"), ("Otter Back", None), ("Otter Back", "1"), ("Otter Back", "2"),
    ]  # fmt: skip


def test_the_largest_lots_come_first_where_none_has_it_all() -> None:
    found = enough(wanted(12, None), shelf(L1=3, L2=7, L3=5))
    assert [(take.lot, take.amount) for take in found.takes] == [("2", F(7)), ("3", F(5))]
    assert "not in one lot: 7 lb of lot 2, 5 lb of lot 3." in found.text
    just = enough(wanted(7, None), shelf(L1=9, L2=7))
    assert [take.lot for take in just.takes] == ["2"]
    unnamed = enough(wanted(1, None), lots([move("bought", 5, lot=None)], ()))
    assert unnamed.text == "1 lb of Otter Back: enough, all of an unknown lot."


@pytest.mark.parametrize(
    ("amount", "unit", "system", "text"),
    [(38, "lb", "us", "38 lb"), (2.5, "gal", "us", "2.5 gal"), (1, "bag", "us", "1 bag"), (2, "bag", "us", "2 bags"),
     (10, "lb", "metric", "4.54 kg"), (1, "gal", "metric", "3.8 L"), (1, "bag", "metric", "1 bag")],
)  # fmt: skip
def test_an_amount_as_people_say_it(amount: float, unit: str, system: str, text: str) -> None:
    # 1 lb = .45359237 kg, 1 US gal = 3.785411784 L: exact, by definition.
    assert said(exact(amount), unit, system) == text
