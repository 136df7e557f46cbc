"""The search texts of jobs, as each engine keeps and asks them: SQLite by FTS5, PostgreSQL by words in tables of ours.

Both hold `job_text`, a row for each job, and its words in `job_word`; both answer in the same order.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from typing import Any, Protocol

from sqlalchemy.engine import Connection

from finishlog.store.search.question import Expression, Term

WEIGHTS = (12, 8, 6, 4, 1)
"""How much a word counts in who, place, look, season, rest."""
REST = 4
"""The column `rest`: phone numbers stand in no other."""
LAST = "\U0010ffff"
"""No word goes on with it: all that begin alike are less."""


@dataclass(frozen=True)
class Found:
    """A relation `found` of the jobs that an expression finds, each once: job_id, and rank where asked for.

    The smaller the rank, the better the match.
    """

    source: str
    values: Mapping[str, Any] = field(default_factory=dict)


def might_be_a_phone(asked: Term) -> bool:
    """Whether a phone number may hold these words."""
    return any(mark.isdigit() for word in asked.words for mark in word)


class FullText(Protocol):
    """What the search asks of an engine's full text. Without `phones` no word with a digit is found in `rest`."""

    phones: bool

    job_id: str
    """The column of `job_text` that is the job."""
    counts_along: bool
    """Whether to rank all costs little more than to count them: then they are looked up once for both."""

    def found(self, asked: Expression, *, ranked: bool) -> Found:
        """The jobs that an expression finds; its values are named `m` and a number."""

    def there(self, asked: Expression) -> Found:
        """The same without a rank, some perhaps more than once: for whether there is any."""

    def words(self, connection: Connection, low: str, high: str) -> list[str]:
        """All words from `low` to before `high` that hold no digit, in their order."""

    def damaged(self, connection: Connection, first: int, last: int) -> list[int]:
        """The jobs, of these ids, whose words are not those of their texts; none where the engine sees to that."""

    def forget(self, connection: Connection, jobs: Collection[int]) -> None:
        """Take away the texts of damaged jobs with all their words, so that they are written anew."""
