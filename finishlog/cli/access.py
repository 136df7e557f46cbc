"""Refuses a command that the one who sits here may not give, before it looks at anything."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

from finishlog import roles

if TYPE_CHECKING:
    from finishlog.desk.services import Services

Needs = str | Callable[[argparse.Namespace], str | None] | None


def _job(args: argparse.Namespace) -> str | None:
    acts = {"bury": "log", "archive": "archive", "unarchive": "archive", "customer": "customers"}
    acts |= {"owner": "customers", "merge": "customers"}
    return acts.get(args.action, "plan")


def _record(args: argparse.Namespace) -> str | None:
    if args.kinds:
        return None
    return "plan" if args.kind in roles.NOT_OF_CREW else "undo" if args.replaces else "log"


def _care(args: argparse.Namespace) -> str | None:
    if args.job is not None:
        return "log" if args.state else None
    written = (args.keep, args.csv, args.letters, args.mail, args.thanks)
    return "customers" if any(written) else None


def _shelf(args: argparse.Namespace) -> str | None:
    if args.price is not None or args.action == "cost":
        return "prices"
    if args.action in ("buy", "sheet"):
        return "buy"
    return None if args.action in (None, "moves", "label") else "shelf"


def _recipes(args: argparse.Namespace) -> str | None:
    return "plan" if args.join is not None or args.part else None


def _shop(args: argparse.Namespace) -> str | None:
    told = (args.name, args.street, args.phone, args.email)
    return "settings" if any(text is not None for text in told) else None


def _color(args: argparse.Namespace) -> str | None:
    return "plan" if args.keep else None


def _roles(args: argparse.Namespace) -> str | None:
    return "roles" if args.action or args.show else None


def _files(args: argparse.Namespace) -> str | None:
    return "whole" if args.move_to is not None else None


NEEDS: Mapping[str, Needs] = {
    "demo": None, "find": None, "show": None, "match": "plan", "sheet": None, "record": _record, "undo": "undo",
    "move": "undo", "today": None, "shelf": _shelf, "photo": "log", "read": None, "color": _color, "job": _job,
    "yards": None, "dose": None, "film": None, "rinse": None, "blend": None, "recipes": _recipes, "weather": None,
    "care": _care, "shop": _shop, "balance": None, "import": "whole", "export": "whole", "new": None,
    "backup": "whole", "copy-to": "whole", "files": _files, "restore": "restore", "check": "whole", "rescue": None,
    "serve": "roles", "people": "roles", "roles": _roles,
}  # fmt: skip
"""What each command needs; None where anybody may. A new log, a rescued one and a demo are nobody's yet."""


def require(args: argparse.Namespace, services: Services) -> None:
    """Raise InputError if the one who works here may not do it: one line that says who may."""
    needs = NEEDS[args.command]
    act = needs(args) if callable(needs) else needs
    if act is not None and not services.may(act):
        raise roles.refusal(services.role, act)
