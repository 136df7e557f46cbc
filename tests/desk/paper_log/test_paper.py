"""An owner's own sheet in, cell by cell: what is copied, what is a note, what is asked, and what is never invented."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from finishlog.desk.exchange import exchange
from finishlog.desk.placed.placed import as_placed
from finishlog.inputs.paper_log.mapping import ColumnMap
from finishlog.records.log import Job
from finishlog.records.when import zone_of
from finishlog.trade.due_slab import slabs

ROW = {"Client": "Gus Plover", "Addr": "1 Row", "What": "patio", "Date": "3/14/24", "Yds": "6"}


def noted(job: Job) -> str:
    return "\n".join([job.note or "", *(entry.note or "" for entry in job.entries)])


def products(job: Job) -> set[str]:
    return {use.product.name for entry in job.entries for use in entry.materials}


# none is none


@pytest.mark.parametrize("said", ["none", "no", "-", "n/a", "None", "NA"])
@pytest.mark.parametrize("own", [True, False])
def test_none_under_a_material_is_no_product_of_that_name(sheet_shop: Any, said: str, own: bool) -> None:
    row: dict[str, str] = {
        "customer": "Gus",
        "poured_on": "2025-06-16",
        "yards": "6",
        "release": said,
        "sealer": said,
    }
    if not own:
        row = {**ROW, "Release color": said, "Sealer": said}
    assert sheet_shop.bring(row).bad == ()
    job = sheet_shop.only()
    assert products(job) == set()
    assert job.of_kind("powder_release") == ()
    assert "elease color: none" in noted(job) or "release: none" in noted(job)
    with sheet_shop.services.log().reading() as log:
        assert log.lines()[0].release is None


def test_none_of_other_cementitious_is_known_to_be_none(sheet_shop: Any) -> None:
    sheet_shop.bring({"customer": "Gus", "poured_on": "2025-06-16", "cement": "517", "scm_kind": "none"})
    [load] = sheet_shop.only().of_kind("load")
    assert (load.load.mix.scm_kind, load.load.mix.scm_lb_per_yd3) == (None, 0.0)


# days


def test_a_month_or_a_season_is_known_no_better(sheet_shop: Any) -> None:
    sheet_shop.bring(
        {**ROW, "Date": "8/2024", "Washed": "48 h"}, {**ROW, "Addr": "2 Row", "Date": "spring 2023"}
    )
    found = {job.site.street: job for job in sheet_shop.jobs()}
    assert {entry.exactness for entry in found["1 Row"].entries} == {"month"}
    assert {entry.exactness for entry in found["2 Row"].entries} == {"season"}
    job = found["1 Row"]
    assert slabs(job, sheet_shop.services.shop()) == ()
    placed = as_placed(job, job.areas[0], zone_of(job), 45)
    assert (placed.poured_on, placed.poured_end, placed.rinsed_at, placed.rinse_age_h) == (
        None,
        None,
        None,
        48,
    )
    with sheet_shop.services.log().reading() as log:
        assert {line.poured_on for line in log.lines()} == {None}


def test_a_rough_pour_gives_a_reading_no_age_to_learn_from(sheet_shop: Any) -> None:
    read = {"base_color": "62, 4, 16", "color_on": "2024-10-01"}
    sheet_shop.bring({**ROW, "Date": "8/2024", **read}, {**ROW, "Addr": "2 Row", "Date": "8/17/2024", **read})
    with sheet_shop.services.log().reading() as log:
        by_job = {row.job: row.poured for row in log.learning_rows()}
    assert sorted(poured is None for poured in by_job.values()) == [False, True]


def test_a_blank_day_is_never_invented(sheet_shop: Any) -> None:
    report = sheet_shop.bring(ROW, {**ROW, "Addr": "2 Row", "Date": "", "Color": "Wet Biscuit"})
    assert (report.bad, report.undated, report.pours_added, report.jobs_added) == ((), 1, 1, 2)
    job = next(job for job in sheet_shop.jobs() if job.site.street == "2 Row")
    assert (job.entries, job.state, job.name) == ((), "poured", "patio")
    assert job.note == "Poured, date unknown · Yards 6 · Base Wet Biscuit"
    again = sheet_shop.bring({**ROW, "Addr": "2 Row", "Date": "", "Color": "Wet Biscuit"}, ROW)
    assert (again.skipped, again.jobs_added, again.undated) == (2, 0, 0)


@pytest.mark.parametrize(
    ("said", "day"),
    [
        ("next day", date(2024, 3, 15)),
        ("+2d", date(2024, 3, 16)),
        ("3/16", date(2024, 3, 16)),
        ("2 days later", date(2024, 3, 16)),
    ],
)
def test_a_rinse_is_told_by_the_day_of_the_pour(sheet_shop: Any, said: str, day: date) -> None:
    assert sheet_shop.bring({**ROW, "Washed": said}).bad == ()
    job = sheet_shop.only()
    [rinse] = job.of_kind("rinse")
    assert rinse.happened.astimezone(zone_of(job)).date() == day


def test_days_that_may_be_two_are_a_question_and_nothing_is_written(sheet_shop: Any) -> None:
    report = sheet_shop.bring({**ROW, "Date": "3/4/24"}, {**ROW, "Date": "5/6/24"})
    assert [question.split(":")[0] for question in report.questions] == ["Date"]
    assert (report.written, sheet_shop.log.exists()) == (False, False)
    report = sheet_shop.bring({**ROW, "Date": "3/4/24"}, asked=ColumnMap(dates="d/m/y"))
    assert report.preview == ()
    job = sheet_shop.only()
    assert job.entries[0].happened.astimezone(zone_of(job)).date() == date(2024, 4, 3)


def test_one_day_decides_for_its_column_and_for_the_sheet(sheet_shop: Any) -> None:
    report = sheet_shop.bring(
        {**ROW, "Date": "3/4/24", "Sealed": "4/5/24"}, {**ROW, "Addr": "2 Row", "Date": "5/16/24"}
    )
    assert report.questions == ()
    assert {guess.dates for guess in report.guesses if guess.dates} == {"m/d/y"}


def test_a_year_ahead_is_no_year_of_the_last_century(sheet_shop: Any) -> None:
    report = sheet_shop.bring({**ROW, "Date": "3/14/27"}, {**ROW, "Addr": "2 Row"})
    assert report.undated == 1
    assert [remark.what for remark in report.kept] == ["3/14/27"]


def test_work_before_its_pour_is_refused(sheet_shop: Any) -> None:
    report = sheet_shop.bring({**ROW, "Sealed": "3/1/24"})
    assert [(remark.line, remark.column) for remark in report.bad] == [(2, "sealed_on")]
    assert not report.written


# cells


@pytest.mark.parametrize(
    ("said", "pounds"),
    [("11 lb/yd", 66), ("20#/yd", 120), ("11#", 66), ("7 lbs a yard", 42), ("1/2 lb per cu yd", 3)],
)
def test_a_dose_as_the_trade_writes_it(sheet_shop: Any, said: str, pounds: float) -> None:
    sheet_shop.bring({**ROW, "Color": "Wet Biscuit", "Dose": said})
    [load] = sheet_shop.only().of_kind("load")
    assert load.materials[0].amount == pounds


def test_a_dose_that_says_no_unit_is_a_question(sheet_shop: Any) -> None:
    report = sheet_shop.bring({**ROW, "Color": "Wet Biscuit", "Dose": "7"})
    assert len(report.questions) == 1
    assert "--unit dose=lb/yd3" in report.questions[0]
    assert not report.written


@pytest.mark.parametrize(("said", "yards"), [("5 1/2", 5.5), ("~6", 6), ("6.5 yds", 6.5), ("about 7", 7)])
def test_yards_as_people_write_them(sheet_shop: Any, said: str, yards: float) -> None:
    sheet_shop.bring({**ROW, "Yds": said})
    [load] = sheet_shop.only().of_kind("load")
    assert load.load.yards == yards
    assert ("Yds: " + said in noted(sheet_shop.only())) == (said[0] in "~a")


def test_a_thousand_has_a_comma_and_a_decimal_too(sheet_shop: Any) -> None:
    sheet_shop.bring({**ROW, "SF": "1,020"})
    assert sheet_shop.only().areas[0].area_ft2 == 1020


def test_what_cannot_be_understood_is_a_note_under_its_header_and_counted(sheet_shop: Any) -> None:
    report = sheet_shop.bring({**ROW, "Yds": "9 or 10", "Invoice": "4411"}, {**ROW, "Addr": "2 Row"})
    assert [(remark.line, remark.column, remark.what) for remark in report.kept] == [
        (2, "Invoice", "4411"),
        (2, "Yds", "9 or 10"),
    ]
    job = next(job for job in sheet_shop.jobs() if job.site.street == "1 Row")
    assert job.of_kind("pour")[0].note == "Invoice: 4411 · Yds: 9 or 10"
    assert job.of_kind("load") == ()


def test_a_complaint_without_its_day_is_a_note_not_lost(sheet_shop: Any) -> None:
    sheet_shop.bring({**ROW, "Callback": "lighter than the front"})
    assert "Callback: lighter than the front" in noted(sheet_shop.only())


@pytest.mark.parametrize("mark", ['"', "do.", "ditto", "same as above", "same as the last job", "''"])
def test_a_ditto_mark_stands_for_the_cell_above(sheet_shop: Any, mark: str) -> None:
    report = sheet_shop.bring({**ROW, "Color": "Wet Biscuit"}, {**ROW, "Addr": "2 Row", "Color": mark})
    assert report.copied == 1
    assert [products(job) for job in sheet_shop.jobs()] == [{"Wet Biscuit"}, {"Wet Biscuit"}]


def test_merged_cells_go_on_with_the_job_above_as_a_further_truck(sheet_shop: Any) -> None:
    report = sheet_shop.bring(ROW, {"Client": "", "Yds": "4", "Ticket": ""}, {"Client": "", "Yds": "2.5"})
    assert (report.bad, report.copied, report.pours_added) == ((), 8, 1)
    assert [load.load.yards for load in sheet_shop.only().of_kind("load")] == [6, 4, 2.5]


def test_totals_and_headings_are_left_aside_and_said(sheet_shop: Any) -> None:
    report = sheet_shop.bring(
        {**ROW, "Crew": "Bo"}, {"Client": "Total", "Yds": "6"}, {"Client": "", "Crew": "page 2"}
    )
    assert (report.pours_added, report.jobs_added) == (1, 1)
    assert [(remark.line, remark.what) for remark in report.left_aside] == [
        (3, "A row of totals, left out: Total, 6"),
        (4, "A stray line, left out: page 2"),
    ]


# columns


def test_every_column_is_told_with_how_sure_and_why(sheet_shop: Any) -> None:
    path = sheet_shop.write({**ROW, "Zq": "11 lb/yd", "Office": "x"}, {**ROW, "Zq": "7 lb/yd", "Office": "y"})
    guesses = {guess.header: guess for guess in exchange.propose(path).guesses}
    assert list(guesses) == [*ROW, "Zq", "Office"]
    assert (guesses["Zq"].column, guesses["Zq"].why) == ("dose", "its cells")
    assert 0.8 <= guesses["Zq"].sure < 1
    assert (guesses["Office"].column, guesses["Office"].sure) == (None, 0.0)
    assert (guesses["Date"].column, guesses["Date"].dates, guesses["Date"].samples[0]) == (
        "poured_on",
        "m/d/y",
        "3/14/24",
    )


def test_the_mapping_that_was_guessed_is_kept_for_next_time(sheet_shop: Any) -> None:
    assert not sheet_shop.bring(ROW).remembered
    again = sheet_shop.bring({**ROW, "Addr": "2 Row", "Date": "3/4/24"})
    assert (again.remembered, again.questions, again.pours_added) == (True, (), 1)


def test_a_month_is_found_by_its_words_and_by_no_day(sheet_shop: Any) -> None:
    sheet_shop.bring({**ROW, "Date": "8/2024"}, {**ROW, "Addr": "2 Row", "Date": "spring 2023"})
    with sheet_shop.services.log().reading() as log:
        found = {words: [line.street for line in log.lines(words=words)] for words in WORDS}
    assert found == WORDS


WORDS = {"aug 2024": ["1 Row"], "summer 2024": ["1 Row"], "spring 2023": ["2 Row"], "april 2023": []}


# colors


READ = {
    "customer": "Gus",
    "poured_on": "2025-06-16",
    "yards": "6",
    "base_color": "48, 8, 20",
    "color_on": "2025-08-20",
}


def spots(job: Job) -> list[tuple[str, bool]]:
    return [(entry.reading.spot, entry.reading.sealed) for entry in job.of_kind("reading") if entry.reading]


@pytest.mark.parametrize(
    ("sealing", "state", "sealed", "said"),
    [
        ({"sealed_on": "2025-07-15"}, "", True, "taken as read over the sealer. If not, write bare."),
        ({"resealed_on": "2025-08-20"}, "", True, "taken as read over the sealer. If not, write bare."),
        (
            {"sealed_on": "2025-07-15"},
            "bare",
            False,
            "kept as bare. If it was read over the sealer, write sealed.",
        ),
        (
            {"sealed_on": "2025-07-15"},
            "dry",
            False,
            "kept as dry. If it was read over the sealer, write sealed.",
        ),
        ({"sealed_on": "2025-07-15"}, "sealed", True, None),
        ({"sealed_on": "2025-08-21"}, "", False, None),
        ({}, "", False, None),
    ],
)
def test_a_color_read_after_the_sealing_is_not_silently_bare(
    sheet_shop: Any, sealing: dict[str, str], state: str, sealed: bool, said: str | None
) -> None:
    row = {**READ, **sealing, "color_state": state, "release_color": "35, 6, 14"}
    report = sheet_shop.bring(row)
    assert spots(sheet_shop.only()) == [("base", sealed), ("release color", sealed)]
    told = [remark.what for remark in report.flagged if remark.column == "color_state"]
    assert [what.partition("color: ")[2] for what in told] == ([said] if said else [])
    if said:
        assert told[0].startswith("Sealed on")


def test_a_sealing_told_by_another_line_or_by_the_log_counts_for_its_area_alone(sheet_shop: Any) -> None:
    """The patio was sealed once, before both colors of it; of the walk nothing is told."""
    area = {"job": "yard", "area": "patio"}
    sheet_shop.bring(
        {**READ, **area},
        {**READ, "job": "yard", "area": "walk"},
        {**READ, **area, "poured_on": "2025-05-16", "sealed_on": "2025-07-15", "base_color": ""},
    )
    job = sheet_shop.only()
    names = {each.uid: each.name for each in job.areas}
    assert {names[entry.area]: entry.reading.sealed for entry in job.of_kind("reading")} == {
        "patio": True, "walk": False,
    }  # fmt: skip
    report = sheet_shop.bring({**READ, **area, "poured_on": "2025-08-01"})
    assert [remark.column for remark in report.flagged] == ["color_state"]
    assert [entry.reading.sealed for entry in sheet_shop.only().of_kind("reading")].count(True) == 2
