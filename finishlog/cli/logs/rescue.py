"""`rescue`: what is sound of a damaged log, in a new one."""

from __future__ import annotations

import argparse
from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from finishlog.cli.output import say, say_json
from finishlog.plain import visible

if TYPE_CHECKING:
    from finishlog.desk.services import Services


def register(commands: Any) -> None:
    """Add `rescue` to the commands."""
    command = commands.add_parser(
        "rescue",
        help="save what can be read of a damaged log",
        description="Read a damaged log page by page and make a new log of everything that can still be read, "
        "with a list of what is gone. The damaged log is left alone: keep it, and compare with the last backup.",
        epilog="Example: finishlog rescue shop.finishlog rescued.finishlog",
    )
    command.add_argument("damaged", metavar="DAMAGED", help="the damaged log")
    command.add_argument("new", metavar="NEW", help="the log to make; must not exist")
    command.add_argument("--json", action="store_true", help="one JSON object")
    command.set_defaults(run=run)


def run(args: argparse.Namespace, services: Services) -> int:
    """`rescue`: 3 if the new log is not sound either."""
    from finishlog.desk.exchange import rescue

    done = rescue.rescue(services, args.damaged, args.new)
    if args.json:
        say_json({"log": args.new} | asdict(done))
        return 3 if done.problems else 0
    jobs, entries = f"{done.jobs:,} jobs", f"{done.entries:,} entries"
    say(f"Rescued into {args.new}: {jobs}, {entries}, {done.files:,} files.")
    say("Nothing is missing, as far as can be told." if not done.gone else "What is gone:")
    for line in (*done.gone, *done.problems):
        say(f"  {visible(line)}")
    return 3 if done.problems else 0
