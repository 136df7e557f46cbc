"""Text that people typed, made safe to show: nothing in it can move the cursor, color or reorder a line."""

from __future__ import annotations

import unicodedata

_JOINERS = frozenset("\u200c\u200d")
"""Part of how words and emoji are written; every other invisible sign is shown by its number."""
_HIDDEN = frozenset(("Cc", "Cf", "Cs", "Zl", "Zp"))
_NO_INK = frozenset("\u115f\u1160\u3164\uffa0\u2800")
"""Letters and signs that show nothing: Hangul fillers, the blank Braille cell."""
_MARKS_MOST = 8
"""Marks over one letter: more than any script needs; a storm of them covers the lines around it."""


def visible(text: object) -> str:
    """The text in one line, with control, bidi, invisible and broken characters shown as `\\x1b`, `\\u202e`…

    Covers C0, DEL and C1 controls, line and paragraph separators, format characters (bidirectional marks, zero
    width) and lone surrogates. Joiners inside words and emoji stay; of a storm of marks, the first few.
    """
    text = str(text)
    if text.isascii() and text.isprintable():
        return text
    shown, marks = [], 0
    for character in text:
        kind = unicodedata.category(character)
        marks = marks + 1 if kind in ("Mn", "Me") else 0
        if marks <= _MARKS_MOST:
            shown.append(_shown(character, kind))
        elif marks == _MARKS_MOST + 1:
            shown.append("…")
    return "".join(shown)


def visible_lines(text: object) -> str:
    """As `visible`, keeping line feeds: for notes shown as a block."""
    return "\n".join(map(visible, str(text).split("\n")))


def has_ink(text: str) -> bool:
    """Whether anything of it would show: not only spaces, marks, joiners and controls."""
    return any(map(_is_ink, text))


def _is_ink(character: str) -> bool:
    kind = unicodedata.category(character)
    return kind not in _HIDDEN and kind[0] not in "ZM" and character not in _NO_INK


def _shown(character: str, kind: str) -> str:
    if kind not in _HIDDEN or character in _JOINERS:
        return character
    code = ord(character)
    return f"\\x{code:02x}" if code < 0x100 else f"\\u{code:04x}" if code < 0x10000 else f"\\U{code:08x}"
