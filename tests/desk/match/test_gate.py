"""The gate: what is changed or unknown closes it, what was read before narrows it, a sample opens it."""

from __future__ import annotations

import argparse
import json
import shutil
from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from fractions import Fraction as F
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from finishlog.cli.color import by_age as color_command
from finishlog.cli.plan import match as command
from finishlog.desk.color import words
from finishlog.desk.match import gate, how_good, plan
from finishlog.desk.plan import as_json, saved
from finishlog.desk.plan import words as plan_words
from finishlog.errors import InputError
from finishlog.papers import make
from finishlog.records.log import Reading, Shape
from finishlog.records.plan import Plan, PlanRequest
from finishlog.records.shelf import Enough, Wanted
from finishlog.records.writing import (
    NewAdvice,
    NewArea,
    NewCustomer,
    NewEntry,
    NewJob,
    NewLoad,
    NewMaterialUse,
    NewMix,
    NewProduct,
    NewRecipe,
    NewSample,
    NewSite,
)
from finishlog.tui.match import paint
from tests.desk.color.test_color import SETTLED, USUAL, curve
from tests.desk.conftest import NOW, SheetShop
from tests.papers import reading

BISCUIT = NewProduct("Wet Biscuit", "pigment", "Loamworks")
MIX = NewMix("Lower Puddle", "P-1", "Type I/II", cement_lb_per_yd3=470.0, scm_lb_per_yd3=94.0)
OLD = "bogglethwaite-old"
CANNOT = "Cannot tell before a sample."


class GateShop:
    """A shop with a recipe poured many times of one lot, cement and plant, and read."""

    def __init__(self, folder: Path, like: GateShop | None = None) -> None:
        shop = SheetShop(folder)
        self.services, self.path = shop.services, shop.log
        self.uid = None if like is None else like.uid
        if like is None:
            self.services.make_log(None).close()
        else:
            shutil.copy(like.path, self.path)

    def pour(self, name: str, days_ago: int, lot: str | None = "K-1", mix: NewMix | None = MIX, off: float = 0.0,
             planned: str | None = None, product: NewProduct = BISCUIT) -> str:  # fmt: skip
        """A job poured and read so long ago; its handle."""
        area = NewArea("field", area_ft2=300.0, depth_in=4.0, recipe=None if self.uid else NewRecipe("buff"),
                       recipe_uid=self.uid)  # fmt: skip
        at = NOW - timedelta(days=days_ago)
        with self.services.log().writing() as log:
            job = log.add_job(NewJob(name, NewCustomer("Bogglethwaite"),
                                     NewSite("3 Tumbledown Lane", zone="America/Chicago"), areas=(area,),
                                     reference=planned))  # fmt: skip
            self.uid = self.uid or (job.areas[0].recipe and job.areas[0].recipe.uid)
            use = NewMaterialUse(product, 60.0, "lb", lot)
            load = NewLoad(4.0, 0.0, 0.0, mix=mix)
            log.add_entry(job.handle, NewEntry("load", at, area="field", materials=(use,), load=load))
            log.add_entry(job.handle, NewEntry("pour", at, area="field"))
        self.read(job.handle, days_ago, off)
        return job.handle

    def read(self, handle: str, days_ago: int, off: float, seed: int = 0) -> None:
        rng = np.random.default_rng(days_ago + seed)
        L, a, b = SETTLED
        own = rng.normal(0, 1, 3) * (0.6, 0.2, 0.3)
        with self.services.log().writing() as log:
            for age in USUAL:
                seen = np.array(curve(age, (L + off, a, b))) + own + rng.normal(0, 0.3, 3)
                at, reading = NOW - timedelta(days=days_ago - age), Reading(*map(float, seen))
                if at <= NOW:
                    log.add_entry(handle, NewEntry("reading", at, area="field", reading=reading))

    def sample(self, handle: str, off: float = 0.0, ages: tuple[int, ...] = (3, 7, 14, 28), lot: str = "K-9",
               **more: Any) -> int:  # fmt: skip
        """A sample poured apart under a job and read; its number."""
        poured = NOW - timedelta(days=30)
        L, a, b = SETTLED
        with self.services.log().writing() as log:
            use = NewMaterialUse(BISCUIT, 1.0, "lb", lot)
            made = log.add_entry(
                handle, NewEntry("sample", poured, materials=(use,), sample=NewSample(**more))
            )
            number = made.sample.number if made.sample else 0
            for age in ages:
                reading = Reading(*curve(age, (L + off, a, b)), sample=number)
                log.add_entry(handle, NewEntry("reading", poured + timedelta(days=age), reading=reading))
        return number

    def plan(self, **more: Any) -> Plan:
        return plan.make(self.services, replace(SAME, **more))


