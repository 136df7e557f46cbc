"""A plan is kept whole with its job and shown as it was given; what the log learned since is said."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from fractions import Fraction

import pytest

from finishlog.desk import exact_data
from finishlog.desk.forms import daycard, offers
from finishlog.desk.jobs import page as job_page
from finishlog.desk.match import kept as kept_plan
from finishlog.desk.match import plan as planning
from finishlog.desk.plan import saved, words
from finishlog.desk.record import record
from finishlog.desk.services import Services
from finishlog.errors import InputError
from finishlog.records.log import Shape
from finishlog.records.plan import Plan, PlanRequest
from finishlog.records.writing import NewAdvice

REFERENCE = "bogglethwaite-front-yard"
SHAPES = (
    Shape(1, "rect", "22x16"),
    Shape(1, "rect", "8x3"),
    Shape(-1, "rect", "3x3"),
    Shape(1, "round", "4@2"),
)
LOG = ("reference_job", "reference_line")


@pytest.fixture
def services(demo: str, clock: str) -> Iterator[Services]:
    from finishlog import wiring

    made = wiring.build(demo)
    yield made
    made.close()


def plan(services: Services, shapes: tuple[Shape, ...] = SHAPES, **asked: object) -> Plan:
    return planning.make(
        services, replace(PlanRequest(REFERENCE, shapes, "4in", on=date(2027, 4, 12)), **asked)
    )


def set_waste(services: Services) -> None:
    with services.log().writing() as log:
        log.set_setting("waste_percent", "20")


@pytest.mark.parametrize("reference", [REFERENCE, "underhedge-courtyard", "swizzlecote"])
def test_a_plan_comes_back_as_it_was_given(services: Services, reference: str) -> None:
    with services.log().reading() as log:
        reference = log.resolve(reference)
    asked = {"reference": reference, "cement_lb_per_yd3": Fraction(517), "lots": ("W-391",),
             "probes_in": (Fraction(1, 3),)}  # fmt: skip
    given = plan(services, **asked)
    handle = planning.save(services, given, "side yard")
    page = job_page.lay_open(services, handle)
    assert page.planned is not None
    assert page.planned.plan == planning.named(given, "side yard")
    assert page.planned.plan.concrete.take_off.area_ft2 == given.concrete.take_off.area_ft2
    assert (page.sentence, page.planned.method) == (words.answer(given), "match-2")
    assert page.planned.given.isoformat() == "2026-06-16T07:40:00-05:00"
    assert kept_plan.since(services, handle) == ()


def test_what_the_log_learned_since_is_said_and_nothing_is_made_again_in_silence(services: Services) -> None:
    given = plan(services)
    handle = planning.save(services, given, "side yard")
    set_waste(services)
    page = job_page.lay_open(services, handle)
    assert page.planned is not None
    assert page.planned.plan.concrete == given.concrete
    said, *others = kept_plan.since(services, handle)
    now = plan(services).concrete.order.best.order_yd3
    assert said == f"order {float(now):.2f} yd³, was {float(given.concrete.order.best.order_yd3):.2f} yd³"
    assert [each.partition(" ")[0] for each in others] == ["pigment"]
    assert kept_plan.since_words((said,)).endswith(". m remakes it.")
    assert kept_plan.plan_of(services, handle).concrete == given.concrete


def test_a_plan_made_again_is_kept_with_its_job_and_the_one_before_stays(services: Services) -> None:
    handle = planning.save(services, plan(services), "side yard")
    set_waste(services)
    again = kept_plan.made_again(services, handle)
    smaller = plan(services, (Shape(1, "rect", "9x9"),), on=date(2027, 5, 3))
    for made in (again, smaller):
        assert kept_plan.keep_again(services, handle, made) == handle
        kept = job_page.lay_open(services, handle).planned
        assert kept is not None
        assert kept.plan.concrete == made.concrete
        assert kept.plan.request.name == "side yard"
    with services.log().reading() as log:
        job, advices = log.job(handle), log.advices(handle)
    assert len([each for each in advices if each.kind == "plan"]) == 3
    assert (job.planned_on, job.areas[0].area_ft2) == (date(2027, 5, 3), 81)
    assert [shape.dimensions for shape in job.areas[0].shapes] == ["9x9"]
    assert job.areas[0].recipe is not None
    assert job.areas[0].recipe.version == 3


def test_once_it_is_poured_its_plan_stays(services: Services) -> None:
    handle = planning.save(services, plan(services), "side yard")
    record.record(services, handle, "load", {"yards": "5", "at": "Jun 16 2026 7a"}, because="poured early")
    with pytest.raises(InputError, match="already poured"):
        kept_plan.keep_again(services, handle, plan(services))
    with services.log().reading() as log:
        assert len(log.advices(handle)) == 1


def figures_alone(services: Services, answer: dict[str, object]) -> str:
    """A planned job as the version before kept it: its figures, not the plan."""
    handle = planning.save(services, plan(services), "side yard")
    with services.log().writing() as log:
        kept = log.advices(handle)[-1]
        whole = {**json.loads(kept.answer), **answer}
        whole = {key: value for key, value in whole.items() if value is not ...}
        log.add_advice(handle, NewAdvice("plan", "match-1", kept.inputs, json.dumps(whole)))
    return handle


def test_a_plan_whose_figures_alone_were_kept_is_made_again_and_held_against_them(services: Services) -> None:
    handle = figures_alone(services, {"plan": ...})
    assert job_page.lay_open(services, handle).planned is None
    assert kept_plan.since(services, handle) == ()
    assert kept_plan.plan_of(services, handle).concrete == plan(services).concrete
    set_waste(services)
    with pytest.raises(InputError, match="differently now"):
        kept_plan.plan_of(services, handle)
    assert kept_plan.made_again(services, handle).on == date(2027, 4, 12)


def test_a_plan_of_another_version_is_read_as_far_as_it_says_all_that_is_needed(services: Services) -> None:
    whole = exact_data.kept(plan(services), LOG)
    more = {**whole, "a_later_field": 1, "shelf": [], "odds_advice": "x"}
    without = {key: value for key, value in more.items() if key != "cost"}
    handle = figures_alone(services, {"plan": without})
    kept = job_page.lay_open(services, handle).planned
    assert kept is not None
    assert (kept.plan.cost, kept.plan.odds_advice) == (None, "x")
    lacking = {key: value for key, value in whole.items() if key != "sealer"}
    assert job_page.lay_open(services, figures_alone(services, {"plan": lacking})).planned is None


def test_a_job_without_a_plan_has_none(services: Services) -> None:
    assert job_page.lay_open(services, REFERENCE).planned is None
    with pytest.raises(InputError, match="not planned with match --save"):
        kept_plan.plan_of(services, REFERENCE)
    with pytest.raises(InputError, match="has no plan"):
        kept_plan.made_again(services, REFERENCE)


def said(services: Services, handle: str, kind: str) -> dict[str, str]:
    return {key: one.take for key, one in offers.offer(services, handle, kind).planned.items()}


def test_each_load_is_offered_its_own_figures(services: Services) -> None:
    given = plan(services, (Shape(1, "rect", "40x24"),), lots=("W-391",), plant="Upper Thimble plant",
                 cement_lb_per_yd3=Fraction(517))  # fmt: skip
    assert given.pigment is not None
    loads = given.concrete.loads.loads_yd3
    assert len(loads) == 2
    handle = planning.save(services, given, "side yard")
    for at in range(2):
        shown = said(services, handle, "load")
        pounds, ounces = divmod(int(given.pigment.loads[at].pigment_lb * 16), 16)
        assert shown["yards"] == f"{float(loads[at]):.2f} yd³"
        assert shown["amount"] == (f"{pounds} lb {ounces} oz" if ounces else f"{pounds} lb")
        if at == 0:
            assert (shown["lot"], shown["plant"]) == ("W-391", "Upper Thimble plant")
            assert shown["cement_lb_per_yd3"] == "517.0 lb/yd³" or shown["cement_lb_per_yd3"].startswith(
                "517"
            )
        texts = {"yards": shown["yards"], "amount": shown["amount"], "product": "Wednesday Toast",
                 "at": f"Jun 16 2026 {6 + at}a"}  # fmt: skip
        done = record.record(services, handle, "load", texts, because="poured early")
        assert done.entry.load is not None
        assert done.entry.load.yards == float(loads[at])
        assert done.entry.materials[0].amount == float(given.pigment.loads[at].pigment_lb)
    assert "yards" not in said(services, handle, "load")


def test_release_rinse_and_sealer_are_offered_as_planned(services: Services) -> None:
    given = plan(services)
    assert given.release is not None
    handle = planning.save(services, given, "side yard")
    pounds, ounces = divmod(round(given.release.lb * 16), 16)
    release = offers.offer(services, handle, "powder_release")
    assert release.planned["amount"].take == f"{pounds} lb {ounces} oz"
    assert "amount" not in release.values
    rinse = offers.offer(services, handle, "rinse").planned["at"]
    assert (rinse.said, rinse.take) == ("Tue Apr 13 to Wed Apr 14", "")
    assert "lot" not in release.planned
    coats = given.sealer.coats
    assert said(services, handle, "seal")["amount"] == f"{float(coats[0].gal):.1f} gal"
    assert offers.offer(services, REFERENCE, "seal").planned == {}


def test_the_day_card_offers_them_and_logs_none_that_nobody_took(services: Services) -> None:
    given = plan(services, (Shape(1, "rect", "40x24"),))
    handle = planning.save(services, given, "side yard")
    card = daycard.day_card(services, handle)
    assert card.planned_loads == 2
    sections = {section.key: section for section in card.sections}
    loads = given.concrete.loads.loads_yd3
    assert [sections[f"load.{at}"].planned["yards"].take for at in (1, 2)] == [
        f"{float(yards):.2f} yd³" for yards in loads
    ]
    assert [sections[f"seal.{at}"].planned["amount"].take for at in (1, 2)] == [
        f"{float(coat.gal):.1f} gal" for coat in given.sealer.coats
    ]
    done = daycard.pour_day(services, handle, {"day": "2026-06-16", "load.1.ticket": "T-1"}, because="early")
    assert [each.entry.kind for each in done] == ["load"]
    load = done[0].entry.load
    assert load is not None
    assert (load.yards, load.ticket) == (None, "T-1")
    assert all(use.amount is None for use in done[0].entry.materials)


def test_a_sentence_said_better_is_no_change_of_the_plan_and_another_figure_is(services: Services) -> None:
    """A log keeps plans in the words of the version that made them."""
    now = plan(services)
    handle = planning.save(services, now, "side yard")
    for said, changed in (("of old ", 0), ("501 of old ", 1)):
        then = replace(
            now,
            differences=(
                replace(now.differences[0], text=said + now.differences[0].text),
                *now.differences[1:],
            ),
        )
        with services.log().writing() as log:
            log.add_advice(handle, saved.advice(planning.named(then, "side yard")))
        assert len(kept_plan.since(services, handle)) == changed
