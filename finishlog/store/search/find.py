"""Job search: one box for words and facets, typos forgiven; and the list without words.

Textual SQL on the projections only, so that the first rows load without the mapped tables.
Words match strictly first (all), then all with typos forgiven, then any.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields
from datetime import date
from typing import Any

from sqlalchemy.engine import Connection

from finishlog.records.log import JobLine
from finishlog.store.schema.fold import fold, key
from finishlog.store.schema.rows import read
from finishlog.store.search import dialects
from finishlog.store.search.dialects import NO_LIMIT, listed
from finishlog.store.search.full_text import Found
from finishlog.store.search.question import Expression, Question, Term, either, every, parse
from finishlog.store.search.spelling import Spelling, beginning, closest

__all__ = ["Question", "count", "lines", "lines_of", "nearest", "nearest_handles", "one_line", "part"]

LINE_FIELDS = tuple(each.name for each in fields(JobLine) if each.name not in ("score", "de00"))
"""The columns of a line, in the record's order."""
AT_ONCE = 500
_COLUMNS = ", ".join(f"l.{name}" for name in LINE_FIELDS)
_DAYS = (LINE_FIELDS.index("poured_on"), LINE_FIELDS.index("planned_on"))
_EVERY = Found("job_line AS l")
OF_JOB = f"SELECT {_COLUMNS}, 0.0 FROM job_line l JOIN job ON job.id = l.job_id WHERE job.handle = :handle"


@dataclass(frozen=True, slots=True)
class _Statement:
    """A query: what is found, in no order and ranked (None: by day), and what else is asked of its lines."""

    found: Found
    where: str
    values: Mapping[str, Any]
    best: Found | None = None
    number: int | None = None
    """How many there are, where that was asked for first."""
    lines: tuple[JobLine, ...] | None = None
    """The page that was asked for, where it came with the number."""


@dataclass(frozen=True, slots=True)
class _Page:
    """What is wanted of the jobs in their order."""

    limit: int | None
    offset: int

    @property
    def values(self) -> Mapping[str, int]:
        return {"most": NO_LIMIT if self.limit is None else self.limit, "over": self.offset}


def lines(connection: Connection, asked: Question, limit: int | None, offset: int) -> tuple[JobLine, ...]:
    """Matching jobs: best match first, or newest first without words."""
    statement = _statement(connection, asked)
    return () if statement is None else _lines(connection, statement, _Page(limit, offset))


def part(
    connection: Connection, asked: Question, limit: int | None, offset: int
) -> tuple[tuple[JobLine, ...], int]:
    """Some of the matching jobs, and how many there are; the words are looked up once for both."""
    whole = limit is None and not offset
    page = _Page(limit, offset)
    statement = _statement(connection, asked, counted=not whole, page=None if whole else page)
    if statement is None:
        return (), 0
    found = statement.lines
    if found is None:
        found = _lines(connection, statement, page)
    return found, len(found) if whole else _count(connection, statement)


def _lines(connection: Connection, statement: _Statement, page: _Page) -> tuple[JobLine, ...]:
    found = statement.best or statement.found
    score, order = ("-found.rank", "found.rank, ") if statement.best else ("0.0", "")
    query = (
        f"SELECT {_COLUMNS}, {score} FROM {_source(found)}{statement.where} "
        f"ORDER BY {order}l.sort_on DESC, l.job_id DESC LIMIT :most OFFSET :over"
    )
    given = {**found.values, **statement.values, **page.values}
    return tuple(_line(row) for row in read(connection, query, given))


