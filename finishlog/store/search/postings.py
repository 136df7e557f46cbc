"""The full text on PostgreSQL: a row for each word of a job, in a table that triggers fill; ranked as FTS5 does.

The rank is Okapi BM25 (Robertson, Zaragoza, Found. Trends Inf. Retr. 3(4):333-389, 2009) with the constants, the
least weight of a word and the order of the sum of SQLite's `bm25` (ext/fts5/fts5_aux.c; sqlite.org/fts5.html §5.1.1):
so both engines answer in the same order, to the last bit of a tie. A word counts in a job only where the part of the
expression in which it stands is true of that job.

What is looked up comes as rows (leaf, job_id, freq), each job once for a leaf but where a beginning is looked for,
and is put together by one GROUP BY: how many rows there are of a beginning no plan can know. Whole words of which
all have to be there are joined: even where a plan takes them for rare, each row of one costs a look at the next.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from itertools import count

from sqlalchemy import text
from sqlalchemy.engine import Connection

from finishlog.store.schema.rows import read, spans
from finishlog.store.search.full_text import LAST, REST, WEIGHTS, Found, FullText, might_be_a_phone
from finishlog.store.search.question import Expression, Group, Term

LONGEST = 500
"""Characters of a word that are looked at: an index takes no more bytes than these can have."""
PLACE = 1 << 24
"""How far the words of one column stand from those of the next; a word's `spot` counts on."""

_WEIGHT = " ".join(f"WHEN {place} THEN {weight}" for place, weight in enumerate(WEIGHTS))
_WEIGHTS = (
    f"(SELECT sum(CASE at / {PLACE} {_WEIGHT} END) FROM unnest(coalesce(w0.spots, ARRAY[w0.spot])) AS at"
)
_RANKED = """(
    WITH hit AS MATERIALIZED ({hits}),
    log AS MATERIALIZED (
        SELECT CAST(sum(jobs) AS float8) AS jobs, CAST(sum(words) AS float8) / CAST(sum(jobs) AS float8) AS usual
        FROM job_word_tally
    ),
    counted AS MATERIALIZED (SELECT {counts}),
    rarity AS MATERIALIZED (SELECT {rarities} FROM log CROSS JOIN counted)
    SELECT hit.job_id, -({score}) AS rank
    FROM hit JOIN job_text AS t ON t.job_id = hit.job_id CROSS JOIN log CROSS JOIN rarity {where}
) AS found"""
_LOGARITHM = "ln((log.jobs - n{0} + 0.5) / (n{0} + 0.5))"
_RARITY = f"CASE WHEN {_LOGARITHM} <= 0 THEN 1e-6::float8 ELSE {_LOGARITHM} END AS r{{0}}"
_SCORE = """rarity.r{0} * ((hit.f{0} * 2.2::float8)
    / (hit.f{0} + 1.2::float8 * (0.25::float8 + 0.75::float8 * t.words / log.usual)))"""
_SAID = "job_id, term, weight, spot, spots FROM said"
_HELD = "job_id, term, weight, spot, spots FROM job_word_at WHERE job_id BETWEEN :first AND :last"
_DAMAGED = f"""
    WITH said AS MATERIALIZED (
        SELECT t.job_id, s.term, s.weight, s.spot, s.spots
        FROM job_text AS t, job_text_spots(t.who, t.place, t.look, t.season, t.rest) AS s
        WHERE t.job_id BETWEEN :first AND :last
    )
    SELECT job_id FROM (SELECT {_SAID} EXCEPT SELECT {_HELD}) AS lacking
    UNION SELECT job_id FROM (SELECT {_HELD} EXCEPT SELECT {_SAID}) AS other
    UNION SELECT job_id FROM said WHERE NOT EXISTS (SELECT 1 FROM job_word AS w WHERE w.term = said.term)
    UNION SELECT min(t.job_id) FROM job_text AS t LEFT JOIN job_word_tally AS held ON held.part = t.job_id / 256
        WHERE t.job_id / 256 BETWEEN :first / 256 AND :last / 256 GROUP BY t.job_id / 256, held.jobs, held.words
        HAVING count(*) IS DISTINCT FROM held.jobs OR sum(t.words) IS DISTINCT FROM held.words
    ORDER BY 1"""
_FORGET = (
    "DELETE FROM job_text WHERE job_id BETWEEN :first AND :last",
    "DELETE FROM job_word_at WHERE job_id BETWEEN :first AND :last",
)
_FORGOTTEN = (
    "DELETE FROM job_word AS w WHERE NOT EXISTS (SELECT 1 FROM job_word_at AS a WHERE a.term = w.term)",
    "DELETE FROM job_word_tally",
    "INSERT INTO job_word_tally SELECT job_id / 256, count(*), sum(words) FROM job_text GROUP BY 1",
)
_WORDS = r"SELECT term FROM job_word WHERE term >= :low AND term < :high AND term !~ '[0-9]' ORDER BY term"


