"""A CSV file opened with care: what is no sheet is refused in one clear sentence, never waited for."""

from __future__ import annotations

import csv
import io
import os
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from finishlog.errors import InputError
from finishlog.inputs import fields
from finishlog.inputs.paper_log import sheet
from finishlog.inputs.paper_log.pour import PourRow
from finishlog.inputs.paper_log.sheet import BadLine, Row

COLUMNS = fields.columns(PourRow)
HEADER = "customer,poured_on,note\n"


def rows(text: str, needed: tuple[str, ...] = ("poured_on",)) -> list[Row | BadLine]:
    return list(sheet.read_rows(text, COLUMNS, needed))


def cells(text: str) -> list[dict[str, str]]:
    return [row.cells for row in rows(text) if isinstance(row, Row)]


def refused(path: Path) -> str:
    with pytest.raises(InputError) as failure:
        sheet.read_text(path)
    assert failure.value.exit_status == 2
    assert "\n" not in failure.value.line()
    return failure.value.line()


def written(folder: Path, data: bytes) -> Path:
    path = folder / "pours.csv"
    path.write_bytes(data)
    return path


# the file


def test_a_byte_order_mark_is_no_part_of_the_first_name(tmp_path: Path) -> None:
    text = sheet.read_text(written(tmp_path, b"\xef\xbb\xbfcustomer,poured_on\nBo,2025-06-16\n"))
    assert cells(text) == [{"customer": "Bo", "poured_on": "2025-06-16"}]


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "empty"),
        ("customer".encode("utf-16")[:-1], "not text"),
        (b"\xfe\xff\0c\0\0", "NUL"),
        (b"customer\nBo\n\x81\n", "Line 3 is not text"),
        (b"customer\nB\0o\n", "Line 2 holds a NUL"),
    ],
)
def test_what_is_no_text_is_named(tmp_path: Path, data: bytes, said: str) -> None:
    assert said in refused(written(tmp_path, data))


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-be", "cp1252"])
def test_a_sheet_as_spreadsheets_save_it(tmp_path: Path, encoding: str) -> None:
    mark = b"\xfe\xff" if encoding == "utf-16-be" else b""
    text = "customer;poured_on\r\nCafé Bo;2025-06-16\r\n"
    read = sheet.read_text(written(tmp_path, mark + text.encode(encoding)))
    assert cells(read) == [{"customer": "Café Bo", "poured_on": "2025-06-16"}]


@pytest.mark.parametrize(
    "above",
    ["sep=;\n", '"sep=;"\r\n', "Pours of 2025\n\n", ";;\nMossback Flatwork, pours;;\n", "Page 1;of 2\n"],
)
def test_a_title_above_the_header_is_passed_over(above: str) -> None:
    text = f"{above}customer;poured_on\nBo;2025-06-16\n"
    [row] = rows(text)
    assert row == Row(text.count("\n"), {"customer": "Bo", "poured_on": "2025-06-16"})


def test_a_folder_a_missing_file_and_a_link_to_itself(tmp_path: Path) -> None:
    loop = tmp_path / "loop.csv"
    loop.symlink_to(loop)
    assert "folder" in refused(tmp_path)
    assert "No such file" in refused(tmp_path / "none.csv")
    assert "points to itself" in refused(loop)
    assert "cannot be opened" in refused(tmp_path / ("x" * 5000))


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")
def test_a_named_pipe_is_refused_and_not_waited_for(tmp_path: Path) -> None:
    pipe = tmp_path / "pipe.csv"
    os.mkfifo(pipe)
    assert "no ordinary file" in refused(pipe)


def test_a_file_over_the_limit_is_refused_before_it_is_read(tmp_path: Path) -> None:
    path = tmp_path / "big.csv"
    with path.open("wb") as big:
        big.truncate(sheet.LARGEST_FILE + 1)
    assert "50 MB at most" in refused(path)


# the header


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("customer,poured_on,customer\nBo,2025-06-16,Al\n", "customer is in the header twice"),
        ("custmer,poured_on\nBo,2025-06-16\n", "Did you mean customer?"),
        ("customer,poured_on,zzz\nBo,2025-06-16,\n", "No column “zzz”"),
        ("customer,note\nBo,x\n", "no column poured_on"),
        ("\n\n", "No header"),
        ("# help only\n", "No header"),
        ("a\x1b[31m,poured_on\n", "\\u001b"),
    ],
)
def test_a_header_that_cannot_be_used(text: str, said: str) -> None:
    with pytest.raises(InputError) as failure:
        rows(text)
    assert said in failure.value.line()
    assert "\x1b" not in failure.value.line()


@pytest.mark.parametrize("header", ["Customer,Poured on", "CUSTOMER , poured-on", '"customer","poured_on"'])
def test_names_are_taken_as_people_write_them(header: str) -> None:
    assert cells(f"{header}\nBo,2025-06-16\n") == [{"customer": "Bo", "poured_on": "2025-06-16"}]


