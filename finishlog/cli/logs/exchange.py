"""`import` and `export`: a paper log or an export in, everything out."""

from __future__ import annotations

import argparse
import gc
import os
import shlex
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import asdict
from pathlib import Path
from time import monotonic
from typing import TYPE_CHECKING, Any, TextIO

from finishlog import private
from finishlog.cli.logs import import_text
from finishlog.cli.output import say, say_json
from finishlog.errors import InputError, why

if TYPE_CHECKING:
    from finishlog.desk.services import Services

SHORTEST_S = 0.1
"""Between two words of progress."""
SELDOM = 100_000
"""New objects until Python looks for circles of garbage; its own is 700."""


def register(commands: Any) -> None:
    """Add `import` and `export` to the commands."""
    _register_import(commands)
    command = commands.add_parser(
        "export",
        help="everything out, in open formats",
        description="Write everything in the log to a new folder: a CSV file per table, all of it in "
        "finishlog.json, and the attached files. import DIR --new turns it back into a log.",
        epilog="Example: finishlog export everything",
    )
    command.add_argument("folder", metavar="DIR", help="the folder to make")
    command.add_argument("--json", action="store_true", help="one JSON object")
    command.set_defaults(run=run_export)


def _register_import(commands: Any) -> None:
    command = commands.add_parser(
        "import",
        help="import a paper log or an export",
        description="Bring a sheet of past pours (CSV, one row per pour) into the log: all of it, or nothing "
        "if a line is wrong. A row the log already has is skipped. A sheet with one row per entry holds all that "
        "record takes (--template --entries). From a sheet with its own columns, sure matches come in, each is "
        "shown, and the log remembers it; the rest is kept as notes. An export folder comes back with --new.",
        epilog="Example: finishlog import pours.csv --check",
    )
    add = command.add_argument
    add(
        "file",
        nargs="?",
        metavar="FILE",
        help="the sheet, or an export's folder; with --template, where to write",
    )
    add("--template", action="store_true", help="write an empty sheet with column help")
    add(
        "--entries",
        action="store_true",
        help="with --template: the sheet with one row per entry, for all that record takes",
    )
    add(
        "--check",
        action="store_true",
        help="only show what would come in, how it is read and what is wrong",
    )
    add("--new", action="store_true", help="make the log; it must not exist")
    add("--map", action="append", default=[], metavar="OURS=THEIRS", help='a column: --map yards="Cu Yds"')
    add(
        "--unit",
        action="append",
        default=[],
        metavar="OURS=UNIT",
        help="the unit of bare numbers, or the order of days: --unit dose=lb/yd3, --unit poured_on=m/d/y",
    )
    add("--dates", default="", metavar="ORDER", help="the order of all days of the sheet: mdy, dmy or ymd")
    add("--note", action="append", default=[], metavar="THEIRS", help="a column to keep as notes")
    add("--ignore", action="append", default=[], metavar="THEIRS", help="a column to leave out")
    add(
        "--guess",
        action="store_true",
        help="only show what each column is taken for; imports nothing",
    )
    add(
        "--map-forget",
        action="store_true",
        help="forget how this sheet's columns, or all sheets', were mapped",
    )
    add("--json", action="store_true", help="one JSON object")
    command.set_defaults(run=run)


@contextmanager
def _seldom_collected() -> Iterator[None]:
    """A sheet becomes records that stay until all is written: looking for garbage among them is a tenth of it."""
    before = gc.get_threshold()
    gc.set_threshold(SELDOM)
    try:
        yield
    finally:
        gc.set_threshold(*before)


