"""`roles`: who may do what; on a server its roles are made, given and taken here."""

from __future__ import annotations

import argparse
import sys
from typing import TYPE_CHECKING, Any

from finishlog import roles as table_of
from finishlog.cli.output import bullets, note, say, say_json, table
from finishlog.errors import InputError

if TYPE_CHECKING:
    from finishlog.desk.services import Services
    from finishlog.store.engine.postgres.address import Address

_MORE = """\
  finishlog roles                    who may do what, and who you are
  finishlog roles make               make the log's roles on its server, or make them anew
  finishlog roles add bo --as crew   a login for Bo; its password is asked
  finishlog roles remove bo
  finishlog roles --show             the same as SQL, for whoever runs the server
"""


def register(commands: Any) -> None:
    """Add `roles` to the commands."""
    command = commands.add_parser(
        "roles",
        help="who may do what: owner, office, crew",
        description="Who may do what. On a log file a role only tidies the screens; it protects nothing.\n"
        "On a server make gives the log roles of the server, which enforce it. It needs the log's owner\n"
        "with CREATEROLE. Upgrades and restores keep them; in a new database they are to be made.",
        epilog=_MORE,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    command.add_argument("action", metavar="ACTION", nargs="?", choices=("make", "add", "remove", "drop"))
    command.add_argument("name", metavar="NAME", nargs="?", help="a login of the server")
    command.add_argument("--as", dest="role", choices=table_of.ROLES, help="which role it gets")
    command.add_argument("--show", action="store_true", help="print the SQL that make would run")
    command.add_argument("--json", action="store_true", help="one JSON object")
    command.set_defaults(run=run_roles)


def run_roles(args: argparse.Namespace, services: Services) -> int:
    """`roles`: list, show, make, give, take."""
    where = _server(services)
    if args.action is None and not args.show:
        return _list(args, services, where)
    if where is None:
        raise InputError(
            "A log file has no roles that protect it.", "Who sits here is set in Settings, for each machine."
        )
    from finishlog.store.rights import roles

    if args.show:
        say(";\n\n".join(" ".join(one.split()) for one in roles.show(where)) + ";")
    elif args.action == "make":
        roles.make(where)
        say("The log's roles are made: owner, office, crew. Give them: finishlog roles add NAME --as crew")
    elif args.action == "drop":
        roles.drop(where)
        say("The log has no roles any more.")
    elif args.action == "add":
        _add(args, where)
    else:
        gone = roles.remove(where, _name(args))
        say(f"{args.name} has no role any more{', and is no login' if gone else ''}.")
    return 0


def _server(services: Services) -> Address | None:
    from finishlog.store.engine.postgres.address import Address

    where = services.log().where if services.has_log() else None
    return where if isinstance(where, Address) else None


def _name(args: argparse.Namespace) -> str:
    if not args.name:
        raise InputError("Whose login?", where="NAME", example=f"finishlog roles {args.action} bo --as crew")
    return str(args.name)


def _add(args: argparse.Namespace, where: Address) -> None:
    from finishlog.store.rights import roles

    name = _name(args)
    if args.role is None:
        raise InputError("As what?", where="--as", example=f"finishlog roles add {name} --as crew")
    password = _asked(name)
    new = roles.add(where, name, args.role, password)
    say(f"{name} is {args.role} now.")
    if new and not password:
        note(f"finishlog: {name} has no password yet; set one with psql: \\password {name}")


def _asked(name: str) -> str | None:
    """A password from the keyboard, never from the command line; blank leaves it as it is."""
    if not sys.stdin.isatty():
        return None
    from getpass import getpass

    first = getpass(f"Password for {name} (blank: leave it): ")
    if first and getpass("Again: ") != first:
        raise InputError("The two passwords differ.", "Nothing was changed.")
    return first or None


def _list(args: argparse.Namespace, services: Services, where: Address | None) -> int:
    you, held = services.role, []
    if where is not None:
        from finishlog.store.rights import roles

        held = roles.listed(where)[1]
    may = {role: [act for act in table_of.ACTS if table_of.may(role, act)] for role in table_of.ROLES}
    if args.json:
        say_json({"you": you, "enforced": bool(held), "may": may,
                  "logins": [{"login": login, "role": role} for login, role in held]})  # fmt: skip
        return 0
    say(f"You work as {you}.\n")
    says = [(words[:1].upper() + words[1:], *("yes" if act in may[role] else "–" for role in table_of.ROLES))
            for act, words in table_of.ACTS.items()]  # fmt: skip
    say(table([("", *table_of.ROLES), *says], indent=2))
    say("")
    if held:
        say(table([(login, role) for login, role in held], indent=2))
    elif where is not None:
        say("The server does not enforce this yet: finishlog roles make.")
    else:
        say(bullets([table_of.TIDY], indent=0))
    return 0
