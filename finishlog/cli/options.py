"""Reads option values; a refusal names the option."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from typing import TypeVar

from finishlog.errors import naming

T = TypeVar("T")


def read_option(option: str, text: str, reader: Callable[[str], T]) -> T:
    """The value of an option's text, by `reader`. Raises InputError at `--option`."""
    with naming(f"--{option}"):
        return reader(text)


def option_of(args: argparse.Namespace, option: str, reader: Callable[[str], T]) -> T | None:
    """The value of an option, or None where it was not given. Raises InputError at `--option`."""
    text = getattr(args, option.replace("-", "_"))
    return None if text is None else read_option(option, text, reader)