SAME = PlanRequest(
    OLD, (Shape(1, "rect", "20x12"),), "4", on=date(2026, 6, 20), plant="Lower Puddle",
    cement_lb_per_yd3=F(470), cement_kind="Type I/II", scm_lb_per_yd3=F(94), lots=("K-1",),
)  # fmt: skip


@pytest.fixture(scope="module")
def poured(tmp_path_factory: pytest.TempPathFactory) -> GateShop:
    """The shop with its past, closed: made once, then copied."""
    made = GateShop(tmp_path_factory.mktemp("gate"))
    for i in range(8):
        made.pour(f"past {i}", 300 + 20 * i)
    made.pour("old", 100)
    made.services.close()
    return made


@pytest.fixture
def shop(tmp_path: Path, poured: GateShop) -> Iterator[GateShop]:
    copied = GateShop(tmp_path, poured)
    yield copied
    copied.services.close()


def state(found: Plan) -> str:
    assert found.gate is not None
    return found.gate.state


def test_with_everything_stated_the_same_the_odds_are_given(shop: GateShop) -> None:
    found = shop.plan()
    assert found.gate is not None
    assert (found.gate.state, found.gate.why) == ("open", ())
    assert found.odds is not None
    assert found.odds.probability > 0.6
    assert "that nobody sees the joint." in plan_words.headline(found)


@pytest.mark.parametrize(
    ("change", "why"),
    [
        ({"lots": ("K-9",)}, "lots"),
        ({"lots": ()}, "lots"),
        ({"makers": ("Grumble",)}, "maker"),
        ({"cement_kind": "Type IL"}, "cement"),
        ({"cement_kind": None}, "cement"),
        ({"cement_lb_per_yd3": F(517)}, "cement content"),
        ({"cement_lb_per_yd3": None}, "cement content"),
        ({"scm_lb_per_yd3": F(0)}, "other cementitious"),
        ({"plant": "Crumbleford"}, "plant"),
        ({"plant": None}, "plant"),
    ],
)
def test_each_change_or_unknown_closes_it(shop: GateShop, change: dict[str, Any], why: str) -> None:
    """The content of cement was left out: its key in the plan is another than the one that was looked for."""
    found = shop.plan(**change)
    assert found.gate is not None
    assert (found.gate.state, why in found.gate.why) == ("closed", True)
    assert plan_words.headline(found) == CANNOT
    assert found.odds is not None
    assert found.odds.verdict == "cannot tell before a sample"
    assert max(at.probability for at in found.odds.by_age) <= 0.5
    assert max(one.probability_sealed for one in found.odds.spots) <= 0.5
    assert found.odds.with_sample is not None
    assert found.odds.with_sample > found.odds.probability
    assert "it will be close" not in " ".join(found.tell_customer).casefold()


def test_a_mix_that_ended_or_was_switched_closes_it(tmp_path: Path) -> None:
    shop = GateShop(tmp_path)
    shop.pour("old", 100, mix=replace(MIX, valid_to=date(2026, 5, 1)))
    found = shop.plan()
    assert found.gate is not None
    assert found.gate.why == ("mix",)
    shop.pour("later", 40, mix=replace(MIX, cement_kind="Type IL", number="P-1"))
    assert "mix since" in (shop.plan().gate or found.gate).why
    shop.services.close()


def test_two_mixes_in_the_old_slab_close_it(shop: GateShop) -> None:
    with shop.services.log().writing() as log:
        load = NewLoad(1.0, 0.0, 0.0, mix=replace(MIX, number="P-2", cement_kind="Type IL"))
        use = NewMaterialUse(BISCUIT, 15.0, "lb", "K-1")
        at = NOW - timedelta(days=100, hours=1)
        log.add_entry(OLD, NewEntry("load", at, area="field", materials=(use,), load=load))
    found = shop.plan()
    assert found.gate is not None
    assert (found.gate.state, "old mix" in found.gate.why) == ("closed", True)


