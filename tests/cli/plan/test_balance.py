"""`balance` as a person on site calls it."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

ASKED = ("balance", "--remaining", "6x18", "--depth", "4in", "--minutes-since", "35", "--air", "85F")
DOSED = (*ASKED, "--dose", "16.9 lb/yd3", "--pack", "5lb", "--left", "0.4 yd")
KEYS = {
    *("answer", "job", "remaining", "edge", "stops", "band", "order_yd3", "chance_short", "options", "loads"),
    *("pigment", "dose_from", "leftover", "tell_plant", "cautions", "sources", "bags", "asks"),
}
Run = Callable[..., Any]


def test_the_answer_for_other_programs(finishlog: Run) -> None:
    told = finishlog(*DOSED, "--json").json()
    assert set(told) == KEYS
    assert told["remaining"]["area_ft2"] == 108
    assert told["remaining"]["volume_yd3"] == 1.445  # 108 * 4.25 / 324 * 1.02
    assert told["remaining"]["short_yd3"] == 1.045
    assert told["edge"]["state"] == "stiffening"
    assert told["edge"]["minutes_left"] == 25
    assert told["order_yd3"] == 2
    # 2 yd3 at 16.9 lb/yd3 is 33.8 lb, 33 lb 13 oz: six packs and 3 lb 13 oz; seven packs would be 3.55 % more.
    assert told["loads"] == [
        {
            "yards": 2,
            "pigment_lb": 33.8125,
            "packs": 6,
            "remainder_lb": 3.8125,
            "rounding_error_percent": 3.5503,
        }
    ]
    assert told["pigment"]["total_lb"] == 33.8
    assert told["stops"][0]["width_ft"] == 18
    assert 1.6 < told["stops"][0]["fills_ft"] < 1.7


def test_the_answer_for_people_says_first_what_to_do(finishlog: Run) -> None:
    text = finishlog(*DOSED).out
    assert text.startswith(
        "Order 2.00 yd³ with 33 lb 13 oz of pigment; "
        "ask how long the truck takes: the edge holds about 25 min more."
    )
    for words in ("stiffening: hurry or stop at a joint", "common practice, no source", "1' 7\" of 6' 0\"",
                  "6 packs and 3 lb 13 oz weighed", "+3.6 %", "samples", "no water after the color"):  # fmt: skip
        assert words in " ".join(text.split())


def test_how_long_the_truck_needs_is_asked_until_it_is_said(finishlog: Run) -> None:
    unsaid, said = (
        finishlog(*DOSED, "--json").json(),
        finishlog(*DOSED, "--truck-in", "20min", "--json").json(),
    )
    assert unsaid["asks"] == ["How long will the truck take? (--truck-in 40min)"]
    assert (unsaid["edge"]["truck_in_minutes"], unsaid["edge"]["truck_in_time"]) == (None, None)
    assert said["asks"] == []
    assert (said["edge"]["truck_in_minutes"], said["edge"]["truck_in_time"]) == (20, True)
    assert said["answer"].endswith("the truck takes 20 min, the edge holds about 25 min.")
    assert "? How long will the truck take?" in finishlog(*DOSED).out
    # 60 min in heat less the 35 that are gone; at 65 °F it is 90
    late = finishlog(*DOSED, "--truck-in", "40min", "--json").json()
    assert late["edge"]["truck_in_time"] is False
    mild = [*DOSED[: DOSED.index("85F")], "65F", *DOSED[DOSED.index("85F") + 1 :]]
    assert finishlog(*mild, "--truck-in", "40min", "--json").json()["edge"]["truck_in_time"] is True


def test_in_place_of_a_truck_a_bulkhead_or_bags(finishlog: Run) -> None:
    asked = ("balance", "--remaining", "3x8", "--depth", "4in", "--left", "0.1", "--dose", "3 %", "--cement", "480",
             "--scm", "84")  # fmt: skip
    told = finishlog(*asked, "--json").json()
    # 24 ft2 of 4.25 in with 2 % waste, less what is on the truck; 0.6 ft3 a bag
    rest = 24 * 4.25 / 324 * 1.02 - 0.1
    assert told["bags"]["rest_yd3"] == pytest.approx(rest, abs=1e-4)
    assert told["bags"]["bags"] == -(-rest * 27 // 0.6)
    assert told["bags"]["pigments"] == [{"name": "pigment", "lb_per_bag": None, "total_lb": None}]
    assert "How much cement is in a bag? Ask the maker. (--bag-cement 12lb)" in told["asks"]
    known = finishlog(*asked, "--bag-cement", "12lb", "--json").json()
    assert known["bags"]["pigments"] == [{"name": "pigment", "lb_per_bag": 0.36, "total_lb": 3.6}]
    text = " ".join(finishlog(*asked, "--bag-cement", "12lb").out.split())
    for words in ("3 lb 10 oz total, 5.8 oz weighed into each bag", "on a pattern line or a planned joint",
                  "Ask a licensed engineer about dowels", "different cement and sand",
                  "go by the bag's print"):  # fmt: skip
        assert words in text
    assert told["bags"]["bag_lb"] == 80


def test_a_rest_too_large_for_bags_has_none(finishlog: Run) -> None:
    told = finishlog(*DOSED, "--json").json()
    assert told["remaining"]["short_yd3"] > 0.5
    assert told["bags"] is None
    assert not any("Bags hold" in caution for caution in told["cautions"])


def test_keys_hold_in_metric_and_the_words_change(finishlog: Run) -> None:
    metric = finishlog("--units", "metric", *DOSED, "--json").json()
    plain = finishlog(*DOSED, "--json").json()
    assert set(metric) == KEYS
    assert metric["remaining"] == plain["remaining"]
    text = finishlog("--units", "metric", *DOSED).out
    assert "1.53 m³" in text
    assert "yd³" not in text
    assert "°F" not in text


def test_the_job_being_poured_gives_dose_mix_and_lots(finishlog: Run, demo: str) -> None:
    asked = ("balance", "--remaining", "6x18", "--job", "bogglethwaite-front")
    told = finishlog("--log", demo, *asked, "--json").json()
    assert told["job"] == "bogglethwaite-front-yard"
    assert told["dose_from"] == "loads"
    # 110 lb in 6.5 yd3
    assert told["pigment"]["dose_lb_per_yd3"] == pytest.approx(110 / 6.5, abs=1e-4)
    yards = told["order_yd3"]
    assert sum(load["pigment_lb"] for load in told["loads"]) == round(110 / 6.5 * yards * 16) / 16
    assert any("W-382" in line for line in told["tell_plant"])
    assert told["remaining"]["depth_in"] == 4
    assert told["remaining"]["past_slabs"] > 0
    assert told["edge"]["minutes_since"] is None  # it was poured months ago
    text = finishlog("--log", demo, *asked).out
    assert "Wednesday Toast" in text
    assert "as placed in this job's loads" in text


def test_without_a_job_nothing_heavy_is_imported(tmp_path: Path) -> None:
    code = (
        "import sys; from finishlog.__main__ import main\n"
        f"assert main({[*DOSED, '--json']!r}) == 0\n"
        "print([m for m in ('sqlalchemy', 'scipy', 'numpy', 'pydantic', 'textual', 'colour') "
        "if m in sys.modules], file=sys.stderr)"
    )
    home = {"HOME": str(tmp_path), "XDG_DATA_HOME": str(tmp_path)}
    environment = {key: value for key, value in os.environ.items() if key != "FINISHLOG_LOG"} | home
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, env=environment
    )
    assert done.stderr.strip() == "[]"
    assert list(tmp_path.iterdir()) == []


def test_too_stiff_says_stop_and_still_what_goes_on_from_the_joint(finishlog: Run) -> None:
    text = finishlog(*DOSED, "--truck-in", "1 h 10 min").out
    assert text.startswith("Stop at a joint: the edge will be too stiff.")
    assert "to go on from the joint" in text
    felt = finishlog(*DOSED, "--edge", "stiff", "--json").json()
    assert (felt["edge"]["state"], felt["edge"]["felt"]) == ("stiff", True)


@pytest.mark.parametrize(
    ("argv", "word"),
    [
        (("balance",), "--remaining"),
        (("balance", "--remaining", "6"), "--remaining"),
        (("balance", "--remaining", "6x0", "--depth", "4"), "--remaining"),
        (("balance", "--remaining", "6x\x1b[31m", "--depth", "4"), "--remaining"),
        (("balance", "--remaining", "6x18"), "--depth"),
        (("balance", "--remaining", "6x18", "--depth", "NaN"), "--depth"),
        ((*ASKED, "--left", "-1"), "--left"),
        ((*ASKED, "--left", "inf"), "--left"),
        ((*ASKED, "--minutes-since", "soon"), "--minutes-since"),
        ((*ASKED, "--air", "999F"), "--air"),
        ((*ASKED, "--dose", "7"), "no unit"),
        ((*ASKED, "--dose", "60 lb/yd3"), "over the limit"),
        ((*ASKED, "--band", "18"), "--band"),
        ((*ASKED, "--band", "18x9"), "--band"),
        ((*ASKED, "--minimum", "20"), "minimum"),
        ((*ASKED, "--increment", "0"), "--increment"),
        ((*ASKED, "--pack", "0"), "--pack"),
        ((*ASKED, "--left", "1.2", "--dose", "3 %", "--bag-cement", "80lb"), "--bag-cement"),
        ((*ASKED, "--bag-cement", "much"), "--bag-cement"),
        ((*ASKED, "--edge", "gooey"), "gooey"),
        (("balance", "--remaining", "90000x90000", "--depth", "4"), "too much"),
    ],
)
def test_what_cannot_be_computed_is_said_in_one_line(
    finishlog: Run, argv: tuple[str, ...], word: str
) -> None:
    ran = finishlog(*argv)
    assert ran.status == 2
    assert ran.out == ""
    assert word in ran.err
    assert len(ran.err.splitlines()) == 1
    assert "\x1b" not in ran.err


def test_a_job_that_is_none_is_told(finishlog: Run, demo: str) -> None:
    ran = finishlog("--log", demo, "balance", "--remaining", "6x18", "--job", "atlantis")
    assert ran.status == 2
    assert "atlantis" in ran.err
