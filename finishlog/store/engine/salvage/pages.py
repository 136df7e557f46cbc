"""Pages, b-trees and records of a SQLite file, read without SQLite, so that damage stops nothing but itself.

After the published file format (sqlite.org/fileformat2.html): section 1.5 freelist, 1.6 b-tree pages, 2.1 records,
4 the write-ahead log.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path

from finishlog.store.disk.held import start_of
from finishlog.store.engine import wal

_MAGIC = b"SQLite format 3\0"
LEAF, INNER, INDEX_LEAF, INDEX_INNER = 0x0D, 0x05, 0x0A, 0x02
Value = None | int | float | str | bytes
_FAULTS = (IndexError, ValueError, struct.error, UnicodeDecodeError, OverflowError)
_WIDTHS = (0, 1, 2, 3, 4, 6, 8)


class DamagedError(Exception):
    """A page or record that cannot be as it is."""


@dataclass(slots=True)
class Cells:
    """A b-tree page: its kind, its cells' offsets, its rightmost child (inner pages)."""

    kind: int
    offsets: list[int]
    right: int = 0


@dataclass(slots=True)
class Pages:
    """Every page of a log by number, those in its write-ahead log included."""

    where: Path
    size: int = 4096
    count: int = 0
    usable: int = 4096
    newer: dict[int, bytes] = field(default_factory=dict)

    def __post_init__(self) -> None:
        header = start_of(self.where, wal.HEADER_BYTES)
        (size,) = struct.unpack_from(">H", header.ljust(100, b"\0"), 16)
        size = 65536 if size == 1 else size
        self.size = size if 512 <= size <= 65536 and size & (size - 1) == 0 else 4096
        self.usable = self.size - (header[20] if len(header) > 20 and header[20] <= 32 else 0)
        if not header.startswith(_MAGIC) or not wal.is_strange(self.where):  # a damaged header tells nothing
            self.newer = dict(_committed(wal.wal_of(self.where), self.size))
        self.count = max([-(-self.where.stat().st_size // self.size), *self.newer])

    def page(self, number: int) -> bytes:
        """The bytes of a page. Raises DamagedError where there is none, or only zeros."""
        data = self.newer.get(number) or self._old(number)
        if not data.strip(b"\0"):
            raise DamagedError
        return data

    def _old(self, number: int) -> bytes:
        if not 1 <= number <= self.count:
            raise DamagedError
        try:
            with self.where.open("rb", buffering=0) as file:
                file.seek((number - 1) * self.size)
                return file.read(self.size).ljust(self.size, b"\0")
        except OSError:
            raise DamagedError from None

    def cells(self, number: int) -> Cells:
        """The cells of a b-tree page. Raises DamagedError where it is none."""
        page, start = self.page(number), 100 if number == 1 else 0
        kind = page[start]
        if kind not in (LEAF, INNER, INDEX_LEAF, INDEX_INNER):
            raise DamagedError
        inner = kind in (INNER, INDEX_INNER)
        count = int.from_bytes(page[start + 3 : start + 5])
        first = start + (12 if inner else 8)
        if first + 2 * count > self.usable:
            raise DamagedError
        offsets = list(struct.unpack_from(f">{count}H", page, first))
        if any(not first + 2 * count <= each < self.usable for each in offsets):
            raise DamagedError
        return Cells(kind, offsets, int.from_bytes(page[start + 8 : start + 12]) if inner else 0)

    def children(self, number: int, cells: Cells) -> list[int]:
        """The pages below an inner page."""
        page = self.page(number)
        return [*(int.from_bytes(page[each : each + 4]) for each in cells.offsets), cells.right]

    def rows(self, number: int) -> Iterator[tuple[int, tuple[Value, ...]]]:
        """Rowid and values of each row of a table's leaf that can be read."""
        for rowid, record in self.records(number):
            if record is not None:
                yield rowid, record

    def records(self, number: int) -> Iterator[tuple[int, tuple[Value, ...] | None]]:
        """As `rows`, with None for a row that cannot be read. Nothing of a page that is no leaf."""
        with suppress(DamagedError):
            page, cells = self.page(number), self.cells(number)
            if cells.kind != LEAF:
                return
            for offset in cells.offsets:
                try:
                    size, at = _varint(page, offset)
                    rowid, at = _varint(page, at)
                except _FAULTS:
                    continue
                yield rowid - (1 << 64 if rowid >> 63 else 0), self._record(page, at, size, self.usable - 35)

    def keys(self, number: int) -> Iterator[tuple[Value, ...]]:
        """The records of an index's page, leaf or inner."""
        with suppress(DamagedError):
            page, cells = self.page(number), self.cells(number)
            skip = {INDEX_LEAF: 0, INDEX_INNER: 4}.get(cells.kind)
            for offset in cells.offsets if skip is not None else ():
                with suppress(*_FAULTS):
                    size, at = _varint(page, offset + (skip or 0))
                    record = self._record(page, at, size, (self.usable - 12) * 64 // 255 - 23)
                    if record is not None:
                        yield record

    def _record(self, page: bytes, at: int, size: int, most: int) -> tuple[Value, ...] | None:
        try:
            return _values(self._payload(page, at, size, most))
        except (DamagedError, *_FAULTS):
            return None

    def _payload(self, page: bytes, at: int, size: int, most: int) -> bytes:
        if size > self.count * self.size:
            raise DamagedError
        if size <= most:
            if at + size > self.usable:
                raise DamagedError
            return page[at : at + size]
        least = (self.usable - 12) * 32 // 255 - 23
        here = least + (size - least) % (self.usable - 4)
        here = here if here <= most else least
        found, following = [page[at : at + here]], int.from_bytes(page[at + here : at + here + 4])
        left = size - here
        while left > 0:
            page = self.page(following)
            following = int.from_bytes(page[:4])
            found.append(page[4 : 4 + min(left, self.usable - 4)])
            left -= self.usable - 4
        return b"".join(found)

    def free(self) -> set[int]:
        """Pages on the list of free ones: what stands on them was deleted."""
        found: set[int] = set()
        with suppress(DamagedError, *_FAULTS):
            trunk = int.from_bytes(self.page(1)[32:36])
            while trunk and trunk not in found:
                found.add(trunk)
                page = self.page(trunk)
                count = min(int.from_bytes(page[4:8]), self.usable // 4 - 2)
                found.update(struct.unpack_from(f">{count}I", page, 8))
                trunk = int.from_bytes(page[:4])
        return found


def _varint(page: bytes, at: int) -> tuple[int, int]:
    value = 0
    for place in range(9):
        byte = page[at + place]
        if place == 8:
            return value << 8 | byte, at + 9
        value = value << 7 | byte & 0x7F
        if byte < 0x80:
            return value, at + place + 1
    raise DamagedError


def _values(payload: bytes) -> tuple[Value, ...]:
    length, at = _varint(payload, 0)
    kinds: list[int] = []
    while at < length:
        kind, at = _varint(payload, at)
        kinds.append(kind)
    if at != length:
        raise DamagedError
    values: list[Value] = []
    for kind in kinds:
        value, at = _value(payload, at, kind)
        values.append(value)
    if at != len(payload):
        raise DamagedError
    return tuple(values)


def _value(payload: bytes, at: int, kind: int) -> tuple[Value, int]:
    if kind >= 12:
        data = payload[at : at + (kind - 12) // 2]
        return (data.decode("utf-8") if kind % 2 else data), at + (kind - 12) // 2
    if kind == 7:
        return float(struct.unpack_from(">d", payload, at)[0]), at + 8
    if kind in (8, 9):
        return kind - 8, at
    if kind in (10, 11):
        raise DamagedError
    width = _WIDTHS[kind]
    return (int.from_bytes(payload[at : at + width], signed=True) if width else None), at + width


def _committed(path: Path, size: int) -> Iterator[tuple[int, bytes]]:
    """The pages of a write-ahead log up to its last commit; a leftover of an earlier round has another salt."""
    with suppress(OSError), path.open("rb") as file:
        header = file.read(32)
        if len(header) < 32 or header[:3] != b"\x37\x7f\x06" or int.from_bytes(header[8:12]) != size:
            return
        waiting: dict[int, bytes] = {}
        while len(frame := file.read(24 + size)) == 24 + size and frame[8:16] == header[16:24]:
            waiting[int.from_bytes(frame[:4])] = frame[24:]
            if frame[4:8] != b"\0\0\0\0":
                yield from waiting.items()
                waiting = {}
