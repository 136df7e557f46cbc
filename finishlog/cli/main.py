"""The command line: parse, call a desk, print. Each command's module is light until it runs."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Sequence
from contextlib import suppress
from importlib import import_module
from typing import TYPE_CHECKING, Any, NoReturn, Protocol

from finishlog.cli import access
from finishlog.errors import FinishlogError, InputError
from finishlog.plain import visible

if TYPE_CHECKING:
    from finishlog.desk.services import Services
    from finishlog.records.answers import DemoStart

_DESCRIPTION = "A recipe and color log for decorative concrete. No command opens the screens."
_EPILOG = (
    "FINISHLOG_LOG names the log when --log is left out. Exit status: 0 done, 2 the input is wrong, "
    "3 the log cannot be used, 1 a bug in finishlog."
)

LONGEST_WORD, LONGEST_LINE = 400, 1200

_HOME = {
    "demo": "logs.demo", "find": "jobs.find", "show": "jobs.find", "match": "plan.match", "sheet": "plan.sheet",
    "record": "jobs.record", "undo": "jobs.record", "move": "jobs.record", "today": "jobs.today",
    "shelf": "office.shelf", "photo": "jobs.photo", "read": "color.read", "color": "color.by_age", "job": "jobs.edit",
    "yards": "sums.yards", "dose": "sums.dose", "film": "sums.film", "rinse": "color.rinse",
    "blend": "color.blend", "recipes": "color.recipes", "weather": "sums.weather", "care": "office.care",
    "shop": "office.shop", "balance": "plan.balance", "import": "logs.exchange", "export": "logs.exchange",
    "new": "logs.log", "backup": "logs.log", "restore": "logs.log", "check": "logs.log", "rescue": "logs.rescue",
    "copy-to": "logs.copy_to", "files": "logs.files", "roles": "logs.roles",
    "serve": "logs.serve", "people": "logs.serve",
}  # fmt: skip
"""Which module of this package has which command, in the order of --help."""


class Opens(Protocol):
    """Opens the screens. `load` only prepares them, so that they open at once."""

    def load(self) -> None:
        """Import the screens; nothing is shown yet."""

    def open(self, services: Services, demo: DemoStart | None = None, units: str | None = None) -> int:
        """Show the screens until they are closed. Answers their exit status."""


class Parser(argparse.ArgumentParser):
    """argparse with the program's own failure style: one line, exit status 2."""

    def __init__(self, **options: Any) -> None:
        super().__init__(**{"allow_abbrev": False, **options})

    def error(self, message: str) -> NoReturn:
        """Raise InputError, as every other wrong input does."""
        raise InputError(message[:1].upper() + message[1:] + f". See {self.prog} --help.")


def parse(argv: Sequence[str]) -> argparse.Namespace:
    """The command with its options. Raises InputError; exits only for --help and --version."""
    parser = Parser(prog="finishlog", description=_DESCRIPTION, epilog=_EPILOG)
    parser.add_argument("--log", metavar="PATH", help="the log to use")
    parser.add_argument("--units", choices=("us", "metric"), help="how to show quantities")
    parser.add_argument("--version", action="version", version=_version())
    commands = parser.add_subparsers(dest="command", metavar="COMMAND", parser_class=Parser)
    for module in _modules(argv):
        import_module(f"finishlog.cli.{module}").register(commands)
    _require_values(argv)
    args = parser.parse_args(argv)
    args.said_units, args.units = args.units, args.units or "us"  # the screens have a setting of their own
    for option, example in _PATHS.items():
        if getattr(args, option, None) == "":
            where = f"--{option}" if option in ("log", "into") else option.upper()
            raise InputError("The path is empty.", where=where, example=example)
    return args


_PATHS = {
    "log": "--log shop.finishlog",
    "into": "--into demo.finishlog",
    "path": "shop.finishlog",
    "file": "pours.csv",
}


def _require_values(argv: Sequence[str]) -> None:
    """argparse takes `--depth=--` for an option without a value, and hands on an empty list."""
    for word in argv:
        option, _, value = word.partition("=")
        if word == "--":
            return
        if option.startswith("--") and value == "--":
            raise InputError("Two hyphens are not a value.", f"Leave {option} out if unknown.", where=option)


def _modules(argv: Sequence[str]) -> Sequence[str]:
    """The one module that the command needs, none for the screens, so that a quick answer stays quick.

    All of them for --help and for a word that is no command.
    """
    words = iter(argv)
    for word in words:
        if word in ("--log", "--units"):
            next(words, None)
        elif not word.startswith("-"):
            return (_HOME[word],) if word in _HOME else tuple(dict.fromkeys(_HOME.values()))
    wants_help = any(word in ("-h", "--help") for word in argv)
    return tuple(dict.fromkeys(_HOME.values())) if wants_help else ()


def run(args: argparse.Namespace, services: Services, screens: Opens) -> int:
    """Run what was parsed."""
    if args.command is None:
        services.look_at_log()
        in_browser = os.environ.get("FINISHLOG_VISITOR")  # a server paints them there
        if not in_browser and not (sys.stdin.isatty() and sys.stdout.isatty()):
            cause = "The screens need one; the commands do not."
            raise InputError("This is not a terminal.", cause, example="finishlog find, or finishlog --help")
        return screens.open(services, units=args.said_units)
    args.screens = screens
    access.require(args, services)
    status: int = args.run(args, services)
    return status


def complain(failure: FinishlogError) -> None:
    """The failure in one line on standard error."""
    tell(f"finishlog: {_shortened(visible(failure.line()))}")


def own_up(fault: Exception) -> None:
    """A bug of ours, or a machine failure, in one line."""
    if isinstance(fault, OSError) and fault.filename is None:
        tell(f"finishlog: Could not write the answer: {fault.strerror or fault}.")
        return
    import traceback

    *_, last = traceback.extract_tb(fault.__traceback__)
    what = _shortened(visible(f"{type(fault).__name__}: {fault}"))
    tell(
        f"finishlog: A bug in finishlog: {what} ({os.path.basename(last.filename)}, line {last.lineno}). "
        "FINISHLOG_TRACEBACK=1 shows more; please report it."
    )


def tell(line: str) -> None:
    """A line on standard error, if it can take one."""
    with suppress(OSError):
        print(line, file=sys.stderr, flush=True)


def _shortened(line: str) -> str:
    """No word longer than a file's path, no line longer than a paragraph: what was typed may be endless."""
    words = (word if len(word) <= LONGEST_WORD else word[:80] + "…" for word in line.split(" "))
    short = " ".join(words)
    return short if len(short) <= LONGEST_LINE else short[:LONGEST_LINE] + "…"


def _version() -> str:
    from finishlog import __version__

    return f"finishlog {__version__}"
