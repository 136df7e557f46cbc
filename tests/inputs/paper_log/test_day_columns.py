"""A date in two or three columns is one date; what is none stays as it is written."""

from __future__ import annotations

from datetime import date

import pytest

from finishlog.inputs.paper_log import day_columns

TODAY = date(2026, 6, 16)


def joined(
    headers: str, *rows: str, told: str = "", day_in: str = ""
) -> tuple[tuple[str, ...], list[list[str]]]:
    return day_columns.join(
        headers.split(","),
        [row.split(",") for row in rows],
        TODAY,
        lambda header: header == told,
        has_day=lambda header, cells: header == day_in,
    )


@pytest.mark.parametrize(
    ("headers", "row", "day"),
    [
        ("Year,Month", "2023,6", "2023-06"),
        ("Month,Year", "Sept.,23", "2023-09"),
        ("Yr,Mo,Day", "'24,Feb,29", "2024-02-29"),
        ("Day,Mo,Yr", "3rd,12,98", "1998-12-03"),
        ("Year,Month", "2023,spring", "spring 2023"),
        ("Mo,Day", "6,14", "Jun 14"),
        ("Year of pour,Month of pour", "2023,6", "2023-06"),
    ],
)
def test_the_parts_make_one_day(headers: str, row: str, day: str) -> None:
    names, [cells] = joined(headers, row)
    assert [cell for cell in cells if cell] == [day]
    assert [name for name in names if name] == [headers.replace(",", " + ")]
    assert len(names) == len(cells) == len(headers.split(","))


def test_a_merged_year_is_that_above_but_not_where_the_months_begin_again() -> None:
    _, rows = joined("Year,Month,Who", "2023,6,A", ",9,B", '"",",C', ",1,D", "2024,1,E", ",,F")
    assert [row[0] for row in rows] == ["2023-06", "2023-09", "2023-09", "1", "2024-01", ""]


@pytest.mark.parametrize("row", ["2023,13", "2023,", "soon,6", "2023,6 or 7"])
def test_what_makes_no_date_stays_as_written(row: str) -> None:
    _, rows = joined("Year,Month", "2023,6", "2023,7", "2024,8", row)
    assert rows[-1][0] == " ".join(row.split(",")).strip()


@pytest.mark.parametrize(
    ("headers", "row"),
    [("Year,Who", "2023,A"), ("Year,Day", "2023,4"), ("Month,Who", "6,A"), ("Year,Month", "Bo,Tam")],
)
def test_without_a_month_and_another_part_nothing_is_joined(headers: str, row: str) -> None:
    assert joined(headers, row) == (tuple(headers.split(",")), [row.split(",")])


def test_a_column_of_weekdays_is_no_part_of_the_date() -> None:
    names, [cells] = joined("Year,Month,Day", "2023,6,Fri")
    assert (names, cells) == (("Year + Month", "", "Day"), ["2023-06", "", "Fri"])


def test_what_somebody_told_of_and_what_another_column_has_stays() -> None:
    headers, row = "Year,Month,Date", "2023,6,6/14/23"
    assert joined(headers, row, told="Month")[0] == ("Year", "Month", "Date")
    assert joined(headers, row, day_in="Date")[0] == ("Year", "Month", "Date")
    assert joined(headers, row)[0] == ("Year + Month", "", "Date")


def test_its_name_is_known_by_its_parts() -> None:
    assert day_columns.spoken("Seal Yr + Seal Mo") == "seal date"
    assert day_columns.spoken("Year + Month + Day") == "date"
    assert day_columns.spoken("Yr + Seal Mo") == "Yr + Seal Mo"
    assert day_columns.names_of(("Who", "Yr", "Mo", "Day")) == ("Yr + Mo + Day", "Mo + Day", "Yr + Mo")
