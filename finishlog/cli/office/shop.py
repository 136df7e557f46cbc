"""`shop`: the name and address on sheets and letters."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from finishlog.cli.output import say, say_json, table
from finishlog.errors import InputError

if TYPE_CHECKING:
    from finishlog.desk.services import Services

_MORE = """\
  finishlog shop
  finishlog shop --name "Teakettle Slabs" --street "12 Teakettle Lane, Puddlecombe"
  finishlog shop --phone 555-0142 --email shop@example.com
"""
_OPTIONS = (
    ("name", "NAME", "the shop's name"), ("street", "ADDRESS", "its address, in one line"),
    ("phone", "NUMBER", "its phone number"), ("email", "ADDRESS", "its e-mail, the sender of drafts"),
)  # fmt: skip


def register(commands: Any) -> None:
    """Add `shop` to the commands."""
    shop = commands.add_parser(
        "shop",
        help="the shop's name and address on sheets and letters",
        description='Show or set the letterhead of sheets and letters. Blank ("") means unknown.',
        epilog=_MORE,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    for option, metavar, text in _OPTIONS:
        shop.add_argument(f"--{option}", metavar=metavar, help=text)
    shop.add_argument("--json", action="store_true", help="answer as one JSON object")
    shop.set_defaults(run=run_shop)


def run_shop(args: argparse.Namespace, services: Services) -> int:
    """`shop`: show the letterhead, or set it."""
    from finishlog.desk.jobs import sender

    told = {f"shop_{option}": text for option, *_ in _OPTIONS if (text := getattr(args, option)) is not None}
    if told:
        try:
            sender.keep(services, told)
        except InputError as wrong:
            raise wrong.at(wrong.where.replace("shop_", "--")) from None
    found = sender.look(services)
    if args.json:
        say_json(found)
    else:
        say(
            table(
                [(key.removeprefix("shop_").capitalize(), text or "unknown") for key, text in found.items()]
            )
        )
    return 0
