"""Printing: answers to standard output, all else to standard error; nothing raw reaches the terminal."""

from __future__ import annotations

import json
import shutil
import sys
import textwrap
from collections.abc import Iterable, Sequence
from contextlib import suppress
from typing import Any

from finishlog.desk.plain_data import data
from finishlog.plain import visible


def say(text: str = "") -> None:
    """A line of the answer."""
    print("\n".join(visible(line) for line in text.split("\n")))


def note(text: str) -> None:
    """A line beside the answer: to standard error."""
    with suppress(OSError):  # a closed or full standard error changes no answer
        print(visible(text), file=sys.stderr)


def say_json(value: Any) -> None:
    """One object or list, ASCII only, so that no stored text can reach the terminal raw."""
    print(json.dumps(data(value), indent=2))


def width() -> int:
    """How wide lines may be: the terminal's columns, at least 60, 80 where there is no terminal."""
    return max(60, shutil.get_terminal_size((80, 24)).columns)


def table(rows: Iterable[Sequence[str]], *, right: Sequence[int] = (), indent: int = 0) -> str:
    """Columns aligned by their widest cell, two spaces apart; columns in `right` are set right.

    What does not fit in the last column goes on under it.
    """
    cells = [[visible(cell) for cell in row] for row in rows]
    if not cells:
        return ""
    last = max(map(len, cells)) - 1
    widths = [max(len(row[i]) for row in cells if i < len(row)) for i in range(last)]
    start = indent + sum(widths) + 2 * last
    room = max(width() - start, 24)
    return "\n".join(_row(row, widths, right, indent, start, room) for row in cells)


def bullets(lines: Iterable[str], indent: int = 2) -> str:
    """Lines of text, each wrapped and set in."""
    return "\n".join(_wrapped(visible(line), width() - indent, " " * indent, first=True) for line in lines)


def _row(
    row: Sequence[str], widths: Sequence[int], right: Sequence[int], indent: int, start: int, room: int
) -> str:
    parts = [
        cell.rjust(width) if i in right else cell.ljust(width)
        for i, (cell, width) in enumerate(zip(row, widths, strict=False))
    ]
    if len(row) > len(widths):
        parts.append(_wrapped(row[-1], room, " " * start))
    return (" " * indent + "  ".join(parts)).rstrip()


def _wrapped(text: str, room: int, margin: str, first: bool = False) -> str:
    lines = textwrap.wrap(text, room, break_long_words=False, break_on_hyphens=False) or [""]
    return (margin if first else "") + f"\n{margin}".join(lines)