def test_what_nobody_logged_of_the_old_slab_is_not_the_same(tmp_path: Path) -> None:
    shop = GateShop(tmp_path)
    shop.pour("old", 100, lot=None, mix=NewMix(cement_lb_per_yd3=470.0, scm_lb_per_yd3=94.0))
    found = shop.plan()
    assert found.gate is not None
    assert found.gate.state == "closed"
    assert {"cement, not logged on the old slab", "plant, not logged on the old slab", "lots"} <= set(
        found.gate.why
    )
    shop.services.close()


def test_it_is_closed_too_where_the_old_slab_was_never_read(tmp_path: Path) -> None:
    shop = GateShop(tmp_path)
    shop.pour("old", 0)
    found = shop.plan(lots=())
    assert (state(found), found.odds) == ("closed", None)
    assert plan_words.headline(found) == CANNOT
    shop.services.close()


def test_a_change_that_was_read_before_is_in_the_odds_by_what_it_did(tmp_path: Path) -> None:
    """Lot K-9 came out 6 L* darker on three jobs; K-3 came out alike: neither is a guess."""
    shop = GateShop(tmp_path)
    for i in range(6):
        shop.pour(f"past {i}", 300 + 20 * i)
        shop.pour(f"dark {i}", 310 + 20 * i, lot="K-9", off=-6.0)
        shop.pour(f"like {i}", 315 + 20 * i, lot="K-3")
    shop.pour("old", 100)
    dark, like, fresh = (shop.plan(lots=(lot,)) for lot in ("K-9", "K-3", "K-7"))
    assert [state(found) for found in (dark, like, fresh)] == ["seen", "seen", "closed"]
    assert (dark.gate and dark.gate.pairs) == 6 * 7
    assert dark.odds is not None
    assert like.odds is not None
    assert fresh.odds is not None
    assert dark.odds.probability < 0.2
    assert like.odds.probability > fresh.odds.probability
    assert any("seen before on 42 pairs" in note for note in like.odds.notes)
    assert "42 pairs" in command.sheet(like)
    both = shop.plan(lots=("K-3",), cement_kind=None)
    assert state(both) == "closed"
    shop.services.close()


def test_a_second_pigment_whose_lot_nobody_says_closes_it(tmp_path: Path) -> None:
    """One lot is stated, of one of two pigments: the other is unknown, not the same."""
    shop = GateShop(tmp_path)
    shop.pour("old", 100)
    with shop.services.log().writing() as log:
        toast = NewMaterialUse(NewProduct("Damp Toast", "pigment", "Loamworks"), 8.0, "lb", "T-4")
        use = NewMaterialUse(BISCUIT, 60.0, "lb", "K-1")
        load = next(e for e in log.job(OLD).of_kind("load"))
        told = NewEntry("load", load.happened, area="field", materials=(use, toast),
                        load=NewLoad(4.0, 0.0, 0.0, mix=MIX), replaces=load.number)  # fmt: skip
        log.add_entry(OLD, told)
    one, both = shop.plan(), shop.plan(lots=("K-1", "T-4"))
    assert [d.key for d in one.differences if d.key.startswith("lot")] == ["lot_unsaid"]
    assert one.gate is not None
    assert (one.gate.state, one.gate.why) == ("closed", ("lot of Damp Toast",))
    assert plan_words.headline(one) == CANNOT
    assert state(both) == "open"
    shop.services.close()


def test_lots_that_the_shelf_has_of_the_old_slab_are_no_question(shop: GateShop) -> None:
    found = shop.plan(lots=())
    wanted = Wanted("Wet Biscuit", "Loamworks", "pigment", F(10), "lb", "K-1")

    def why(same: bool | None) -> tuple[str, ...]:
        shelf = (Enough(wanted, (), F(0), bool(same), same, F(0), "", False),)
        held = gate.shelf_same(shelf, found.request)
        return tuple(p.title for p in gate.points(found.request, found.reference, found.differences, held))

    assert (why(True), why(False), why(None)) == ((), ("lots",), ("lots",))


# --- a sample -----------------------------------------------------------------------------------------


def test_a_sample_of_the_planned_job_opens_it_and_the_odds_are_by_it(shop: GateShop) -> None:
    handle = plan.save(shop.services, shop.plan(lots=("K-9",)), "addition")
    assert state(shop.plan(lots=("K-9",))) == "closed"
    number = shop.sample(handle)
    found = shop.plan(lots=("K-9",))
    assert found.gate is not None
    assert (found.gate.state, found.gate.sample) == ("sample", number)
    assert found.odds is not None
    assert found.odds.probability > 0.5
    assert CANNOT not in command.sheet(found)
    assert f"By sample {number} of the new concrete." in command.sheet(found)


