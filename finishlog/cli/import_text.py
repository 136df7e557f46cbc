"""What `import` and `export` say: the report, the preview, the proposal of a mapping."""

from __future__ import annotations

import argparse
import shlex
from collections.abc import Callable, Sequence
from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from finishlog.cli.output import note, say, say_json, table

if TYPE_CHECKING:
    from finishlog.records.exchange import BroughtBack, ImportReport, Match, Proposal, Remark

MOST_SHOWN = 50
_OPTIONAL = ("preview", "columns", "remembered", "entries_added")
"""Keys of the report that are left out where they are empty."""


def as_json(report: ImportReport) -> dict[str, Any]:
    found = asdict(report)
    found["columns"] = dict(report.columns)
    return {key: value for key, value in found.items() if value or key not in _OPTIONAL}


def tell(report: ImportReport) -> None:
    """The report in words; what is bad is not told here."""
    _tell_columns(report)
    if not report.bad:
        _tell_counts(report)
        if report.flagged:
            say("Out of the ordinary, kept as written:")
        _list(report.flagged, say)
    if report.preview:
        say("As understood, the first of them:")
        for line in report.preview:
            say(f"  {line}")


def _tell_columns(report: ImportReport) -> None:
    if report.remembered:
        named = ", ".join(f"{key} = “{header}”" for key, header in report.columns)
        note(f"finishlog: columns as the last time: {named}.")


def _tell_counts(report: ImportReport) -> None:
    verb = "Brought in" if report.written else "Would bring in"
    if report.entries_added or (report.jobs_added and not report.pours_added):
        entries = "1 entry" if report.entries_added == 1 else f"{report.entries_added:,} entries"
        say(f"{verb} {entries}: {count(report.jobs_added, 'new job')}.")
    elif report.pours_added:
        say(f"{verb} {count(report.pours_added, 'pour')}: {count(report.jobs_added, 'new job')}.")
    else:
        say("Nothing new." if report.rows else "The sheet has no rows.")
    if report.skipped:
        say(f"{count(report.skipped, 'row')} told before, skipped.")


def complain(bad: Sequence[Remark]) -> None:
    if bad:
        note(f"finishlog: nothing was brought in; {count(len(bad), 'thing')} to put right:")
        _list(bad, note)


def _list(remarks: Sequence[Remark], write: Callable[[str], None]) -> None:
    for remark in remarks[:MOST_SHOWN]:
        write(f"  {remark.text()}")
    if len(remarks) > MOST_SHOWN:
        write(f"  and {len(remarks) - MOST_SHOWN} more")


def count(number: int, word: str) -> str:
    """`1 pour`, `2,000 pours`."""
    return f"{number:,} {word}" if number == 1 else f"{number:,} {word}s"


def propose(args: argparse.Namespace, proposal: Proposal) -> int:
    """Show a proposed mapping, and the command that would use it."""
    command = _command(args, proposal)
    if args.json:
        say_json({**asdict(proposal), "command": command})
        return 0
    if not proposal.matches and not proposal.left_out:
        say("Every column of this sheet is ours; nothing needs to be mapped.")
        return 0
    say("A guess; look it over:")
    say(table([_row(match) for match in proposal.matches], indent=2))
    for header in proposal.left_out:
        say(f"  left out: “{header}”")
    for match in proposal.matches:
        if match.doubt:
            say(f"  {match.column}: {match.doubt}")
    for key in proposal.missing:
        say(f"  not found, and needed: {key}")
    say("See first what would come in with:")
    say(f"  {command} --check")
    return 0


def _row(match: Match) -> tuple[str, str, str]:
    unit = f" in {match.unit}" if match.unit else ""
    like = ", ".join(example[:24] for example in match.examples)
    return match.column, f"“{match.header}”{unit}", f"like {like}" if like else ""


def _command(args: argparse.Namespace, proposal: Proposal) -> str:
    """The exact command line, quoted for a shell."""
    log = ["--log", args.log] if args.log else []
    words = ["finishlog", *log, "import", args.file, *(["--new"] if args.new else [])]
    for match in proposal.matches:
        words += ["--map", f"{match.column}={match.header}"]
        if match.unit:
            words += ["--unit", f"{match.column}={match.unit}"]
    for header in proposal.left_out:
        words += ["--ignore", header]
    return shlex.join(words)


def tell_back(back: BroughtBack) -> None:
    """What an export's folder became."""
    entries = "1 entry" if back.entries == 1 else f"{back.entries:,} entries"
    contents = f"{count(back.jobs, 'job')}, {entries}, {count(back.files, 'attached file')}"
    say(f"The log is made: {contents}." if back.written else f"The export is whole: {contents}.")
    for line in back.notes:
        note(f"finishlog: {line}")
