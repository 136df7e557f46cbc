"""`import`: the paper log in."""

from __future__ import annotations

import argparse
import sys
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

from finishlog.cli.output import note, say, say_json
from finishlog.errors import InputError

if TYPE_CHECKING:
    from finishlog.desk.services import Services
    from finishlog.records.exchange import ImportReport, Remark

MOST_SHOWN = 50


def register(commands: Any) -> None:
    command = commands.add_parser(
        "import",
        help="bring a paper log in",
        description="Bring a sheet of past pours (CSV, one row per pour) into the log: all of it, or nothing "
        "where a line is wrong. A row the log already has is skipped.",
    )
    command.add_argument(
        "file", nargs="?", metavar="FILE", help="the sheet; with --template, where to write it"
    )
    command.add_argument("--template", action="store_true", help="write the empty sheet with its column help")
    command.add_argument("--check", action="store_true", help="only say what would come in and what is wrong")
    command.add_argument("--new", action="store_true", help="make the log; it must not exist")
    command.add_argument("--json", action="store_true", help="one JSON object")
    command.set_defaults(run=run)


def run(args: argparse.Namespace, services: Services) -> int:
    if args.template:
        return _template(args.file)
    if args.file is None:
        raise InputError("Name the sheet to bring in.", where="FILE", example="finishlog import pours.csv")
    from finishlog.desk import exchange

    report = exchange.bring_in(services, Path(args.file), check=args.check, new=args.new)
    if args.json:
        say_json(_json(report))
    else:
        _print(report)
    _complain(report.bad)
    return 2 if report.bad else 0


def _template(file: str | None) -> int:
    from finishlog.desk import exchange

    text = exchange.template()
    if file is None:
        sys.stdout.write(text)
        return 0
    try:
        with Path(file).open("x", encoding="utf-8", newline="") as opened:
            opened.write(text)
    except FileExistsError:
        raise InputError("This file exists already.", where=file, example="--template pours.csv") from None
    except (OSError, ValueError) as failure:
        raise InputError(
            f"The file cannot be written: {getattr(failure, 'strerror', failure)}.", where=file
        ) from None
    say(f"The empty sheet is in {file}.")
    return 0


def _json(report: ImportReport) -> dict[str, Any]:
    return asdict(report)


def _print(report: ImportReport) -> None:
    if report.bad:
        return
    verb = "Brought in" if report.written else "Would bring in"
    if report.pours_added:
        say(f"{verb} {_count(report.pours_added, 'pour')}: {_count(report.jobs_added, 'new job')}.")
    else:
        say("Nothing new." if report.rows else "The sheet has no rows.")
    if report.skipped:
        say(f"{_count(report.skipped, 'row')} told before, skipped.")
    if report.flagged:
        say("Out of the ordinary, kept as written:")
    _list(report.flagged, say)


def _complain(bad: tuple[Remark, ...]) -> None:
    if bad:
        note(f"finishlog: nothing was brought in; {_count(len(bad), 'thing')} to put right:")
        _list(bad, note)


def _list(remarks: tuple[Remark, ...], write: Any) -> None:
    for remark in remarks[:MOST_SHOWN]:
        write(f"  {remark.text()}")
    if len(remarks) > MOST_SHOWN:
        write(f"  and {len(remarks) - MOST_SHOWN} more")


def _count(number: int, word: str) -> str:
    return f"{number} {word}" if number == 1 else f"{number} {word}s"
