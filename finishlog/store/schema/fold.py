"""Folds text for comparison and search only; the typed text is stored unchanged."""

from __future__ import annotations

import re
import unicodedata

_WORD = re.compile(r"[^\W_]+|[^\w\s]")
_PICTURE = "So"


def fold(text: str) -> str:
    """NFC, caseless, without accents: "Café" and "CAFE" fold alike. ß becomes ss."""
    if text.isascii():
        return text.lower()
    spread = unicodedata.normalize("NFD", unicodedata.normalize("NFC", text).casefold())
    bare = "".join(mark for mark in spread if not unicodedata.combining(mark))
    return unicodedata.normalize("NFC", bare)


def key(text: str) -> str:
    """The folded text with single spaces: the lookup key of a name."""
    return " ".join(fold(text).split())


def tokens(text: str) -> list[str]:
    """The searchable words of a text, folded. Punctuation is dropped, a pictograph is a word."""
    found = []
    for match in _WORD.finditer(fold(text)):
        word = match.group()
        if word[0].isalnum():
            found.append(word)
        elif unicodedata.category(word) == _PICTURE:
            found.append(f"u{ord(word):x}")
    return found


def slug(text: str) -> str:
    """Letters and digits joined by hyphens, for handles: "O'Dell · back patio" is o-dell-back-patio."""
    return "-".join(re.findall(r"[a-z0-9]+", fold(text)))
