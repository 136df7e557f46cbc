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


ORDER = ("low", "count", "left", "unknown", "out")
