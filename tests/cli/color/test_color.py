"""`color` and the odds of `match` as another program would call them."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tests.conftest import Ran

Run = Callable[..., Ran]
REFERENCE = "bogglethwaite-front-yard"


def test_color_has_its_keys(finishlog: Run, demo: str) -> None:
    found = finishlog("--log", demo, "color", REFERENCE, "--json").json()
    assert {
        "readings",
        "forecast",
        "final_color_on",
        "history_jobs",
        "area",
        "recipe_jobs",
        "flags",
    } <= found.keys()
    assert len(found["forecast"]) >= 7
    for point in found["forecast"]:
        assert {"age_days", "lab", "lab_sd", "radius90_de00"} <= point.keys()
        assert len(point["lab"]) == len(point["lab_sd"]) == 3
        assert point["radius90_de00"] > 0
    ages = [point["age_days"] for point in found["forecast"]]
    assert ages == sorted(ages)
    light = {point["age_days"]: point["lab"][0] for point in found["forecast"]}
    assert light[1] < light[7] < light[45]
    assert {reading["spot"] for reading in found["readings"]} >= {"base"}
    assert found["history_jobs"] > 20
    assert (
        finishlog("--log", demo, "--units", "metric", "color", REFERENCE, "--json").json().keys()
        == found.keys()
    )


def test_the_sentence_comes_before_the_numbers(finishlog: Run, demo: str) -> None:
    lines = finishlog("--log", demo, "color", REFERENCE).out.splitlines()
    assert lines[2].startswith("Field: ")
    assert any(line.strip().startswith("Expected") for line in lines[3:])
    assert any("Learned from" in line for line in lines)


@pytest.mark.parametrize(("text", "days"), [("60", 60), ("6 weeks", 42), ("36h", 1.5), ("1 year", 365.25)])
def test_further_ages(finishlog: Run, demo: str, text: str, days: float) -> None:
    found = finishlog("--log", demo, "color", REFERENCE, "--by", text, "--json").json()
    assert days in [point["age_days"] for point in found["forecast"]]


@pytest.mark.parametrize(
    ("argv", "said"),
    [
        (["color"], "Which job?"),
        (["color", REFERENCE, "--by", "nan"], "--by"),
        (["color", REFERENCE, "--by", "-3"], "--by"),
        (["color", REFERENCE, "--by", "900 years"], "ten years"),
        (["color", REFERENCE, "--area", "moat"], "--area"),
        (["color", "no-such-job-anywhere"], "no-such-job"),
        (["color", REFERENCE, "--how-good"], "--how-good"),
        (["color", "--how-good", "--keep"], "--how-good"),
        (["color", "--how-good", "--by", "60"], "--how-good"),
    ],
)
def test_what_is_wrong_is_one_line(finishlog: Run, demo: str, argv: list[str], said: str) -> None:
    ran = finishlog("--log", demo, *argv)
    assert ran.status == 2
    assert ran.out == ""
    assert said in ran.err
    assert ran.err.count("\n") == 1


@pytest.mark.parametrize("nth", [4, pytest.param(1, marks=pytest.mark.long)])
def test_every_job_of_the_demo_has_an_answer(finishlog: Run, demo: str, nth: int) -> None:
    for job in finishlog("--log", demo, "find", "--json").json()[::nth]:
        found = finishlog("--log", demo, "color", job["job"], "--json").json()
        assert found["forecast"] or found["flags"] or not found["areas"], job["job"]
        assert found["answer"]


def test_how_good_and_kept(finishlog: Run, demo: str) -> None:
    kept = finishlog("--log", demo, "color", REFERENCE, "--keep", "--json").json()
    assert kept["kept"] is True
    found = finishlog("--log", demo, "color", "--how-good", "--json").json()
    assert found["kept"]["ranges"] == 33  # the demo's own ten; what was kept just now has met nothing yet
    assert 27 <= found["kept"]["held"] < 33
    assert [one["made_at_day"] for one in found["by_day"]] == [1, 3, 7, 14, 28]
    assert all(0 < one["held_color"] <= one["readings"] for one in found["by_day"])
    text = finishlog("--log", demo, "color", "--how-good").out
    at7 = found["by_day"][2]
    row = next(line for line in text.splitlines() if line.startswith("    7 "))
    assert row.split()[1:5] == [str(at7["slabs"]), str(at7["readings"]), str(at7["held_color"]),
                                f"{at7['held_color'] * 100 / at7['readings']:.0f}"]  # fmt: skip


def test_the_plan_has_its_odds(finishlog: Run, demo: str) -> None:
    odds = finishlog("--log", demo, "match", REFERENCE, "--rect", "20x12", "--json").json()["odds"]
    assert {
        "probability",
        "threshold_de00",
        "dominant",
        "compare_from",
        "radius90_de00",
        "verdict",
    } <= odds.keys()
    assert 0 <= odds["probability"] <= 1
    text = finishlog("--log", demo, "match", REFERENCE, "--rect", "20x12").out
    assert "The odds, not for the customer" in text
    assert "Cannot tell before a sample.\nA sample that matches the old slab would give " in text


def test_a_job_that_was_never_read_has_no_odds_but_a_reason(finishlog: Run, demo: str) -> None:
    plan = finishlog(
        "--log", demo, "match", "swizzlecote", "--rect", "20x12", "--depth", "4in", "--json"
    ).json()
    assert plan["odds"] is None
    assert "never read" in plan["odds_advice"]


def test_a_new_lot_closes_the_gate_and_is_said(finishlog: Run, demo: str) -> None:
    argv = ["--log", demo, "match", REFERENCE, "--rect", "20x12", "--lot", "ZZ-1", "--json"]
    told = finishlog(*argv).json()
    assert told["gate"]["state"] == "closed"
    assert "lots" in told["gate"]["why"]
    assert told["odds"]["probability"] <= 0.5
