"""The sheets of a planned job: the measures on each, the slab beside it on the customer's, all as given."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

import pytest

from finishlog.desk.jobs import page
from finishlog.desk.match import kept as kept_plan
from finishlog.desk.match import plan as planning
from finishlog.desk.services import Services
from finishlog.desk.words import month
from finishlog.papers import make
from finishlog.records.log import Shape
from finishlog.records.plan import PlanRequest
from finishlog.units import write_date
from tests.conftest import Ran
from tests.papers import reading
from tests.papers.conftest import REFERENCE

SHAPES = (
    Shape(1, "rect", "22x16"), Shape(1, "rect", "8x3"), Shape(-1, "rect", "3x3"), Shape(-1, "rect", "4x2"),
    Shape(1, "round", "4@2"),
)  # fmt: skip
MEASURES = "22×16 + 8×3 − 3×3 − 4×2, 4 corners of 2 ft"


@pytest.fixture
def saved(services: Services) -> str:
    made = planning.make(services, PlanRequest(REFERENCE, SHAPES, "4in", on=date(2027, 4, 12)))
    return planning.save(services, made, "side yard")


def text(services: Services, handle: str, sheet: str, units: str = "us") -> str:
    look = make.look(services, units)
    if sheet in make.PLAN_SHEETS:
        name = next(each for each in make.PLAN_SHEETS if each == sheet)
        made = make.plan_sheets(kept_plan.plan_of(services, handle, units), (name,), look)
    else:
        kind = next(each for each in make.JOB_SHEETS if each == sheet)
        made = make.job_sheet(page.lay_open(services, handle), kind, look)
    return " ".join(" ".join(reading.pages(made)).split())


@pytest.mark.parametrize("sheet", [*make.PLAN_SHEETS, *make.JOB_SHEETS])
def test_every_sheet_prints_the_measures(services: Services, saved: str, sheet: str) -> None:
    assert MEASURES in text(services, saved, sheet)
    metric = text(services, saved, sheet, "metric")
    for measure in ("6.71×4.88", "+ 2.44×0.91", "0.91×0.91", "1.22×0.61", "4 corners of", "0.61 m"):
        assert measure in metric


@pytest.mark.parametrize("sheet", ["match", "customer"])
def test_the_shapes_are_drawn_with_their_measures(services: Services, saved: str, sheet: str) -> None:
    printed = text(services, saved, sheet)
    for label in ("22 × 16", "+ 8 × 3", "− 3 × 3", "− 4 × 2", "4 corners r 2 ft"):
        assert label in printed


def test_the_customer_reads_which_slab_it_shall_match_and_what_is_done_to_both(
    services: Services, saved: str
) -> None:
    printed = text(services, saved, "customer")
    old = page.lay_open(services, REFERENCE).placed[0]
    assert old.poured_on is not None
    poured, sealed = write_date(old.poured_on), month(old.coats[-1].on)
    assert f"It should come close to your front yard, poured {poured}, within normal variation." in printed
    for words in ("dry sample of the new color", "You approve it", "Washed clean", f"It was sealed {sealed}.",
                  "stamped ashlar slate", "release color Heron's Elbow", "in one visit with Slick Badger 25",
                  "about Mon May 10", "so both shine alike"):  # fmt: skip
        assert words in printed, words
    for never in ("identical", "in 10", "odds", "lot ", "lb/yd³", "W-382", "promise"):
        assert never not in printed, never


def test_a_poured_slab_s_sheet_names_no_other(services: Services) -> None:
    printed = text(services, REFERENCE, "customer")
    assert "come close to" not in printed
    assert "The slab beside it" not in printed


def test_show_tells_the_plan_as_it_was_given(finishlog: Callable[..., Ran], demo: str) -> None:
    argv = ("--log", demo, "match", REFERENCE, "--rect", "22x16", "--on", "2027-04-12", "--save", "side yard")
    given = finishlog(*argv, "--json").json()
    shown = finishlog("--log", demo, "show", given["saved_as"], "--json").json()
    kept = shown["plan"]
    assert (kept["method"], kept["given_at"]) == ("match-2", "2026-06-16T07:40:00-05:00")
    assert kept["dimensions"] == "22×16 ft"
    assert kept["inputs"]["shapes"] == [{"sign": 1, "kind": "rect", "dimensions": "22x16", "depth_in": None}]
    for key in (
        "concrete",
        "pigment",
        "release",
        "sealer",
        "dates",
        "differences",
        "buried",
        "cautions",
        "odds",
    ):
        assert kept[key] == given[key]
    assert shown["plan_since"] == []
    said = finishlog("--log", demo, "show", given["saved_as"]).out
    assert "Planned Jun 16 2026, from the log at that time." in said
    assert "22×16 ft" in said
    assert finishlog("--log", demo, "show", REFERENCE, "--json").json()["plan"] is None
