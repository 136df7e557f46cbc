"""Final check of text before storing: as typed, but never text that breaks a reader."""

from __future__ import annotations

import math
from collections.abc import Mapping

from finishlog.errors import InputError
from finishlog.plain import has_ink
from finishlog.records.log import Fact

NAME_MOST = 300
NOTE_MOST = 20_000


def name(text: str, what: str) -> str:
    """A name, stripped. Raises InputError if empty, too long or with forbidden characters."""
    kept = maybe(text, what)
    if kept is None:
        raise InputError(f"The {what} is empty.", "A name is needed.", where=what)
    return kept


def maybe(text: str | None, what: str, most: int = NAME_MOST) -> str | None:
    """A text; a blank is None, unknown. One of invisible characters only is refused: nobody would find it."""
    if text is None or not text.strip():
        return None
    kept = text.strip()
    if len(kept) > most:
        raise InputError(
            f"The {what} is too long.", f"It has {len(kept):,} characters; {most:,} fit.", where=what
        )
    if "\0" in kept or not (kept.isascii() or _is_whole(kept)):
        raise InputError(
            f"The {what} has an unreadable character.", "It has a NUL or a broken character.", where=what
        )
    if not has_ink(kept):
        raise InputError(f"The {what} looks blank.", "It has only invisible characters.", where=what)
    return kept


def _is_whole(text: str) -> bool:
    return not any("\ud800" <= mark <= "\udfff" for mark in text)


def note(text: str | None, what: str = "note") -> str | None:
    """A longer text or None."""
    return maybe(text, what, NOTE_MOST)


def facts(given: Mapping[str, Fact]) -> dict[str, Fact]:
    """Facts with checked texts; refuses NaN and infinity."""
    return {key: _fact(key, value) for key, value in given.items()}


def _fact(key: str, value: Fact) -> Fact:
    if isinstance(value, str):
        return note(value, key) or ""
    if isinstance(value, float) and not math.isfinite(value):
        raise InputError(f"{key} is no number.", where=key, example="3.5")
    return value
