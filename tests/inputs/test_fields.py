"""Columns are declared once: each reads its own example, blank: unknown, and what is wrong is named."""

from __future__ import annotations

from datetime import date, time
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from finishlog.errors import InputError
from finishlog.inputs import asking, fields, readers
from finishlog.inputs.paper_log.pour import PourRow
from finishlog.units import Dose

COLUMNS = fields.columns(PourRow)


@pytest.mark.parametrize("column", COLUMNS, ids=lambda column: column.key)
def test_every_column_tells_what_it_is_and_reads_its_own_examples(column: asking.Field) -> None:
    assert column.title
    assert column.help
    assert column.group
    for example in column.example.split(" or "):
        row, wrong = fields.read(PourRow, {column.key: example})
        assert wrong == ()
        assert getattr(row, column.key) == column.read(example) is not None


@pytest.mark.parametrize("column", COLUMNS, ids=lambda column: column.key)
def test_a_blank_is_unknown(column: asking.Field) -> None:
    row, wrong = fields.read(PourRow, {column.key: "  "})
    assert wrong == ()
    assert getattr(row, column.key) is None


@pytest.mark.parametrize(
    "junk",
    [
        *("junk", "nan", "NaN", "inf", "-inf", "-1", "6_5", "0x10", "1e3", "6,5", "٣", "９", "4" * 400),
        *("1/0", "5 kg lb", "🙂"),
    ],
)
@pytest.mark.parametrize(
    "key",
    [
        *("area_ft2", "depth", "edge_yd3", "yards", "returned", "dumped", "balance_yards", "cement", "scm"),
        *(
            "slump",
            "dose",
            "base_lb",
            "base_max",
            "release_lb",
            "rinse_age",
            "rinse_psi",
            "release_left",
            "coats",
        ),
        *("color_age", "poured_on", "base_color"),
    ],
)
def test_what_is_no_number_is_refused_with_an_example(key: str, junk: str) -> None:
    row, [wrong] = fields.read(PourRow, {key: junk})
    assert row is None
    assert wrong.key == key
    assert wrong.what
    assert wrong.example
    assert len(wrong.what) < 200


def test_zero_is_an_answer_where_nothing_may_have_been_left_over() -> None:
    row, _ = fields.read(PourRow, {"returned": "0", "dumped": "0"})
    assert row is not None
    assert (row.returned, row.dumped) == (0, 0)
    assert fields.read(PourRow, {"yards": "0"})[0] is None


def test_all_that_is_wrong_is_told_at_once() -> None:
    _, wrong = fields.read(PourRow, {"yards": "x", "dose": "7", "customer": "Bo", "slump": "13"})
    assert [w.key for w in wrong] == ["yards", "slump", "dose"]


def test_an_unknown_field_is_refused() -> None:
    _, [wrong] = fields.read(PourRow, {"colour": "x"})
    assert wrong.key == "colour"


@pytest.mark.parametrize(
    "day",
    [
        "03/04/2025",
        "13/04/2025",
        "6/16/25",
        "2025-02-30",
        "16.06.2025",
        "Jun 16 25",
        "25-06-16",
        "2025-13-01",
        "today",
    ],
)
def test_days_that_can_be_two_days_are_refused(day: str) -> None:
    _, [wrong] = fields.read(PourRow, {"poured_on": day})
    assert "2025-06-16" in wrong.example


def test_what_is_read() -> None:
    texts = {"poured_on": "16 Jun 2025", "depth": "3 1/2 in", "dose": "1.5 lb/sack", "yards": "5 1/2 yd"}
    row, _ = fields.read(PourRow, texts)
    assert row is not None
    assert row.poured_on == date(2025, 6, 16)
    assert row.depth == Fraction(7, 2)
    assert row.dose == Dose(Fraction(3, 2), "lb/sack")
    assert row.yards == Fraction(11, 2)


@pytest.mark.parametrize(
    ("text", "clock"),
    [
        ("14:30", time(14, 30)),
        ("2:30 pm", time(14, 30)),
        ("2:30p", time(14, 30)),
        ("7a", time(7)),
        ("12 am", time(0)),
        ("12:15 p.m.", time(12, 15)),
        ("0:05", time(0, 5)),
    ],
)
def test_times_of_day(text: str, clock: time) -> None:
    assert readers.read_time(text) == clock


@pytest.mark.parametrize("text", ["7", "25:00", "13 pm", "0 am", "7:60", "noon", "٧:٠٠", "7:3"])
def test_no_times_of_day(text: str) -> None:
    with pytest.raises(InputError):
        readers.read_time(text)


def test_a_name_is_kept_as_typed_up_to_its_limit() -> None:
    odd = "[/nope] \x1b[31m\u202e “O'Dell”"
    assert readers.read_name(odd) == odd
    assert readers.read_name("x" * readers.LONGEST_NAME)
    for text in ("x" * (readers.LONGEST_NAME + 1), "x" * 100_000, "a\0b"):
        with pytest.raises(InputError) as failure:
            readers.read_name(text)
        assert len(failure.value.line()) < 200
    assert readers.read_note("x" * readers.LONGEST_NOTE)
    with pytest.raises(InputError):
        readers.read_note("x" * (readers.LONGEST_NOTE + 1))


def test_choices_name_the_nearest() -> None:
    assert readers.one_of("sun", "part shade")("Part  Shade") == "part shade"
    with pytest.raises(InputError, match="not one of") as failure:
        readers.one_of("field", "border", "stairs")("boarder")
    assert "border?" in failure.value.line()


@given(st.text(max_size=300))
def test_no_text_breaks_a_reader(text: str) -> None:
    texts = {column.key: text for column in COLUMNS}
    row, wrong = fields.read(PourRow, texts)
    assert row is not None or wrong