@dataclass(frozen=True)
class _Node:
    """A part of an expression; a leaf has a number."""

    asked: Expression
    number: int
    parts: tuple[_Node, ...] = ()

    @property
    def every(self) -> bool:
        return isinstance(self.asked, Group) and self.asked.every


class Postings(FullText):
    """PostgreSQL's."""

    job_id = "job_id"
    counts_along = True

    def __init__(self, *, phones: bool = True) -> None:
        self.phones = phones

    def there(self, asked: Expression) -> Found:
        values = _Values(self.phones)
        return Found(f"({_jobs(_numbered(asked, count()), values)}) AS found", values.given)

    def found(self, asked: Expression, *, ranked: bool) -> Found:
        root, values = _numbered(asked, count()), _Values(self.phones)
        if not ranked:
            each = _jobs(root, values)
            once = (
                each if root.every or _is_once(root) else f"SELECT DISTINCT job_id FROM ({each}) AS each_one"
            )
            return Found(f"({once}) AS found", values.given)
        leaves = list(_leaves(root))
        each_leaf = {
            "counts": _counts(root, leaves, values),
            "rarities": ", ".join(_RARITY.format(leaf.number) for leaf in leaves),
            "score": " + ".join(_scores(root, True)),
        }
        where = f"WHERE {_true(root)}" if root.parts else ""
        return Found(_RANKED.format(hits=_hits(root, leaves, values), where=where, **each_leaf), values.given)

    def words(self, connection: Connection, low: str, high: str) -> list[str]:
        return [row[0] for row in read(connection, _WORDS, {"low": low, "high": high})]

    def damaged(self, connection: Connection, first: int, last: int) -> list[int]:
        """Words, where they stand, the vocabulary, and the tally of 256 jobs each: then the first of them."""
        return [row[0] for row in read(connection, _DAMAGED, {"first": first, "last": last})]

    def forget(self, connection: Connection, jobs: Collection[int]) -> None:
        """Words that no text has any more go too; the triggers would not know of them."""
        for first, last in spans(sorted(jobs)):
            for statement in _FORGET:
                connection.execute(text(statement), {"first": first, "last": last})
        for statement in _FORGOTTEN:
            connection.execute(text(statement))


class _Values:
    """Values by name, as they come; and whether phone numbers may be found."""

    def __init__(self, phones: bool) -> None:
        self.given: dict[str, str] = {}
        self.phones = phones

    def name(self, value: str) -> str:
        """The placeholder of a value."""
        name = f"m{len(self.given)}"
        self.given[name] = value
        return f":{name}"


def _numbered(asked: Expression, numbers: Iterator[int]) -> _Node:
    if isinstance(asked, Term):
        return _Node(asked, next(numbers))
    return _Node(asked, -1, tuple(_numbered(part, numbers) for part in asked.parts))


def _leaves(node: _Node) -> Iterator[_Node]:
    if not node.parts:
        yield node
    for part in node.parts:
        yield from _leaves(part)


def _term(leaf: _Node) -> Term:
    assert isinstance(leaf.asked, Term)
    return leaf.asked


def _is_once(node: _Node) -> bool:
    """Whether what is looked up of a part has each job once: a beginning may be of several words."""
    return not node.parts and _term(node).whole


def _all_once(root: _Node) -> bool:
    """Whether all of some words have to be there, each of which has a job once."""
    return root.every and all(map(_is_once, root.parts))


def _looked_up(leaf: _Node, values: _Values) -> str:
    """The jobs with a leaf's words, side by side if they are more than one, and how often, weighed by the column."""
    words = _term(leaf).words
    last = len(words) - 1
    tables, conditions = ["job_word_at AS w0"], []
    for place, word in enumerate(words):
        cut = word[:LONGEST]
        if place == last and not _term(leaf).whole:
            low, high = values.name(cut), values.name(cut + LAST)
            conditions.append(f"w{place}.term >= {low} AND w{place}.term < {high}")
        else:
            conditions.append(f"w{place}.term = {values.name(cut)}")
        if place:
            tables.append(f"job_word_at AS w{place}")
            conditions.append(f"w{place}.job_id = w0.job_id")
    end = "" if values.phones or not might_be_a_phone(_term(leaf)) else f"at < {REST * PLACE}"
    if end:
        conditions += [f"w{place}.spot < {REST * PLACE}" for place in range(last + 1)]
    freq = _side_by_side(last, end) if last else _before(end) if end else "w0.weight"
    said = f"SELECT w0.job_id, {freq} AS freq FROM {', '.join(tables)} WHERE {' AND '.join(conditions)}"
    return f"SELECT job_id, freq FROM ({said} OFFSET 0) AS phrase WHERE freq > 0" if last else said


def _before(end: str) -> str:
    """The weight of a word where it stands before an end."""
    return f"CASE WHEN w0.spots IS NULL THEN w0.weight ELSE {_WEIGHTS} WHERE {end}) END"


