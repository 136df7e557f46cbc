"""`files`: where the photos and files of the log are kept; on a server they can move."""

from __future__ import annotations

import argparse
from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from finishlog.cli.logs.telling import Telling, without_missing
from finishlog.cli.output import note, say, say_json
from finishlog.errors import InputError
from finishlog.units import count

if TYPE_CHECKING:
    from finishlog.desk.services import Services
    from finishlog.records.files import FilesPlace

_STOPPED = "Stopped. Nothing is lost; the same command goes on."
_WORDS = {
    "noted": "Beginning",
    "files": "Copying photos and files",
    "flipped": "Removing",
    "removing": "Removing photos and files from where they were",
}
_MORE = """\
  finishlog files                           where they are, and how many
  finishlog files --move-to /srv/shop       into a folder that all machines share, empty at first
  finishlog files --move-to database        into the database
  finishlog files --here /mnt/shop          where that folder is on this machine, if not there
"""


def register(commands: Any) -> None:
    """Add `files` to the commands."""
    command = commands.add_parser(
        "files",
        help="where the photos and files of the log are kept",
        description="Where the photos and files of the log are kept. Those of a log file are in the folder beside\n"
        "it. Those of a log on a server are in its database, or in a folder that all its machines\n"
        "share. They are copied, compared, then removed from where they were. If it is stopped\n"
        "nothing is lost: do it again.",
        epilog=_MORE,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    command.add_argument(
        "--move-to", metavar="FOLDER", help="move them to this folder, or to the word: database"
    )
    command.add_argument("--here", metavar="FOLDER", help="where the shared folder is on this machine")
    without_missing(command, "move even if photos or files of the log are lost")
    command.add_argument("--json", action="store_true", help="one JSON object")
    command.set_defaults(run=run)


def run(args: argparse.Namespace, services: Services) -> int:
    """`files`: tell, move, or say where the folder is here."""
    from finishlog.desk.exchange import keeping

    for option, value in (("--move-to", args.move_to), ("--here", args.here)):
        if value == "":
            raise InputError("The path is empty.", where=option, example=f"{option} /srv/shop")
    if args.here is not None:
        keeping.files_here(services, args.here)
    if args.move_to is not None:
        with Telling(_WORDS.__getitem__, _STOPPED) as telling:
            moved = keeping.move_files(
                services, args.move_to, progress=telling, without_missing=args.without_missing
            )
        if moved.missing:
            note(f"{count(len(moved.missing), 'file')} could not be moved; finishlog check lists them.")
        if moved.not_emptied:
            note(f"This folder could not be emptied: {moved.not_emptied}")
    told = keeping.files_place(services)
    if args.json:
        say_json(asdict(told))
        return 0
    _say(told)
    return 0


def _say(told: FilesPlace) -> None:
    places = {
        "beside the log": f"in the folder beside the log: {told.here}",
        "database": "in the log's database.",
        "folder": f"in the shared folder {told.folder}",
    }
    size = f"{told.bytes / 1e6:.1f} MB"
    say(f"Photos and files: {told.files:,} ({size}), {places[told.kept_in]}")
    if told.here and told.here != told.folder:
        say(f"On this machine it is {told.here}")
    if told.fault:
        say(told.fault)
    if told.unfinished:
        where = told.folder or "database"
        say(f"Moving them was not finished; nothing is lost. Move them again, or stay: --move-to {where}")
