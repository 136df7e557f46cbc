"""The full text on SQLite: FTS5 looks the words up and ranks."""

from __future__ import annotations

from collections.abc import Collection

from sqlalchemy.engine import Connection

from finishlog.store.schema.rows import read
from finishlog.store.search.full_text import WEIGHTS, Found, FullText, might_be_a_phone
from finishlog.store.search.question import Expression, Term

_FOUND = (
    f"(SELECT rowid AS job_id, bm25(job_text, {', '.join(f'{weight}.0' for weight in WEIGHTS)}) AS rank "
    "FROM job_text WHERE job_text MATCH :m0) AS found"
)
_NOT_REST = "{who place look season} : "
_WORDS = "SELECT term FROM job_word WHERE term >= :low AND term < :high AND term NOT GLOB '*[0-9]*'"


class Fts5(FullText):
    """SQLite's."""

    job_id = "rowid"
    counts_along = False

    def __init__(self, *, phones: bool = True) -> None:
        self.phones = phones

    def found(self, asked: Expression, *, ranked: bool) -> Found:
        """What is not read of a row is not computed: the rank is always there."""
        return Found(_FOUND, {"m0": self._said(asked)})

    def there(self, asked: Expression) -> Found:
        return self.found(asked, ranked=False)

    def words(self, connection: Connection, low: str, high: str) -> list[str]:
        return [row[0] for row in read(connection, _WORDS, {"low": low, "high": high})]

    def damaged(self, connection: Connection, first: int, last: int) -> list[int]:
        """None: the file's own check looks into FTS5's tables."""
        return []

    def forget(self, connection: Connection, jobs: Collection[int]) -> None:
        """Nothing: FTS5 forgets a text with its words."""

    def _said(self, asked: Expression) -> str:
        """As an FTS5 expression, every word quoted."""
        if isinstance(asked, Term):
            within = "" if self.phones or not might_be_a_phone(asked) else _NOT_REST
            return f'{within}"{" ".join(asked.words)}"' + ("" if asked.whole else " *")
        return f"({(' AND ' if asked.every else ' OR ').join(map(self._said, asked.parts))})"
