"""Readers of typed text other than quantities: names, notes, choices, times of day, colors."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import time

from finishlog.errors import InputError
from finishlog.plain import has_ink
from finishlog.units import shown

LONGEST_NAME = 200
LONGEST_NOTE = 4000

_TIME = re.compile(r"(\d{1,2})(?:[:.](\d{2}))? ?(a|p|am|pm|a\.m\.|p\.m\.)?", re.ASCII | re.IGNORECASE)
_EMAIL_EXAMPLE = "ottoline@example.com"
_TIME_EXAMPLE = "2:30 pm or 14:30"


def read_name(text: str) -> str:
    """A name, a street, a lot: any text up to 200 characters, kept as typed. NUL is refused."""
    return _text(text, LONGEST_NAME, "a name", "Quillfeather")


def read_sample(text: str) -> int:
    """The number of a sample, as it stands on the slab: `12` or `S-12`."""
    number = text.strip().upper().removeprefix("S-")
    if not (number.isascii() and number.isdigit() and len(number) < 8 and int(number)):
        raise InputError(f"“{shown(text)}” is not the number of a sample.", example="12")
    return int(number)


def read_contact(text: str) -> str:
    """A phone number or an address: one line, because letters and e-mails use it."""
    if not all(mark.isprintable() for mark in text):
        title = f"“{shown(text)}” has a line break or a control character."
        raise InputError(title, "It goes into letters and e-mails as typed.", example="555-0142")
    return read_name(text)


def read_email(text: str) -> str:
    """A minimally valid e-mail address: one line, one @ with text on both sides."""
    try:
        kept = read_contact(text)
    except InputError as wrong:
        raise InputError(wrong.title, wrong.cause, example=_EMAIL_EXAMPLE) from None
    user, at, domain = kept.partition("@")
    if not (at and user and domain) or "@" in domain or any(mark in " ,;" for mark in kept):
        cause = "It is one address, with an @."
        raise InputError(f"“{shown(text)}” is no e-mail address.", cause, example=_EMAIL_EXAMPLE)
    return kept


def read_note(text: str) -> str:
    """A note: any text up to 4,000 characters, kept as typed. NUL is refused."""
    return _text(text, LONGEST_NOTE, "a note", "two passes at the gate")


def _text(text: str, longest: int, what: str, example: str) -> str:
    if "\0" in text:
        raise InputError("The text holds a NUL character.", "Text never has one.", example=example)
    if len(text) > longest:
        raise InputError(
            f"{len(text):,} characters are too long for {what}: {longest:,} at most.", example=example
        )
    if not has_ink(text):
        raise InputError("The text looks blank.", "It has only invisible characters.", example=example)
    return text


def one_of(*choices: str) -> Callable[[str], str]:
    """A reader of one of these words, whatever their case."""

    def read(text: str) -> str:
        word = " ".join(text.casefold().split())
        if word in choices:
            return word
        import difflib

        near = difflib.get_close_matches(word[:40], choices, n=1)
        hint = f"Did you mean {near[0]}?" if near else ""
        raise InputError(f"“{shown(text)}” is not one of {', '.join(choices)}.", hint, example=choices[0])

    return read


def read_yes(text: str) -> bool:
    """yes or no."""
    word = text.casefold()
    if word in ("yes", "y"):
        return True
    if word in ("no", "n"):
        return False
    raise InputError(f"“{shown(text)}” is not yes or no.", example="yes")


def read_time(text: str) -> time:
    """A time of day: `14:30`, `2:30 pm`, `2:30p`, `7a`. A bare number is refused: it may be either half."""
    match = _TIME.fullmatch(text)
    if match is None or not (match[2] or match[3]):
        raise InputError(f"“{shown(text)}” is no time of day.", example=_TIME_EXAMPLE)
    hour, minute, half = int(match[1]), int(match[2] or 0), (match[3] or "")[:1].casefold()
    if half and not 1 <= hour <= 12:
        raise InputError(f"“{shown(text)}” is no time of day.", example=_TIME_EXAMPLE)
    if half:
        hour = hour % 12 + (12 if half == "p" else 0)
    if hour > 23 or minute > 59:
        raise InputError(f"“{shown(text)}” is no time of day.", example=_TIME_EXAMPLE)
    return time(hour, minute)
