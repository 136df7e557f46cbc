"""Parses the search box: words, phrases, seasons, facets. None of it is search syntax: every word
is quoted, and words hold only letters and digits."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import TypedDict

from finishlog.store.reading.seasons import joined, names_time
from finishlog.store.schema.fold import tokens

FACETS = ("base", "release", "pattern", "sealer", "plant", "year")
MOST_CHARACTERS = 2_000
MOST_TERMS = 24
_FACET = re.compile(rf'(?<!\S)({"|".join(FACETS)}):(?:"([^"]*)"?|(\S+))', re.IGNORECASE)
_LETTERS_NUMBER = re.compile(r"([^\W\d_]{1,3})(\d+)")
_PIECE = re.compile(r'"([^"]+)"|([^\s"]+)')


class Asked(TypedDict, total=False):
    """Filters beside the words."""

    base: str | None
    release: str | None
    pattern: str | None
    since: date | None
    until: date | None
    archived: bool


@dataclass(frozen=True, slots=True)
class Question:
    """`words` as typed; the rest are filters (`Asked`)."""

    words: str = ""
    base: str | None = None
    release: str | None = None
    pattern: str | None = None
    since: date | None = None
    until: date | None = None
    archived: bool = False  # with the archived jobs


@dataclass(frozen=True, slots=True)
class Term:
    """Adjacent words. `whole`: the last one is not a prefix."""

    words: tuple[str, ...]
    whole: bool = False

    @property
    def forms(self) -> tuple[Term, ...]:
        """Spelling variants: K-131 and K131, back-yard and backyard."""
        found = [self]
        if len(self.words) > 1:
            found.append(Term(("".join(self.words),), self.whole))
        elif parts := _LETTERS_NUMBER.fullmatch(self.words[0]):
            found.append(Term(parts.groups(), self.whole or _counts(parts[2])))
        return tuple(found)

    @property
    def of_time(self) -> bool:
        """Whether it is only a season, month or year."""
        return len(self.words) == 1 and names_time(self.words[0])


@dataclass(frozen=True, slots=True)
class Group:
    """Parts of which all (`every`) or any have to be found."""

    every: bool
    parts: tuple[Term | Group, ...]


Expression = Term | Group
"""What is looked for; each engine says it in its own words (`full_text`)."""


def every(parts: Sequence[Expression]) -> Expression:
    """All of these."""
    return parts[0] if len(parts) == 1 else Group(True, tuple(parts))


def either(*parts: Expression | None) -> Expression | None:
    """Any of those that there are; None if there are none."""
    some = tuple(part for part in parts if part is not None)
    return (some[0] if len(some) == 1 else Group(False, some)) if some else None


def parse(asked: Question) -> tuple[list[Term] | None, list[tuple[str, str]]]:
    """Terms and facets. Terms are None if nothing was typed; [] if nothing is searchable."""
    text = asked.words[:MOST_CHARACTERS]
    facets = [(name.lower(), quoted or bare) for name, quoted, bare in _FACET.findall(text)]
    facets += [(name, value) for name in ("base", "release", "pattern") if (value := getattr(asked, name))]
    rest = _FACET.sub(" ", text)
    return (_terms(rest) if rest.strip() else None), facets


def _terms(text: str) -> list[Term]:
    pieces = [(tokens(quoted or bare), bool(quoted)) for quoted, bare in _PIECE.findall(text)]
    found: list[Term] = []
    before: str | None = None
    for words, quoted in pieces:
        if not words:
            continue
        alone = words[0] if len(words) == 1 and not quoted else None
        pair = joined(before, alone) if before and alone else None
        if pair is not None:
            found[-1] = Term((pair,), whole=True)
            alone = None
        else:
            found.append(Term(tuple(words), whole=quoted or _counts(words[-1])))
        before = alone
    return found[:MOST_TERMS]


def _counts(word: str) -> bool:
    """A short number matches whole: house 12 is not house 1240."""
    return word.isdecimal() and len(word) < 4
