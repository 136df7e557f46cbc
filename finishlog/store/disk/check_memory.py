"""How far a check came, kept outside the log, so that one that was stopped goes on."""

from __future__ import annotations

import json
import os
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

SAVED_EVERY_S = 1.0


class CheckMemory:
    """What an interrupted check verified and found. Without a path it is forgotten at the end.

    `done` holds the last id verified by part, `file` the last file; `compared` is the last job whose
    projections were compared, kept from check to check.
    """

    def __init__(self, path: Path | None) -> None:
        self._path = path
        self._saved = time.monotonic()
        self.done: dict[str, int] = {}
        self.problems: list[str] = []
        self.jobs: set[int] = set()
        self.lots: set[int] = set()
        self.file = ""
        self.compared = 0
        self.goes_on = False
        """Whether an earlier check was stopped before its end."""
        with suppress(OSError, ValueError, TypeError, KeyError, AttributeError):
            self._read()

    def _read(self) -> None:
        if self._path is None:
            return
        said: dict[str, Any] = json.loads(self._path.read_text("utf-8"))
        self.compared = int(said["compared"])
        done = {str(part): int(last) for part, last in said["done"].items()}
        problems, jobs = [str(line) for line in said["problems"]], {int(job) for job in said["jobs"]}
        self.lots = {int(lot) for lot in said.get("lots", ())}
        self.done, self.problems, self.jobs, self.file = done, problems, jobs, str(said["file"])
        self.goes_on = bool(done)

    def at(self, part: str, last: int) -> None:
        """A part is verified up to this id."""
        self.done[part] = last
        self.save()

    def save(self, *, now: bool = False) -> None:
        """Write it down, at most once a second."""
        if self._path is None or not (now or time.monotonic() - self._saved >= SAVED_EVERY_S):
            return
        self._saved = time.monotonic()
        said = {
            "done": self.done,
            "problems": self.problems,
            "jobs": sorted(self.jobs),
            "lots": sorted(self.lots),
            "file": self.file,
            "compared": self.compared,
        }
        part = self._path.with_name(f"{self._path.name}.{os.getpid()}")
        with suppress(OSError):  # a check needs no memory
            self._path.parent.mkdir(parents=True, exist_ok=True)
            part.write_text(json.dumps(said), "utf-8")
            os.replace(part, self._path)

    @contextmanager
    def kept(self) -> Iterator[None]:
        """Written down when the block is stopped, so that the next check goes on from there."""
        try:
            yield
        except BaseException:
            self.save(now=True)
            raise

    def finished(self) -> None:
        """The next check starts from the beginning."""
        self.done, self.problems, self.jobs, self.lots, self.file = {}, [], set(), set(), ""
        if self.compared:
            self.save(now=True)
        elif self._path is not None:
            with suppress(OSError):
                self._path.unlink(missing_ok=True)
