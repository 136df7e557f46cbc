"""What a statement of this package says differently on each engine. All else is said once, for both."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Any

from sqlalchemy.engine import Connection

from finishlog.store.schema.prices import phones_hidden
from finishlog.store.search.full_text import FullText

NO_LIMIT = 2**62
"""As a LIMIT on either engine: there, "all" is a word; here, -1."""
_ROW_ID = {"sqlite": "{0}rowid", "postgresql": "{0}ctid"}
_AT = "(CAST(CAST(ctid AS TEXT) AS point))"
_NUMBER = {"sqlite": "rowid", "postgresql": f"CAST({_AT}[0] * 65536 + {_AT}[1] AS BIGINT)"}
_FACT = {
    "sqlite": "CASE WHEN json_valid({0}) THEN json_extract({0}, '$.\"{1}\"') END",
    "postgresql": "CASE WHEN {0} IS JSON OBJECT THEN CAST({0} AS json) ->> '{1}' END COLLATE \"C\"",
}
_FEW = {"sqlite": "IN ({0})", "postgresql": "= ANY (ARRAY({0}))"}


def listed(name: str, values: Collection[Any]) -> tuple[str, Mapping[str, Any]]:
    """The placeholders of a list, for IN, and the values by their names."""
    given = {f"{name}{place}": value for place, value in enumerate(values)}
    return ", ".join(f":{one}" for one in given), given


def row_id(connection: Connection, table: str = "") -> str:
    """What tells a row of a table from all others within a statement, and is read without the row."""
    return _ROW_ID[connection.dialect.name].format(f"{table}." if table else "")


def row_number(connection: Connection) -> str:
    """The same as a whole number, which lasts until the row is written again."""
    return _NUMBER[connection.dialect.name]


def fact(connection: Connection, column: str, name: str) -> str:
    """A text of a JSON object by its name; nothing of what is no object."""
    return _FACT[connection.dialect.name].format(column, name)


def few(connection: Connection, query: str) -> str:
    """Is among the ids that a query finds, which are few: PostgreSQL, left to guess, reads the table for them."""
    return _FEW[connection.dialect.name].format(query)


def texts(connection: Connection) -> FullText:
    """The full text of a connection's engine."""
    phones = not phones_hidden(connection)
    if connection.dialect.name == "sqlite":
        from finishlog.store.search.fts5 import Fts5

        return Fts5(phones=phones)
    from finishlog.store.search.postings import Postings

    return Postings(phones=phones)