def _side_by_side(last: int, end: str) -> str:
    """The weight of where words follow one another. Most words stand once in a job: then no list is looked into."""
    others = range(1, last + 1)
    alone = " AND ".join(f"w{place}.spots IS NULL" for place in (0, *others))
    follow = " AND ".join(f"w{place}.spot = w0.spot + {place}" for place in others)
    in_list = " AND ".join(
        f"at + {place} = ANY (coalesce(w{place}.spots, ARRAY[w{place}.spot]))" for place in others
    )
    if end:
        in_list += f" AND {end}"
    return (
        f"CASE WHEN {alone} THEN CASE WHEN {follow} THEN w0.weight END ELSE {_WEIGHTS} WHERE {in_list}) END"
    )


def _hits(root: _Node, leaves: list[_Node], values: _Values) -> str:
    """A row for each job with any of the words: f and the number of a leaf is how often that one is there."""
    if _is_once(root):
        return f"SELECT job_id, CAST(freq AS float8) AS f0 FROM ({_looked_up(root, values)}) AS leaf0"
    if not root.parts:
        each = _looked_up(root, values)
        return f"SELECT job_id, CAST(sum(freq) AS float8) AS f0 FROM ({each}) AS leaf0 GROUP BY job_id"
    if _all_once(root):
        return _met(leaves, values)
    sums = ", ".join(
        f"CAST(sum(freq) FILTER (WHERE leaf = {leaf.number}) AS float8) AS f{leaf.number}" for leaf in leaves
    )
    return f"SELECT job_id, {sums} FROM ({_all_rows(leaves, values)}) AS each_one GROUP BY job_id"


def _met(leaves: list[_Node], values: _Values) -> str:
    """The same where all words have to be there: each is read in the order of the jobs, and nothing is sorted."""
    first, *others = (f"({_looked_up(leaf, values)}) AS leaf{leaf.number}" for leaf in leaves)
    joined = "".join(
        f" JOIN {other} ON leaf{place}.job_id = leaf0.job_id" for place, other in enumerate(others, 1)
    )
    freqs = ", ".join(f"CAST(leaf{leaf.number}.freq AS float8) AS f{leaf.number}" for leaf in leaves)
    return f"SELECT leaf0.job_id, {freqs} FROM {first}{joined}"


def _counts(root: _Node, leaves: list[_Node], values: _Values) -> str:
    """How many jobs have each leaf, whether or not they have the others."""
    if _all_once(root):
        return ", ".join(
            f"(SELECT count(*) FROM ({_looked_up(leaf, values)}) AS leaf{leaf.number}) AS n{leaf.number}"
            for leaf in leaves
        )
    return ", ".join(f"count(f{leaf.number}) AS n{leaf.number}" for leaf in leaves) + " FROM hit"


def _all_rows(leaves: list[_Node], values: _Values) -> str:
    return " UNION ALL ".join(
        f"SELECT {leaf.number} AS leaf, job_id, freq FROM ({_looked_up(leaf, values)}) AS leaf{leaf.number}"
        for leaf in leaves
    )


def _jobs(root: _Node, values: _Values) -> str:
    """The jobs that an expression finds, some more than once unless all of it has to be true."""
    leaves = list(_leaves(root))
    if not any(part.every for part in _groups(root)):
        return " UNION ALL ".join(
            f"SELECT job_id FROM ({_looked_up(leaf, values)}) AS leaf{leaf.number}" for leaf in leaves
        )
    rows = _all_rows(leaves, values)
    return (
        f"SELECT job_id FROM ({rows}) AS each_one GROUP BY job_id HAVING {_true(root, 'bool_or(leaf = {0})')}"
    )


def _groups(node: _Node) -> Iterator[_Node]:
    if node.parts:
        yield node
    for part in node.parts:
        yield from _groups(part)


def _true(node: _Node, leaf: str = "hit.f{0} IS NOT NULL") -> str:
    """Whether a part is true of a job, by what is said of each leaf."""
    if not node.parts:
        return leaf.format(node.number)
    return f"({(' AND ' if node.every else ' OR ').join(_true(part, leaf) for part in node.parts)})"


def _scores(node: _Node, sure: bool, within: tuple[_Node, ...] = ()) -> Iterator[str]:
    """What each leaf adds to a job's score, in their order: what is not `sure` counts only where it is true.

    `within` are the parts around it of which all has to be true.
    """
    if node.parts:
        around = (*within, node) if node.every and not sure else within
        for part in node.parts:
            yield from _scores(part, sure and node.every, around)
    elif sure:
        yield _SCORE.format(node.number)
    else:
        conditions = " AND ".join(map(_true, (node, *within)))
        yield f"CASE WHEN {conditions} THEN {_SCORE.format(node.number)} ELSE 0::float8 END"
