"""`yards`, `dose` and `film` as other programs call them."""

from __future__ import annotations

import argparse
import json
from collections.abc import Sequence
from fractions import Fraction as F
from typing import Any, NoReturn

import pytest

from finishlog.cli.sums import dose, film, yards
from finishlog.desk.history import Learned
from finishlog.errors import InputError, LimitError
from finishlog.records.shop import Shop


class Parser(argparse.ArgumentParser):
    def error(self, message: str) -> NoReturn:
        raise InputError(message)


class Services:
    """A log with five past slabs and a shop of its own, or no log at all."""

    def __init__(self, past: Sequence[float] = (), **settings: str) -> None:
        self.past, self.settings, self.asked = past, settings, 0

    def learned(self) -> Learned:
        self.asked += 1
        return Learned(tuple(F(str(error)) for error in self.past))

    def shop(self) -> Shop:
        self.asked += 1
        return Shop.from_values(self.settings)

    def may(self, _act: str) -> bool:
        return True


class Run:
    def __init__(self, capsys: pytest.CaptureFixture[str]) -> None:
        self.capsys = capsys

    def text(self, *argv: str, services: Services | None = None, units: str = "us", remark: str = "") -> str:
        parser = Parser()
        parser.add_argument("--units", default=units)
        commands = parser.add_subparsers(dest="command", parser_class=Parser)
        for each in (yards, dose, film):
            each.register(commands)
        args = parser.parse_args(argv)
        assert args.run(args, services or Services()) == 0
        out, err = self.capsys.readouterr()
        assert err == remark
        return out

    def json(self, *argv: str, services: Services | None = None) -> dict[str, Any]:
        found: dict[str, Any] = json.loads(self.text(*argv, "--json", services=services))
        return found


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Run:
    return Run(capsys)


ISSUE = (
    "yards",
    "--rect",
    "24x18",
    "--rect",
    "6x4",
    "--less-rect",
    "3x3",
    "--round",
    "4r2",
    "--depth",
    "4in",
)
WORKED = (
    *("yards", "--rect", "27x16.5", "--depth", "4in", "--waste", "2", "--price", "165", "--leftover", "45"),
    *("--minimum", "2", "--short-fee", "200", "--mismatch", "600", "--joint", "250", "--increment", "0.25"),
)
PAST = [part for error in ("0.20", "0.35", "0.40", "0.30", "0.25") for part in ("--past-error", error)]
DOSE = ("dose", "--yards", "6.75", "--percent", "4", "--cement", "564", "--pack", "5lb", "--truck", "4")


def test_yards_as_the_issue_shows_it(run: Run) -> None:
    answer = run.json(*ISSUE)
    assert answer["area_ft2"] == pytest.approx(443.566, abs=0.0006)
    assert answer["volume_yd3"] == pytest.approx(5.476, abs=0.0006)
    assert set(answer) >= {"order_yd3", "chance_short", "options", "loads", "assumptions"}
    assert len(answer["options"]) == 5
    assert all(set(o) >= {"order_yd3", "chance_short", "expected_cost"} for o in answer["options"])
    assert sum(load["yards"] for load in answer["loads"]) == answer["order_yd3"]
    assert answer["assumptions"]["price_per_yd3"] == 165
    assert answer["assumptions"]["short_load_fee"] == 200


def test_the_worked_order_without_history(run: Run) -> None:
    # Worked example of this method, computed independently (derived; starting values from memory).
    log = Services([0.9] * 9)
    answer = run.json(*WORKED, "--no-history", services=log)
    assert answer["order_yd3"] == 6.75
    assert answer["chance_short"] == pytest.approx(0.045, abs=0.005)
    assert log.asked == 0


def test_the_worked_order_with_five_past_errors(run: Run) -> None:
    answer = run.json(*WORKED, *PAST, services=Services([0.9] * 9))
    assert answer["order_yd3"] == 6.5
    assert answer["chance_short"] == pytest.approx(0.032, abs=0.005)
    assert answer["assumptions"]["past_slabs"] == 5


def test_the_logs_history_is_used_where_there_is_one(run: Run) -> None:
    answer = run.json(*WORKED, services=Services([0.20, 0.35, 0.40, 0.30, 0.25]))
    assert answer["order_yd3"] == 6.5
    assert run.json(*WORKED)["order_yd3"] == 6.75