def test_a_sample_that_came_out_darker_lowers_the_odds_and_asks_for_a_ladder(shop: GateShop) -> None:
    handle = plan.save(shop.services, shop.plan(lots=("K-9",)), "addition")
    number = shop.sample(handle, off=-7.0)
    found = shop.plan(lots=("K-9",), sample=number)
    assert found.odds is not None
    assert found.odds.probability < 0.2
    assert "darker" in found.odds.raise_by[0]
    assert "pour a ladder" in found.odds.raise_by[0]


def test_a_sample_of_another_cement_or_lot_opens_nothing(shop: GateShop) -> None:
    handle = plan.save(shop.services, shop.plan(lots=("K-9",)), "addition")
    other = shop.sample(handle, cement="Type IL")
    found = shop.plan(lots=("K-9",), sample=other)
    assert found.gate is not None
    assert (found.gate.state, "Type IL" in found.gate.notes[0]) == ("closed", True)
    lot = shop.sample(handle, lot="K-5")
    assert state(shop.plan(lots=("K-9",), sample=lot)) == "closed"


def test_a_sample_not_read_or_of_a_load_is_refused_where_it_is_named(shop: GateShop) -> None:
    with pytest.raises(InputError, match="sample 77") as refused:
        shop.plan(sample=77)
    assert refused.value.where == "--sample"
    with shop.services.log().writing() as log:
        load = next(e.number for e in log.job(OLD).of_kind("load"))
        made = log.add_entry(OLD, NewEntry("sample", NOW, sample=NewSample(load=load)))
        number = made.sample.number if made.sample else 0
        log.add_entry(OLD, NewEntry("reading", NOW, reading=Reading(50, 5, 12, sample=number)))
    with pytest.raises(InputError, match="poured with a load"):
        shop.plan(sample=number)


# --- what each verdict promises -----------------------------------------------------------------------


def teeth(shop: GateShop, de00: str) -> None:
    """From what ΔE00 on a joint shows."""
    with shop.services.log().writing() as log:
        log.set_setting("match_de00", de00)


def promised(shop: GateShop, found: Plan) -> bool:
    """Whether the plan says anywhere that it should match: in the command, on the sheets, on the screen."""
    sheets = reading.text(make.plan_sheets(found, make.PLAN_SHEETS, make.look(shop.services, "us"), "letter"))
    told = str(as_json.plan_json(found)["headline"])
    said = " ".join((command.sheet(found), told, sheets, paint.verdict(found)[0], *found.tell_customer))
    return "should match" in said.casefold()


@pytest.mark.parametrize(
    ("limit", "change", "leads", "tone"),
    [
        ("4", {}, "Should match. ", "ok"),
        ("4", {"air_f": F(35)}, "Settle first: cold. Then it should match: ", "warn"),
        ("2", {}, "Close: pour a sample first. ", "warn"),
        ("1", {}, "Don't promise a match. ", "warn"),
        ("1", {"air_f": F(35)}, "Don't promise a match. ", "warn"),
        ("10", {"lots": ("K-9",)}, CANNOT, "warn"),
        ("10", {"lots": ("K-9",), "air_f": F(35)}, CANNOT, "warn"),
    ],
)
def test_a_match_is_promised_after_all_that_stands_against_it(
    shop: GateShop, limit: str, change: dict[str, Any], leads: str, tone: str
) -> None:
    """Only where nothing is open does the plan lead with the promise; behind a closed gate it stands nowhere."""
    teeth(shop, limit)
    found = shop.plan(**change)
    assert plan_words.headline(found).startswith(leads)
    assert paint.verdict(found) == (plan_words.headline(found), tone)
    assert promised(shop, found) == ("should match" in leads.casefold())
    first = command.sheet(found).split("\n\n")[1]
    assert first.startswith(leads)


def test_odds_of_a_slab_hardly_known_promise_nothing(tmp_path: Path) -> None:
    shop = GateShop(tmp_path)
    shop.pour("old", 100)
    teeth(shop, "10")
    found = shop.plan()
    assert found.odds is not None
    assert found.odds.probability > 0.85
    assert plan_words.headline(found) == "Cannot tell yet: photograph again at day 14."
    assert not promised(shop, found)
    shop.services.close()


