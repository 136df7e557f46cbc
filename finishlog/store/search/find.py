"""Job search: one box for words and facets, typos forgiven; and the list without words.

Textual SQL on the projections only, so that the first rows load without the mapped tables.
Words match strictly first (all), then all with typos forgiven, then any.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, fields
from datetime import date
from typing import Any

from sqlalchemy.engine import Connection

from finishlog.records.log import JobLine
from finishlog.store.schema.fold import fold, key
from finishlog.store.search.question import Question, Term, parse
from finishlog.store.search.spelling import Spelling, closest, has_beginning

__all__ = ["Question", "count", "lines", "lines_of", "nearest", "nearest_handles", "one_line", "part"]

LINE_FIELDS = tuple(each.name for each in fields(JobLine) if each.name not in ("score", "de00"))
"""The columns of a line, in the record's order."""
AT_ONCE = 500
_COLUMNS = ", ".join(f"l.{name}" for name in LINE_FIELDS)
_DAYS = (LINE_FIELDS.index("poured_on"), LINE_FIELDS.index("planned_on"))
_WEIGHTS = "12.0, 8.0, 6.0, 4.0, 1.0"  # who, place, look, season, rest
_RANK = f"bm25(job_text, {_WEIGHTS}) AS rank"
_FOUND = f"(SELECT rowid, {_RANK} FROM job_text WHERE job_text MATCH ?) AS found"


@dataclass(frozen=True, slots=True)
class _Statement:
    """A query: FROM, WHERE and the values of their placeholders, in order."""

    source: str
    where: str
    values: tuple[Any, ...]
    ranked: bool


def lines(connection: Connection, asked: Question, limit: int | None, offset: int) -> tuple[JobLine, ...]:
    """Matching jobs: best match first, or newest first without words."""
    statement = _statement(connection, asked)
    return () if statement is None else _lines(connection, statement, limit, offset)


def part(
    connection: Connection, asked: Question, limit: int | None, offset: int
) -> tuple[tuple[JobLine, ...], int]:
    """Some of the matching jobs, and how many there are; the words are looked up once for both."""
    statement = _statement(connection, asked)
    if statement is None:
        return (), 0
    found = _lines(connection, statement, limit, offset)
    whole = limit is None and not offset
    return found, len(found) if whole else _count(connection, statement)


def _lines(
    connection: Connection, statement: _Statement, limit: int | None, offset: int
) -> tuple[JobLine, ...]:
    score = "-found.rank" if statement.ranked else "0.0"
    order = "found.rank, " if statement.ranked else ""
    rows = connection.exec_driver_sql(
        f"SELECT {_COLUMNS}, {score} FROM {statement.source}{statement.where} "
        f"ORDER BY {order}l.sort_on DESC, l.job_id DESC LIMIT ? OFFSET ?",
        (*statement.values, -1 if limit is None else limit, offset),
    )
    return tuple(_line(row) for row in rows)


def one_line(connection: Connection, handle: str) -> JobLine | None:
    """The line of one job."""
    rows = connection.exec_driver_sql(
        f"SELECT {_COLUMNS}, 0.0 FROM job_line l JOIN job ON job.id = l.job_id WHERE job.handle = ?",
        (handle,),
    )
    return next((_line(row) for row in rows), None)


def lines_of(connection: Connection, jobs: list[int]) -> dict[int, JobLine]:
    """The lines of these jobs, by the job's id."""
    found = {}
    for start in range(0, len(jobs), AT_ONCE):
        portion = tuple(jobs[start : start + AT_ONCE])
        listed = ", ".join("?" * len(portion))
        query = f"SELECT {_COLUMNS}, 0.0, l.job_id FROM job_line l WHERE l.job_id IN ({listed})"
        for *row, job in connection.exec_driver_sql(query, portion):
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
    statement = _statement(connection, asked)
    return 0 if statement is None else _count(connection, statement)


def _count(connection: Connection, statement: _Statement) -> int:
    query = f"SELECT count(*) FROM {statement.source}{statement.where}"
    return int(connection.exec_driver_sql(query, statement.values).scalar_one())


