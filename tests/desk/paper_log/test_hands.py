"""What hands do beyond one clean table: sums between rows, a note alone, headers shortened, grouped or asked."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from finishlog.desk.exchange import exchange
from finishlog.errors import InputError
from finishlog.inputs.paper_log import cells as paper_cells
from finishlog.inputs.paper_log import days
from finishlog.inputs.paper_log.mapping import ColumnMap

ROW = {"Client": "Gus Plover", "Addr": "1 Row", "Date": "3/14/24", "Yds": "6", "Sq Ft": "400", "Notes": ""}


def columns_of(sheet_shop: Any, *rows: dict[str, str]) -> dict[str, str | None]:
    return {guess.header: guess.column for guess in exchange.propose(sheet_shop.write(*rows)).guesses}


def yards(sheet_shop: Any) -> list[list[float]]:
    return [[load.load.yards for load in job.of_kind("load")] for job in sheet_shop.jobs()]


# rows


@pytest.mark.parametrize(
    "sums",
    [
        {"Client": "", "Yds": "10", "Sq Ft": "650"},
        {"Client": "", "Yds": "10", "Notes": "March total"},
        {"Client": "Total for March", "Yds": "10", "Sq Ft": "651"},
    ],
)
def test_a_row_of_sums_is_no_truck_of_the_pour_above(sheet_shop: Any, sums: dict[str, str]) -> None:
    next_pour = {**ROW, "Addr": "2 Row", "Yds": "4", "Sq Ft": "250"}
    report = sheet_shop.bring(ROW, next_pour, sums, {**ROW, "Addr": "3 Row", "Yds": "2"})
    assert [remark.line for remark in report.left_aside] == [4]
    assert sorted(yards(sheet_shop)) == [[2], [4], [6]]


def test_a_truck_with_as_many_yards_as_all_above_stays_a_truck(sheet_shop: Any) -> None:
    sheet_shop.bring(ROW, {"Client": "", "Yds": "3"}, {"Client": "", "Yds": "9"})
    assert yards(sheet_shop) == [[6, 3, 9]]


def test_a_note_alone_goes_on_with_the_row_above(sheet_shop: Any) -> None:
    report = sheet_shop.bring({**ROW, "Notes": "late"}, {"Client": "", "Notes": "rained at 3"})
    job = sheet_shop.only()
    assert (report.left_aside, yards(sheet_shop)) == ((), [[6]])
    assert any("late · rained at 3" in (note or "") for note in [job.note, *(e.note for e in job.entries)])


# headers


@pytest.mark.parametrize(
    ("header", "cells", "column"),
    [
        ("Clr", ("Wet Biscuit", "Silt Cake"), "base"),
        ("Rmks", ("late", ""), "note"),
        ("Wshd", ("3/16/24", "next day"), "rinsed_on"),
        ("Tex", ("ashlar", "cobble"), "pattern"),
        ("Cust. phone", ("555-0151", "555-0152"), "phone"),
        ("How many bags", ("x", "y"), None),
        ("When sealed", ("4/16/24", "4/17/24"), "sealed_on"),
        ("Who sealed", ("Bo", "Tam"), None),
        ("Seal Y/N", ("Y", "N"), "sealer"),
        ("Color lbs/yd", ("7", "11"), "dose"),
        ("Lbs of color per yard?", ("7", "11"), "dose"),
        ("Release lbs per yard", ("7", "11"), None),
        ("St", ("WI", "WI"), None),
        ("Ret", ("500", "300"), None),
        ("Bid date", ("2/1/24", "2/2/24"), None),
        ("Invoice date", ("4/1/24", "4/2/24"), None),
        ("Yards ordered", ("7", "5"), None),
    ],
)
def test_what_a_header_is_taken_for(
    sheet_shop: Any, header: str, cells: tuple[str, str], column: str | None
) -> None:
    rows = [
        {"Client": "Gus", "Date": "3/14/24", header: cells[0]},
        {"Client": "Ida", "Date": "3/15/24", header: cells[1]},
    ]
    assert columns_of(sheet_shop, *rows)[header] == column


@pytest.mark.parametrize(
    ("header", "cells"),
    [
        ("Bags color", ("4", "1.5")),
        ("Color bags", ("4 bags", "1.5 bags")),
        ("Sacks", ("4", "8")),
        ("# bags", ("4", "8")),
        ("Bags", ("4", "8")),
        ("Color lbs (bags)", ("4", "8")),
        ("50 lb bags color", ("4", "8")),
        ("Release bags", ("2", "1")),
        ("Bags of hardener", ("6", "9")),
        ("Sacks per yard", ("2", "2")),
        ("Packs of release", ("1", "2")),
    ],
)
def test_a_count_of_bags_is_kept_as_a_note(sheet_shop: Any, header: str, cells: tuple[str, str]) -> None:
    rows = [
        {**ROW, header: cells[0]},
        {**ROW, "Addr": "2 Row", header: cells[1]},
    ]
    assert columns_of(sheet_shop, *rows)[header] is None
    report = sheet_shop.bring(*rows)
    texts = [job.note or "" for job in sheet_shop.jobs()]
    texts += [entry.note or "" for job in sheet_shop.jobs() for entry in job.entries]
    assert (report.bad, len(report.kept)) == ((), 2)
    assert [cell for cell in cells if not any(f"{header}: {cell}" in text for text in texts)] == []


@pytest.mark.parametrize(
    ("header", "cells", "column"),
    [
        ("Dosage (lb/sack)", ("1.5", "1"), "dose"),
        ("Color lot (bags)", ("K-131", "K-9"), "base_lot"),
        ("Bag lot", ("K-131", "K-9"), "base_lot"),
        ("Color lbs", ("47", "60"), "base_lb"),
        ("Overlay bags", ("12", "14"), "bags"),
    ],
)
def test_what_has_bags_in_its_name_and_counts_none(
    sheet_shop: Any, header: str, cells: tuple[str, str], column: str
) -> None:
    rows = [
        {"Client": "Gus", "Date": f"3/1{day}/24", header: cell} for day, cell in enumerate(cells, start=4)
    ]
    assert columns_of(sheet_shop, *rows)[header] == column


@pytest.mark.parametrize(
    ("header", "cells", "column"),
    [
        ("Temp", ("74", "81"), None),
        ("Temperature", ("74", "81"), None),
        ("Air temp", ("28", "26"), None),
        ("Air temp (F)", ("74", "81"), None),
        ("Concrete temp low", ("74", "81"), None),
        ("Low temp", ("54", "51"), "air_low"),
        ("Night low", ("54", "51"), "air_low"),
        ("Lo", ("54", "51"), "air_low"),
        ("Temp hi", ("84", "81"), "air_high"),
        ("Max temp", ("84", "81"), "air_high"),
        ("Air %", ("6", "5.5"), "air"),
        ("Air content", ("6 %", "5.5 %"), "air"),
        ("Entrained air (%)", ("6", "5.5"), "air"),
    ],
)
def test_a_temperature_of_the_pour_is_neither_end_of_three_days_nor_air_in_the_mix(
    sheet_shop: Any, header: str, cells: tuple[str, str], column: str | None
) -> None:
    rows = [{**ROW, header: cells[0]}, {**ROW, "Addr": "2 Row", header: cells[1]}]
    assert columns_of(sheet_shop, *rows)[header] == column


@pytest.mark.parametrize(
    ("beside", "header", "cells", "column"),
    [
        ({"Plant": "Gravelpit plant"}, "PSI", ("4000", "4500"), None),
        ({"Plant": "Gravelpit plant", "Washed": "3/16/24"}, "PSI", ("4000", "4500"), None),
        ({"Ticket": "204"}, "Psi", ("4000 psi", "3500 psi"), None),
        ({"Ticket": "204"}, "What for", ("4000 psi", "3500 psi"), None),
        ({}, "PSI", ("1800", "2000"), None),
        ({"Washed": "3/16/24"}, "Mix PSI", ("4000", "4500"), None),
        ({"Washed": "3/16/24"}, "PSI", ("1800", "3,000"), "rinse_psi"),
        ({"Plant": "Gravelpit plant", "Washed": "3/16/24"}, "PSI", ("1800", "2000"), "rinse_psi"),
        ({"Plant": "Gravelpit plant"}, "Wash PSI", ("3000", "3500"), "rinse_psi"),
        ({"Plant": "Gravelpit plant"}, "Washer pressure", ("3000", "3500"), "rinse_psi"),
    ],
)
def test_a_pressure_is_the_washers_where_the_sheet_says_so(
    sheet_shop: Any, beside: dict[str, str], header: str, cells: tuple[str, str], column: str | None
) -> None:
    rows = [{**ROW, **beside, header: cells[0]}, {**ROW, **beside, "Addr": "2 Row", header: cells[1]}]
    assert columns_of(sheet_shop, *rows)[header] == column


@pytest.mark.parametrize("header", ["Washed on", "Power washed on", "Pressure washed on", "Washed off on"])
def test_the_day_it_was_washed_on_is_that_of_the_rinse(sheet_shop: Any, header: str) -> None:
    sheet_shop.bring({**ROW, header: "3/16/24"}, {**ROW, "Addr": "2 Row", header: "3/17/24"})
    rinses = [entry.happened for job in sheet_shop.jobs() for entry in job.of_kind("rinse")]
    assert sorted(str(at)[:10] for at in rinses) == ["2024-03-16", "2024-03-17"]


def test_bags_are_of_an_overlay_where_the_sheet_says_what_was_in_them(sheet_shop: Any) -> None:
    row = {"Client": "Gus", "Date": "3/14/24", "Bags": "12", "Bag product": "Thin Pelt overlay"}
    assert columns_of(sheet_shop, row)["Bags"] == "bags"


def test_the_day_of_an_invoice_is_never_that_of_the_pour(sheet_shop: Any) -> None:
    with pytest.raises(InputError, match="No column gives the pour date"):
        sheet_shop.bring({"Client": "Gus", "Invoice date": "3/14/24", "Yds": "6"})


def written(sheet_shop: Any, text: str) -> Any:
    sheet_shop.path.write_text(text, encoding="utf-8")
    return sheet_shop.path


def test_a_header_of_two_lines_names_its_columns_by_both(sheet_shop: Any) -> None:
    text = "Job,,Seal,\nClient,Date,Date,Product\nGus,3/14/24,4/16/24,Duckback 25\nIda,3/20/24,4/18/24,Duckback 25\n"
    found = {guess.header: guess.column for guess in exchange.propose(written(sheet_shop, text)).guesses}
    assert found == {
        "Client": "customer",
        "Job Date": "poured_on",
        "Seal Date": "sealed_on",
        "Seal Product": "sealer",
    }


def test_a_second_column_of_the_same_name_is_kept_as_a_note(sheet_shop: Any) -> None:
    text = "Client,When,When\nGus,3/14/24,4/16/24\nIda,3/20/24,4/18/24\n"
    found = {guess.header: guess.column for guess in exchange.propose(written(sheet_shop, text)).guesses}
    assert found == {"Client": "customer", "When": "poured_on", "When (2)": None}


def test_a_table_of_plain_text_comes_in(sheet_shop: Any) -> None:
    text = "| Client | Pour | Yds |\n|--------|---------|-----|\n| Gus | 3/14/24 | 6 |\n"
    report = exchange.bring_in(sheet_shop.services, written(sheet_shop, text), new=True)
    assert (report.bad, report.kept, yards(sheet_shop)) == ((), (), [[6]])


def test_a_header_may_begin_with_the_number_of_a_row(sheet_shop: Any) -> None:
    text = "# 1, help that names no column\n#,Client,Pour,Yds\n1,Gus,3/14/24,6\n"
    report = exchange.bring_in(sheet_shop.services, written(sheet_shop, text), new=True)
    assert (report.bad, [remark.column for remark in report.kept], yards(sheet_shop)) == ((), ["#"], [[6]])


# a date in several columns


def test_a_date_in_several_columns_is_told_and_remembered_by_its_name(sheet_shop: Any) -> None:
    row = {"Year": "2023", "Month": "6", "Client": "Gus", "Yds": "6"}
    report = sheet_shop.bring(row, asked=ColumnMap({"poured_on": "Year + Month"}))
    assert (report.bad, dict(report.columns)["poured_on"]) == ((), "Year + Month")
    assert {entry.exactness for entry in sheet_shop.only().entries} == {"month"}
    again = sheet_shop.bring(row, {**row, "Month": "7"})
    assert (again.remembered, again.pours_added) == (True, 1)


def test_a_part_that_somebody_told_of_stays_a_column(sheet_shop: Any) -> None:
    path = sheet_shop.write({"Year": "2023", "Month": "6", "Date": "3/14/24", "Client": "Gus"})
    found = exchange.propose(path, ColumnMap(noted=("Month",)))
    assert [guess.header for guess in found.guesses] == ["Year", "Month", "Date", "Client"]


# cells


def test_a_dose_in_the_cell_of_its_color_needs_its_header_or_its_yard() -> None:
    assert paper_cells.color_and_dose("Silt Cake (7#)", "Color (dose)") == {
        "base": "Silt Cake",
        "dose": "7 lb/yd3",
    }
    assert paper_cells.color_and_dose("Silt Cake 3%", "Color / rate") == {"base": "Silt Cake", "dose": "3%"}
    assert paper_cells.color_and_dose("Silt Cake 7#/yd", "Color")["dose"] == "7 lb/yd3"
    assert paper_cells.color_and_dose("Silt Cake (70#)", "Color") == {}
    assert paper_cells.color_and_dose("Silt Cake 50%", "Color") == {}


@pytest.mark.parametrize("said", ["no color", "No release", "uncolored", "not sealed", "without sealer"])
def test_words_for_none(said: str) -> None:
    assert paper_cells.says_none(said)
    assert not paper_cells.says_none(f"{said} yet")


@pytest.mark.parametrize(
    "said", ["2025-05-06T07:45:00-05:00", "2025-05-06T07:45:00Z", "2025-05-06 07:45:00.125+0000"]
)
def test_a_day_with_its_clock_and_zone(said: str) -> None:
    assert days.read(said, date(2026, 6, 16)) == date(2025, 5, 6)
