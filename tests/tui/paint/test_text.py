"""User text on its way to the terminal: nothing in it acts, nothing is cut inside a cell."""

from __future__ import annotations

import unicodedata

from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len

from finishlog.tui.paint.glyphs import Piece, plainly
from finishlog.tui.paint.ink import Line, Palette, clip, paragraph
from finishlog.tui.paint.text import fit, plain, wrap
from finishlog.tui.paint.theme import SHADE, variables
from finishlog.tui.widgets.entry import typeable

NASTY = "[/nope] [bold]x[/] \x1b[31mred\x1b[0m \x9b1m \u202eevil\u2066 \x00 a\tb\nc"


def test_control_and_bidi_characters_are_shown() -> None:
    shown = plain(NASTY)
    assert "\\x1b[31mred" in shown
    assert "\\u202e" in shown
    assert "\\x9b" in shown
    assert "[/nope]" in shown
    assert "a b c" in shown


@given(st.text())
def test_nothing_that_acts_is_left(text: str) -> None:
    assert not any(unicodedata.category(c) in ("Cc", "Cs") or c in "\u202e\u2066\u2028" for c in plain(text))


@given(st.text(max_size=60), st.integers(0, 40))
def test_fit_never_exceeds_its_width(text: str, width: int) -> None:
    cut = fit(plain(text), width)
    assert cell_len(cut) <= width
    assert cut == plain(text) or not cut or cut.endswith("…")


@given(st.text(max_size=120), st.integers(2, 40))
def test_wrap_loses_no_character_and_keeps_the_width(text: str, width: int) -> None:
    rows = wrap(plain(text), width)
    assert all(cell_len(row) <= width for row in rows)
    assert "".join("".join(rows).split()) == "".join(plain(text).split())


@given(st.lists(st.text(max_size=12), max_size=6), st.integers(0, 40))
def test_a_line_cut_to_a_width_has_it_at_most(texts: list[str], width: int) -> None:
    line = Line()
    for text in texts:
        line.put(text)
    assert cell_len(line.crop(width).text) == line.width <= width


def test_a_cut_line_says_so() -> None:
    assert Line().put("one ").bold("two three").crop(7).text == "one tw…"
    assert Line().put("whole").crop(5).text == "whole"


def test_the_right_side_never_gives_way() -> None:
    line = Line().bold("a very long name indeed").facing(Line().muted("May 2025"), 20)
    assert line.text == "a very lo…  May 2025"


def test_a_cut_swatch_has_no_ellipsis_in_it() -> None:
    line = Line(Piece(" " * 10, back="#a9927a")).crop(5)
    assert line.text == " " * 5


def test_a_paragraph_cut_short_says_so() -> None:
    lines = clip(paragraph("one two three four", 8), 2, 8)
    assert [line.text for line in lines] == ["one two", "three …"]


def test_content_never_reads_markup() -> None:
    content = Palette(variables(SHADE)).content([Line().put(NASTY), Line().put("[b]x[/b]")])
    assert content.plain == plain(NASTY) + "\n[b]x[/b]"


@given(st.text())
def test_a_field_takes_no_invisible_character(text: str) -> None:
    assert not any(unicodedata.category(c) in ("Cc", "Cf", "Cs", "Zl", "Zp") for c in typeable(text))


def test_plain_glyphs_keep_the_width_and_need_no_more_than_code_page_437() -> None:
    rows = (
        Line().put("● ○ □ ◊ √ × → ½ ² yd³ – — “q” "),
        Line().put("a long name that was cut", "muted").crop(12).gap(4).put("Jun 2025"),
        Line().facing(Line().muted("reading…"), 30),
        Line().put("cut…"),
        Line().put("…"),
    )
    for row in rows:
        shown = "".join(piece.text for piece in plainly(row.pieces))
        assert len(shown) == len(row.text)
        shown.encode("cp437")
    assert "".join(piece.text for piece in plainly(rows[1].pieces)) == "a long name..   Jun 2025"
    assert "".join(piece.text for piece in plainly(rows[2].pieces)).endswith(" reading..")
