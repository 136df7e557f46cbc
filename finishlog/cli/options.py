"""Reads option values; a refusal names the option."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TypeVar

from finishlog.errors import InputError, naming

T = TypeVar("T")
PAGE = 50
"""Rows of a list on the terminal, where none is told; JSON is whole."""


@dataclass(frozen=True, slots=True)
class Part:
    """The part of a list that was asked for: `limit` rows (None: all) after the first `offset`."""

    limit: int | None
    offset: int

    def of(self, every: Sequence[T]) -> Sequence[T]:
        """That part of a whole list."""
        return every[self.offset :][: self.limit]

    def said(self, shown: int, total: int) -> str:
        """`Rows 51 to 100 of 3,412. --from 101 goes on.`; empty if that is the whole list."""
        last = self.offset + shown
        if shown == total:
            return ""
        told = f"Rows {self.offset + 1:,} to {last:,} of {total:,}." if shown else f"{total:,} rows in all."
        return " ".join((told, *self.more(shown, total)))

    def more(self, shown: int, found: int) -> tuple[str, ...]:
        """`More: --from 101.`, if more was found than is shown."""
        last = self.offset + shown
        return (f"More: --from {last + 1}.",) if shown and last < found else ()


def add_part(parser: argparse.ArgumentParser, rows: str) -> None:
    """Add `--limit` and `--from` to a command that lists `rows`."""
    parser.add_argument("--limit", metavar="N", help=f"{rows} to show; default {PAGE}, with --json all")
    parser.add_argument("--from", dest="first", metavar="N", help="start at this row of the list")


def part_of(args: argparse.Namespace) -> Part:
    """What was asked of a list. Raises InputError at the option."""
    limit = count_of(args.limit, "--limit", "rows")
    first = count_of(args.first, "--from", "rows")
    return Part(limit or (None if args.json else PAGE), (first or 1) - 1)


def count_of(text: str | None, where: str, what: str) -> int | None:
    """A whole number above 0; None where none was given. `what` it counts is named in the refusal."""
    if text is None:
        return None
    if not (text.isascii() and text.isdigit() and int(text[:9]) > 0 and len(text) < 9):
        raise InputError(f"Give a whole number of {what} above 0.", where=where, example=f"{where} 20")
    return int(text)


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