def _statement(connection: Connection, asked: Question) -> _Statement | None:
    """The strictest query with results; None if there is none."""
    terms, facets = parse(asked)
    conditions = list(_conditions(connection, asked, facets))
    where = "".join(f" {'AND' if place else 'WHERE'} {text}" for place, (text, _) in enumerate(conditions))
    values = tuple(value for _, given in conditions for value in given)
    if terms is None:
        return _Statement("job_line AS l", where, values, ranked=False)
    if not terms:
        return None
    source = f"{_FOUND} JOIN job_line AS l ON l.job_id = found.rowid"
    for match in _matches(connection, terms):
        probe = f"SELECT 1 FROM {source}{where} LIMIT 1"
        if connection.exec_driver_sql(probe, (match, *values)).first() is not None:
            ranked = not all(term.of_time for term in terms)  # for a season, newest first
            return _Statement(source, where, (match, *values), ranked)
    return None


def _conditions(
    connection: Connection, asked: Question, facets: list[tuple[str, str]]
) -> Iterator[tuple[str, tuple[Any, ...]]]:
    if not asked.archived:
        yield "l.state <> ?", ("archived",)
    if asked.since is not None:
        yield "l.sort_on >= ?", (asked.since.isoformat(),)
    if asked.until is not None:
        yield "l.sort_on <= ?", (asked.until.isoformat(),)
    for facet, wanted in facets:
        keys = _facet_keys(connection, facet, key(wanted))
        listed = ", ".join("?" * len(keys))
        yield (
            f"l.job_id IN (SELECT job_id FROM job_facet WHERE facet = ? AND value_key IN ({listed}))",
            (facet, *keys),
        )


def _facet_keys(connection: Connection, facet: str, wanted: str) -> list[str]:
    """Facet values that contain the typed text, else similar ones."""
    rows = connection.exec_driver_sql("SELECT DISTINCT value_key FROM job_facet WHERE facet = ?", (facet,))
    known = [row[0] for row in rows]
    holding = [value for value in known if wanted in value]
    if holding or not wanted or facet == "year":
        return holding
    return closest(wanted, known, 5, floor=75)


def _matches(connection: Connection, terms: list[Term]) -> Iterator[str]:
    """Search expressions from strict to lax, every word quoted."""
    spelling = Spelling(connection)
    plain = [_plain(connection, term) for term in terms]
    mended = [one or _loose(spelling, term) for one, term in zip(plain, terms, strict=True)]
    if all(mended):
        yield " AND ".join(mended)
    before: list[str] = []
    for far in (False, True):  # a word that begins alike and leads nowhere hides no other
        loose = [_or(one, _loose(spelling, term, far=far)) for one, term in zip(plain, terms, strict=True)]
        if all(loose) and loose != before:
            yield " AND ".join(loose)
        before = loose
    some = [one for one in loose if one]
    if some and len(terms) > 1:
        yield " OR ".join(some)


def _plain(connection: Connection, term: Term) -> str:
    """The term as typed, in any joining; "" if no job has such a word."""
    forms = [one for one in term.forms if one.whole or has_beginning(connection, one.words[-1])]
    return _or(*(one.match() for one in forms))


def _loose(spelling: Spelling, term: Term, *, far: bool = False) -> str:
    """Similar words in the log; "" if there are none."""
    if term.whole:
        return ""
    if len(term.words) > 1:  # a double name: its words separately, in any order
        each = [_either(spelling, word, far=far) for word in term.words]
        return f"({' AND '.join(each)})" if all(each) else ""
    return _or(*(f'"{word}"' for word in spelling.alike(term.words[0], far=far)))


def _either(spelling: Spelling, word: str, *, far: bool) -> str:
    """A word of a double name, as typed or as a similar word in the log."""
    begun = (Term((word,)).match(),) if spelling.has(word) else ()
    return _or(*begun, *(f'"{one}"' for one in spelling.alike(word, far=far)))


def _or(*parts: str) -> str:
    both = [part for part in parts if part]
    return f"({' OR '.join(both)})" if both else ""


def nearest(connection: Connection, words: str) -> tuple[str, ...]:
    """Up to three similar customers or handles."""
    rows = connection.exec_driver_sql(
        "SELECT name FROM customer WHERE merged_into_id IS NULL UNION SELECT handle FROM job"
    )
    by_key = {key(row[0]): row[0] for row in rows}
    return tuple(by_key[found] for found in closest(key(words[:200]), list(by_key), 3))


def nearest_handles(connection: Connection, job: str) -> tuple[str, ...]:
    """Up to three similar handles."""
    rows = connection.exec_driver_sql("SELECT handle FROM job")
    return tuple(closest(fold(job[:200]), [row[0] for row in rows], 3))
