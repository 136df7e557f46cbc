"""Text that people typed, made safe to show: nothing in it can move the cursor, color or reorder a line."""

from __future__ import annotations

import unicodedata

_BIDI = frozenset("\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
_BREAKS = frozenset("\u2028\u2029")


def visible(text: object) -> str:
    """The text in one line, with control, bidi and broken characters shown as `\\x1b`, `\\u202e`…

    Covers C0, DEL and C1 controls, line and paragraph separators, bidirectional marks and lone
    surrogates. Joiners inside emoji stay.
    """
    text = str(text)
    if text.isascii() and text.isprintable():
        return text
    return "".join(map(_shown, text))


def visible_lines(text: object) -> str:
    """As `visible`, keeping line feeds: for notes shown as a block."""
    return "\n".join(map(visible, str(text).split("\n")))


def _shown(character: str) -> str:
    code = ord(character)
    if character in _BIDI or character in _BREAKS or unicodedata.category(character) in ("Cc", "Cs"):
        return f"\\x{code:02x}" if code < 0x100 else f"\\u{code:04x}"
    return character
