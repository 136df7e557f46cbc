"""`weather`, as other programs and people call it."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest

from tests.conftest import Ran

EXAMPLE = ("--air", "80F", "--concrete", "87F", "--humidity", "50", "--wind", "12mph")
Run = Callable[..., Ran]


def test_the_published_example(finishlog: Run) -> None:
    # 0.24 lb/ft2/h: Concrete International Q&A "Estimating Evaporation Rates…"; its inputs are from memory.
    answer = finishlog("weather", *EXAMPLE, "--json").json()
    assert round(answer["evaporation_lb_per_ft2_h"], 2) == 0.24
    assert round(answer["dew_point_f"], 1) == 59.7
    assert (answer["state"], answer["care_at_lb_per_ft2_h"], answer["stop_at_lb_per_ft2_h"]) == (
        "stop",
        0.1,
        0.2,
    )
    assert answer["seal_from_surface_f"] == pytest.approx(answer["dew_point_f"] + 5)
    assert answer["dew_point_over"] == "water"


def test_metric_is_read_and_written(finishlog: Run) -> None:
    metric = ("--air", "27C", "--concrete", "31C", "--humidity", "50 %", "--wind", "19 km/h")
    answer = finishlog("weather", *metric, "--json").json()
    assert round(answer["evaporation_kg_per_m2_h"], 2) == 1.15
    text = finishlog("--units", "metric", "weather", *metric).out
    assert "1.15 kg/m²/h" in text
    assert "15.7 °C" in text
    assert finishlog("--units", "metric", "weather", *metric, "--json").json() == answer


def test_the_dew_point_alone_needs_no_wind(finishlog: Run) -> None:
    answer = finishlog("weather", "--air", "68F", "--humidity", "65", "--json").json()
    assert (answer["evaporation_lb_per_ft2_h"], answer["state"]) == (None, None)
    assert answer["dew_point_c"] == pytest.approx(13.22, abs=0.01)


def test_below_freezing_it_says_over_water(finishlog: Run) -> None:
    said = finishlog("weather", "--air", "-5C", "--humidity", "50")
    assert said.status == 0
    assert "over water" in said.out
    assert "frost forms" in said.out


@pytest.mark.parametrize(
    ("argv", "words"),
    [
        (("--air", "80", "--humidity", "130"), "--humidity: “130”"),
        (("--air", "80", "--humidity", "-5"), "negative"),
        (("--air", "80", "--humidity", "0"), "zero"),
        (("--air", "80", "--humidity", "0.5"), "50 % is likely meant"),
        (("--air", "80", "--humidity", "nan"), "not understood"),
        (("--air", "80", "--humidity", "50", "--wind", "-3mph"), "--wind"),
        (("--air", "80", "--humidity", "50", "--wind", "3 lb"), "unit does not fit"),
        (("--air", "999", "--humidity", "50"), "--air"),
        (("--air", "200", "--humidity", "50"), "-40 to 140 °F"),
        (("--air", "80", "--humidity", "50", "--concrete", "-5F", "--wind", "3"), "0 to 150 °F"),
        (("--humidity", "50"), "--air"),
        (("--air", "80"), "--humidity"),
        (("--air", "80", "--humidity", "50", "--trend", "cooling"), "for sealing"),
    ],
)
def test_wrong_input_is_one_line(finishlog: Run, argv: tuple[str, ...], words: str) -> None:
    ran = finishlog("weather", *argv)
    assert (ran.status, ran.out) == (2, "")
    assert len(ran.err.splitlines()) == 1
    assert words in ran.err


def test_sealing_is_answered_yes_wait_or_no(finishlog: Run, demo: str) -> None:
    good = ("--air", "72F", "--slab", "70F", "--humidity", "45", "--trend", "cooling", "--shade", "yes",
            "--efflorescence", "none", "--rain-free", "30h", "--coolest", "60F")  # fmt: skip
    job = ("--log", demo, "weather", "--seal", "wobblestone-back-patio")
    yes = finishlog(*job, *good, "--json").json()
    assert yes["ready"] == "yes"
    assert all(reason["says"] == "yes" for reason in yes["reasons"])
    no = finishlog(*job, *good, "--humidity", "85", "--json").json()
    assert no["ready"] == "no"
    wait = finishlog(*job, *good, "--trend", "warming", "--json").json()
    assert wait["ready"] == "wait"
    text = finishlog(*job, *good, "--trend", "warming").out
    assert text.startswith("Wait: the slab is warming")
    assert "√ " in text


def test_a_sealers_own_sheet_is_kept_and_judges_the_slab(finishlog: Run, demo: str) -> None:
    now = ("--air", "72F", "--slab", "70F", "--humidity", "45", "--rain-free", "18h", "--json")
    seal = ("--log", demo, "weather", "--seal", "wobblestone-back-patio", *now)
    assert finishlog(*seal).json()["ready"] == "no"  # the shop's usual is 24 h
    sheet = ("--log", demo, "shelf", "sheet", "Slick Badger 25")
    assert finishlog(*sheet, "--json").json()["rain_free_h"] is None
    assert finishlog(*sheet, "--sealer-rain-free", "12h", "--json").json()["rain_free_h"] == 12
    found = finishlog(*seal).json()
    assert (found["ready"], found["limits_by_sheet"]) == ("yes", ["rain_free_h"])
    assert (found["limits"]["rain_free_h"], found["limits"]["high_f"]) == (12, 85)
    text = finishlog(*seal[:-1]).out
    assert [row.split("  ")[-1].strip() for row in text.splitlines() if "Stay dry" in row] == [
        "its own sheet"
    ]
    for wrong in (("--sealer-rain-free", "soon"), ("--lot", "1", "--sealer-low", "400F")):
        assert finishlog(*sheet, *wrong).status == 2
    assert finishlog("--log", demo, "shelf", "sheet", "nope").status == 2
    assert finishlog("--log", demo, "shelf", "--sealer-low", "50F").status == 2


def test_sealing_needs_a_log_and_says_which(finishlog: Run) -> None:
    ran = finishlog("weather", "--seal", "hill", "--air", "72", "--humidity", "45")
    assert ran.status == 3


def test_numbers_are_numbers(finishlog: Run) -> None:
    answer = finishlog("weather", *EXAMPLE, "--json").json()
    numbers = [value for value in answer.values() if isinstance(value, int | float)]
    assert len(numbers) >= 9
    assert all(math.isfinite(value) for value in numbers)