@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_separators_are_told_by_the_header(separator: str) -> None:
    text = separator.join(["customer", "poured_on"]) + "\n" + separator.join(["Bo", "2025-06-16"]) + "\n"
    assert cells(text) == [{"customer": "Bo", "poured_on": "2025-06-16"}]


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_line_ends_of_every_system(end: str) -> None:
    text = end.join(["# help", "customer,poured_on,note", "Bo,2025-06-16,x", "Al,2025-06-17,y", ""])
    assert [(row.line, row.cells["note"]) for row in rows(text) if isinstance(row, Row)] == [
        (3, "x"),
        (4, "y"),
    ]


def test_a_header_alone_is_a_sheet_without_rows() -> None:
    assert rows(HEADER) == []


def test_help_lines_above_the_header_are_skipped_and_counted() -> None:
    [row] = rows("# first\n\n# second, with a comma\n" + HEADER + "# not help,2025-06-16,\n")
    assert row == Row(5, {"customer": "# not help", "poured_on": "2025-06-16", "note": ""})


# the rows


def test_a_row_is_named_by_the_line_it_begins_on() -> None:
    found = rows(HEADER + '\nBo,2025-06-16,"two\nlines"\n,,\nAl,2025-06-17,x\n')
    assert [row.line for row in found] == [3, 6]
    assert found[0] == Row(3, {"customer": "Bo", "poured_on": "2025-06-16", "note": "two\nlines"})


def test_ragged_rows_are_named_and_the_others_still_read() -> None:
    found = rows(HEADER + "Bo,2025-06-16\nAl,2025-06-17,x,y\nEd,2025-06-18,x,,\n")
    assert found == [
        BadLine(2, "This line has 2 cells, the header 3."),
        BadLine(3, "This line has 4 cells, the header 3."),
        Row(4, {"customer": "Ed", "poured_on": "2025-06-18", "note": "x"}),
    ]


def test_an_unclosed_quotation_mark_is_named_by_its_line() -> None:
    found = rows(HEADER + 'Bo,2025-06-16,x\nAl,2025-06-17,"never closed\nEd,2025-06-18,x\n')
    assert [row.line for row in found] == [2, 3]
    assert isinstance(found[1], BadLine)
    assert "never closes" in found[1].what


def test_a_quotation_mark_inside_a_cell_spoils_only_its_line() -> None:
    found = rows(HEADER + 'Bo,2025-06-16,"x"y\nAl,2025-06-17,x\n')
    assert isinstance(found[0], BadLine)
    assert found[0].line == 2
    assert found[1] == Row(3, {"customer": "Al", "poured_on": "2025-06-17", "note": "x"})


def test_a_cell_over_the_limit_is_a_bad_line() -> None:
    [bad] = rows(HEADER + "Bo,2025-06-16," + "x" * (sheet.LARGEST_CELL + 1) + "\n")
    assert isinstance(bad, BadLine)
    assert "longer than 1,000,000" in bad.what


@pytest.mark.parametrize("header", ["x," * 1000 + "poured_on", ";,\t|" * 2000])
def test_a_header_of_too_many_cells_is_refused(header: str) -> None:
    with pytest.raises(InputError, match=r"This line has [12],00\d cells; 1,000 at most"):
        rows(f"{header}\n")


def test_empty_cells_beyond_the_last_name_are_no_columns() -> None:
    assert cells(f"customer,poured_on{',' * 3000}\nBo,2025-05-14\n") == [
        {"customer": "Bo", "poured_on": "2025-05-14"}
    ]


def test_reading_leaves_the_csv_module_as_it_was() -> None:
    before = csv.field_size_limit()
    rows(HEADER + "Bo,2025-06-16,x\n")
    assert csv.field_size_limit() == before


def test_text_under_no_name_is_not_lost_silently() -> None:
    [bad] = rows("customer,,poured_on\nBo,stray,2025-06-16\n")
    assert bad == BadLine(2, "“stray” is under no column name.")


# formulas


@pytest.mark.parametrize(
    ("text", "cell"),
    [
        ("=SUM(A1)", "'=SUM(A1)"),
        ("+1", "'+1"),
        ("-5", "'-5"),
        ("@x", "'@x"),
        ("'=1", "''=1"),
        ("plain", "plain"),
    ],
)
def test_formulas_are_shielded_and_read_back(text: str, cell: str) -> None:
    assert sheet.shield(text) == cell
    assert sheet.unshield(cell) == text


def test_exactly_one_mark_is_stripped_and_only_a_mark() -> None:
    assert sheet.unshield("''=1") == "'=1"
    assert sheet.unshield("'t Hooft") == "'t Hooft"


@given(st.text())
def test_shield_and_unshield_undo_each_other(text: str) -> None:
    assert sheet.unshield(sheet.shield(text)) == text
    assert not sheet.shield(text).startswith(("=", "+", "-", "@", "\t", "\r"))


@given(
    st.lists(
        st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=40), min_size=1
    )
)
def test_any_text_survives_a_written_sheet(notes: list[str]) -> None:
    kept = [note for note in notes if note.strip()]
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(["note", "poured_on"])
    writer.writerows([sheet.shield(note), "2025-06-16"] for note in kept)
    assert [row["note"] for row in cells(out.getvalue())] == kept
