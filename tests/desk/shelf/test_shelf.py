"""The shelf through its desk: moves, corrections, what jobs use and sweep up, the plan's needs, past costs."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from itertools import count
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from finishlog.desk.doubts.odd import Doubt
from finishlog.desk.due import ahead
from finishlog.desk.jobs import edit
from finishlog.desk.match import plan
from finishlog.desk.plan import as_json
from finishlog.desk.record import record, taking_back
from finishlog.desk.record.record import WrongFields
from finishlog.desk.services import Services
from finishlog.desk.shelf import money, needs, shelf, stocked
from finishlog.errors import InputError
from finishlog.records.shelf import ShelfLine
from finishlog.store import Log

ZONE = ZoneInfo("America/Chicago")
WALK = "barnaby-puddlecombe-side-walk"
OTTER = {"product": "Otter Back", "kind": "powder release", "lot": "0329"}


class Ticking:
    """A clock that goes on by a second at each look, so that nothing is logged at the same instant."""

    def __init__(self) -> None:
        self.now = datetime(2026, 6, 16, 12, 40, tzinfo=UTC)

    def __call__(self) -> datetime:
        self.now += timedelta(seconds=1)
        return self.now


@pytest.fixture
def services(tmp_path: Path) -> Iterator[Services]:
    uids, clock = count(1), Ticking()
    log = Log.create(tmp_path / "l.finishlog", clock=clock, new_uid=lambda: f"u{next(uids)}")
    made = Services(open_log=lambda: log, has_log=lambda: True, make_log=lambda *_: log, clock=clock,
                    find_zone=lambda: ZONE)  # fmt: skip
    edit.new_job(made, {"customer": "Barnaby Puddlecombe", "job": "side walk", "street": "12 Teakettle Lane",
                        "areas": "field 30x4 4in"})  # fmt: skip
    yield made
    log.close()


def buy(services: Services, amount: str = "50 lb", **more: str) -> None:
    shelf.move(services, "buy", {**OTTER, "amount": amount, "at": "2026-06-01", **more})


def placed(services: Services) -> None:
    """The walk as it was placed: one load, powder thrown, the end of the pour."""
    record.record(services, WALK, "load", {
        "at": "2026-06-10 8a", "yards": "2", "product": "Wet Biscuit", "lot": "K-131", "amount": "12 lb",
        "returned_yd3": "0", "dumped_yd3": "0",
    })  # fmt: skip
    record.record(services, WALK, "powder_release", {"at": "2026-06-10 10a", "product": "Otter Back", "lot": "0329",
                                                     "amount": "8 lb"})  # fmt: skip
    record.record(services, WALK, "pour", {"at": "2026-06-10 11a"})


def the(services: Services, lot: str = "0329") -> ShelfLine:
    return next(line for line in shelf.shelf(services, all=True).lines if line.held.lot == lot)


def test_an_empty_shelf_says_so(services: Services) -> None:
    assert shelf.shelf(services).sentence == "The shelf is empty. Start with finishlog shelf buy."


def test_bought_used_by_an_entry_and_swept_up_again(services: Services) -> None:
    buy(services, price="150")
    placed(services)
    assert the(services).said == "42 lb left"
    record.record(services, WALK, "sweep", {"at": "2026-06-11 8a", "reclaimed_lb": "2.5"})
    assert the(services).said == "42 lb left, 2.5 lb reclaimed"
    taking_back.undo(services, WALK)
    assert the(services).said == "42 lb left"
    record.record(services, WALK, "powder_release", {"amount": "6 lb"}, replaces=2)
    assert the(services).said == "44 lb left"


def test_only_what_was_kept_here_is_listed(services: Services) -> None:
    placed(services)
    assert shelf.shelf(services).lines == ()
    assert {line.held.lot for line in shelf.shelf(services, all=True).lines} == {"0329", "K-131"}
    assert the(services).said == "never bought or counted here"


def test_a_lot_of_which_more_was_used_than_bought_is_to_be_counted(services: Services) -> None:
    buy(services, "5 lb")
    placed(services)
    assert (the(services).state, the(services).said) == ("count", "3 lb more used than bought: count it")
    shelf.move(services, "count", {**OTTER, "amount": "20 lb"}, because="a pail was never written down")
    assert the(services).said == "20 lb left"


def test_a_lot_that_has_less_than_its_largest_use_runs_low(services: Services) -> None:
    buy(services, "12 lb")
    placed(services)
    assert the(services).state == "low"
    assert shelf.shelf(services).sentence == "Otter Back lot 0329 runs low."


def test_a_correction_keeps_what_it_does_not_name_and_undo_takes_back(services: Services) -> None:
    buy(services, price="150")
    done = shelf.move(services, "buy", {"amount": "45 lb"}, replaces=1)
    assert done.sentence == "Bought 45 lb of Otter Back, lot 0329, $150.00. Otter Back, lot 0329: 45 lb left."
    assert [line.current for line in shelf.moves(services)] == [False, True]
    with pytest.raises(InputError, match="is not current"):
        shelf.move(services, "buy", {"amount": "40 lb"}, replaces=1)
    taken = shelf.undo(services)
    assert taken.sentence == "Undone: Bought 45 lb of Otter Back, lot 0329, $150.00."
    assert [line.said for line in shelf.moves(services)][2] == "Undid line 2"
    with pytest.raises(InputError, match="Nothing logged"):
        shelf.undo(services)
    back = shelf.undo(services, 3)
    assert back.sentence.startswith("Brought back. Bought 45 lb of Otter Back, lot 0329, $150.00.")
    assert [line.current for line in shelf.moves(services)] == [False, False, False, True]
    with pytest.raises(InputError, match="already brought back"):
        shelf.undo(services, 3)


@pytest.mark.parametrize("amount", ["0", "-5", "nan", "inf", "1e309", "5 ft", "", "9" * 500, "5\0"])
def test_an_amount_that_is_none_is_refused(services: Services, amount: str) -> None:
    with pytest.raises(WrongFields):
        shelf.move(services, "reclaim", {**OTTER, "amount": amount})
    assert shelf.moves(services) == ()


@pytest.mark.parametrize("first", ["sweep", "shelf"])
def test_powder_of_one_job_is_on_the_shelf_once(services: Services, first: str) -> None:
    buy(services)
    placed(services)

    def sweep() -> None:
        record.record(services, WALK, "sweep", {"at": "2026-06-11 8a", "reclaimed_lb": "2.5"})

    def reclaim() -> None:
        shelf.move(services, "reclaim", {**OTTER, "amount": "2.5 lb", "at": "2026-06-11 9a", "job": WALK})

    for tell_it in (sweep, reclaim) if first == "sweep" else (reclaim, sweep):
        tell_it()
        assert the(services).said == "42 lb left, 2.5 lb reclaimed"
    with services.log().reading() as log:
        [held] = stocked.lots(log, services, (("powder release", "Otter Back"),))
    assert held.reclaimed_left == 2.5


def test_two_accounts_that_differ_are_said_and_the_larger_counts(services: Services) -> None:
    buy(services)
    placed(services)
    record.record(services, WALK, "sweep", {"at": "2026-06-11 8a", "reclaimed_lb": "6"})
    kept = shelf.move(services, "reclaim", {**OTTER, "amount": "5 lb", "at": "2026-06-11 9a", "job": WALK})
    assert "6 lb, the shelf 5 lb" in " ".join(kept.warnings)
    assert the(services).said == "42 lb left, 6 lb reclaimed"


def test_powder_taken_back_without_its_job_is_asked_once(services: Services) -> None:
    buy(services)
    placed(services)
    record.record(services, WALK, "sweep", {"at": "2026-06-11 8a", "reclaimed_lb": "2.5"})
    texts = {**OTTER, "amount": "2.5 lb", "at": "2026-06-11 9a"}
    with pytest.raises(Doubt, match=rf"sweep of {WALK} on Jun 11 2026 put 2.5 lb of Otter Back back already"):
        shelf.move(services, "reclaim", texts)
    assert the(services).said == "42 lb left, 2.5 lb reclaimed"
    shelf.move(services, "reclaim", texts, because="another bucket")
    assert the(services).said == "42 lb left, 5 lb reclaimed"


def test_a_sweep_after_powder_taken_back_without_a_job_is_asked(services: Services) -> None:
    buy(services)
    placed(services)
    shelf.move(services, "reclaim", {**OTTER, "amount": "2.5 lb", "at": "2026-06-11 9a"})
    with pytest.raises(Doubt, match=r"2.5 lb of Otter Back went back on the shelf on Jun 11 2026"):
        record.record(services, WALK, "sweep", {"at": "2026-06-11 10a", "reclaimed_lb": "2.5"})
    record.record(services, WALK, "sweep", {"at": "2026-06-11 10a"})
    assert the(services).said == "42 lb left, 2.5 lb reclaimed"


def test_more_reclaimed_than_bought_is_refused_and_than_thrown_is_asked(services: Services) -> None:
    buy(services)
    placed(services)
    with pytest.raises(InputError, match="60 lb reclaimed of 50 lb bought"):
        shelf.move(services, "reclaim", {**OTTER, "amount": "60 lb"})
    with pytest.raises(Doubt, match="than thrown: 8 lb"):
        shelf.move(services, "reclaim", {**OTTER, "amount": "9 lb"})
    kept = shelf.move(services, "reclaim", {**OTTER, "amount": "9 lb"}, because="an old bucket")
    assert kept.move.note == "Because: an old bucket"
    assert kept.warnings == ("More was reclaimed than was ever thrown.",)
    with pytest.raises(Doubt, match=r"3 lb reclaimed|only 8 lb thrown"):
        record.record(services, WALK, "sweep", {"at": "2026-06-11 8a", "reclaimed_lb": "9"})


def test_what_a_new_product_is_must_be_said_once(services: Services) -> None:
    with pytest.raises(WrongFields, match="new to this log"):
        shelf.move(services, "buy", {"product": "Otter Back", "amount": "50 lb"})
    buy(services)
    shelf.move(services, "buy", {"product": "otter back", "lot": "0329", "amount": "5 lb"})
    assert the(services).said == "55 lb left"
    with pytest.raises(InputError, match="no shelf action"):
        shelf.move(services, "eat", OTTER)


def test_spoiling_more_than_there_is_and_the_future_are_asked(services: Services) -> None:
    buy(services)
    with pytest.raises(Doubt, match="has only 50 lb"):
        shelf.move(services, "spoil", {**OTTER, "amount": "60 lb"})
    with pytest.raises(Doubt, match="future"):
        shelf.move(services, "count", {**OTTER, "amount": "60 lb", "at": "2026-07-01 8a"})


def test_the_plan_says_whether_it_is_enough_and_what_it_costs(services: Services) -> None:
    placed(services)
    made = plan.make(services, plan.simple_request(WALK, "30x8", "4in"))
    assert {each.wanted.name: each.short for each in made.shelf} in (
        {},
        {"Wet Biscuit": None, "Otter Back": None},
    )
    buy(services, price="150")
    made = plan.make(services, plan.simple_request(WALK, "30x8", "4in"))
    otter = next(each for each in made.shelf if each.wanted.name == "Otter Back")
    assert otter.text == "16 lb of Otter Back: enough, all of lot 0329."
    assert made.cost is not None
    prices = {part.what: (part.usd_per_unit, part.price_of) for part in made.cost.parts}
    assert prices["Otter Back"] == (3, "lot 0329")
    assert prices["Wet Biscuit"][1] == "setting"
    told = as_json.plan_json(made)
    assert told["cost"]["usd"] == round(float(made.cost.usd), 2)
    assert told["cost"]["running_short_usd"] > 0
    assert told["shelf"][-1]["short"] == 0


def test_a_planned_job_is_looked_ahead_at_with_its_needs(services: Services) -> None:
    placed(services)
    buy(services, "20 lb")
    handle = plan.save(services, plan.make(services, plan.simple_request(WALK, "30x8", "4in")), "apron")
    with services.log().reading() as log:
        enough = shelf.enough(log, services, needs.kept(log, log.job(handle)))
    assert {each.wanted.name: each.short for each in enough}["Otter Back"] == 4
    assert the(services).state == "low"
    assert shelf.shelf(services).sentence == f"Otter Back, lot 0329 runs out with {handle}."
    parts = {part.title: part for part in ahead.ahead(services, handle).parts}
    assert parts["Powder release"].settle
    assert "4 lb short" in parts["Powder release"].text
    with pytest.raises(InputError, match="No pour ahead"):
        ahead.ahead(services, WALK)


def test_what_a_past_job_cost_per_square_foot(services: Services) -> None:
    placed(services)
    [cost] = money.past(services, WALK)
    assert cost.area_ft2 == 120
    assert cost.cost.usd == 2 * 165 + 12 * 2.5 + 8 * 3  # the settings' prices
    assert cost.cost.usd_per_ft2 == cost.cost.usd / 120
    record.record(services, WALK, "load", {"at": "2026-06-10 9a"})
    assert money.past(services, WALK)[0].cost.unknown == ("concrete",)


def test_a_product_has_its_safety_notes(services: Services) -> None:
    buy(services)
    assert "Wear a respirator." in shelf.safety(the(services).held.product)


def test_powder_by_the_gallon_is_asked_and_pigment_is_not(services: Services) -> None:
    with pytest.raises(Doubt, match="comes by the pound, not by the gallon"):
        buy(services, "5 gal")
    assert shelf.shelf(services).lines == ()
    shelf.move(
        services, "buy", {"product": "Wet Biscuit", "kind": "pigment", "lot": "K-1", "amount": "5 gal"}
    )
    assert the(services, "K-1").said == "5 gal left"


def test_another_unit_than_the_lots_is_asked_unless_nothing_is_left_to_compare(services: Services) -> None:
    pigment = {"product": "Wet Biscuit", "kind": "pigment", "lot": "K-1"}
    shelf.move(services, "buy", {**pigment, "amount": "5 gal"})
    with pytest.raises(Doubt, match="counted in gal so far, not in lb"):
        shelf.move(services, "count", {**pigment, "amount": "20 lb"})
    assert the(services, "K-1").said == "5 gal left"
    buy(services)
    shelf.move(services, "count", {**OTTER, "amount": "800 oz"})  # a weight like the lot's own
    assert the(services).said == "50 lb left"


def test_a_lot_bought_after_it_was_used_is_asked_and_one_of_the_day_is_not(services: Services) -> None:
    placed(services)
    with pytest.raises(Doubt, match=r"Lot 0329 was used on Jun 10 2026, before this purchase on Jun 12 2026"):
        buy(services, at="2026-06-12")
    assert the(services).said == "never bought or counted here"
    buy(services, at="2026-06-10")
    assert the(services).said == "42 lb left"
    buy(services, "10 lb", at="2026-06-12")  # more of a lot that is known
    assert the(services).said == "52 lb left"


def test_a_lot_used_before_it_was_bought_is_asked_of_the_entry(services: Services) -> None:
    buy(services, at="2026-06-12")
    thrown = {"product": "Otter Back", "lot": "0329", "amount": "8 lb"}
    with pytest.raises(Doubt, match=r"Lot 0329 of Otter Back was bought on Jun 12 2026, after Jun 10 2026"):
        record.record(services, WALK, "powder_release", {**thrown, "at": "2026-06-10 10a"})
    record.record(services, WALK, "powder_release", {**thrown, "at": "2026-06-12 10a"})
    assert the(services).said == "42 lb left"
    record.record(services, WALK, "powder_release", {**thrown, "lot": "0331", "at": "2026-06-13 10a"})


def test_more_counted_than_was_bought_is_asked(services: Services) -> None:
    buy(services)
    with pytest.raises(Doubt, match="60 lb counted, but only 50 lb was bought"):
        shelf.move(services, "count", {**OTTER, "amount": "60 lb"})
    shelf.move(services, "count", {**OTTER, "amount": "50 lb"})
    with pytest.raises(Doubt, match="51 lb counted, but only 50 lb was ever there"):
        shelf.move(services, "count", {**OTTER, "amount": "51 lb"})
