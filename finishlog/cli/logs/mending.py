"""What a check is at, in words, and what `check --mend` lists and does."""

from __future__ import annotations

from typing import TYPE_CHECKING

from finishlog.cli.output import say
from finishlog.units import count

if TYPE_CHECKING:
    from finishlog.store import Log
    from finishlog.store.check import CheckReport

_WORDS = {
    "pages": "every page",
    "names": "links",
    "entries": "entries",
    "list": "the list and the search",
    "photo": "facts of photos",
    "files": "photos and files",
    "settings": "settings",
}


CHECK_STOPPED = "Stopped. The next check resumes here."


def checking(what: str) -> str:
    """What is being checked, in words."""
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
