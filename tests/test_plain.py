"""What people typed cannot move the cursor, color or reorder a line."""

from __future__ import annotations

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from finishlog.plain import visible, visible_lines


@pytest.mark.parametrize(
    ("typed", "shown"),
    [
        ("Puddlecombe", "Puddlecombe"),
        ("\x1b[31mred", r"\x1b[31mred"),
        ("a\nb\tc\r", r"a\x0ab\x09c\x0d"),
        ("\x9b31m", r"\x9b31m"),
        ("gate\u202eedis", r"gate\u202eedis"),
        ("\u2066x\u2069", r"\u2066x\u2069"),
        ("a\u2028b", r"a\u2028b"),
        ("\ud800", r"\ud800"),
        ("[/nope]", "[/nope]"),
        ("Ñandú ½ ³ 👷‍♀️", "Ñandú ½ ³ 👷‍♀️"),
    ],
)
def test_shows_what_it_cannot_print(typed: str, shown: str) -> None:
    assert visible(typed) == shown


@given(st.text(st.characters(exclude_categories=())))
def test_nothing_that_steers_a_terminal_is_left(text: str) -> None:
    left = visible(text)
    assert not any(unicodedata.category(c) in ("Cc", "Cs", "Zl", "Zp") for c in left)
    assert not any(
        unicodedata.bidirectional(c) in ("LRE", "RLE", "LRO", "RLO", "PDF", "LRI", "RLI", "FSI", "PDI")
        for c in left
    )


def test_a_note_keeps_its_lines() -> None:
    assert visible_lines("one\ntwo\x07") == "one\ntwo\\x07"