def test_the_shops_own_prices_are_used_and_shown(run: Run) -> None:
    services = Services(price_per_yd3="180", truck_yd3="6")
    answer = run.json("yards", "--rect", "27x16.5", "--depth", "4in", services=services)
    assert answer["assumptions"]["price_per_yd3"] == 180
    assert [load["yards"] for load in answer["loads"]] == [4.75, 2]
    text = run.text("yards", "--rect", "27x16.5", "--depth", "4in", services=services)
    assert "$180/yd³" in text


def test_navy_example_is_never_twenty_one(run: Run) -> None:
    # NAVEDTRA 14070, fig. 5-2: 580.14 ft3 = 21.487 yd3, printed as 21.
    edges = ["32x2x0.67ft", "18.67x2x0.67ft", "33.33x2x1ft", "17.33x2x1ft"]
    options = [part for edge in edges for _ in range(2) for part in ("--edge", edge)]
    answer = run.json(
        "yards", *options, "--rect", "18.67x30.67", "--depth", "0.33ft", "--waste", "10", "--no-history"
    )
    assert answer["volume_yd3"] * 1.1 == pytest.approx(21.487, abs=0.001)
    assert answer["order_yd3"] >= 21.5
    assert all(
        option["order_yd3"] > 21
        for option in answer["options"]
        if option["order_yd3"] >= answer["volume_yd3"] * 1.1
    )
    flat = run.json("yards", "--edge", "10x10x5.8014ft", "--waste", "0", "--no-history")
    assert flat["volume_yd3"] == pytest.approx(21.487, abs=0.001)
    assert (flat["order_yd3"], flat["chance_short"]) == (21.5, 0)


def test_school_example(run: Run) -> None:
    # 30 x 60 ft x 4 in = 600 ft3 (agricultural-mechanics lesson).
    answer = run.json("yards", "--rect", "30x60", "--depth", "4", "--no-history")
    assert answer["volume_yd3"] * 27 == pytest.approx(600, abs=0.002)


def test_a_large_slab_that_is_cheapest_short_is_warned_of(run: Run) -> None:
    large = run.json("yards", "--rect", "100x100", "--depth", "4in", "--no-history")
    assert large["chance_short"] > 0.2
    assert any("Likely to run short" in caution for caution in large["cautions"])
    assert "13 × 9.00 yd³ + 6.50 yd³" in run.text(
        "yards", "--rect", "100x100", "--depth", "4", "--no-history"
    )
    assert not any("Likely to run short" in caution for caution in run.json(*WORKED)["cautions"])


def test_metric_sizes_answer_in_the_same_keys(run: Run) -> None:
    feet = run.json("yards", "--rect", "10x20", "--depth", "4in")
    metric = run.json("yards", "--rect", "3.048 m x 6.096 m", "--depth", "101.6 mm")
    assert feet == metric


def test_every_option_of_yards_is_read(run: Run) -> None:
    answer = run.json(
        *(
            "yards",
            "--circle",
            "6",
            "--less-circle",
            "1",
            "--polygon",
            "0,0 24,0 24,18",
            "--edge",
            "40x1x8in",
        ),
        *("--less-polygon", "0,0 1,0 1,1", "--stairs", "3x4x7x11", "--depth", "4", "--probe", "0.5"),
        *(
            "--probe",
            "-0.25",
            "--probe=-1/4",
            "--waste",
            "3",
            "--truck",
            "8",
            "--joint",
            "300",
            "--no-history",
        ),
    )
    assert answer["area_ft2"] == pytest.approx(3.14159265 * 35 + 216 - 0.5, abs=0.001)
    assert answer["edges_yd3"] == pytest.approx((40 * 8 / 12 + 6 * 4 * 77 / 144) / 27, abs=0.0001)
    assert answer["assumptions"]["probes"] == 3
    assert answer["assumptions"]["joint"] == 300


def test_dose_as_the_issue_shows_it(run: Run) -> None:
    answer = run.json(*DOSE)
    assert answer["dose_lb_per_yd3"] == 22.56
    assert answer["pigment_lb"] == 152.28
    assert answer["percent_of_cementitious"] == 4
    assert answer["percent_of_cement"] == 4
    first, second = answer["loads"]
    assert (first["yards"], first["pigment_lb"], first["packs"], first["remainder_lb"]) == (
        4,
        90.25,
        18,
        0.25,
    )
    assert (second["yards"], second["pigment_lb"], second["packs"], second["remainder_lb"]) == (
        2.75,
        62,
        12,
        2,
    )
    assert first["rounding_error_percent"] == pytest.approx(-0.266, abs=0.001)
    assert second["rounding_error_percent"] == pytest.approx(-3.288, abs=0.001)