def test_a_changed_lot_that_a_sample_answers_is_nothing_to_settle_first(shop: GateShop) -> None:
    teeth(shop, "4")
    handle = plan.save(shop.services, shop.plan(lots=("K-9",)), "addition")
    shop.sample(handle)
    found = shop.plan(lots=("K-9",))
    assert "lots" in [one.title.lower() for one in found.differences if one.weight == "act"]
    assert plan_words.headline(found).startswith("Should match. ")
    assert plan_words.headline(shop.plan(lots=("K-9",), air_f=F(35))).startswith(
        "Settle first: cold. Then it should"
    )


# --- sheets and the command ---------------------------------------------------------------------------


def test_the_command_leads_with_it_and_the_odds_a_sample_would_give_stand_below(shop: GateShop) -> None:
    found = shop.plan(lots=())
    lines = command.sheet(found).splitlines()
    at = lines.index(CANNOT)
    assert lines[at + 1].startswith("A sample that matches the old slab would give ")
    assert "nobody sees" not in command.sheet(found)
    told = as_json.plan_json(found)
    assert (told["headline"], told["gate"]["state"]) == (CANNOT, "closed")
    assert told["odds"]["with_sample"] > 0.5


def test_a_planned_job_whose_gate_was_closed_says_so_in_place_of_odds(
    shop: GateShop, capsys: pytest.CaptureFixture[str]
) -> None:
    closed, told = (
        plan.save(shop.services, shop.plan(lots=lots), name)
        for lots, name in (((), "first"), (("K-1",), "second"))
    )

    def said(handle: str, *more: str) -> str:
        parser = argparse.ArgumentParser()
        color_command.register(parser.add_subparsers())
        color_command.run_color(parser.parse_args(["color", handle, *more]), shop.services)
        return capsys.readouterr().out

    assert CANNOT in said(closed)
    with shop.services.log().writing() as log:
        for handle in (closed, told):
            log.add_entry(handle, NewEntry("pour", NOW - timedelta(days=2), area="field"))
    shown = said(closed).splitlines()
    at = shown.index("The odds")
    assert CANNOT in shown[at + 1]
    assert "Changed or unknown: lots." in shown[at + 2]
    answer = json.loads(said(closed, "--json"))
    assert (answer["odds"], answer["gate"]["state"]) == (None, "closed")
    assert "nobody sees the joint" in said(told)
    assert json.loads(said(told, "--json"))["gate"] is None
    with shop.services.log().writing() as log:
        at = NOW - timedelta(days=1)
        log.add_entry(closed, NewEntry("reading", at, area="field", reading=Reading(*curve(1, SETTLED))))
    assert CANNOT not in said(closed)


# --- how promises were kept ---------------------------------------------------------------------------


def test_how_good_counts_promises_that_were_kept(shop: GateShop) -> None:
    """Two plans kept 60 days ago: one with odds, one that could not tell; both slabs were read since."""
    given, closed = shop.plan(), shop.plan(lots=())
    assert given.odds is not None
    with_odds, cannot = (_kept(shop, one, name) for one, name in ((given, "first"), (closed, "second")))
    assert how_good.how_good(shop.services).promises == ()
    for handle, off in ((with_odds, 0.0), (cannot, -9.0)):
        with shop.services.log().writing() as log:
            log.add_entry(handle, NewEntry("pour", NOW - timedelta(days=50), area="field"))
        shop.read(handle, 50, off, seed=1)
    promises = how_good.how_good(shop.services).promises
    assert [(one.closed, one.plans, one.matched) for one in promises] == [(False, 1, 1), (True, 1, 0)]
    assert promises[0].said == pytest.approx(given.odds.probability, abs=1e-3)
    said = words.promises(how_good.how_good(shop.services))
    assert said[-1] == "Cannot tell before a sample: given for 1 plan, 0 matched."


def _kept(shop: GateShop, found: Plan, name: str) -> str:
    """The plan saved as if 60 days ago."""
    handle = plan.save(shop.services, found, name)
    answer = json.dumps(as_json.plan_json(found))
    with shop.services.log().writing() as log:
        log.add_advice(handle, NewAdvice("plan", saved.METHOD, "{}", answer, NOW - timedelta(days=60)))
    return handle
