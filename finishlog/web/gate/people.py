"""Coming in: by a name and a pass phrase, or by a one-day link; going out, and being put out."""

from __future__ import annotations

import hashlib
import secrets
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache
from typing import TYPE_CHECKING, Any

from finishlog.errors import InputError
from finishlog.web.gate.book import Book, BookFile, Link, Person, Role, Session

if TYPE_CHECKING:
    from finishlog.web.gate.tries import Tries

DAY_S = 24 * 3600.0
SESSION_S = 14 * DAY_S
"""How long a phone stays signed in; one that came by a link, a day."""
SHORTEST, LONGEST = 10, 200
"""Characters of a pass phrase."""
LONGEST_NAME = 60
ROLES: tuple[Role, ...] = ("owner", "crew", "office")


class Refused(InputError):
    """Nobody was let in."""


@dataclass(frozen=True, slots=True)
class Visitor:
    """Who asks, by a session that stands."""

    name: str
    role: Role
    session: str
    """The hash of the session's token."""


class People:
    """Who may come in. `now` is in seconds since 1970."""

    def __init__(self, book: BookFile, tries: Tries, now: Callable[[], float]) -> None:
        self.book = book
        self._tries = tries
        self._now = now

    # the owner's side

    def add(self, name: str, role: str, phrase: str = "") -> Person:
        """Let a person come in, or give one another role or phrase, which puts their phones out. Raises InputError."""
        person = Person(_name(name), _role(role), _hashed(phrase) if phrase else "")

        def change(book: Book) -> Book:
            kept = book.without(person.name)
            return replace(kept, people=(*kept.people, person))

        self.book.change(change)
        return person

    def remove(self, name: str) -> None:
        """Nobody comes in under this name any more. Raises InputError."""
        self._known(name)
        self.book.change(lambda book: book.without(name))

    def put_out(self, name: str) -> None:
        """All phones of a person are signed out, and their links void. Raises InputError."""
        self._known(name)
        self.book.change(lambda book: book.signed_out(name))

    def link(self, name: str, lasts_s: float = DAY_S) -> str:
        """A token that lets one phone in as this person, once, and for a day. Raises InputError."""
        person, token = self._known(name), secrets.token_urlsafe(32)
        link = Link(hashed(token), person.name, person.role, self._now() + lasts_s)
        self.book.change(
            lambda book: replace(book.at(self._now()), links=(*book.at(self._now()).links, link))
        )
        return token

    def called(self, name: str) -> str:
        """The name as the book has it; blank for nobody's: a pass phrase may have been typed in its place."""
        person = self.book.read().person(name[:LONGEST_NAME])
        return person.name if person else ""

    def _known(self, name: str) -> Person:
        person = self.book.read().person(name)
        if person is None:
            there = ", ".join(one.name for one in self.book.read().people)
            raise InputError(
                f"Nobody comes in as “{name}”.", f"There is {there}." if there else "", where="NAME"
            )
        return person

    # the phone's side

    def sign_in(self, name: str, phrase: str, source: str) -> str:
        """A new session's token. Raises Refused, at once while too many tries were wrong."""
        self._tries.begin(name, source)
        person = self.book.read().person(name[:LONGEST_NAME])
        right = _is_right(person.phrase if person and person.phrase else _nobody(), phrase[:LONGEST])
        if person is None or not person.phrase or not right:
            raise Refused("The name or the pass phrase is wrong.")
        self._tries.was_right(name, source)
        return self._begin(person.name, person.role, SESSION_S)

    def follow(self, token: str) -> str:
        """A session's token for a link's, which is void from then on. Raises Refused. Nobody can guess one."""
        of, now = hashed(token), self._now()

        def change(book: Book) -> Book:
            link = book.at(now).link(of)
            if link is None or link.used:
                raise Refused("This link is void.", "It was used, it ended, or it was taken back.")
            used = tuple(replace(one, used=True) if one.token == of else one for one in book.links)
            return replace(book, links=used)

        link = self.book.change(change).link(of)
        assert link is not None
        return self._begin(link.name, link.role, link.ends - now, of)

    def _begin(self, name: str, role: Role, lasts_s: float, link: str = "") -> str:
        token = secrets.token_urlsafe(32)
        session = Session(hashed(token), name, role, self._now() + lasts_s, link)
        self.book.change(
            lambda book: replace(book.at(self._now()), sessions=(*book.at(self._now()).sessions, session))
        )
        return token

    def visitor(self, token: str) -> Visitor | None:
        """Who holds this session's token; None where it has ended, or the person has another role by now."""
        book, of = self.book.read(), hashed(token)
        session = book.session(of)
        if session is None or session.ends <= self._now():
            return None
        person = book.person(session.name)
        if person is None or person.role != session.role:
            return None
        return Visitor(person.name, person.role, of)

    def sign_out(self, visitor: Visitor) -> None:
        """This phone's session ends."""

        def change(book: Book) -> Book:
            return replace(book, sessions=tuple(s for s in book.sessions if s.token != visitor.session))

        self.book.change(change)

    def secret(self) -> str:
        """What signs the forms; made at the first need."""
        found = self.book.read().secret
        if found:
            return found
        made = secrets.token_urlsafe(32)
        return self.book.change(lambda book: replace(book, secret=book.secret or made)).secret


def hashed(token: str) -> str:
    """What stands in the book for a token. A token is random, so that a plain hash is enough."""
    return hashlib.sha256(token.encode()).hexdigest()


def _name(text: str) -> str:
    name = " ".join(text.split())
    if not name or len(name) > LONGEST_NAME or not name.isprintable():
        raise InputError(f"A name has 1 to {LONGEST_NAME} characters.", where="NAME", example="Bo")
    return name


def _role(text: str) -> Role:
    for role in ROLES:
        if text == role:
            return role
    raise InputError(f"“{text}” is no role.", f"There are {', '.join(ROLES)}.", where="--as", example="crew")


def _hashed(phrase: str) -> str:
    if not SHORTEST <= len(phrase) <= LONGEST:
        raise InputError(f"A pass phrase has {SHORTEST} to {LONGEST} characters.", where="phrase",
                         example="four words that nobody says together")  # fmt: skip
    return str(_hasher().hash(phrase))


@cache
def _hasher() -> Any:
    from argon2 import PasswordHasher

    return PasswordHasher()  # RFC 9106's second choice: 64 MiB, 3 passes


@cache
def _nobody() -> str:
    """The hash of a phrase nobody has: a name that is not there takes as long as one that is."""
    return str(_hasher().hash(secrets.token_urlsafe(32)))


def _is_right(hash: str, phrase: str) -> bool:
    from argon2.exceptions import Argon2Error, InvalidHashError

    try:
        return bool(_hasher().verify(hash, phrase))
    except (Argon2Error, InvalidHashError):
        return False