def test_dose_by_the_yard_and_by_the_sack(run: Run) -> None:
    by_yard = run.json("dose", "--yards", "6", "--rate", "9 lb/yd3", "--cement", "480", "--scm", "84")
    by_sack = run.json("dose", "--yards", "6", "--rate", "1.5 lb/sack", "--cement", "480", "--scm", "84")
    assert by_yard == by_sack
    assert by_yard["percent_of_cementitious"] == pytest.approx(9 / 5.64, abs=1e-4)
    assert by_yard["percent_of_cement"] == pytest.approx(9 / 4.8, abs=1e-4)
    assert by_yard["loads"][0]["packs"] is None


def test_a_missing_cement_content_is_assumed_and_said(run: Run) -> None:
    assert run.json("dose", "--yards", "3", "--percent", "4")["cement_assumed"] is True
    assert "ask the plant" in run.text("dose", "--yards", "3", "--percent", "4")
    assert run.json(*DOSE)["cement_assumed"] is False


def test_a_liquid_is_weighed_as_liquid_and_limited_as_pigment(run: Run) -> None:
    answer = run.json("dose", "--yards", "3", "--percent", "6", "--cement", "500", "--solids", "50")
    assert answer["pigment_lb"] == 90
    assert answer["weighed_lb"] == 180
    assert answer["percent_of_cement"] == 6


def test_ten_percent_passes_and_more_is_refused(run: Run) -> None:
    assert run.json("dose", "--yards", "3", "--percent", "10", "--cement", "517")["percent_of_cement"] == 10
    with pytest.raises(LimitError, match="ASTM C979"):
        run.text("dose", "--yards", "3", "--percent", "10.1", "--cement", "564")
    with pytest.raises(LimitError, match=r"12 % of cement"):
        run.text("dose", "--yards", "3", "--percent", "8", "--cement", "400", "--scm", "200")
    assert LimitError.exit_status == 2


def test_a_small_load_is_only_warned_of(run: Run) -> None:
    cautions = run.json(*DOSE)["cautions"]
    assert any("under 3 yd³" in caution for caution in cautions)
    small = run.json("dose", "--yards", "1.5", "--percent", "4", "--cement", "564")
    assert any("plant's minimum" in caution for caution in small["cautions"])
    assert len(small["loads"]) == 1


def test_film(run: Run) -> None:
    answer = run.json(
        "film", "--area", "450", "--stamped", "--coverage", "225", "--coverage", "300", "--solids", "25"
    )
    assert answer["coated_area_ft2"] == 495
    assert answer["gallons"] == 3.85
    assert [coat["gallons"] for coat in answer["coats"]] == [2.2, 1.65]
    # Arithmetic (derived): 200 ft2/gal = 8.021 mil wet; 8 mil wet at 25 % = 2.0 mil dry, 200.52 ft2/gal.
    assert run.json("film", "--area", "200", "--coverage", "200")["coats"][0]["wet_mil"] == pytest.approx(
        8.021, abs=5e-4
    )
    wet = run.json("film", "--area", "200", "--wet", "8", "--solids", "25")["coats"][0]
    assert wet["coverage_ft2_per_gal"] == pytest.approx(200.52, abs=0.005)
    assert wet["dry_mil"] == 2
    dry = run.json("film", "--area", "200", "--dry", "1.5", "--solids", "30")["coats"][0]
    assert dry["coverage_ft2_per_gal"] == pytest.approx(320.83, abs=0.005)


def test_coats_count_in_the_order_they_are_given_in(run: Run) -> None:
    coats = run.json("film", "--area", "200", "--wet", "8", "--coverage", "300", "--dry", "2")["coats"]
    assert [coat["wet_mil"] for coat in coats] == [8, pytest.approx(5.3472, abs=1e-4), 8]
    assert coats[1]["coverage_ft2_per_gal"] == 300


def test_a_thick_film_is_warned_of(run: Run) -> None:
    assert "over the film alarm" in run.text("film", "--rect", "20x20", "--existing", "4")
    assert "over the film alarm" not in run.text("film", "--rect", "20x20")


