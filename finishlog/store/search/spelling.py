"""The log's words, and matches for misspelled ones."""

from __future__ import annotations

from functools import cached_property

from sqlalchemy.engine import Connection

from finishlog.store.schema.rows import read
from finishlog.store.search import dialects
from finishlog.store.search.full_text import LAST

_AFTER_DIGITS = ":"
_MOST = 8
_MOST_LETTERS = 500
"""On a server a word is known by so many (`postings`)."""


def beginning(connection: Connection, letters: str) -> list[str]:
    """Searchable words that start with these letters: none, the only one, or the first two of many."""
    query = "SELECT term FROM job_word WHERE term >= :low AND term < :high ORDER BY term LIMIT 2"
    return [
        row[0]
        for row in read(
            connection, query, {"low": letters[:_MOST_LETTERS], "high": letters[:_MOST_LETTERS] + LAST}
        )
    ]


class Spelling:
    """The log's words, read on demand and cached for one query."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection
        self._by_letter: dict[str, list[str]] = {}
        self._far: dict[str, list[str]] = {}

    @cached_property
    def _known(self) -> list[str]:
        return self._words(_AFTER_DIGITS, LAST)

    def _begun_like(self, word: str) -> list[str]:
        """Words with the first letter of this one, or with its second: all but a few of what was meant."""
        found = []
        for letter in dict.fromkeys(word[:2]):
            if letter not in self._by_letter:
                self._by_letter[letter] = self._words(letter, letter + LAST)
            found += self._by_letter[letter]
        return found

    def _words(self, low: str, high: str) -> list[str]:
        return dialects.texts(self._connection).words(self._connection, low, high)

    def has(self, letters: str) -> bool:
        """True if any indexed word starts so."""
        return bool(beginning(self._connection, letters))

    def alike(self, word: str, *, far: bool = False) -> list[str]:
        """Up to eight similar words in the log, nearest first; unless `far`, of those that begin alike if one is near.

        One typo in four letters, two in six, three in ten (Damerau-Levenshtein, a swap of adjacent
        letters counts one). Numbers are never guessed.
        """
        slips = _slips(word)
        if not slips:
            return []
        if not far and (near := _whole(word, self._begun_like(word), slips, sure=True)):
            return near  # one slip away: the whole vocabulary takes a while in a large log, and is not read
        if word not in self._far:
            self._far[word] = _whole(word, self._known, slips) or self._begun(word, slips)
        return self._far[word]

    def _begun(self, word: str, slips: int) -> list[str]:
        """Longer words of which this is a misspelled beginning."""
        from rapidfuzz import process
        from rapidfuzz.distance import OSA

        longer = [term for term in self._known if len(term) >= len(word) - slips]
        begun = [term[: len(word)] for term in longer]
        hits = process.extract(word, begun, scorer=OSA.distance, score_cutoff=slips, limit=_MOST)
        return [longer[place] for _, _, place in hits]


def _whole(word: str, known: list[str], slips: int, *, sure: bool = False) -> list[str]:
    """Whole words that are alike, nearest first; if `sure`, none where the nearest is not a single slip away."""
    from rapidfuzz import process
    from rapidfuzz.distance import OSA

    some = [term for term in known if abs(len(term) - len(word)) <= slips]
    found = process.extract(word, some, scorer=OSA.distance, score_cutoff=slips, limit=_MOST)
    if sure and found and found[0][1] > 1:
        return []
    return [term for term, _, _ in found]


def _slips(word: str) -> int:
    if len(word) < 4 or not word.isalpha():
        return 0
    return 1 if len(word) < 6 else 2 if len(word) < 10 else 3


def closest(wanted: str, known: list[str], most: int, *, floor: float = 60) -> list[str]:
    """The texts most like the wanted one, nearest first; `floor` is rapidfuzz's 0 to 100."""
    from rapidfuzz import fuzz, process

    return [
        text
        for text, _, _ in process.extract(wanted, known, scorer=fuzz.WRatio, limit=most, score_cutoff=floor)
    ]