def _counted(
    connection: Connection, best: Found, where: str, values: Mapping[str, Any], page: _Page
) -> tuple[tuple[JobLine, ...], int]:
    """A page, best first, and how many there are, by looking once; 0 also where the page is past the last."""
    order = "{0}rank, {1}sort_on DESC, {1}job_id DESC"
    query = (
        f"WITH page AS (SELECT l.job_id, l.sort_on, found.rank, count(*) OVER () AS number "
        f"FROM {_source(best)}{where} ORDER BY {order.format('found.', 'l.')} LIMIT :most OFFSET :over) "
        f"SELECT page.number, {_COLUMNS}, -page.rank FROM page JOIN job_line AS l ON l.job_id = page.job_id "
        f"ORDER BY {order.format('page.', 'page.')}"
    )
    rows = read(connection, query, {**best.values, **values, **page.values})
    return tuple(_line(row[1:]) for row in rows), rows[0][0] if rows else 0


def _source(found: Found) -> str:
    return (
        found.source if found is _EVERY else f"{found.source} JOIN job_line AS l ON l.job_id = found.job_id"
    )


def one_line(connection: Connection, handle: str) -> JobLine | None:
    """The line of one job."""
    return next((_line(row) for row in read(connection, OF_JOB, {"handle": handle})), None)


def lines_of(connection: Connection, jobs: list[int]) -> dict[int, JobLine]:
    """The lines of these jobs, by the job's id."""
    found = {}
    for start in range(0, len(jobs), AT_ONCE):
        marks, given = listed("job", jobs[start : start + AT_ONCE])
        query = f"SELECT {_COLUMNS}, 0.0, l.job_id FROM job_line l WHERE l.job_id IN ({marks})"
        for *row, job in read(connection, query, given):
            found[job] = _line(row)
    return found


def _line(row: Any) -> JobLine:
    values = list(row)
    for column in _DAYS:
        if values[column] is not None:
            values[column] = date.fromisoformat(values[column])
    return JobLine(*values)


def count(connection: Connection, asked: Question) -> int:
    """Number of matching jobs."""
    statement = _statement(connection, asked, counted=True)
    return 0 if statement is None else _count(connection, statement)


def _count(connection: Connection, statement: _Statement) -> int:
    if statement.number is not None:
        return statement.number
    return _number(connection, statement.found, statement.where, statement.values)


def _number(connection: Connection, found: Found, where: str, values: Mapping[str, Any]) -> int:
    query = f"SELECT count(*) FROM {_source(found)}{where}"
    return int(read(connection, query, {**found.values, **values})[0][0])


def _is_any(connection: Connection, found: Found, where: str, values: Mapping[str, Any]) -> bool:
    probe = f"SELECT 1 FROM {_source(found)}{where} LIMIT 1"
    return bool(read(connection, probe, {**found.values, **values}))


def _statement(
    connection: Connection, asked: Question, *, counted: bool = False, page: _Page | None = None
) -> _Statement | None:
    """The strictest query with results, with how many if `counted`; None if there is none.

    With the page too, where that costs less than to look twice.
    """
    terms, facets = parse(asked)
    conditions = list(_conditions(connection, asked, facets))
    where = "".join(f" {'AND' if place else 'WHERE'} {text}" for place, (text, _) in enumerate(conditions))
    values = {name: value for _, given in conditions for name, value in given.items()}
    if terms is None:
        return _Statement(_EVERY, where, values)
    full_text = dialects.texts(connection)
    for match in _matches(connection, terms) if terms else ():
        found, by_day = full_text.found(match, ranked=False), all(term.of_time for term in terms)
        if page is not None and full_text.counts_along and not by_day:
            best = full_text.found(match, ranked=True)
            some, many = _counted(connection, best, where, values, page)
            if some:
                return _Statement(found, where, values, best, many, some)
        number = _number(connection, found, where, values) if counted else None
        if number or (number is None and _is_any(connection, full_text.there(match), where, values)):
            ranked = None if by_day else full_text.found(match, ranked=True)  # for a season, newest first
            return _Statement(found, where, values, ranked, number)
    return None


