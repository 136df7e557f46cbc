"""The high-water mark of a log, kept outside it: what this machine has seen written there.

One file of lines for each log and place, in the program's state folder, named by the log's identity; a line is
appended after each commit. A log that is put back, or that loses its last writes, is behind its mark. A folder
that cannot be written only means that there is no mark. Lines are not forced to disk: a power cut may take the
newest, which makes the mark older, never wrong.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass, field
from hashlib import blake2b
from pathlib import Path
from typing import Any

MOST_BYTES = 256 * 1024
"""Then the file is put aside and a new one begun; two are kept."""


@dataclass(slots=True)
class Mark:
    """The furthest that a log at `where` was written; `told` says in words what was acknowledged, by id and hash."""

    where: str
    writes: int = 0
    entries: int = 0
    entry: int = 0
    head: str = ""
    told: dict[tuple[int, str], str] = field(default_factory=dict)


class Marks:
    """The marks of one log at one place. Thread- and process-safe: each line is appended in one piece."""

    def __init__(self, folder: Path, where: object) -> None:
        self._folder = folder
        self._where = os.path.abspath(where) if isinstance(where, Path) else str(where)  # an address stays

    def path(self, uid: str) -> Path:
        """The file of this log at this place."""
        place = blake2b(self._where.encode("utf-8", "surrogateescape"), digest_size=4).hexdigest()
        return self._folder / f"{_safe(uid)}-{place}.jsonl"

    def add(self, uid: str, line: dict[str, Any]) -> None:
        """Append what was written: `writes`, `entries`, `entry`, `head`, `told`; or with `accepted` begin anew."""
        path = self.path(uid)
        text = json.dumps({"where": self._where, **line}, separators=(",", ":")) + "\n"
        with suppress(OSError):
            try:
                handle = _appending(path)
            except FileNotFoundError:
                self._folder.mkdir(parents=True, exist_ok=True, mode=0o700)
                handle = _appending(path)
            try:
                os.write(handle, text.encode("ascii"))
                full = os.fstat(handle).st_size > MOST_BYTES
            finally:
                os.close(handle)
            if full:
                os.replace(path, path.with_suffix(".old"))

    def of(self, uid: str) -> Mark | None:
        """The mark of this log at this place."""
        return _read(self.path(uid))

    def elsewhere(self, uid: str) -> list[Mark]:
        """The marks of its copies at other places of this machine."""
        own = self.path(uid)
        try:
            paths = sorted(self._folder.glob(f"{_safe(uid)}-*.jsonl"))
        except OSError:
            return []
        return [mark for path in paths if path != own and (mark := _read(path)) is not None]


def _safe(uid: str) -> str:
    """An identity is hex; a damaged one names no other file."""
    return "".join(mark for mark in uid if mark in "0123456789abcdef")[:32] or "none"


def _appending(path: Path) -> int:
    return os.open(path, os.O_WRONLY | os.O_APPEND | os.O_CREAT | getattr(os, "O_BINARY", 0), 0o600)


def _lines(path: Path) -> Iterator[dict[str, Any]]:
    for one in (path.with_suffix(".old"), path):
        with suppress(OSError):
            for line in one.read_bytes().splitlines():
                with suppress(ValueError):
                    said = json.loads(line)
                    if isinstance(said, dict):
                        yield said


def _read(path: Path) -> Mark | None:
    found: Mark | None = None
    for said in _lines(path):
        with suppress(KeyError, TypeError, ValueError):
            mark = Mark(
                str(said["where"]),
                int(said["writes"]),
                int(said["entries"]),
                int(said["entry"]),
                str(said["head"]),
            )
            told = {(int(entry), str(head)): str(words) for entry, head, words in said.get("told", ())}
            if found is None or said.get("accepted"):
                found = mark
            elif mark.writes >= found.writes:
                mark.told = found.told
                found = mark
            found.told |= told
    return found
