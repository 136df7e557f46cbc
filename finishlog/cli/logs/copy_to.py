"""`copy-to`: the whole log at another place, in a file or on a server."""

from __future__ import annotations

import argparse
import shlex
from typing import TYPE_CHECKING, Any

from finishlog.cli.logs.telling import Telling, without_missing
from finishlog.cli.output import say, say_json
from finishlog.units import count

if TYPE_CHECKING:
    from finishlog.desk.services import Services

_STOPPED = "Stopped. A copy that is not complete is not kept."
_WORDS = {"rows": "Copying rows", "files": "Copying photos and files", "comparing": "Comparing"}


def register(commands: Any) -> None:
    """Add `copy-to` to the commands."""
    command = commands.add_parser(
        "copy-to",
        help="copy the log to a server, or from one to a file",
        description="Copy the whole log with its photos and files to a new file, or into a database on a "
        "PostgreSQL server, and compare the two table by table and file by file. It is the same log: go on in "
        "either one, not in both. If the copy fails or is stopped, no log stays there.",
        epilog="Example: finishlog --log shop.finishlog copy-to postgresql://ada@db.example.com/shop",
    )
    command.add_argument(
        "file", metavar="WHERE", help="the new file, or the address of a database without a log"
    )
    without_missing(command, "copy even if photos or files of the log are lost")
    command.add_argument("--json", action="store_true", help="one JSON object")
    command.set_defaults(run=run)


def run(args: argparse.Namespace, services: Services) -> int:
    """`copy-to`: the same log elsewhere."""
    from finishlog.desk.exchange import keeping

    with Telling(_WORDS.__getitem__, _STOPPED) as telling:
        moved = keeping.copy_to(services, args.file, progress=telling, without_missing=args.without_missing)
    if args.json:
        say_json({"log": args.file, "rows": moved.rows, "files": moved.files, "missing": list(moved.missing)})
        return 0
    rows, files = count(moved.rows, "row"), count(moved.files, "file")
    say(f"The log is copied to {args.file} and compared: {rows}, {files}.")
    if moved.missing:
        say(f"{count(len(moved.missing), 'file')} could not be copied; finishlog check lists them.")
    say(f"To use the copy: finishlog --log {shlex.quote(args.file)}")
    return 0
