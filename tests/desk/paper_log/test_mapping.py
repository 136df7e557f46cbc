"""A foreign sheet in: its columns told once, remembered by its headers, proposed where nobody told."""

from __future__ import annotations

from typing import Any

import pytest

from finishlog.desk.exchange import exchange
from finishlog.inputs.paper_log import column_names
from finishlog.inputs.paper_log.mapping import NO_MAPPING, ColumnMap, read_mapping, setting_key
from finishlog.inputs.paper_log.pour import PourRow

ROW = {
    "Client": "Ottoline Quillfeather",
    "Address": "12 Teakettle Lane",
    "Date Poured": "6/16/2025",
    "Cu Yds": "6.75",
    "Lb/Yd": "7",
    "Color": "Wet Biscuit",
    "Office use": "x1",
}
MAPS = (
    "customer=Client",
    "street=Address",
    "poured_on=Date Poured",
    "yards=Cu Yds",
    "dose=Lb/Yd",
    "base=Color",
)
UNITS = ("poured_on=m/d/y", "dose=lb/yd3")


def told(
    maps: tuple[str, ...] = MAPS, units: tuple[str, ...] = UNITS, ignored: tuple[str, ...] = ("Office use",)
) -> ColumnMap:
    return read_mapping(maps, units, ignored, PourRow, exchange.COLUMNS)


def remembered(shop: Any) -> list[str]:
    with shop.services.log().reading() as log:
        return [key for key in log.settings() if key.startswith("import columns")]


def test_a_foreign_sheet_comes_in(sheet_shop: Any) -> None:
    report = sheet_shop.bring(ROW, asked=told())
    assert (report.bad, report.pours_added, report.written) == ((), 1, True)
    job = sheet_shop.only()
    [load] = job.of_kind("load")
    assert load.load is not None
    assert (job.customer.name, load.load.yards, load.materials[0].amount) == (
        "Ottoline Quillfeather",
        6.75,
        47.25,
    )


def test_what_was_told_is_remembered_by_the_headers(sheet_shop: Any) -> None:
    assert not sheet_shop.bring(ROW, asked=told()).remembered
    again = dict(reversed({**ROW, "Address": "9 Snail Stair"}.items()))
    report = sheet_shop.bring(again)
    assert (report.bad, report.remembered, report.pours_added) == ((), True, 1)
    assert dict(report.columns)["yards"] == "Cu Yds"
    report = sheet_shop.bring({**again, "Address": "1 Fern Row", "One more": "x"})
    assert (report.remembered, report.pours_added) == (False, 1)
    assert [(remark.column, remark.what) for remark in report.kept] == [
        ("Office use", "x1"),
        ("One more", "x"),
    ]


def test_a_sheet_of_our_own_columns_leaves_nothing_to_remember(sheet_shop: Any) -> None:
    sheet_shop.bring({"customer": "Gus", "poured_on": "2025-06-16"})
    assert remembered(sheet_shop) == []


def test_nothing_is_remembered_of_a_check_or_of_a_sheet_that_is_wrong(sheet_shop: Any) -> None:
    sheet_shop.bring({"customer": "Gus", "poured_on": "2025-06-16"})
    sheet_shop.bring(ROW, asked=told(), check=True)
    early = {**ROW, "Sealed on": "2025-06-01"}
    assert sheet_shop.bring(early, asked=told()).bad
    assert remembered(sheet_shop) == []


def test_what_is_told_anew_is_remembered_with_the_rest(sheet_shop: Any) -> None:
    sheet_shop.bring(ROW, asked=told())
    street = {**ROW, "Address": "9 Snail Stair"}
    report = sheet_shop.bring(street, asked=told((), ("dose=%",), ()))
    assert report.bad == ()
    assert len(remembered(sheet_shop)) == 1
    report = sheet_shop.bring({**ROW, "Address": "1 Fern Row"}, check=True)
    assert "7 %" in report.preview[0]


def test_fresh_does_without_what_is_remembered(sheet_shop: Any) -> None:
    sheet_shop.bring(ROW, asked=told())
    report = sheet_shop.bring(
        {**ROW, "Address": "1 Fern Row"}, asked=told(("job=Client", *MAPS[1:])), fresh=True
    )
    assert not report.remembered
    assert "customer" not in dict(report.columns)


def test_a_mapping_is_forgotten(sheet_shop: Any) -> None:
    sheet_shop.bring(ROW, asked=told())
    other = {**ROW, "Address": "9 Snail Stair", "Extra": "x"}
    sheet_shop.bring(other, asked=told(ignored=("Office use", "Extra")))
    assert exchange.forget(sheet_shop.services, sheet_shop.write(ROW)) == 1
    assert exchange.forget(sheet_shop.services, sheet_shop.write(ROW)) == 0
    assert exchange.forget(sheet_shop.services, None) == 1
    assert remembered(sheet_shop) == []


def test_a_column_that_another_version_kept_is_passed_over(sheet_shop: Any) -> None:
    sheet_shop.bring(ROW, asked=told())
    headers = ("customer", "poured_on")
    kept = ColumnMap({"moon_phase": "customer"}, {"moon_phase": "d"}, ())
    with sheet_shop.services.log().writing() as log:
        log.set_setting(setting_key(headers), kept.to_json())
    assert sheet_shop.bring({"customer": "Gus", "poured_on": "2025-06-16"}).bad == ()


def test_a_check_shows_the_first_pours_as_understood(sheet_shop: Any) -> None:
    rows = [{**ROW, "Address": f"{number} Snail Stair"} for number in range(8)]
    report = sheet_shop.bring(*rows, asked=told(), check=True)
    assert len(report.preview) == 5
    assert report.preview[0] == (
        "Jun 16 2025 · Ottoline Quillfeather · 0 Snail Stair · 6.75 yd³ · Wet Biscuit 7 lb/yd3"
    )
    metric = sheet_shop.bring(*rows, asked=told(), check=True, units="metric")
    assert "5.16 m³" in metric.preview[0]
    assert sheet_shop.bring(*rows, asked=told()).preview == ()


