"""Reading without prices, for those who may not see them. A log file gives them all to whoever opens it otherwise."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TypeVar

from sqlalchemy.engine import Connection

from finishlog.roles import PRICED_FACTS

T = TypeVar("T")
_HIDDEN = "without_prices"


def without_prices(connection: Connection) -> Connection:
    """The connection, marked: what is read through it has no prices."""
    return connection.execution_options(**{_HIDDEN: True})


def hidden(connection: Connection) -> bool:
    """Whether prices are left out of what this connection reads."""
    return bool(connection.get_execution_options().get(_HIDDEN))


def unpriced(facts: Mapping[str, T]) -> dict[str, T]:
    """An entry's facts without those that are prices."""
    return {name: value for name, value in facts.items() if name not in PRICED_FACTS}
