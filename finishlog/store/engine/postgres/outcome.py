"""Whether a write was written, where the server went away in the middle of its commit.

Each write leaves a token in the log, in its own transaction: it is there exactly if the rest is. The number of the
transaction would not do: a server that crashed gives out again those of which nothing had reached its disk.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any
from uuid import uuid4

from sqlalchemy.engine import Connection
from sqlalchemy.exc import DBAPIError

from finishlog.store.engine.postgres import server
from finishlog.store.engine.postgres.address import Address

_LEAVE = "WITH left_here AS (INSERT INTO write_token (token) VALUES (%s)) SELECT pg_notify(%s, %s)"
_SWEEP = "DELETE FROM write_token WHERE left_at < now() - interval '1 day'"
_FIND = "SELECT 1 FROM write_token WHERE token = %s"
_EVERY = 500
"""Writes of a connection between two sweeps."""


def leave(connection: Connection, name: str) -> str:
    """The token of this write, left in it; those who listen are told at its commit, by this name."""
    raw, token = server.driver(connection), uuid4().hex
    raw.execute(_LEAVE, (token, server.CHANNEL, name))
    writes = connection.info.get("tokens", 0)
    connection.info["tokens"] = writes + 1
    if writes % _EVERY == 0:
        raw.execute(_SWEEP)
    return token


@contextmanager
def committing(where: Address, token: str) -> Iterator[None]:
    """Raises ServerAway, unsure, if the server goes away meanwhile."""
    try:
        yield
    except (DBAPIError, server.library().Error) as error:
        if token and server.is_away(error):
            cause: Any = error.orig if isinstance(error, DBAPIError) else error
            raise server.away(where, cause, token) from error
        raise


def is_there(connection: Connection, token: str) -> bool:
    """Whether a write left its token. Only whoever has the turn to write may ask: none is still committing then."""
    return server.driver(connection).execute(_FIND, (token,)).fetchone() is not None
