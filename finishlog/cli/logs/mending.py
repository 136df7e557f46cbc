"""The progress of a check, and what `check --mend` lists and does."""

from __future__ import annotations

import sys
import time
from typing import TYPE_CHECKING

from finishlog.cli.output import note, say
from finishlog.units import count

if TYPE_CHECKING:
    from finishlog.store import Log
    from finishlog.store.check import CheckReport

_EVERY_S = 0.2
_WORDS = {
    "pages": "every page",
    "names": "links",
    "entries": "entries",
    "list": "the list and the search",
    "photo": "facts of photos",
    "files": "photos and files",
    "settings": "settings",
}


class Telling:
    """Says on a terminal what is being checked, on one line of standard error that it wipes at the end."""

    stopped = "Stopped. The next check resumes here."

    def __init__(self) -> None:
        self._shows = sys.stderr.isatty()
        self._said = time.monotonic()
        self._wide = 0

    def __enter__(self) -> Telling:
        return self

    def __exit__(self, kind: type[BaseException] | None, *_: object) -> None:
        if self._wide:
            print(f"\r{' ' * self._wide}\r", end="", file=sys.stderr, flush=True)
        if kind is KeyboardInterrupt:
            note(self.stopped)

    def __call__(self, what: str, share: float | None) -> None:
        if not self._shows or time.monotonic() - self._said < _EVERY_S:
            return
        self._said = time.monotonic()
        line = self.words(what) + ("…" if share is None else f": {share:.0%}")
        print(f"\r{line.ljust(self._wide)}", end="", file=sys.stderr, flush=True)
        self._wide = max(self._wide, len(line))

    def words(self, what: str) -> str:
        """What is being done, in words."""
        return f"Checking {_WORDS.get(what, what.replace('_', ' '))}"


def mend(log: Log, report: CheckReport, *, yes: bool) -> int:
    """List what was left behind and what is out of date; with `yes` remove the one and renew the other."""
    if not (report.ok or report.mendable):
        say("Nothing was mended: the log has other problems.")
        return 3
    found = log.mendable()
    for path in found.leavings:
        say(f"  Left behind: {path}")
    for path in found.young:
        say(f"  Left alone, less than an hour old: {path}")
    if found.jobs:
        say(f"  Out of date: the list and the search of {count(len(found.jobs), 'job')}")
    if found.lots:
        say(f"  Out of date: {count(len(found.lots), 'lot')} on the shelf")
    if found.learned:
        say("  Damaged: what was learned; it is removed, and learned anew when it is needed")
    if not (found.leavings or found.jobs or found.lots or found.learned):
        say("Nothing to mend.")
        return 0
    if not yes:
        say("Nothing is changed yet. To do it: finishlog check --mend --yes")
        return 0 if report.ok else 3
    removed = log.mend(found)
    lots = f"and {count(len(found.lots), 'lot')} " if found.lots else ""
    say(f"{removed} removed, {count(len(found.jobs), 'job')} {lots}rebuilt.")
    return 0
