"""Reading without prices or phones, for who may not see them. A log file gives all to whoever opens it otherwise."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TypeVar

from sqlalchemy.engine import Connection

from finishlog.roles import PRICED_FACTS

T = TypeVar("T")
_HIDDEN = "without_prices"
_NO_PHONES = "without_phones"


def without_prices(connection: Connection) -> Connection:
    """The connection, marked: what is read through it has no prices."""
    return connection.execution_options(**{_HIDDEN: True})


def hidden(connection: Connection) -> bool:
    """Whether prices are left out of what this connection reads."""
    return bool(connection.get_execution_options().get(_HIDDEN))


def without_phones(connection: Connection) -> Connection:
    """The connection, marked: no search through it finds a job by a phone number."""
    return connection.execution_options(**{_NO_PHONES: True})


def phones_hidden(connection: Connection) -> bool:
    """Whether a search must not tell by what it finds what somebody's number is."""
    return bool(connection.get_execution_options().get(_NO_PHONES))


def unpriced(facts: Mapping[str, T]) -> dict[str, T]:
    """An entry's facts without those that are prices."""
    return {name: value for name, value in facts.items() if name not in PRICED_FACTS}
