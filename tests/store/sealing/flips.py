"""Flips a bit of a stored value: walks the pages of a table and picks a byte of a row's body."""

from __future__ import annotations

import random
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

NOT_VALUES = ("job_text_data", "job_text_idx", "job_text_docsize", "job_text_config")
"""The inside of the search index: no row of the log; newer engines check it themselves."""


@dataclass(frozen=True)
class Body:
    """Where the values of one row lie in the file."""

    table: str
    start: int
    end: int


def _varint(data: bytes, at: int) -> tuple[int, int]:
    value = 0
    for count in range(9):
        byte = data[at + count]
        if count == 8:
            return value << 8 | byte, at + 9
        value = value << 7 | byte & 0x7F
        if byte < 0x80:
            return value, at + count + 1
    raise AssertionError


def bodies(where: Path) -> list[Body]:
    """The rows of every table of a closed log, but for what overflows its page."""
    with closing(sqlite3.connect(where)) as raw:
        raw.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        size = raw.execute("PRAGMA page_size").fetchone()[0]
        roots = raw.execute("SELECT name, rootpage FROM sqlite_schema WHERE type = 'table' AND rootpage > 0")
        tables = [(name, root) for name, root in roots.fetchall() if name not in NOT_VALUES]
    data = where.read_bytes()
    return [body for name, root in tables for body in _walk(data, size, name, root)]


def _walk(data: bytes, size: int, table: str, page: int) -> Iterator[Body]:
    base = (page - 1) * size
    kind = data[base]
    cells = int.from_bytes(data[base + 3 : base + 5], "big")
    inner = kind in (2, 5)
    for cell in range(cells):
        pointer = base + (12 if inner else 8) + 2 * cell
        at = base + int.from_bytes(data[pointer : pointer + 2], "big")
        if inner:
            yield from _walk(data, size, table, int.from_bytes(data[at : at + 4], "big"))
            at += 4
        if kind != 5:
            yield _body(data, table, at, with_rowid=kind == 13, room=base + size)
    if inner:
        yield from _walk(data, size, table, int.from_bytes(data[base + 8 : base + 12], "big"))


def _body(data: bytes, table: str, at: int, *, with_rowid: bool, room: int) -> Body:
    length, at = _varint(data, at)
    if with_rowid:
        _, at = _varint(data, at)
    header, _ = _varint(data, at)
    return Body(table, at + header, min(at + length, room))


def flip(where: Path, chance: random.Random) -> str:
    """Flip one bit of one value; says where."""
    found = [body for body in bodies(where) if body.end > body.start]
    table = chance.choice(sorted({body.table for body in found}))  # small tables as often as large ones
    body = chance.choice([one for one in found if one.table == table])
    at, bit = chance.randrange(body.start, body.end), chance.randrange(8)
    data = bytearray(where.read_bytes())
    data[at] ^= 1 << bit
    where.write_bytes(bytes(data))
    return f"{body.table}: bit {bit} of byte {at}"
