"""What `yards`, `dose` and `film` share: their options read, their answers printed."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from typing import TYPE_CHECKING, Any, Protocol, TypeVar

from finishlog.cli.options import read_option
from finishlog.cli.output import say, say_json
from finishlog.errors import InputError

if TYPE_CHECKING:
    from finishlog.desk.history import Learned
    from finishlog.records.quantities.order import FlatShape
    from finishlog.records.shop import Shop

T = TypeVar("T")


class Services(Protocol):
    """What these commands may ask of the log; both answer without one."""

    def learned(self) -> Learned:
        """What past slabs teach."""

    def shop(self) -> Shop:
        """The shop's settings."""

    def may(self, act: str) -> bool:
        """Whether the one who works here may do that."""


def command(
    subparsers: argparse._SubParsersAction[Any], name: str, title: str, example: str
) -> argparse.ArgumentParser:
    """A command that answers as text or as JSON."""
    made: argparse.ArgumentParser = subparsers.add_parser(
        name, help=title, description=title, epilog=f"Example: finishlog {example}", allow_abbrev=False
    )
    made.add_argument("--json", action="store_true", help="answer as one JSON object")
    return made


def each(args: argparse.Namespace, option: str, reader: Callable[[str], T]) -> tuple[T, ...]:
    """Every value of an option that may be given again."""
    return tuple(read_option(option, text, reader) for text in getattr(args, option.replace("-", "_")))


def needed(value: T | None, option: str, what: str, example: str) -> T:
    """The value; InputError where it was not given."""
    if value is None:
        raise InputError(f"{what} is missing.", where=f"--{option}", example=example)
    return value


def shapes(args: argparse.Namespace) -> tuple[FlatShape, ...]:
    """The flat shapes, in the order in which they are asked."""
    from finishlog.trade.pour import takeoff

    found: list[FlatShape] = []
    for kind in ("rect", "circle", "polygon"):
        found += each(args, kind, lambda text, kind=kind: takeoff.read_shape(kind, text))  # type: ignore[misc]
        found += each(args, f"less-{kind}", lambda text, kind=kind: takeoff.read_shape(kind, text, -1))  # type: ignore[misc]
    return (*found, *each(args, "round", lambda text: takeoff.read_shape("round", text)))


def system_of(args: argparse.Namespace) -> str:
    """How quantities are said; what other programs read is the same whatever people read."""
    return "us" if args.json else getattr(args, "units", "us")


def tell(
    args: argparse.Namespace, answer: T, text: Callable[[T, str], str], as_json: Callable[[T], Any]
) -> int:
    """The answer on standard output, in the form that was asked for. Answers the exit status."""
    if args.json:
        say_json(as_json(answer))
    else:
        say(text(answer, system_of(args)))
    return 0
