"""The shelf read from what is kept says what all lots together say, in parts and of what is wanted."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from fractions import Fraction
from itertools import count
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from finishlog.desk.services import Services
from finishlog.desk.shelf import shelf, stocked
from finishlog.records.shelf import Wanted
from finishlog.records.shop import Shop
from finishlog.store import Log
from finishlog.trade import money
from finishlog.trade import shelf as stock
from tests.store.search.test_shelved import LOTS, PRODUCTS, Season


@pytest.fixture
def filled(tmp_path: Path, request: pytest.FixtureRequest) -> Iterator[Services]:
    uids, season = count(1), Season(request.param)
    log = Log.create(tmp_path / "l.finishlog", clock=lambda: NOW, new_uid=lambda: f"u{next(uids)}")
    with log.writing() as writer:
        season.begin(writer)
        for _ in range(70):
            season.step(writer)
    yield Services(
        open_log=lambda: log, has_log=lambda: True, make_log=lambda *_: log, clock=lambda: NOW,
        find_zone=lambda: ZoneInfo("America/Chicago"),
    )  # fmt: skip
    log.close()


NOW = datetime(2026, 1, 5, 12, tzinfo=UTC)
EACH = pytest.mark.parametrize("filled", range(5), indirect=True)


@EACH
def test_what_counts_for_a_plan_answers_as_all_lots_do(filled: Services) -> None:
    shop, answers = Shop.from_values({}), set()
    with filled.log().reading() as log:
        every = stocked.lots(log, filled)
        for product in PRODUCTS:
            for lot in (*LOTS, "none such"):
                for unit, amount in (("lb", 3), ("lb", 500), ("gal", 2), ("bag", 1)):
                    wanted = Wanted(product.name, None, product.kind, Fraction(amount), unit, lot)
                    some = stocked.lots_for(log, filled, [wanted])
                    assert stock.enough(wanted, some) == stock.enough(wanted, every)
                    assert money.price(wanted, some, shop) == money.price(wanted, every, shop)
                    answers.add(stock.enough(wanted, some).short is None)
    assert answers == {True, False}


@EACH
def test_the_parts_of_the_shelf_are_the_whole(filled: Services) -> None:
    for every in (False, True):
        whole = shelf.shelf(filled, all=every)
        assert whole.total == len(whole.lines) > 3
        with filled.log().reading() as log:
            held = [lot for lot in stocked.lots(log, filled) if every or lot.is_kept]
        assert sorted(map(repr, held)) == sorted(repr(line.held) for line in whole.lines)
        assert [line.state for line in whole.lines] == sorted(
            (line.state for line in whole.lines), key=ORDER.index
        )
        for offset in range(0, whole.total, 2):
            part = shelf.shelf(filled, all=every, limit=2, offset=offset)
            assert part.lines == whole.lines[offset : offset + 2]
            assert (part.total, part.sentence, part.answers) == (whole.total, whole.sentence, whole.answers)


@EACH
def test_what_is_used_up_stands_last_by_product_and_lot(filled: Services) -> None:
    with filled.log().reading() as log:
        open_now = {(mark.product.uid, mark.lot) for mark in log.shelf_marks(every=True)}
        every = {(lot.product.uid, lot.lot): lot for lot in stocked.lots(log, filled)}
        total, gone = log.shelf_used_up()
        parts = [log.shelf_used_up(limit=2, offset=offset) for offset in range(0, total + 2, 2)]
    assert total == len(gone) == len(every) - len(open_now)
    assert [mark for _, some in parts for mark in some] == gone
    assert {count for count, _ in parts} == {total}
    for mark in gone:
        lot = every[mark.product.uid, mark.lot]
        assert (lot.left, lot.reclaimed_left) == (0, 0)
    told = [(mark.product.kind, mark.product.name.casefold(), mark.lot or "") for mark in gone]
    assert told == sorted(told)
    lines = shelf.shelf(filled, all=True).lines
    assert [(line.held.product.uid, line.held.lot) for line in lines[len(lines) - total :]] == [
        (mark.product.uid, mark.lot) for mark in gone
    ]


@EACH
def test_of_what_only_has_to_be_enough_less_is_read(filled: Services) -> None:
    """Without a price the used-up lots matter only where nothing else is known."""
    with filled.log().reading() as log:
        every = stocked.lots(log, filled)
        for product in PRODUCTS:
            for unit in ("lb", "gal", "bag"):
                wanted = Wanted(product.name, None, product.kind, Fraction(3), unit)
                some = stocked.lots_for(log, filled, [wanted], priced=False)
                assert stock.enough(wanted, some) == stock.enough(wanted, every)


@EACH
def test_what_was_on_the_shelf_is_offered_with_what_is_used_up(filled: Services) -> None:
    products, makers, lots = shelf.names(filled)
    held = [line.held for line in shelf.shelf(filled, all=True).lines]
    assert set(products) == {lot.product.name for lot in held}
    assert set(makers) == {lot.product.maker for lot in held if lot.product.maker}
    assert set(lots) == {lot.lot for lot in held if lot.lot}
    assert max(map(len, (products, makers, lots))) > 1
    assert all(len(some) == len(set(some)) for some in (products, makers, lots))


@EACH
def test_products_stand_by_their_last_use_as_the_entries_tell_it(filled: Services) -> None:
    with filled.log().reading() as log:
        last: dict[str, datetime] = {}
        for use in log.material_uses():
            if use.kind != stock.SWEEP:
                last[use.product.uid] = max(use.happened, last.get(use.product.uid, use.happened))
        found = log.products()
        days = [last[product.uid] for product in found if product.uid in last]
        assert days == sorted(days, reverse=True)
        assert len(days) > 1
        assert all(product.uid in last for product in found[: len(days)])
        for product in found:
            spaced = product.name.upper().replace(" ", "  ")
            assert product in log.products(product.kind, named=spaced)
            assert {each.name for each in log.products(named=spaced)} == {product.name}


ORDER = ("low", "count", "left", "unknown", "out")
