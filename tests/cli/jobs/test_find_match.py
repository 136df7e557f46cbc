"""`find`, `show`, `match`, `new`, `backup`, `check`, `demo` as another program would call them."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest

from tests.conftest import Ran

Run = Callable[..., Ran]
REFERENCE = "bogglethwaite-front-yard"
WITHOUT_DOSE = "mumblethorpe-porch"


def test_without_words_find_gives_every_job_newest_first(finishlog: Run, demo: str) -> None:
    jobs = finishlog("--log", demo, "find", "--json").json()
    assert len(jobs) >= 24
    poured = [job["poured_on"] for job in jobs if job["poured_on"]]
    assert poured == sorted(poured, reverse=True)
    assert {"job", "customer", "site", "poured_on", "base", "release", "pattern", "score"} <= jobs[0].keys()
    assert any(job["poured_on"] is None for job in jobs)


def test_limit(finishlog: Run, demo: str) -> None:
    assert len(finishlog("--log", demo, "find", "--limit", "3", "--json").json()) == 3


def test_a_long_list_comes_in_parts_and_says_how_it_goes_on(finishlog: Run, demo: str) -> None:
    every = [job["job"] for job in finishlog("--log", demo, "find", "--json").json()]
    found = [finishlog("--log", demo, "find", "--limit", "10", "--from", str(at)).out for at in (1, 11)]
    assert f"Rows 1 to 10 of {len(every)}. More: --from 11." in found[0]
    assert f"Rows 11 to 20 of {len(every)}. More: --from 21." in found[1]
    assert [job for job in every if job in found[1]] == every[10:20]
    past = finishlog("--log", demo, "find", "--from", "999").out
    assert past == f"{len(every)} rows in all.\n"
    assert "Rows" not in finishlog("--log", demo, "find", "--limit", "999").out


def test_the_nearest_colors_come_in_parts_too(finishlog: Run, demo: str) -> None:
    asked = ("--log", demo, "find", "--near", "58,9,17")
    every = [job["job"] for job in finishlog(*asked, "--json").json()]
    second = finishlog(*asked, "--limit", "2", "--from", "3").out
    assert [job for job in every if job in second] == every[2:4]
    assert second.endswith("\nMore: --from 5.\n")
    assert "More" not in finishlog(*asked, "--limit", str(len(every))).out


@pytest.mark.parametrize(
    "scrap", ["bogglethwaite front", "tumbledown", "bogglthwait front", "Tumbeldown Lane", "NT-2101"]
)
def test_the_old_job_is_found_from_a_scrap(finishlog: Run, demo: str, scrap: str) -> None:
    jobs = finishlog("--log", demo, "find", *scrap.split(), "--json").json()
    assert REFERENCE in [job["job"] for job in jobs[:3]]
    assert [job["score"] for job in jobs] == sorted((job["score"] for job in jobs), reverse=True)


@pytest.mark.parametrize(
    "words", ['"', "'", "a AND", "NEAR(", "base:", "*", "(", "-", "[/nope]", "x OR 1=1", "😀", "^", "\u202e"]
)
def test_search_syntax_is_only_text(finishlog: Run, demo: str, words: str) -> None:
    ran = finishlog("--log", demo, "find", "--json", "--", words)
    assert ran.status == 0, ran.err
    assert isinstance(json.loads(ran.out), list)


def test_show_holds_everything(finishlog: Run, demo: str) -> None:
    shown = finishlog("--log", demo, "show", REFERENCE, "--json").json()
    assert shown["job"] == REFERENCE
    assert shown["as_placed"][0]["dose_lb_per_yd3"] == pytest.approx(110 / 6.5, abs=1e-4)
    assert len(shown["record"]["entries"]) == len(shown["record"]["history"])
    assert {e["kind"] for e in shown["record"]["entries"]} >= {
        "load",
        "pour",
        "powder_release",
        "rinse",
        "seal",
        "reading",
    }


def test_a_handle_may_be_begun_and_a_wrong_one_names_the_nearest(finishlog: Run, demo: str) -> None:
    assert finishlog("--log", demo, "show", "bogglethwaite-f").status == 0
    wrong = finishlog("--log", demo, "show", "boglethwaite-front")
    assert wrong.status == 2
    assert REFERENCE in wrong.err
    assert wrong.out == ""
    assert wrong.err.count("\n") == 1


def test_the_plan_has_its_keys(finishlog: Run, demo: str) -> None:
    plan = finishlog(
        "--log", demo, "match", REFERENCE, "--rect", "20x12", "--depth", "4in", "--on", "2027-04-12", "--json"
    ).json()
    assert {
        "reference",
        "concrete",
        "pigment",
        "release",
        "sealer",
        "dates",
        "differences",
        "cautions",
        "missing",
    } <= plan.keys()
    concrete, pigment = plan["concrete"], plan["pigment"]
    assert concrete["area_ft2"] == 240
    assert concrete["volume_yd3"] == pytest.approx(240 * 4 / 324, abs=1e-4)
    assert concrete["order_yd3"] >= concrete["volume_yd3"]
    assert 0 < concrete["chance_short"] < 1
    assert pigment["dose_lb_per_yd3"] == pytest.approx(110 / 6.5, abs=1e-4)
    assert pigment["total_lb"] == pytest.approx(pigment["dose_lb_per_yd3"] * concrete["order_yd3"], abs=1e-3)
    assert {"yards", "pigment_lb", "packs", "remainder_lb", "rounding_error_percent"} <= pigment["loads"][
        0
    ].keys()
    assert sum(load["yards"] for load in pigment["loads"]) == concrete["order_yd3"]
    assert sum(load["pigment_lb"] for load in pigment["loads"]) == pytest.approx(
        round(pigment["total_lb"] * 16) / 16
    )


def test_the_ratio_to_cementitious_is_kept_where_both_are_known(finishlog: Run, demo: str) -> None:
    plan = finishlog(
        "--log",
        demo,
        "match",
        REFERENCE,
        "--rect",
        "20x12",
        "--depth",
        "4in",
        "--cement",
        "517",
        "--scm",
        "94",
        "--json",
    ).json()
    then = 110 / 6.5
    assert plan["pigment"]["kept"] == "ratio"
    assert plan["pigment"]["dose_lb_per_yd3"] == pytest.approx(then * 611 / 564, abs=1e-4)
    assert plan["pigment"]["other_dose_lb_per_yd3"] == pytest.approx(then, abs=1e-4)
    assert any(d["key"] == "dose" for d in plan["differences"])
    assert plan["pigment"]["percent_of_cementitious"] == pytest.approx(then / 564 * 100, abs=1e-3)


def test_a_sheet_in_metric_has_no_yards_in_it(finishlog: Run, demo: str) -> None:
    match = ("match", REFERENCE, "--rect", "20x12", "--on", "2027-04-12", "--cement", "517", "--scm", "94")
    sheet = finishlog("--log", demo, "--units", "metric", *match).out
    assert "yd³" not in sheet
    assert "Order 2.68 m³ and " in sheet
    us, metric = (
        finishlog("--log", demo, *units, *match, "--json").json() for units in ((), ("--units", "metric"))
    )
    assert us == metric


def test_what_nobody_stated_is_asked(finishlog: Run, demo: str) -> None:
    plan = finishlog("--log", demo, "match", REFERENCE, "--rect", "20x12", "--json").json()
    asked = {d["key"] for d in plan["differences"] if d["weight"] == "ask"}
    assert {"lot", "plant", "cement", "cement_content"} <= asked
    assert not any("same" in d["text"] and d["weight"] != "ask" for d in plan["differences"])


def test_stated_facts_that_differ_are_named_and_equal_ones_are_not(finishlog: Run, demo: str) -> None:
    base = ("--log", demo, "match", REFERENCE, "--rect", "20x12", "--json", "--cement", "470", "--scm", "94")
    other = finishlog(
        *base, "--plant", "Upper Thimble plant", "--lot", "Z-9", "--maker", "Mudlark Pigments"
    ).json()
    keys = {d["key"]: d for d in other["differences"]}
    assert {"plant", "lot", "maker"} <= {k for k, d in keys.items() if d["weight"] == "act"}
    assert "W-382" in keys["lot"]["text"]
    same = finishlog(
        *base,
        "--plant",
        "lower thimble plant",
        "--lot",
        "W-382",
        "--lot",
        "h-382",
        "--cement-kind",
        "type i/ii",
    ).json()
    assert not {"plant", "lot", "cement", "cement_content", "dose"} & {d["key"] for d in same["differences"]}


def test_a_friday_pour_warns_that_the_rinse_falls_on_the_weekend(finishlog: Run, demo: str) -> None:
    plan = finishlog(
        "--log", demo, "match", REFERENCE, "--rect", "20x12", "--on", "2027-04-09", "--json"
    ).json()
    rinse = next(day for day in plan["dates"] if day["key"] == "rinse")
    assert rinse["opens"] == "2027-04-10"
    assert "Saturday" in rinse["warning"]
    monday = finishlog(
        "--log", demo, "match", REFERENCE, "--rect", "20x12", "--on", "2027-04-12", "--json"
    ).json()
    assert not any(day["warning"] for day in monday["dates"])


@pytest.mark.parametrize(
    ("pour", "warning"),
    [
        ("2027-04-14", ""),
        ("2027-04-15", "Fri Apr 16, or the rinse runs into Saturday: who does it?"),
        ("2027-04-16", "The rinse lands on Saturday: who does it?"),
        pytest.param("2027-04-17", "The rinse lands on Sunday: who does it?", marks=pytest.mark.long),
    ],
)
def test_a_rinse_that_can_be_done_on_a_weekday_is_not_put_on_the_weekend(
    finishlog: Run, demo: str, pour: str, warning: str
) -> None:
    plan = finishlog(
        "--log", demo, "match", REFERENCE, "--rect", "20x12", "--depth", "4in", "--on", pour, "--json"
    ).json()
    assert next(day for day in plan["dates"] if day["key"] == "rinse")["warning"] == warning


def test_the_plan_as_text_says_what_was_understood_of_the_new_area(finishlog: Run, demo: str) -> None:
    argv = ("--log", demo, "match", REFERENCE, "--rect", "20x12", "--depth", "4in", "--on", "2027-04-12")
    assert "field, 240.0 ft², 4 in deep: 20×12 ft, pour Mon Apr 12 2027" in finishlog(*argv).out
    assert "field, 22.30 m², 102 mm deep" in finishlog("--units", "metric", *argv).out


def test_the_dates_follow_the_shop_and_leap_days(finishlog: Run, demo: str) -> None:
    plan = finishlog(
        "--log", demo, "match", REFERENCE, "--rect", "20x12", "--on", "2028-02-01", "--json"
    ).json()
    days = {day["key"]: day for day in plan["dates"]}
    assert days["compare_from"]["opens"] == "2028-02-29"
    assert days["final_color"]["opens"] == "2028-03-17"
    assert days["seal"]["opens"] == "2028-04-01"  # day 28 is off season
    assert days["reseal"]["opens"] == "2031-04-01"


def test_buried_items_and_cautions_are_on_every_plan(finishlog: Run, demo: str) -> None:
    ran = finishlog("--log", demo, "match", REFERENCE, "--rect", "20x12")
    for said in (
        "gas line",
        "crystalline silica (29 CFR 1926.1153)",
        "Flammable solvent",
        "local codes",
        "slippery",
    ):
        assert said in ran.out.replace("\n  ", " ")
    assert "identical" not in ran.out


def test_a_reference_without_a_dose_still_gives_a_plan(finishlog: Run, demo: str) -> None:
    plan = finishlog(*f"--log {demo} match {WITHOUT_DOSE} --rect 20x12 --depth 4in --json".split()).json()
    assert plan["pigment"] is None
    assert "samples" in plan["pigment_advice"]
    assert any("dose" in gap for gap in plan["missing"])


@pytest.mark.long
def test_every_poured_job_of_the_demo_gives_a_plan(finishlog: Run, demo: str) -> None:
    poured = [job["job"] for job in finishlog("--log", demo, "find", "--json").json() if job["poured_on"]]
    for job in poured:
        plan = finishlog("--log", demo, "match", job, "--rect", "20x12", "--depth", "4in", "--json").json()
        assert plan["pigment"] or "samples" in plan["pigment_advice"], job


def test_a_kept_plan_is_a_planned_job_that_points_to_its_reference(finishlog: Run, demo: str) -> None:
    plan = finishlog(
        "--log",
        demo,
        "match",
        REFERENCE,
        "--rect",
        "20x12",
        "--on",
        "2027-04-12",
        "--save",
        "back yard",
        "--json",
    ).json()
    record = finishlog("--log", demo, "show", plan["saved_as"], "--json").json()["record"]
    assert (record["state"], record["reference"], record["planned_on"]) == (
        "planned",
        REFERENCE,
        "2027-04-12",
    )
    old = finishlog("--log", demo, "show", REFERENCE, "--json").json()["record"]
    assert record["areas"][0]["recipe"]["from_recipe"] == old["areas"][0]["recipe"]["uid"]
    assert record["areas"][0]["area_ft2"] == 240
    again = finishlog(
        "--log", demo, "match", REFERENCE, "--rect", "20x12", "--save", "back yard", "--json"
    ).json()
    assert again["saved_as"] != plan["saved_as"]


def test_match_writes_nothing_but_what_it_learned_once(finishlog: Run, demo: str, tmp_path: Path) -> None:
    def exported(name: str) -> dict[str, bytes]:
        finishlog("--log", demo, "export", str(tmp_path / name))
        return {path.name: path.read_bytes() for path in (tmp_path / name).glob("*.csv")}

    before = exported("before")
    finishlog("--log", demo, "match", REFERENCE, "--rect", "20x12")
    learned = Path(demo).read_bytes()
    finishlog("--log", demo, "match", REFERENCE, "--rect", "20x12")
    assert Path(demo).read_bytes() == learned
    assert exported("after") == before


@pytest.mark.parametrize(
    ("options", "said"),
    [
        ((), "--rect"),
        (("--rect", "20"), "--rect"),
        (("--rect", "20x-3"), "--rect"),
        (("--rect", "20x0"), "--rect"),
        (("--rect", "nanx3"), "--rect"),
        (("--rect", "2_0x3"), "--rect"),
        (("--rect", "٢٠x٣"), "--rect"),
        (("--rect", "20x12", "--less-rect", "30x30"), "cut"),
        (("--rect", "20x12", "--depth", "4 yd of dirt"), "--depth"),
        (("--rect", "20x12", "--on", "2027-02-30"), "--on"),
        (("--rect", "20x12", "--on", "04/05/27"), "--on"),
        (("--rect", "20x12", "--cement", "1e309"), "--cement"),
        (("--rect", "20x12", "--cement", "564", "--scm", "-1"), "--scm"),
        (("--rect", "20x12", "--area", "moat"), "--area"),
        (("--rect", "20x12", "--probe", "100"), "--probe"),
        (("--rect", "20x12", "--nope"), "--nope"),
    ],
)
def test_wrong_input_is_one_clear_line(
    finishlog: Run, demo: str, options: tuple[str, ...], said: str
) -> None:
    ran = finishlog("--log", demo, "match", REFERENCE, *options)
    assert ran.status == 2
    assert ran.out == ""
    assert ran.err.count("\n") == 1
    assert said in ran.err


def test_a_dose_over_the_limit_is_refused_in_a_plan(finishlog: Run, demo: str) -> None:
    ran = finishlog("--log", demo, "match", REFERENCE, "--rect", "20x12", "--cement", "100", "--scm", "464")
    assert ran.status == 2
    assert "ASTM C979" in ran.err


def test_control_and_bidi_text_never_reaches_the_terminal_raw(finishlog: Run, demo: str) -> None:
    with closing(sqlite3.connect(demo)) as raw, raw:
        raw.execute(
            "UPDATE customer SET name = ? WHERE name LIKE 'Wilhelmina%'", ("[/nope]\x1b[31m\u202eX\x9b",)
        )
    for command in (
        ("show", REFERENCE),
        ("match", REFERENCE, "--rect", "20x12"),
        ("show", REFERENCE, "--json"),
    ):
        ran = finishlog("--log", demo, *command)
        assert ran.status == 0
        assert not {"\x1b", "\x9b", "\u202e"} & set(ran.out + ran.err)
    assert "[/nope]" in finishlog("--log", demo, "show", REFERENCE).out


def test_no_log_is_no_fault_of_the_computing_commands_but_of_the_others(
    finishlog: Run, tmp_path: Path
) -> None:
    assert finishlog("yards", "--rect", "24x18", "--depth", "4in").status == 0
    for command in (
        ("find",),
        ("show", "x"),
        ("match", "x", "--rect", "2x2"),
        ("check",),
        ("backup", str(tmp_path / "b")),
    ):
        ran = finishlog(*command)
        assert (ran.status, ran.out) == (3, ""), command
        assert ran.err.count("\n") == 1


def test_a_named_log_that_is_missing_is_never_made(finishlog: Run, tmp_path: Path) -> None:
    gone = tmp_path / "gone.finishlog"
    assert finishlog("--log", str(gone), "find").status == 3
    assert finishlog("--log", str(gone), "yards", "--rect", "2x2", "--depth", "4").status == 3
    assert not gone.exists()


def test_new_refuses_what_exists(finishlog: Run, tmp_path: Path) -> None:
    path = tmp_path / "shop.finishlog"
    assert finishlog("new", str(path)).status == 0
    before = path.read_bytes()
    ran = finishlog("new", str(path))
    assert ran.status in (2, 3)
    assert path.read_bytes() == before
    assert finishlog("--log", str(path), "find", "--json").json() == []


def test_backup_is_a_whole_log(finishlog: Run, demo: str, tmp_path: Path) -> None:
    copy = tmp_path / "copy.finishlog"
    assert finishlog("--log", demo, "backup", str(copy)).status == 0
    assert finishlog("--log", str(copy), "check", "--json").json()["ok"]
    assert (
        finishlog("--log", str(copy), "find", "--json").json()
        == finishlog("--log", demo, "find", "--json").json()
    )
    assert finishlog("--log", demo, "backup", str(copy)).status in (2, 3)


def test_the_demo_prints_its_match_sheet_where_there_is_no_terminal(finishlog: Run) -> None:
    ran = finishlog("demo")
    assert ran.status == 0
    for said in ("Match", "Order", "Pigment", "What differs", "Buried here", "Tell the customer"):
        assert said in ran.out


def test_the_demo_is_the_same_twice(finishlog: Run, demo: str, tmp_path: Path) -> None:
    """One was made before, by the same command."""
    second = str(tmp_path / "two")
    assert finishlog("demo", "--into", second).status == 0
    shows = [finishlog("--log", log, "show", REFERENCE, "--json").json() for log in (demo, second)]
    assert shows[0] == shows[1]
    assert finishlog("demo", "--into", second).status in (2, 3)


@pytest.mark.parametrize(
    "argv",
    [
        ("--log", "", "find"),
        ("--units", "cubits", "find"),
        ("find", "--since", "Feb 30 2025"),
        ("find", "--limit", "0"),
        ("nope",),
        ("show",),
    ],
)
def test_wrong_words_on_the_command_line(finishlog: Run, argv: tuple[str, ...]) -> None:
    ran = finishlog(*argv)
    assert (ran.status, ran.out) == (2, "")
    assert ran.err.count("\n") == 1


def test_a_cement_that_the_plant_switched_since_is_warned_of(finishlog: Run, demo: str) -> None:
    load = (
        "record",
        "swizzlecote-carport",
        "load",
        "--at",
        "2026-06-15 9a",
        "--set",
        "yards=3",
        "--area",
        "all",
    )
    mix = (
        "--set",
        "plant=lower thimble plant",
        "--set",
        "mix_number=T-4006",
        "--set",
        "cement_lb_per_yd3=470",
    )
    match = ("--log", demo, "match", REFERENCE, "--rect", "20x12", "--json")
    before = finishlog(*match).json()["differences"]
    assert not any(d["key"] == "mix_switched_since" and "Type IX" in d["text"] for d in before)
    ran = finishlog("--log", demo, *load, *mix, "--set", "cement_kind=Type IX")
    assert ran.status == 0, ran.err
    told = [d for d in finishlog(*match).json()["differences"] if d["key"] == "mix_switched_since"]
    assert [d["weight"] for d in told] == ["act"]
    assert "Type IX" in told[0]["text"]
    assert "Jun 15 2026" in told[0]["text"]


def test_the_prices_the_order_was_weighed_with_are_said(finishlog: Run, demo: str) -> None:
    text = finishlog("--log", demo, "match", REFERENCE, "--rect", "20x12").out
    weighed = text[text.index("Order weighed with") :]
    assert "left over $45/yd³" in weighed
    assert "color mismatch $600" in weighed


def test_start_and_air_give_the_clock_of_the_pour_day(finishlog: Run, demo: str) -> None:
    asked = ("--log", demo, "match", "bogglethwaite-front-yard", "--rect", "22x16", "--on", "2026-07-03")
    told = finishlog(*asked, "--start", "7a", "--air", "85F", "--json").json()
    assert (told["clock"]["start"], told["clock"]["air_f"], told["clock"]["truck_limit_minutes"]) == (
        "07:00",
        85,
        60,
    )
    assert told["joints"]["joint_ft"] == 54  # 3 × 2 panels: two joints of 16 ft, one of 22
    assert told["joints"]["saw_depth_in"] == 1
    page = finishlog(*asked, "--start", "7a", "--air", "85F").out
    words = " ".join(page.split())
    for wanted in (
        "Pour day Truck 1 7a",
        "For air of 85 °F.",
        "3 × 2 panels of 7' 4\" × 8' 0\"",
        "ACI 302.1R-96",
    ):
        assert wanted in words, wanted
    unsaid = finishlog(*asked, "--json").json()["clock"]
    assert (unsaid["start"], unsaid["air_f"]) == (None, None)
    assert "Air not given" in " ".join(finishlog(*asked).out.split())


@pytest.mark.parametrize(("option", "text"), [("--start", "7"), ("--start", "25:00"), ("--air", "999F")])
def test_a_start_or_air_that_cannot_be_is_one_line(finishlog: Run, demo: str, option: str, text: str) -> None:
    ran = finishlog("--log", demo, "match", "bogglethwaite-front-yard", "--rect", "22x16", option, text)
    assert (ran.status, ran.out, len(ran.err.splitlines())) == (2, "", 1)
    assert option in ran.err
