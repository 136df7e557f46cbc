"""Reads option values; a refusal names the option."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from typing import TypeVar

from finishlog.errors import InputError, naming

T = TypeVar("T")


def read_option(option: str, text: str, reader: Callable[[str], T]) -> T:
    """The value of an option's text, by `reader`. Raises InputError at `--option`."""
    with naming(f"--{option}"):
        return reader(text)


def option_of(args: argparse.Namespace, option: str, reader: Callable[[str], T]) -> T | None:
    """The value of an option, or None where it was not given. Raises InputError at `--option`."""
    text = getattr(args, option.replace("-", "_"))
    return None if text is None else read_option(option, text, reader)


def number_of(text: str | None, where: str, what: str, example: str) -> int | None:
    """The number of a logged line, `7` or `#7`; None where none was given. `what` names the kind of line."""
    from finishlog.units import read_count

    if text is None:
        return None
    try:
        return read_count(text.removeprefix("#"), high=999_999_999)
    except InputError:
        raise InputError(f"“{text[:40]}” is no {what}'s number.", where=where, example=example) from None
