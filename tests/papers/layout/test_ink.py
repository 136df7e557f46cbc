"""Text made safe, measured, broken into lines and read back."""

from __future__ import annotations

import re
from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from finishlog.papers.layout import style
from finishlog.papers.layout.ink import MISSING, Ink, Words
from tests.papers import reading

MADE = datetime(2026, 6, 16, 12, 40, tzinfo=UTC)
INK = Ink(style.paper("letter"))


def written(text: str) -> str:
    """What a second library reads where this text was painted."""
    ink = Ink(style.paper("letter"))
    data = ink.paint([[Words(50, 100, ink.safe(text), style.BODY)]], "t", MADE)
    return reading.reader(data).pages[0].extract_text()


@pytest.mark.parametrize(
    "text",
    [
        "Δ ½ ¼ ² ³ × → ± ° – — □ é ñ ü ß Ø Ł č Ж Ω",
        'Ångström & Søn, (1/2) \\ "quoted" {nb} $5 100 %',
        "a*b* L* 61.2  -0.8",
    ],
)
def test_what_the_font_has_is_read_back_as_it_was(text: str) -> None:
    assert written(text).split() == text.split()


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("patio 🏡", f"patio {MISSING}"),
        ("thumb 👍🏽 up", f"thumb {MISSING} up"),
        ("庭", MISSING),
        ("flag\ufe0f", "flag"),
        ("esc \x1b[31m", "esc \\x1b[31m"),
        ("evil \u202egnp.exe", "evil \\u202egnp.exe"),
        ("e\u0301te\u0301", "été"),
        ("two\nlines", "two\\x0alines"),
        ("\ud800", "\\ud800"),
    ],
)
def test_what_it_has_not_is_shown_and_never_lost(text: str, shown: str) -> None:
    assert INK.safe(text) == shown
    assert written(text).split() == shown.split()


def test_words_from_the_right_stand_as_they_are_read() -> None:
    assert written("Dana שלום") == "Dana שלום"


@given(st.text(max_size=300), st.floats(20, 400))
@settings(max_examples=150, deadline=None)
def test_lines_fit_and_keep_every_character(text: str, room: float) -> None:
    lines = INK.wrap(text, style.BODY, room)
    assert lines
    assert all(len(line) == 1 or INK.width(line, style.BODY) <= room + 1e-6 for line in lines)
    assert "".join("".join(lines).split()) == "".join(INK.safe(text).split())


def test_a_word_wider_than_the_room_is_cut() -> None:
    lines = INK.wrap("x" * 500, style.BODY, 100)
    assert len(lines) > 10
    assert "".join(lines) == "x" * 500


def test_a_first_line_with_less_room_begins_later() -> None:
    whole, less = (INK.wrap("one two three four", style.BODY, 60, indent) for indent in (0, 40))
    assert INK.width(less[0], style.BODY) <= 20
    assert " ".join(less).split() == " ".join(whole).split()


def test_the_width_is_the_library_s_own() -> None:
    pdf = INK._pdf
    pdf.set_font("house", "B", 9)
    for text in ("7 lb 3 oz", "Δ ½ é", "Wednesday Toast"):
        assert INK.width(text, style.SIDE) == pytest.approx(pdf.get_string_width(text))


def test_the_same_marks_make_the_same_file() -> None:
    marks = [[Words(50, 100, "7 lb 3 oz", style.BODY)]]
    one, two = (Ink(style.paper("a4")).paint(marks, "t", MADE) for _ in range(2))
    assert one == two
    assert one != Ink(style.paper("a4")).paint(marks, "t", MADE.replace(day=17))


def test_a_paper_that_is_none_is_refused() -> None:
    from finishlog.errors import InputError

    with pytest.raises(InputError) as refused:
        style.paper("legal")
    assert "letter and a4" in refused.value.line()


def test_one_module_alone_knows_the_pdf_library() -> None:
    import finishlog

    root = Path(finishlog.__file__).parent
    users = [
        path.relative_to(root).as_posix()
        for path in root.rglob("*.py")
        if re.search(r"^\s*(from|import) (fpdf|fontTools)\b", path.read_text(), re.MULTILINE)
    ]
    assert users == ["papers/layout/ink.py"]


@pytest.mark.parametrize("date", ["Mon Dec 14", "Jun 4 2026", "(Apr 2026)", "Sat Jan 2 2027,"])
def test_a_date_never_breaks_over_a_line(date: str) -> None:
    """At whatever width the text is set; and no word is lost or doubled."""
    text = f"a sample is poured {date} and shown dry on {date}"
    for room in range(int(INK.width(date, style.BODY)) + 2, 200, 3):
        lines = INK.wrap(text, style.BODY, room, indent=7)
        assert " ".join(filter(None, lines)) == text
        assert sum(line.count(date) for line in lines) == 2


def test_a_date_wider_than_its_column_breaks_rather_than_being_cut() -> None:
    assert INK.wrap("Jun 14 2026", style.BODY, INK.width("Jun 14", style.BODY) + 1) == ["Jun 14", "2026"]
    assert INK.wrap("", style.BODY, 50) == [""]
