"""A calendar that follows: the secret address a phone subscribes by, since a calendar app has no cookie."""

from __future__ import annotations

import secrets
from dataclasses import replace
from typing import TYPE_CHECKING

from finishlog import roles
from finishlog.errors import InputError
from finishlog.web.gate.book import Subscription
from finishlog.web.gate.people import hashed

if TYPE_CHECKING:
    from finishlog.web.gate.book import Book, BookFile, Person

ACT = "customers"
"""What one has to be allowed: the calendar names customers and their phones."""


def address(token: str) -> str:
    """The path a phone subscribes to."""
    return f"/calendar/{token}/reseals.ics"


def make(file: BookFile, name: str) -> str:
    """A new secret for a person's calendar; the one before is void. Raises InputError."""
    token = secrets.token_urlsafe(32)

    def change(book: Book) -> Book:
        person = book.person(name)
        if person is None:
            raise InputError(f"Nobody comes in as “{name}”.", where="NAME", example="Ada")
        if not roles.may(person.role, ACT):
            raise InputError(
                f"Only {roles.who_may(ACT)} may {roles.ACTS[ACT]}; {person.name} is {person.role}.",
                where="NAME",
            )
        others = tuple(one for one in book.subscriptions if one.name != person.name)
        return replace(book, subscriptions=(*others, Subscription(hashed(token), person.name)))

    file.change(change)
    return token


def holder(file: BookFile, token: str) -> Person | None:
    """Whose calendar it is; None for a wrong or void secret, or someone who may not see it any more."""
    book, of = file.read(), hashed(token)
    found = next((one for one in book.subscriptions if one.token == of), None)
    person = book.person(found.name) if found else None
    return person if person is not None and roles.may(person.role, ACT) else None