def _conditions(
    connection: Connection, asked: Question, facets: list[tuple[str, str]]
) -> Iterator[tuple[str, Mapping[str, Any]]]:
    if not asked.archived:
        yield "l.state <> 'archived'", {}
    if asked.since is not None:
        yield "l.sort_on >= :since", {"since": asked.since.isoformat()}
    if asked.until is not None:
        yield "l.sort_on <= :until", {"until": asked.until.isoformat()}
    for place, (facet, wanted) in enumerate(facets):
        marks, given = listed(f"key{place}_", _facet_keys(connection, facet, key(wanted)))
        within = f"facet = :facet{place} AND value_key IN ({marks})" if given else "1 = 0"
        named = {f"facet{place}": facet} if given else {}
        yield f"l.job_id IN (SELECT job_id FROM job_facet WHERE {within})", {**named, **given}


def _facet_keys(connection: Connection, facet: str, wanted: str) -> list[str]:
    """Facet values that contain the typed text, else similar ones."""
    query = "SELECT DISTINCT value_key FROM job_facet WHERE facet = :facet ORDER BY value_key"
    known = [row[0] for row in read(connection, query, {"facet": facet})]
    holding = [value for value in known if wanted in value]
    if holding or not wanted or facet == "year":
        return holding
    return closest(wanted, known, 5, floor=75)


def _matches(connection: Connection, terms: list[Term]) -> Iterator[Expression]:
    """What to look for, from strict to lax."""
    spelling = Spelling(connection)
    plain = [_plain(connection, term) for term in terms]
    mended = [one or _loose(spelling, term) for one, term in zip(plain, terms, strict=True)]
    if (strict := _all(mended)) is not None:
        yield strict
    before: list[Expression | None] = []
    for far in (False, True):  # a word that begins alike and leads nowhere hides no other
        loose = [either(one, _loose(spelling, term, far=far)) for one, term in zip(plain, terms, strict=True)]
        if loose != before and (lax := _all(loose)) is not None:
            yield lax
        before = loose
    some = either(*loose)
    if some is not None and len(terms) > 1:
        yield some


def _all(parts: list[Expression | None]) -> Expression | None:
    """All of these; None if one cannot be found."""
    there = [part for part in parts if part is not None]
    return every(there) if len(there) == len(parts) else None


def _plain(connection: Connection, term: Term) -> Expression | None:
    """The term as typed, in any joining; None if no job has such a word."""
    return either(*(there for form in term.forms if (there := _there(connection, form)) is not None))


def _there(connection: Connection, form: Term) -> Term | None:
    """A form whose last word the log has; a beginning of one word alone is that word, which is found sooner."""
    *first, last = form.words
    some = beginning(connection, last)
    if form.whole or len(some) != 1:
        return form if some else None
    return Term((*first, some[0]), whole=True)


def _loose(spelling: Spelling, term: Term, *, far: bool = False) -> Expression | None:
    """Similar words in the log; None if there are none."""
    if term.whole:
        return None
    if len(term.words) > 1:  # a double name: its words separately, in any order
        return _all([_either(spelling, word, far=far) for word in term.words])
    return either(*_alike(spelling, term.words[0], far=far))


def _either(spelling: Spelling, word: str, *, far: bool) -> Expression | None:
    """A word of a double name, as typed or as a similar word in the log."""
    begun = Term((word,)) if spelling.has(word) else None
    return either(begun, *_alike(spelling, word, far=far))


def _alike(spelling: Spelling, word: str, *, far: bool) -> list[Term]:
    return [Term((one,), whole=True) for one in spelling.alike(word, far=far)]


def nearest(connection: Connection, words: str) -> tuple[str, ...]:
    """Up to three similar customers or handles."""
    query = "SELECT name FROM customer WHERE merged_into_id IS NULL UNION SELECT handle FROM job ORDER BY 1"
    by_key = {key(row[0]): row[0] for row in read(connection, query, {})}
    return tuple(by_key[found] for found in closest(key(words[:200]), list(by_key), 3))


def nearest_handles(connection: Connection, job: str) -> tuple[str, ...]:
    """Up to three similar handles."""
    rows = read(connection, "SELECT handle FROM job ORDER BY handle", {})
    return tuple(closest(fold(job[:200]), [row[0] for row in rows], 3))
