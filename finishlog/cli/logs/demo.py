"""`demo`: the screens on a fresh demo log; without a terminal, the demo's match sheet."""

from __future__ import annotations

import argparse
import sys
import tempfile
from contextlib import nullcontext
from pathlib import Path
from typing import TYPE_CHECKING, Any

from finishlog.cli.output import say
from finishlog.cli.waiting import waiting

if TYPE_CHECKING:
    from finishlog.desk.services import Services

MAKING = "Making the demo shop…"


def register(commands: Any) -> None:
    """Add `demo` to the commands."""
    demo = commands.add_parser(
        "demo",
        help="try it on an invented shop's log",
        description="Open the screens on a fresh log of an invented shop; your own log is not touched.",
        epilog="Example: finishlog demo --into try.finishlog",
    )
    demo.add_argument("--into", metavar="PATH", help="only make the demo log, at PATH; must not exist")
    demo.set_defaults(run=run_demo)


def run_demo(args: argparse.Namespace, services: Services) -> int:
    """`demo`: the screens on a fresh demo log; without a terminal, its match sheet."""
    from finishlog.desk.demo import demo

    if args.into:
        log = demo.new_log(services, args.into)
        say(f"The demo log is at {log.where}.")
        log.close()
        return 0
    shown = sys.stdin.isatty() and sys.stdout.isatty()
    with tempfile.TemporaryDirectory(prefix="finishlog-demo-") as folder:
        where = str(Path(folder, "demo.finishlog"))
        try:
            with waiting(MAKING) if shown else nullcontext():
                services.use(demo.new_log(services, where))
                if shown:
                    args.screens.load()
            if shown:
                return int(args.screens.open(services, demo.start(), args.said_units))
            return _print_match(args, services)
        finally:
            services.close()


def _print_match(args: argparse.Namespace, services: Services) -> int:
    from finishlog.cli.plan import match
    from finishlog.desk.demo import demo
    from finishlog.desk.match import plan

    start = demo.start()
    request = plan.simple_request(start.handle, start.rect, start.depth)
    say(match.sheet(plan.make(services, request, args.units), args.units))
    return 0
