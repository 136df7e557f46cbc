"""Phone numbers and e-mail addresses stay as they are in a table for mail merge; formulas do not."""

from __future__ import annotations

import csv
import io
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from finishlog.store.archive import csv_text

PLAIN = ("+1 555-0142", "+1 555 0142", "+15555550142", "+1 (555) 555-0142", "+44.20.555.0142", "+1 555-0142 x12",
         "+x@example.com", "+ines.w+yard@mail.example.com")  # fmt: skip
FORMULAS = ("+1", "+1+1", "+A1", "+SUM(A1:A9)", "+cmd|' /C calc'!A0", "+1 555-0142+A1", "+1 555-0142\t=1",
            "+HYPERLINK(1)@example.com", "+x@example.com!A1", "+x@y", "+1 555-0142=1", "+@SUM(1)@example.com",
            "=1+1", "@x.example.com", "-1 555-0142", "\t+1 555-0142", "\r+15555550142",
            "＋1 555-0142", "+١٥٥٥٥٥٥٠١٤٢")  # fmt: skip


def cell_of(text: str) -> str:
    return next(csv.reader(io.StringIO(csv_text.write(["x"], [[text]]).split("\r\n", 1)[1], newline="")))[0]


@pytest.mark.parametrize("text", PLAIN)
def test_a_phone_number_and_an_address_go_into_mail_merge_as_they_are(text: str) -> None:
    assert cell_of(text) == text
    assert csv_text.unescape(text) == text


@pytest.mark.parametrize("text", FORMULAS)
def test_what_a_spreadsheet_might_calculate_does_not_begin_with_its_sign(text: str) -> None:
    assert cell_of(text) == f"'{text}"


SIGNS = st.sampled_from(["+", "=", "-", "@", "\t", "\r", "'", ""])
TEXTS = st.builds(
    str.__add__, SIGNS, st.text(st.sampled_from("+1(5) -.@=xe!|:A$',;\t\"/*^&<>{}"), max_size=24)
)


@given(
    TEXTS | st.from_regex(csv_text._PHONE, fullmatch=True) | st.from_regex(csv_text._EMAIL, fullmatch=True)
)
def test_every_text_comes_back_and_only_a_plain_plus_begins_a_cell(text: str) -> None:
    columns, rows = csv_text.read(csv_text.write(["x"], [[text]]), [str])
    assert (columns, rows) == (["x"], [(text,)])
    cell = csv_text.escape(text)
    if cell and cell[0] in csv_text.ESCAPED and cell[0] != "'":
        # What stays needs no function, no cell, no sheet, no program: none of the marks that reach for one.
        assert re.fullmatch(r"\+[A-Za-z0-9 ().@_+-]+", cell, re.ASCII)
        assert "@" in cell or not re.search(r"[A-Za-z]", cell.replace("ext", "").replace("x", ""))


CELLS = (
    st.none()
    | st.integers(-(2**63), 2**63 - 1)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(st.sampled_from("ab=+'\",\r\n \t\0\u2028"), max_size=4)
)


@given(st.integers(1, 3).flatmap(lambda wide: st.lists(st.tuples(*[CELLS] * wide), max_size=5)))
def test_the_bytes_are_those_of_the_standard_writer(rows: list[tuple[object, ...]]) -> None:
    out = io.StringIO(newline="")
    told = ([csv_text.escape(cell) if isinstance(cell, str) else cell for cell in row] for row in rows)
    csv.writer(out, lineterminator="\r\n").writerows(told)
    assert csv_text.write(None, rows) == out.getvalue()
