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
    SELECT hit.job_id, -{score} AS rank FROM {looked} AS hit JOIN rarity ON rarity.leaf = hit.leaf
    JOIN job_text AS t ON t.job_id = hit.job_id CROSS JOIN log {where}
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

    def there(self, asked: Expression) -> Found:
        values = _Values()
        return Found(f"({_jobs(_numbered(asked, count()), values)}) AS found", values.given)

    def found(self, asked: Expression, *, ranked: bool) -> Found:
        root, values = _numbered(asked, count()), _Values()
        if not ranked:
            each = _jobs(root, values)
            return Found(f"(SELECT DISTINCT job_id FROM ({each}) AS each_one) AS found", values.given)
        hits = " UNION ALL ".join(_hits(leaf, values) for leaf in _leaves(root))
        looked, where = _limited(root)
        score = _SCORE
        if root.parts:
            score, where = f"sum({score} ORDER BY hit.leaf)", f"{where} GROUP BY hit.job_id"
        return Found(_RANKED.format(hits=hits, score=score, looked=looked, where=where), values.given)

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
    """The jobs that a part finds, some more than once. Not by joining: see `_limited`."""
    if not node.parts:
        return f"SELECT w0.job_id {_spots(_term(node), values)}"
    word = " INTERSECT " if _is_every(node) else " UNION ALL "
    return word.join(f"({_jobs(part, values)})" for part in node.parts)


def _is_every(node: _Node) -> bool:
    return isinstance(node.asked, Group) and node.asked.every


def _demanding(node: _Node, above: bool = False) -> Iterator[_Node]:
    """The parts of which all has to be true; within one of those, what has to be true is seen to already."""
    every = _is_every(node)
    if every and not above:
        yield node
    for part in node.parts:
        yield from _demanding(part, every)


def _limited(root: _Node) -> tuple[str, str]:
    """What was looked up, with whether each part of which all has to be true is so of the job; the words that count.

    Said by looking over a job's rows once, never by joining: how many there are of a word no plan can know.
    """
    parts = list(_demanding(root))
    if not parts:
        return "hit", ""
    told = ", ".join(f"{_true(part)} AS all{place}" for place, part in enumerate(parts))
    looked = f"(SELECT leaf, job_id, freq, {told} FROM hit WINDOW of_job AS (PARTITION BY job_id))"
    where = " AND ".join(
        f"hit.all{place}"
        if part is root
        else f"(hit.leaf NOT BETWEEN {part.first} AND {part.last} OR hit.all{place})"
        for place, part in enumerate(parts)
    )
    return looked, f"WHERE {where}"


def _true(node: _Node) -> str:
    """Whether a part is true of a job, by all its rows."""
    if all(not part.parts for part in node.parts) and not _is_every(node):
        return f"bool_or(leaf BETWEEN {node.first} AND {node.last}) OVER of_job"
    return f"({(' AND ' if _is_every(node) else ' OR ').join(map(_true, node.parts))})"
