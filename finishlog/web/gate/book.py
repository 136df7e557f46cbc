"""Who may come in over the network to one log: people, one-day links, sessions. A private file of this machine.

Pass phrases stand in it as argon2 hashes; links, sessions and calendars as SHA-256 of what the phone holds: who reads
the file cannot come in with it.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field, replace
from fcntl import LOCK_EX, flock
from pathlib import Path
from threading import Lock
from typing import Literal

from pydantic import TypeAdapter, ValidationError

from finishlog import private
from finishlog.errors import LogError

Role = Literal["owner", "crew", "office"]


@dataclass(frozen=True, slots=True)
class Person:
    """`phrase` is an argon2 hash; blank: comes in by a link only."""

    name: str
    role: Role
    phrase: str = ""


@dataclass(frozen=True, slots=True)
class Link:
    """Lets one phone in, once, until it `ends` (seconds since 1970). `token` is a hash."""

    token: str
    name: str
    role: Role
    ends: float
    used: bool = False


@dataclass(frozen=True, slots=True)
class Session:
    """A phone that came in. `token` is a hash; `link` the hash of the link it came by."""

    token: str
    name: str
    role: Role
    ends: float
    link: str = ""


@dataclass(frozen=True, slots=True)
class Subscription:
    """A calendar that follows, by an address of its own. `token` is the hash of its secret part."""

    token: str
    name: str


@dataclass(frozen=True, slots=True)
class Book:
    """All that is known of who may come in. `secret` signs the forms."""

    people: tuple[Person, ...] = ()
    links: tuple[Link, ...] = ()
    sessions: tuple[Session, ...] = ()
    subscriptions: tuple[Subscription, ...] = ()
    secret: str = field(default="", repr=False)

    def person(self, name: str) -> Person | None:
        """By name, capitals or not."""
        return next((one for one in self.people if one.name.casefold() == name.strip().casefold()), None)

    def link(self, token: str) -> Link | None:
        """By its hash."""
        return next((one for one in self.links if one.token == token), None)

    def session(self, token: str) -> Session | None:
        """By its hash."""
        return next((one for one in self.sessions if one.token == token), None)

    def without(self, name: str) -> Book:
        """The book without a person, and without the phones that came in as them."""
        of = name.strip().casefold()
        return replace(
            self,
            people=tuple(one for one in self.people if one.name.casefold() != of),
            links=tuple(one for one in self.links if one.name.casefold() != of),
            sessions=tuple(one for one in self.sessions if one.name.casefold() != of),
            subscriptions=tuple(one for one in self.subscriptions if one.name.casefold() != of),
        )

    def signed_out(self, name: str) -> Book:
        """The book without the sessions, links and calendar of a person, who may come in anew."""
        kept, person = self.without(name), self.person(name)
        return kept if person is None else replace(kept, people=(*kept.people, person))

    def at(self, now: float) -> Book:
        """The book without what has ended."""
        return replace(
            self,
            links=tuple(one for one in self.links if one.ends > now),
            sessions=tuple(one for one in self.sessions if one.ends > now),
        )


_BOOK = TypeAdapter(Book)


class BookFile:
    """The book on disk. Several programs may change it; each change is seen by all at their next look. Thread-safe."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self._seen: tuple[tuple[int, int, int], Book] | None = None
        self._lock = Lock()

    def read(self) -> Book:
        """The book as it is now; an empty one where there is none. Raises LogError."""
        try:
            found = os.stat(self.path)
        except FileNotFoundError:
            return Book()
        except OSError as error:
            raise self._unreadable(error.strerror or str(error)) from None
        stamp = (found.st_mtime_ns, found.st_ino, found.st_size)
        with self._lock:
            if self._seen is None or self._seen[0] != stamp:
                self._seen = stamp, self._load()
            return self._seen[1]

    def _load(self) -> Book:
        try:
            return _BOOK.validate_json(self.path.read_bytes())
        except OSError as error:
            raise self._unreadable(error.strerror or str(error)) from None
        except ValidationError:
            raise self._unreadable("it is not a book of ours") from None

    def _unreadable(self, why: str) -> LogError:
        return LogError(
            f"Who may come in cannot be read: {self.path}.", f"{why}.", "Nobody is let in until it can."
        )

    def change(self, change: Callable[[Book], Book]) -> Book:
        """Write what `change` makes of the book, whole or not at all. Raises LogError."""
        with self._alone():
            made = change(self.read())
            part = self.path.with_suffix(".part")
            try:
                with suppress(FileNotFoundError):
                    part.unlink()
                private.write(part, _BOOK.dump_json(made, indent=1))
                os.replace(part, self.path)
            except OSError as error:
                raise LogError(
                    f"Who may come in cannot be saved: {self.path}.", f"{error.strerror or error}.", ""
                ) from None
        return made

    @contextmanager
    def _alone(self) -> Iterator[None]:
        try:
            self.path.parent.mkdir(parents=True, exist_ok=True, mode=private.FOLDER)
            handle = os.open(self.path.with_suffix(".lock"), os.O_RDWR | os.O_CREAT, private.FILE)
        except OSError as error:
            raise LogError(
                f"Cannot write in {self.path.parent}.", f"{error.strerror or error}.", ""
            ) from None
        with os.fdopen(handle, "w") as lock:
            flock(lock, LOCK_EX)
            yield
