"""Which camera took a picture, by its own word."""

from __future__ import annotations

from collections.abc import Mapping

MOST = 80
"""Characters of a camera's name."""
_MAKE, _MODEL = 0x010F, 0x0110
"""Exif 2.32."""


def name(tags: Mapping[int, object]) -> str | None:
    """Make and model on one line, of Exif tags; None where they do not say. The make once, if the model names it."""
    make, model = (_word(tags.get(tag)) for tag in (_MAKE, _MODEL))
    told = model if model.casefold().startswith(make.casefold()) else f"{make} {model}"
    return told.strip()[:MOST] or None


def _word(said: object) -> str:
    text = said.decode("utf-8", "replace") if isinstance(said, bytes) else said
    shown = (mark if mark.isprintable() else " " for mark in text) if isinstance(text, str) else ()
    return " ".join("".join(shown).split())
