"""Output of `import` and `export`: report, preview, proposed mapping."""

from __future__ import annotations

import argparse
import shlex
from collections.abc import Callable, Sequence
from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from finishlog.cli.output import note, say, say_json, table
from finishlog.units import shown

if TYPE_CHECKING:
    from finishlog.records.exchange import (
        BroughtBack,
        ColumnGuess,
        ImportReport,
        Proposal,
        Remark,
    )

MOST_SHOWN = 50
_OPTIONAL = (
    *("preview", "columns", "remembered", "entries_added", "guesses", "questions", "kept", "left_aside"),
    *("undated", "cells", "copied", "joined"),
)
"""Keys of the report that are left out where they are empty."""
_KNOWN = ("as given", "same as last time", "our own word")


def as_json(report: ImportReport) -> dict[str, Any]:
    """The report as JSON; what is empty and optional is left out."""
    found = asdict(report)
    found["columns"] = dict(report.columns)
    return {key: value for key, value in found.items() if value or key not in _OPTIONAL}


def tell(report: ImportReport) -> None:
    """The report in words, without the bad lines."""
    _tell_columns(report)
    if not report.bad and not report.questions:
        _tell_counts(report)
        _tell_kept(report)
        if report.flagged:
            say("Unusual, kept as written:")
        _list(report.flagged, say)
    if report.preview:
        say("The first few, as understood:")
        for line in report.preview:
            say(f"  {line}")


def _tell_columns(report: ImportReport) -> None:
    """What each column became; where all of it is same as last time, in one line."""
    if all(guess.why in _KNOWN for guess in report.guesses) and not report.remembered:
        return
    if report.remembered and all(guess.why in _KNOWN for guess in report.guesses):
        named = ", ".join(f"{key} = “{header}”" for key, header in report.columns)
        note(f"finishlog: columns same as last time: {named}.")
    elif report.guesses:
        note("finishlog: columns, as understood:")
        for line in table([_became(guess) for guess in report.guesses], indent=2).splitlines():
            note(line)


def _became(guess: ColumnGuess) -> tuple[str, str, str]:
    unit = guess.unit or (f"days {guess.dates}" if guess.dates else "")
    became = "left out" if guess.left_out else guess.column or "a note on the job"
    like = ", ".join(shown(sample, 24) for sample in guess.samples)
    why = f"{guess.why}; like {like}" if like else guess.why
    return f"“{guess.header}”", f"{became}, {unit}" if unit else became, why


def _tell_kept(report: ImportReport) -> None:
    if report.joined:
        say("Joined, for the color forecast (finishlog recipes shows them, --part undoes it):")
    for sentence in report.joined:
        say(f"  {sentence}")
    if report.undated:
        say(f"{count(report.undated, 'job')} without a pour date: date unknown.")
    if report.copied:
        say(f"{count(report.copied, 'cell')} taken from the row above: ditto marks and merged cells.")
    if report.kept:
        say(f"{count(len(report.kept), 'cell')} kept as a note on the job, under its header.")
    for remark in report.left_aside:
        say(f"  {remark.text()}")


def _tell_counts(report: ImportReport) -> None:
    verb = "Imported" if report.written else "Would import"
    if report.entries_added or (report.jobs_added and not report.pours_added):
        entries = "1 entry" if report.entries_added == 1 else f"{report.entries_added:,} entries"
        say(f"{verb} {entries}: {count(report.jobs_added, 'new job')}.")
    elif report.pours_added or report.jobs_added:
        say(f"{verb} {count(report.pours_added, 'pour')}: {count(report.jobs_added, 'new job')}.")
    else:
        say("Nothing new." if report.rows else "The sheet has no rows.")
    if report.skipped:
        say(f"{count(report.skipped, 'row')} already in the log, skipped.")


def complain(bad: Sequence[Remark], questions: Sequence[str] = ()) -> None:
    """On standard error: the questions first, then what was wrong, line by line."""
    if questions:
        note(f"finishlog: nothing imported; {count(len(questions), 'question')} first:")
        for question in questions:
            note(f"  {question}")
    if bad:
        note(f"finishlog: nothing imported; {count(len(bad), 'thing')} to fix:")
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
    if all(guess.why == "our own word" for guess in proposal.guesses):
        say("Every column of this sheet is ours; nothing to map.")
        return 0
    say("Best guess; look it over:")
    say(table([_became(guess) for guess in proposal.guesses], indent=2))
    for guess in proposal.guesses:
        if guess.others and guess.sure < 1:
            say(
                f"  “{guess.header}” may also be {', '.join(guess.others)}: --map {guess.others[0]}={guess.header!r}"
            )
    for question in (guess.question for guess in proposal.guesses if guess.question):
        say(f"  {question}")
    for key in proposal.missing:
        say(f"  needed, not found: {key}")
    say("See what would come in with:")
    say(f"  {command} --check")
    return 0


def _command(args: argparse.Namespace, proposal: Proposal) -> str:
    """The exact command line, quoted for a shell."""
    log = ["--log", args.log] if args.log else []
    words = ["finishlog", *log, "import", args.file, *(["--new"] if args.new else [])]
    for guess in proposal.guesses:
        if guess.why == "our own word":
            continue
        if guess.column is None:
            words += ["--ignore" if guess.left_out else "--note", guess.header]
        else:
            words += ["--map", f"{guess.column}={guess.header}"]
        if guess.column and (unit := guess.unit or guess.dates):
            words += ["--unit", f"{guess.column}={unit}"]
    return shlex.join(words)


def tell_back(back: BroughtBack) -> None:
    """What an export's folder became."""
    entries = "1 entry" if back.entries == 1 else f"{back.entries:,} entries"
    contents = f"{count(back.jobs, 'job')}, {entries}, {count(back.files, 'attached file')}"
    say(f"The log is made: {contents}." if back.written else f"The export is whole: {contents}.")
    for line in back.notes:
        note(f"finishlog: {line}")
