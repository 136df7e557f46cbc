"""`serve`: the hand-sized page for phones. `people`: who may come in."""

from __future__ import annotations

import argparse
import getpass
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

from finishlog.cli.output import note, say
from finishlog.errors import InputError, LogError
from finishlog.plain import visible

if TYPE_CHECKING:
    from finishlog.desk.services import Services
    from finishlog.web.gate.people import People
    from finishlog.web.gate.place import Place

PLAIN = (
    "No TLS: whoever is on this network can read all that phones send and see, take over a phone that came in, and "
    "change what is logged. Browsers keep no page without it: with no signal none opens, and what is logged on one "
    "that is open is sent while it stays open, or when it is opened again."
)


def register(commands: Any) -> None:
    """Add `serve` and `people` to the commands."""
    serve = commands.add_parser(
        "serve",
        help="let phones in",
        description="Serve the log to phones, on this machine's own address unless told otherwise. Ctrl+C ends it.",
        epilog="Example: finishlog serve --link Bo",
    )
    serve.add_argument(
        "--host", default="127.0.0.1", help="the address to serve at; default: this machine only"
    )
    serve.add_argument("--port", type=int, default=8021)
    serve.add_argument("--cert", metavar="FILE", type=Path, help="your certificate, for another address")
    serve.add_argument("--key", metavar="FILE", type=Path, help="its key")
    serve.add_argument(
        "--insecure-lan", action="store_true", help="no TLS: all on that network can read along"
    )
    serve.add_argument("--name", default="", help="what phones call this machine by; default: the address")
    serve.add_argument(
        "--crew-sees-phones",
        action="store_true",
        help="the crew sees every customer's phone, not today's alone",
    )
    serve.add_argument("--link", metavar="NAME", help="print a one-day link for this person's phone")
    serve.set_defaults(run=run_serve)

    people = commands.add_parser(
        "people",
        help="who may come in by phone",
        description="Without ACTION: lists who may come in.",
        epilog="Examples: finishlog people add Bo --as crew\n  finishlog people link Bo\n"
        "  finishlog people calendar Ada --at https://shop.example.com:8021",
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    people.add_argument("action", nargs="?", choices=("add", "remove", "link", "calendar", "out"))
    people.add_argument("name", nargs="?")
    people.add_argument("--as", dest="role", default="crew", help="owner, crew or office")
    people.add_argument(
        "--phrase", action="store_true", help="ask for a pass phrase; else they come by link only"
    )
    people.add_argument(
        "--at",
        metavar="ADDRESS",
        default="http://127.0.0.1:8021",
        help="where phones reach the server, for calendar; default: this machine",
    )
    people.set_defaults(run=run_people)


def run_serve(args: argparse.Namespace, services: Services) -> int:
    """`serve`: until Ctrl+C."""
    running, place = _web(), _place(args)
    place.check()
    link = running.people(services).link(args.link) if args.link else ""

    def ready(place: Place) -> None:
        say(f"Serving at {place.origin}. Ctrl+C ends it.")
        if place.insecure_lan and not place.is_secure:
            say(PLAIN)
        if link:
            _show_link(place, link)
        sys.stdout.flush()

    running.serve(services, place, ready, crew_sees_phones=args.crew_sees_phones)
    return 0


def _place(args: argparse.Namespace) -> Place:
    """Where to serve, by the options and this machine's settings. Raises InputError."""
    from finishlog import paths, settings
    from finishlog.web.gate.place import Place

    machine, wrong = settings.read(paths.settings_file())
    if "cannot be read" in wrong or "serve" in wrong:
        raise InputError(wrong, "Whether there is a proxy is not known.")
    return Place(
        args.host, args.port, args.cert, args.key, args.insecure_lan, args.name,
        proxy=machine.serve.get("proxy", ""), outside=machine.serve.get("address", ""),
    )  # fmt: skip


def _show_link(place: Place, token: str) -> None:
    import segno

    address = f"{place.origin}/in/{token}"
    segno.make(address, micro=False).terminal(compact=True)
    say(address)
    say("It lets in one phone, once, for a day.")


def run_people(args: argparse.Namespace, services: Services) -> int:
    """`people`: list, add, remove, make a link, sign out."""
    people = _web().people(services)
    if args.action is None:
        for one in people.book.read().people:
            say(visible(f"{one.name}  {one.role}  {'pass phrase' if one.phrase else 'link only'}"))
        return 0
    if not args.name:
        raise InputError("Who?", where="NAME", example="finishlog people add Bo --as crew")
    if args.action == "add":
        phrase = _phrase() if args.phrase else ""
        one = people.add(args.name, args.role, phrase)
        say(visible(f"{one.name} may come in as {one.role}."))
    elif args.action == "remove":
        people.remove(args.name)
        say(visible(f"{args.name} does not come in any more."))
    elif args.action == "out":
        people.put_out(args.name)
        say(visible(f"{args.name}'s phones are signed out, and their calendar's address is void."))
    elif args.action == "calendar":
        _say_calendar(people, args.name, args.at)
    else:
        say(people.link(args.name))
    return 0


def _say_calendar(people: People, name: str, at: str) -> None:
    from finishlog.web.gate import subscriptions

    token = subscriptions.make(people.book, name)
    say(visible(at.rstrip("/")) + subscriptions.address(token))
    note(
        "finishlog: Subscribe to it on the phone. Who has the address can read it; the one before is void. "
        f"To end it: finishlog people out {visible(name)}"
    )


def _phrase() -> str:
    """Typed twice, or a line of standard input."""
    if not sys.stdin.isatty():
        return sys.stdin.readline().rstrip("\n")
    first = getpass.getpass("Pass phrase: ")
    if getpass.getpass("Again: ") != first:
        raise InputError("The two are not the same.", "Nothing was changed.")
    return first


def _web() -> Any:
    """The server. Raises LogError where its parts are not installed."""
    from importlib.util import find_spec

    if not all(
        find_spec(part) for part in ("argon2", "itsdangerous", "jinja2", "segno", "starlette", "uvicorn")
    ):
        raise LogError(
            "Serving phones needs more parts.",
            "They are not installed.",
            'Install them with: pip install "finishlog[serve]"',
        )
    from finishlog.web import running

    return running
