"""Files in a log on a server: their bytes are in pieces in the log itself, known by their content (or see `places`).

They are written in the transaction of the entry that names them: neither is ever there without the other.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Set
from pathlib import Path
from typing import Any, BinaryIO

from sqlalchemy.engine import Connection

from finishlog.errors import InputError
from finishlog.records.files import Content
from finishlog.store.disk.attachments import Files, Kept, reading
from finishlog.store.engine.postgres import server
from finishlog.store.engine.protocol import of

PIECE = 1 << 20
"""Bytes of a piece: what a reader holds at once, whatever the size of the file."""
_THERE = "SELECT 1 FROM file_piece WHERE sha256 = %s LIMIT 1"
_PUT = "INSERT INTO file_piece (sha256, position, bytes) VALUES (%s, %s, %s)"
_GET = "SELECT bytes FROM file_piece WHERE sha256 = %s AND position = %s"


class _Other(Exception):
    """The blocks were another file."""


class Pieces(Files):
    """The files of one log, within one transaction."""

    folder = Path("file_piece")

    def __init__(self, connection: Connection) -> None:
        self._connection = connection

    @property
    def _raw(self) -> Any:
        return server.driver(self._connection)

    def keep(self, source: Path) -> Kept:
        """Copy a file in, unless it is already there. Raises InputError as `Attachments.keep`."""
        with reading(source) as (file, _):
            digest, size = hashlib.sha256(), 0
            for block in _blocks(file):
                digest.update(block)
                size += len(block)
            kept = Kept(digest.hexdigest(), size)
            file.seek(0)
            if not self._is_there(kept.sha256):
                again = hashlib.sha256()
                for position, block in enumerate(_blocks(file)):
                    again.update(block)
                    self._put(kept.sha256, position, block)
                if again.hexdigest() != kept.sha256:
                    cause = "It changed while being read. Try again when nothing is writing to it."
                    raise InputError(f"Cannot keep this file: {source}.", cause, where="file")
        return kept

    def put(self, content: Content) -> Kept:
        """Like `keep`, for bytes already read."""
        if not self._is_there(content.sha256):
            for position, start in enumerate(range(0, len(content.data), PIECE)):
                self._put(content.sha256, position, content.data[start : start + PIECE])
        return Kept(content.sha256, len(content.data))

    def take(self, sha256: str, blocks: Iterator[bytes]) -> bool:
        """Like `keep`, from blocks; whether they were that file. If they were not, nothing is kept of them."""
        try:
            with of(self._connection).part(self._connection):
                self._take(sha256, blocks)
        except _Other:
            return False
        return True

    def _take(self, sha256: str, blocks: Iterator[bytes]) -> None:
        if self._is_there(sha256):
            return
        digest, position, held = hashlib.sha256(), 0, b""
        for block in blocks:
            digest.update(block)
            held += block
            while len(held) >= PIECE:
                self._put(sha256, position, held[:PIECE])
                position, held = position + 1, held[PIECE:]
        if held:
            self._put(sha256, position, held)
        if digest.hexdigest() != sha256:
            raise _Other

    def _is_there(self, sha256: str) -> bool:
        return self._raw.execute(_THERE, (sha256,)).fetchone() is not None

    def _put(self, sha256: str, position: int, block: bytes) -> None:
        self._raw.execute(_PUT, (sha256, position, block))
        server.count(self._connection, 1)

    def blocks(self, sha256: str) -> Iterator[bytes]:
        """The bytes of a file, a piece at a time; none if it is not there."""
        position = 0
        while row := self._raw.execute(_GET, (sha256, position), binary=True).fetchone():
            yield row[0]
            position += 1

    @property
    def placed(self) -> tuple[str, ...]:
        """None has to be taken back: what is rolled back leaves nothing."""
        return ()

    def forget(self, named: Set[str] = frozenset()) -> None:
        """The transaction takes back what no entry will name."""

    def wrong_with(self, sha256: str, size: int) -> tuple[str, ...]:
        """The fault of one kept file, () if intact. Reads every byte."""
        digest, found = hashlib.sha256(), 0
        for block in self.blocks(sha256):
            digest.update(block)
            found += len(block)
        if not found:
            return ("not there",)
        same = (digest.hexdigest(), found) == (sha256, size)
        return () if same else ("damaged: it is not what was saved",)

    def strays(self, known: set[str]) -> list[Path]:
        """None: each piece names its file."""
        return []


def _blocks(file: BinaryIO) -> Iterator[bytes]:
    while block := file.read(PIECE):
        yield block
