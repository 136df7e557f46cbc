"""The command line: parse, call a desk, print. Each command's module is light until it runs."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from importlib import import_module
from typing import TYPE_CHECKING, Any, NoReturn, Protocol

from finishlog.errors import FinishlogError, InputError
from finishlog.plain import visible

if TYPE_CHECKING:
    from finishlog.desk.services import Services
    from finishlog.records.demo import DemoStart

_DESCRIPTION = "A recipe and color log for decorative concrete. No command opens the screens."
_EPILOG = (
    "FINISHLOG_LOG names the log where --log does not. Exit status: 0 done, 2 the input is wrong, "
    "3 the log cannot be used, 1 a fault of ours."
)

_HOME = {
    "demo": "demo", "find": "find", "show": "find", "match": "match", "sheet": "sheet",
    "record": "record", "undo": "record", "job": "edit", "yards": "compute", "dose": "compute",
    "film": "compute", "balance": "balance", "import": "exchange", "export": "exchange", "new": "log",
    "backup": "log", "check": "log",
}  # fmt: skip
"""Which module of this package has which command, in the order of --help."""


class Opens(Protocol):
    """What opens the screens."""

    def open(self, services: Services, demo: DemoStart | None = None) -> int: ...


class Parser(argparse.ArgumentParser):
    """argparse that fails as the rest of the program does: one line, exit status 2."""

    def __init__(self, **options: Any) -> None:
        super().__init__(**{"allow_abbrev": False, **options})

    def error(self, message: str) -> NoReturn:
        raise InputError(message[:1].upper() + message[1:] + f". See {self.prog} --help.")


def parse(argv: Sequence[str]) -> argparse.Namespace:
    """The command with its options. Raises InputError; exits only for --help and --version."""
    parser = Parser(prog="finishlog", description=_DESCRIPTION, epilog=_EPILOG)
    parser.add_argument("--log", metavar="PATH", help="the log to use")
    parser.add_argument("--units", choices=("us", "metric"), default="us", help="how quantities are shown")
    parser.add_argument("--version", action="version", version=_version())
    commands = parser.add_subparsers(dest="command", metavar="COMMAND", parser_class=Parser)
    for module in _modules(argv):
        import_module(f"finishlog.cli.{module}").register(commands)
    args = parser.parse_args(argv)
    if args.log == "":
        raise InputError("The path is empty.", where="--log", example="--log shop.finishlog")
    return args


def _modules(argv: Sequence[str]) -> Sequence[str]:
    """The one module that the command needs, so that a quick answer stays quick; all for --help and errors."""
    words = iter(argv)
    for word in words:
        if word in ("--log", "--units"):
            next(words, None)
        elif not word.startswith("-"):
            return (_HOME[word],) if word in _HOME else tuple(dict.fromkeys(_HOME.values()))
    return tuple(dict.fromkeys(_HOME.values()))


def run(args: argparse.Namespace, services: Services, screens: Opens) -> int:
    """Run what was parsed."""
    if args.command is None:
        services.look_at_log()
        return screens.open(services)
    args.screens = screens
    status: int = args.run(args, services)
    return status


def complain(failure: FinishlogError) -> None:
    """The failure in one line on standard error."""
    print(f"finishlog: {visible(failure.line())}", file=sys.stderr)


def _version() -> str:
    from finishlog import __version__

    return f"finishlog {__version__}"
