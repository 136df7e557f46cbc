"""The full text on PostgreSQL: where each word stands, in a table that triggers fill; ranked as FTS5 does.

The rank is Okapi BM25 (Robertson, Zaragoza, Found. Trends Inf. Retr. 3(4):333-389, 2009) with the constants, the
least weight of a word and the order of the sum of SQLite's `bm25` (ext/fts5/fts5_aux.c; sqlite.org/fts5.html §5.1.1):
so both engines answer in the same order, to the last bit of a tie. A word counts in a job only where the part of the
expression in which it stands is true of that job.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import count

from sqlalchemy.engine import Connection

from finishlog.store.schema.rows import read
from finishlog.store.search.full_text import LAST, WEIGHTS, Found, FullText
from finishlog.store.search.question import Expression, Group, Term

LONGEST = 500
"""Characters of a word that are looked at: an index takes no more bytes than these can have."""
PLACE = 1 << 24
"""How far the words of one column stand from those of the next; `spot` counts on."""

_WEIGHT = " ".join(f"WHEN {place} THEN {weight}" for place, weight in enumerate(WEIGHTS))
_FREQUENCY = f"CAST(sum(CASE w0.spot / {PLACE} {_WEIGHT} END) AS DOUBLE PRECISION)"
_RANKED = """(
    WITH hit AS MATERIALIZED ({hits}),
    log AS MATERIALIZED (
        SELECT CAST(count(*) AS DOUBLE PRECISION) AS jobs, CAST(sum(words) AS DOUBLE PRECISION) / count(*) AS usual
        FROM job_text
    ),
    rarity AS MATERIALIZED (
        SELECT leaf, ln((log.jobs - count(*) + 0.5) / (count(*) + 0.5)) AS said
        FROM hit CROSS JOIN log GROUP BY leaf, log.jobs
    )
    SELECT hit.job_id, -sum({score} ORDER BY hit.leaf) AS rank
    FROM hit JOIN rarity ON rarity.leaf = hit.leaf JOIN job_text AS t ON t.job_id = hit.job_id CROSS JOIN log
    {where} GROUP BY hit.job_id
) AS found"""
_SCORE = """(CASE WHEN rarity.said <= 0 THEN 1e-6::float8 ELSE rarity.said END) * ((hit.freq * 2.2::float8)
    / (hit.freq + 1.2::float8 * (0.25::float8 + 0.75::float8 * t.words / log.usual)))"""
_WORDS = r"SELECT term FROM job_word WHERE term >= :low AND term < :high AND term !~ '[0-9]' ORDER BY term"


@dataclass(frozen=True)
class _Node:
    """A part of an expression, with the numbers of its leaves."""

    asked: Expression
    first: int
    last: int
    parts: tuple[_Node, ...] = ()


class Postings(FullText):
    """PostgreSQL's."""

    job_id = "job_id"

    def found(self, asked: Expression, *, ranked: bool) -> Found:
        root, values = _numbered(asked, count()), _Values()
        if not ranked:
            return Found(f"(SELECT DISTINCT job_id FROM ({_jobs(root, values)}) AS each_one) AS found", values.given)
        hits = " UNION ALL ".join(_hits(leaf, values) for leaf in _leaves(root))
        limits = [_limit(node, root) for node in _demanding(root)]
        where = f"WHERE {' AND '.join(limits)}" if limits else ""
        return Found(_RANKED.format(hits=hits, score=_SCORE, where=where), values.given)

    def words(self, connection: Connection, low: str, high: str) -> list[str]:
        return [row[0] for row in read(connection, _WORDS, {"low": low, "high": high})]


class _Values:
    """Values by name, as they come."""

    def __init__(self) -> None:
        self.given: dict[str, str] = {}

    def name(self, value: str) -> str:
        """The placeholder of a value."""
        name = f"m{len(self.given)}"
        self.given[name] = value
        return f":{name}"


def _numbered(asked: Expression, numbers: Iterator[int]) -> _Node:
    if isinstance(asked, Term):
        number = next(numbers)
        return _Node(asked, number, number)
    parts = tuple(_numbered(part, numbers) for part in asked.parts)
    return _Node(asked, parts[0].first, parts[-1].last, parts)


def _leaves(node: _Node) -> Iterator[_Node]:
    if not node.parts:
        yield node
    for part in node.parts:
        yield from _leaves(part)


def _spots(term: Term, values: _Values) -> str:
    """FROM and WHERE of where adjacent words stand: w0 is the first."""
    last = len(term.words) - 1
    tables, conditions = ["job_word_spot AS w0"], []
    for place, word in enumerate(term.words):
        cut = word[:LONGEST]
        if place == last and not term.whole:
            low, high = values.name(cut), values.name(cut + LAST)
            conditions.append(f"w{place}.term >= {low} AND w{place}.term < {high}")
        else:
            conditions.append(f"w{place}.term = {values.name(cut)}")
        if place:
            tables.append(f"job_word_spot AS w{place}")
            conditions.append(f"w{place}.job_id = w0.job_id AND w{place}.spot = w0.spot + {place}")
    return f"FROM {', '.join(tables)} WHERE {' AND '.join(conditions)}"


def _term(node: _Node) -> Term:
    assert isinstance(node.asked, Term)
    return node.asked


def _hits(leaf: _Node, values: _Values) -> str:
    """In which jobs a leaf's words stand, and how often, weighed by the column."""
    spots = _spots(_term(leaf), values)
    return f"SELECT {leaf.first} AS leaf, w0.job_id, {_FREQUENCY} AS freq {spots} GROUP BY w0.job_id"


def _jobs(node: _Node, values: _Values) -> str:
    """The jobs that a part finds, read from the words; some more than once."""
    if not node.parts:
        return f"SELECT w0.job_id {_spots(_term(node), values)}"
    each = [_jobs(part, values) for part in node.parts]
    return _joined(node, each)


def _hit_jobs(node: _Node) -> str:
    """The same, read from what was already looked up."""
    if all(not part.parts for part in node.parts) and not _is_every(node):
        return f"SELECT job_id FROM hit WHERE leaf BETWEEN {node.first} AND {node.last}"
    return _joined(node, [_hit_jobs(part) for part in node.parts])


def _joined(node: _Node, each: list[str]) -> str:
    if not _is_every(node):
        return " UNION ALL ".join(f"({one})" for one in each)
    first, *rest = each
    if not rest:
        return first
    return f"SELECT job_id FROM ({first}) AS found_one WHERE {' AND '.join(f'job_id IN ({one})' for one in rest)}"


def _is_every(node: _Node) -> bool:
    return isinstance(node.asked, Group) and node.asked.every


def _demanding(node: _Node, above: bool = False) -> Iterator[_Node]:
    """The parts of which all has to be true; within one of those, what has to be true is seen to already."""
    every = _is_every(node)
    if every and not above:
        yield node
    for part in node.parts:
        yield from _demanding(part, every)


def _limit(node: _Node, root: _Node) -> str:
    """A word counts only where all is true of what it stands in."""
    there = f"hit.job_id IN ({_hit_jobs(node)})"
    if (node.first, node.last) == (root.first, root.last):
        return there
    return f"(hit.leaf NOT BETWEEN {node.first} AND {node.last} OR {there})"
