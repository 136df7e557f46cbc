"""Which log this is: an identity that it keeps wherever it is moved or copied."""

from __future__ import annotations

from sqlalchemy import select
from sqlalchemy.engine import Connection

from finishlog.errors import LogError
from finishlog.store.schema.tables_seal import LogStateRow


def identity(connection: Connection) -> str:
    """The identity of an open log; copies of a log share it. Raises LogError if it is gone."""
    found = connection.scalar(select(LogStateRow.uid))
    if not found:
        raise LogError(
            "The log does not say which log it is.",
            "Its own row is missing.",
            "Restore a copy: finishlog restore lists them.",
        )
    return str(found)