def test_the_answer_comes_first_in_words(run: Run) -> None:
    assert run.text(*WORKED).startswith("Order 6.75 yd³: 5 in 100 that it runs short.\n")
    assert run.text(*DOSE).startswith("Weigh in 152 lb 4 oz of pigment, 2 loads.\n")
    assert run.text("film", "--rect", "24x18").startswith("Get 3.4 gal of sealer for 2 coats.\n")
    assert run.text(*WORKED, units="metric").startswith("Order 5.16 m³: ")
    for text in (run.text(*WORKED), run.text(*DOSE), run.text("film", "--rect", "24x18")):
        assert all(len(line) <= 96 and line == line.rstrip() for line in text.splitlines())


def test_a_small_chance_is_not_none(run: Run) -> None:
    last = run.json(*WORKED, *PAST, *PAST, *PAST)["options"][-1]
    assert 0 < last["chance_short"] < 0.00005


def test_the_scatter_of_a_probe_is_shown(run: Run) -> None:
    assert run.json(*WORKED, "--probe", "1", "--no-history")["assumptions"]["probe_sd_in"] == 0.5
    text = " ".join(run.text(*WORKED, "--probe", "1").split())
    assert "1 probe on this site, each give or take 0.50 in" in text


def test_cautions_too_are_said_in_metric_and_json_stays_as_it_is(run: Run) -> None:
    small = ("dose", "--yards", "1.5", "--percent", "4", "--cement", "564")
    text = run.text(*small, units="metric").split("Sources")[0]
    assert "1.15 m³ is under the plant's minimum of 1.53 m³" in text
    assert "yd³" not in text.replace("lb/yd³", "")
    assert "µm is over the film alarm" in run.text("film", "--rect", "9x9", "--existing", "4", units="metric")
    assert any("1.5 yd³ is under" in caution for caution in run.json(*small)["cautions"])


def test_metric_text_keeps_the_figures(run: Run) -> None:
    text = run.text(*WORKED, units="metric")
    assert "41.39 m²" in text
    assert "102 mm" in text
    assert "yd³" not in text.split("Sources")[0]
    assert "kg" in run.text(*DOSE, units="metric")
    assert "m²/L" in run.text("film", "--rect", "24x18", units="metric")


BAD = [
    "junk",
    "NaN",
    "inf",
    "-3",
    "0",
    "6_5",
    "0x10",
    "1e3",
    "٣",
    "6,5",
    "9" * 400,
    "",
    "\x1b[31m",
    "4 lb/gal",
]
READS = [
    ("--depth", ["yards", "--rect", "24x18"], []),
    ("--circle", ["yards", "--depth", "4"], []),
    ("--less-circle", ["yards", "--rect", "24x18", "--depth", "4"], []),
    ("--increment", ["yards", "--rect", "24x18", "--depth", "4"], []),
    ("--truck", ["yards", "--rect", "24x18", "--depth", "4"], []),
    ("--minimum", ["yards", "--rect", "24x18", "--depth", "4"], ["0"]),
    ("--price", ["yards", "--rect", "24x18", "--depth", "4"], ["0"]),
    ("--leftover", ["yards", "--rect", "24x18", "--depth", "4"], ["0"]),
    ("--short-fee", ["yards", "--rect", "24x18", "--depth", "4"], ["0"]),
    ("--mismatch", ["yards", "--rect", "24x18", "--depth", "4"], ["0"]),
    ("--joint", ["yards", "--rect", "24x18", "--depth", "4"], ["0"]),
    ("--waste", ["yards", "--rect", "24x18", "--depth", "4"], ["0"]),
    ("--probe", ["yards", "--rect", "24x18", "--depth", "4"], ["0", "-3"]),
    ("--past-error", ["yards", "--rect", "24x18", "--depth", "4"], ["0", "-3"]),
    ("--yards", ["dose", "--percent", "4"], []),
    ("--percent", ["dose", "--yards", "4"], []),
    ("--rate", ["dose", "--yards", "4"], []),
    ("--cement", ["dose", "--yards", "4", "--percent", "4"], []),
    ("--scm", ["dose", "--yards", "4", "--percent", "4", "--cement", "500"], ["0"]),
    ("--pack", ["dose", "--yards", "4", "--percent", "4"], []),
    ("--solids", ["dose", "--yards", "4", "--percent", "4"], []),
    ("--area", ["film"], []),
    ("--coverage", ["film", "--area", "400"], []),
    ("--wet", ["film", "--area", "400"], []),
    ("--dry", ["film", "--area", "400"], []),
    ("--relief", ["film", "--area", "400"], ["0"]),
    ("--existing", ["film", "--area", "400"], ["0"]),
]


