"""What the commands on a whole log share: the line of progress, and going without files that are lost."""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Callable

from finishlog.cli.output import note

_EVERY_S = 0.2


def without_missing(command: argparse.ArgumentParser, help_text: str) -> None:
    """Add `--without-missing` to a command."""
    command.add_argument("--without-missing", action="store_true", help=help_text)


class Telling:
    """Says on a terminal what is being done, on one line of standard error that it wipes at the end.

    `words` of what is done; `stopped` is said where Ctrl+C ends it.
    """

    def __init__(self, words: Callable[[str], str], stopped: str) -> None:
        self._words = words
        self._stopped = stopped
        self._shows = sys.stderr.isatty()
        self._said = time.monotonic()
        self._wide = 0

    def __enter__(self) -> Telling:
        return self

    def __exit__(self, kind: type[BaseException] | None, *_: object) -> None:
        if self._wide:
            print(f"\r{' ' * self._wide}\r", end="", file=sys.stderr, flush=True)
        if kind is KeyboardInterrupt:
            note(self._stopped)

    def __call__(self, what: str, share: float | None) -> None:
        if not self._shows or time.monotonic() - self._said < _EVERY_S:
            return
        self._said = time.monotonic()
        line = self._words(what) + ("…" if share is None else f": {share:.0%}")
        print(f"\r{line.ljust(self._wide)}", end="", file=sys.stderr, flush=True)
        self._wide = max(self._wide, len(line))