def test_progress_is_told_up_to_the_last_pour(sheet_shop: Any) -> None:
    said: list[tuple[int, int]] = []
    rows = [
        {**ROW, "Address": f"{number % 2} Snail Stair", "Date Poured": f"6/{number + 1}/2025"}
        for number in range(4)
    ]
    sheet_shop.bring(*rows, asked=told(), progress=lambda done, total: said.append((done, total)))
    assert said[-1] == (4, 4)
    assert [done for done, _ in said] == sorted(done for done, _ in said)


# a proposal


def propose(shop: Any, *rows: dict[str, str], asked: ColumnMap = NO_MAPPING) -> Any:
    return exchange.propose(shop.write(*rows), asked)


def test_a_mapping_is_proposed_and_brings_the_sheet_in(sheet_shop: Any) -> None:
    proposal = propose(sheet_shop, ROW)
    assert {match.column: match.header for match in proposal.matches} == {
        "customer": "Client",
        "street": "Address",
        "poured_on": "Date Poured",
        "yards": "Cu Yds",
        "dose": "Lb/Yd",
        "base": "Color",
    }
    assert {match.column: match.unit for match in proposal.matches if match.unit} == {
        "poured_on": "m/d/y",
        "dose": "lb/yd3",
    }
    assert (proposal.left_out, proposal.missing) == (("Office use",), ())
    maps = tuple(f"{match.column}={match.header}" for match in proposal.matches)
    units = tuple(f"{match.column}={match.unit}" for match in proposal.matches if match.unit)
    assert sheet_shop.bring(ROW, asked=told(maps, units, proposal.left_out)).bad == ()


@pytest.mark.parametrize(
    ("header", "cell", "column", "unit"),
    [
        ("Thickness (mm)", "100", "depth", "mm"),
        ("Slab thickness (in)", "4", "depth", None),
        ("Sq. Ft.", "445", "area_ft2", None),
        ("Stamp", "ashlar slate", "pattern", None),
        ("Pigment %", "4", "dose", "%"),
        ("Batch Plant", "Lower Thimble", "plant", None),
        ("Notes", "two passes", "note", None),
        ("Wash Date", "18/06/2025", "rinsed_on", "d/m/y"),
        ("Telephone", "555-0142", "phone", None),
        ("Mail", "gus@example.com", "email", None),
        ("Slump (in)", "4 1/2", "slump", None),
    ],
)
def test_one_header_is_recognized(
    sheet_shop: Any, header: str, cell: str, column: str, unit: str | None
) -> None:
    [match] = propose(sheet_shop, {"poured_on": "2025-06-16", header: cell}).matches
    assert (match.column, match.unit, match.examples) == (column, unit, (cell,))


@pytest.mark.parametrize("header", ["Office use", "xyzzy", "Invoice total", "???", "Paid"])
def test_what_is_like_none_of_ours_is_left_out(sheet_shop: Any, header: str) -> None:
    proposal = propose(sheet_shop, {"poured_on": "2025-06-16", header: "12"})
    assert (proposal.matches, proposal.left_out) == ((), (header,))


def test_a_name_like_ours_over_cells_that_are_not_is_not_believed(sheet_shop: Any) -> None:
    proposal = propose(
        sheet_shop, {"poured_on": "2025-06-16", "Yards": "many", "Release color": "Otter Back"}
    )
    assert [(match.column, match.header) for match in proposal.matches] == [("release", "Release color")]
    assert proposal.left_out == ("Yards",)


def test_a_day_that_may_be_two_is_said_to_be(sheet_shop: Any) -> None:
    [match] = propose(sheet_shop, {"Date": "3/4/2025"}).matches
    assert match.unit == "m/d/y"
    assert "3/4/2025 can be read two ways" in match.doubt
    assert "d/m/y" in match.doubt


def test_a_dose_without_any_unit_is_asked_for(sheet_shop: Any) -> None:
    [match] = propose(sheet_shop, {"poured_on": "2025-06-16", "Dosage": "7"}).matches
    assert (match.column, match.unit) == ("dose", None)
    assert "--unit dose=lb/yd3" in match.doubt


def test_what_is_told_is_not_guessed_again(sheet_shop: Any) -> None:
    asked = told(("job=Client",), (), ("Address",))
    proposal = propose(sheet_shop, ROW, asked=asked)
    headers = {match.column: match.header for match in proposal.matches}
    assert headers["job"] == "Client"
    assert "customer" not in headers
    assert "Address" in proposal.left_out


def test_no_column_and_no_header_is_proposed_twice(sheet_shop: Any) -> None:
    rows = {"Date": "2025-06-16", "Pour date": "2025-06-17", "Notes": "x", "Comments": "y", "Remarks": "z"}
    matches = propose(sheet_shop, rows).matches
    assert len({match.column for match in matches}) == len(matches)
    assert len({match.header for match in matches}) == len(matches)
    assert {match.column for match in matches} >= {"poured_on", "note"}


def test_what_is_needed_and_not_found_is_said(sheet_shop: Any) -> None:
    assert propose(sheet_shop, {"Client": "Gus", "xyzzy": "1"}).missing == ("poured_on",)


def test_every_other_name_is_of_a_column_that_we_have() -> None:
    assert set(column_names.ALSO) <= {column.key for column in exchange.COLUMNS}
    names = [name for also in column_names.ALSO.values() for name in also]
    assert len(names) == len(set(names))
