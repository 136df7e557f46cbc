"""Rows as CSV for people: no cell acts as a formula, and every value survives a round trip.

UTF-8 with a byte order mark (spreadsheets ask for it), CRLF, RFC 4180 quotes. A blank cell is
NULL. A text that is empty, or begins with a sign that a spreadsheet might calculate with or with
an apostrophe, has one apostrophe in front; reading strips exactly one. Numbers stay numbers. A phone
number or e-mail address with a leading plus stays as is, for mail merge: it lacks the characters a
formula needs to call or refer to anything.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Sequence
from operator import itemgetter
from typing import cast

Value = str | int | float | None
Row = Sequence[Value]

ESCAPED = "=+-@\t\r\n\0'＝＋－＠"
"""Leading characters that get an apostrophe: OWASP, "CSV Injection", and the apostrophe itself."""
_ESCAPED = frozenset(ESCAPED)
_FIRST = itemgetter(0)
_QUOTE, _TWICE = '"', '""'
_PHONE = re.compile(
    r"\+[0-9]{1,3}(?:[ .-]?(?:\([0-9]{1,5}\)|[0-9]{1,5})){1,6}(?: ?(?:x|ext\.?) ?[0-9]{1,6})?", re.ASCII
)
_EMAIL = re.compile(
    r"\+[A-Za-z0-9._-]+(?:\+[A-Za-z0-9._-]+)*@[A-Za-z0-9-]+(?:\.[A-Za-z0-9-]+)*\.[A-Za-z]{2,}", re.ASCII
)
_LONGEST_PLAIN = 254
"""Longest e-mail address (RFC 5321)."""
_LEAST_DIGITS = 7
_LONGEST_CELL = 2**31 - 1


def escape(text: str) -> str:
    """A text as a cell."""
    return f"'{text}" if not text or (text[0] in ESCAPED and not is_plain(text)) else text


def is_plain(text: str) -> bool:
    """Whether it is just a phone number or e-mail address with a leading plus."""
    if len(text) > _LONGEST_PLAIN:
        return False
    phone = _PHONE.fullmatch(text) and sum(mark.isdigit() for mark in text) >= _LEAST_DIGITS
    return bool(phone) or _EMAIL.fullmatch(text) is not None


def unescape(cell: str) -> str:
    """The inverse of `escape`."""
    return cell[1:] if cell.startswith("'") else cell


def write(columns: Sequence[str] | None, rows: Iterable[Row] = ()) -> str:
    """The table as CSV, without the byte order mark; without columns further rows of it."""
    told = [] if columns is None else [",".join(_quoted(columns))]
    cells = [_cells(column) for column in zip(*rows, strict=True)]
    if len(cells) == 1:  # an empty line would be no row
        cells = [[cell or '""' for cell in cells[0]]]
    told.extend(map(",".join, zip(*cells, strict=True)))
    return "\r\n".join((*told, ""))


def _cells(column: tuple[Value, ...]) -> Sequence[str]:
    """A column's values as cells: whether a text asks for anything is found of all together, not of each."""
    kinds = set(map(type, column))
    if str not in kinds:
        return _numbers(column, kinds)
    texts = cast(Sequence[str], column if len(kinds) == 1 else [v for v in column if v.__class__ is str])
    if not all(texts) or not _ESCAPED.isdisjoint(map(_FIRST, texts)):
        texts = [escape(text) for text in texts]
    told = _quoted(texts)
    if len(kinds) == 1:
        return told
    each = iter(told)
    return [
        next(each) if value.__class__ is str else "" if value is None else repr(value) for value in column
    ]


def _numbers(column: tuple[Value, ...], kinds: set[type]) -> Sequence[str]:
    if None.__class__ not in kinds:
        return list(map(repr, column))
    return (
        ["" if value is None else repr(value) for value in column] if len(kinds) > 1 else [""] * len(column)
    )


def _quoted(texts: Sequence[str]) -> Sequence[str]:
    """RFC 4180, and byte for byte as `csv.writer`, which takes three times as long."""
    told = "".join(texts)
    if "," not in told and '"' not in told and "\n" not in told and "\r" not in told:
        return texts
    return [
        f'"{text.replace(_QUOTE, _TWICE)}"'
        if "," in text or '"' in text or "\n" in text or "\r" in text
        else text
        for text in texts
    ]


def read(text: str, kinds: Sequence[type]) -> tuple[list[str], list[tuple[Value, ...]]]:
    """Columns and rows of such a CSV; `kinds` says what each column holds: str, int or float.

    Raises ValueError or csv.Error for anything else.
    """
    before = csv.field_size_limit(_LONGEST_CELL)
    try:
        lines = list(csv.reader(io.StringIO(text, newline=""), strict=True))
    finally:
        csv.field_size_limit(before)
    if len(lines) < 2:
        return lines[0] if lines else [], []
    columns = zip(zip(*lines[1:], strict=True), kinds, strict=True)
    return lines[0], list(zip(*[_values(cells, kind) for cells, kind in columns], strict=True))


def _values(cells: Sequence[str], kind: type) -> list[Value]:
    if kind is str:
        return [unescape(cell) if cell else None for cell in cells]
    number = int if kind is int else float
    return [number(cell) if cell else None for cell in cells]