@_seldom_collected()
def run(args: argparse.Namespace, services: Services) -> int:
    """`import`: a paper log, a sheet of entries or an export."""
    if args.template:
        return _template(args.file, entries=args.entries)
    told = args.map or args.unit or args.ignore or args.note or args.dates
    if args.map_forget and not told and not args.guess:
        return _forget(args, services)
    if args.file is None:
        raise InputError("Name the sheet to import.", where="FILE", example="finishlog import pours.csv")
    if os.path.basename(args.file) == "finishlog.json":
        raise InputError(
            "Name the export's folder, not a file in it.", where=args.file, example="import DIR --new"
        )
    if os.path.isdir(args.file):
        return _bring_back(args, services)
    from finishlog.desk.exchange import exchange
    from finishlog.inputs.paper_log.mapping import read_mapping
    from finishlog.inputs.paper_log.pour import PourRow

    columns = exchange.COLUMNS
    asked = read_mapping(
        args.map, args.unit, args.ignore, PourRow, columns, noted=args.note, dates=args.dates
    )
    if args.guess:
        found = exchange.propose(Path(args.file), asked, services, fresh=args.map_forget)
        return import_text.propose(args, found)
    with Progress() as progress:
        report = exchange.bring_in(
            services,
            Path(args.file),
            check=args.check,
            new=args.new,
            asked=asked,
            fresh=args.map_forget,
            units=args.units,
            progress=progress,
        )
    if args.json:
        say_json(import_text.as_json(report))
    else:
        import_text.tell(report)
    import_text.complain(report.bad, report.questions)
    return 2 if report.bad or report.questions else 0


def _forget(args: argparse.Namespace, services: Services) -> int:
    from finishlog.desk.exchange import exchange

    number = exchange.forget(services, Path(args.file) if args.file else None)
    whose = "this sheet's columns" if args.file else "any sheet's columns"
    if args.json:
        say_json({"forgotten": number})
    elif number:
        say(f"Forgotten: {import_text.count(number, 'mapping')} of columns.")
    else:
        say(f"Nothing was remembered for {whose}.")
    return 0


def _bring_back(args: argparse.Namespace, services: Services) -> int:
    """An export comes back as a new log."""
    from finishlog.desk.exchange import archive

    _refuse_sheet_options(args)
    if not args.new:
        raise InputError(
            "This is a folder.",
            "An export's folder comes back as a new log, with --new.",
            where=args.file,
            example=f"finishlog --log new.finishlog import --new {shlex.quote(args.file)}",
        )
    back = archive.bring_back(services, Path(args.file), check=args.check)
    if args.json:
        say_json(asdict(back))
    else:
        import_text.tell_back(back)
    return 0


def _refuse_sheet_options(args: argparse.Namespace) -> None:
    given = {"--map": args.map, "--unit": args.unit, "--ignore": args.ignore, "--guess": args.guess,
             "--note": args.note, "--dates": args.dates, "--map-forget": args.map_forget}  # fmt: skip
    for option, value in given.items():
        if value:
            raise InputError(
                f"{option} is for a sheet, and this is a folder.", where=args.file, example="pours.csv"
            )


def run_export(args: argparse.Namespace, services: Services) -> int:
    """`export`: everything in the log to a new folder."""
    from finishlog.desk.exchange import archive

    out = archive.export(services, Path(args.folder))
    if args.json:
        say_json(asdict(out))
    else:
        jobs, files = import_text.count(out.jobs, "job"), import_text.count(out.files, "attached file")
        say(f"Everything is in {out.folder}: {jobs}, {files}.")
    return 0


def _template(file: str | None, *, entries: bool) -> int:
    from finishlog.desk.exchange import exchange
    from finishlog.inputs.entry import sheet_of_entries

    text = sheet_of_entries.template() if entries else exchange.template()
    if file is None:
        sys.stdout.write(text)
        return 0
    try:
        private.write(Path(file), text.encode())
    except FileExistsError:
        raise InputError("This file already exists.", where=file, example="--template pours.csv") from None
    except (OSError, ValueError) as failure:
        raise InputError("Cannot write the file.", why(failure), where=file) from None
    say(f"Empty sheet saved to {file}.")
    return 0


class Progress:
    """Says on a terminal how far the writing is, at most ten times a second, and wipes it away at the end."""

    def __init__(self, out: TextIO | None = None, clock: Callable[[], float] = monotonic) -> None:
        self._out = sys.stderr if out is None else out
        self._shows = self._out.isatty()
        self._clock = clock
        self._last = -SHORTEST_S
        self._width = 0

    def __enter__(self) -> Progress:
        return self

    def __exit__(self, *_: object) -> None:
        if self._width:
            self._out.write("\r" + " " * self._width + "\r")
            self._out.flush()

    def __call__(self, done: int, total: int) -> None:
        now = self._clock()
        if not self._shows or now - self._last < SHORTEST_S:
            return
        self._last = now
        text = f"{done:,} of {total:,}"
        self._out.write("\r" + text.ljust(self._width))
        self._out.flush()
        self._width = max(self._width, len(text))