@pytest.mark.parametrize("bad", BAD)
@pytest.mark.parametrize(("option", "rest", "fine"), READS, ids=[row[0] + " " + row[1][0] for row in READS])
def test_bad_input_is_one_line_that_names_the_option(
    run: Run, option: str, rest: list[str], fine: list[str], bad: str
) -> None:
    if bad in fine:
        run.json(*rest, f"{option}={bad}")
        return
    with pytest.raises(InputError) as caught:
        run.text(*rest, f"{option}={bad}")
    line = caught.value.line()
    assert line.startswith(f"{option}: ")
    assert line.isprintable()
    assert "Like " in line
    assert caught.value.exit_status == 2


@pytest.mark.parametrize(
    ("argv", "word"),
    [
        (("yards",), "Nothing measured"),
        (("yards", "--rect", "24x18"), "--depth"),
        (("yards", "--rect", "24", "--depth", "4"), "--rect"),
        (("yards", "--rect", "3x3", "--less-rect", "4x4", "--depth", "4"), "No area is left"),
        (("yards", "--rect", "24x18", "--depth", "4", "--waste", "101"), "--waste"),
        (("yards", "--rect", "24x18", "--depth", "4", "--waste", "0.02"), "may mean"),
        (("yards", "--rect", "24x18", "--depth", "4", "--probe", "13"), "hole"),
        (("yards", "--rect", "24x18", "--depth", "4", "--minimum", "9", "--truck", "6"), "full truck"),
        (("yards", "--rect", "900x900", "--depth", "4"), "too much"),
        (("yards", "--rect", "9x9", "--depth", "4", "--increment", "0.001"), "steps under 0.01"),
        (("yards", "--polygon", "0,0 9,9 9,0 0,9", "--depth", "4"), "cross"),
        (("yards", "--rect", "9x9", "--polygon", "0,0 1,1 2,2", "--depth", "4"), "one line"),
        (("yards", "--round", "4", "--rect", "9x9", "--depth", "4"), "--round"),
        (("yards", "--edge", "4x4", "--depth", "4"), "--edge"),
        (("yards", "--stairs", "4x4", "--depth", "4"), "--stairs"),
        (("dose", "--percent", "4"), "--yards"),
        (("dose", "--yards", "4"), "--percent or --rate"),
        (("dose", "--yards", "4", "--percent", "4", "--rate", "4 %"), "--percent or --rate"),
        (("dose", "--yards", "4", "--percent", "0.04"), "may mean"),
        (("dose", "--yards", "4", "--percent", "101"), "--percent"),
        (("dose", "--yards", "4", "--rate", "7"), "no unit"),
        (("dose", "--yards", "4", "--percent", "4", "--scm", "90"), "--cement"),
        (("film",), "--area"),
        (("film", "--area", "400", "--rect", "20x20"), "--area"),
        (("film", "--area", "400", "--solids", "101"), "--solids"),
    ],
)
def test_what_cannot_be_computed_is_said(run: Run, argv: tuple[str, ...], word: str) -> None:
    with pytest.raises(InputError) as caught:
        run.text(*argv)
    assert word in caught.value.line()
    assert caught.value.line().isprintable()


def test_a_percentage_with_its_sign_is_taken_at_its_word(run: Run) -> None:
    assert run.json("dose", "--yards", "4", "--percent", "0.04 %")["percent_of_cementitious"] == 0.04


def test_a_past_slab_that_cannot_be_right_teaches_nothing_and_is_named(run: Run) -> None:
    class Odd(Services):
        def learned(self) -> Learned:
            return Learned((F(1, 4),), ("hill-patio of Jun 4 2025 teaches nothing.",))

    remark = "finishlog: hill-patio of Jun 4 2025 teaches nothing.\n"
    assert "1 slab of yours" in run.text(*WORKED, services=Odd(), remark=remark)


def test_a_truck_under_the_plants_minimum_is_asked_of_the_plant(run: Run) -> None:
    answer = run.json("dose", "--yards", "3", "--percent", "4", "--cement", "564", "--truck", "1.5")
    assert [load["yards"] for load in answer["loads"]] == [1.5, 1.5]
    assert any("1.5 yd³ is under the plant's minimum of 2 yd³: ask" in each for each in answer["cautions"])
    larger = run.json("dose", "--yards", "3", "--percent", "4", "--cement", "564", "--truck", "2")
    assert not any("if the plant will send one" in each for each in larger["cautions"])
