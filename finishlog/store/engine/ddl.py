"""DDL of the mapped tables, with triggers and the search index, for either engine."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from sqlalchemy import Double
from sqlalchemy.engine import Engine
from sqlalchemy.ext.compiler import compiles

from finishlog.store.schema import tables, tables_entry, tables_seal, tables_view
from finishlog.store.schema.base import Base
from finishlog.store.schema.tables_entry import APPEND_ONLY

MAPPED = (tables, tables_entry, tables_seal, tables_view)
"""Importing these fills `Base.metadata`."""
_TEXT = (
    f"CREATE VIRTUAL TABLE job_text USING fts5({', '.join(tables_view.TEXT_COLUMNS)}, "
    "tokenize = 'unicode61 remove_diacritics 0', prefix = '1 2 3')",
    "CREATE VIRTUAL TABLE job_word USING fts5vocab(job_text, row)",
)

_TEXT_ON_SERVER = (
    """
    CREATE TABLE job_text (
        job_id BIGINT NOT NULL, who TEXT COLLATE "C", place TEXT COLLATE "C", look TEXT COLLATE "C",
        season TEXT COLLATE "C", rest TEXT COLLATE "C",
        words BIGINT NOT NULL GENERATED ALWAYS AS (
            coalesce(cardinality(string_to_array(who, ' ')), 0)
            + coalesce(cardinality(string_to_array(place, ' ')), 0)
            + coalesce(cardinality(string_to_array(look, ' ')), 0)
            + coalesce(cardinality(string_to_array(season, ' ')), 0)
            + coalesce(cardinality(string_to_array(rest, ' ')), 0)
        ) STORED,
        CONSTRAINT pk_job_text PRIMARY KEY (job_id) INCLUDE (words)
    )
    """,
    """
    CREATE TABLE job_word_at (
        job_id BIGINT NOT NULL, weight INTEGER NOT NULL, spot INTEGER NOT NULL, term TEXT COLLATE "C" NOT NULL,
        spots INTEGER[],
        CONSTRAINT pk_job_word_at PRIMARY KEY (term, job_id) INCLUDE (weight, spot, spots)
    )
    """,
    'CREATE TABLE job_word (term TEXT COLLATE "C" NOT NULL, CONSTRAINT pk_job_word PRIMARY KEY (term))',
    """
    CREATE TABLE job_word_tally (
        part BIGINT NOT NULL, jobs BIGINT NOT NULL, words BIGINT NOT NULL,
        CONSTRAINT pk_job_word_tally PRIMARY KEY (part)
    )
    """,
    """
    CREATE FUNCTION job_text_spots(who TEXT, place TEXT, look TEXT, season TEXT, rest TEXT)
    RETURNS TABLE (term TEXT, weight INTEGER, spot INTEGER, spots INTEGER[]) LANGUAGE sql IMMUTABLE AS $$
        SELECT left(word, 500) COLLATE "C", CAST(sum(counts) AS INTEGER),
            CAST(min(number * 16777216 + nth - 1) AS INTEGER),
            CASE WHEN count(*) > 1 THEN
                array_agg(CAST(number * 16777216 + nth - 1 AS INTEGER) ORDER BY number, nth)
            END
        FROM (VALUES (0, 12, who), (1, 8, place), (2, 6, look), (3, 4, season), (4, 1, rest))
                AS texts (number, counts, said),
            string_to_table(said, ' ') WITH ORDINALITY AS words (word, nth)
        GROUP BY left(word, 500) COLLATE "C"
    $$
    """,
    """
    CREATE FUNCTION job_text_words_insert() RETURNS trigger LANGUAGE plpgsql AS $$
    BEGIN
        IF NOT EXISTS (SELECT 1 FROM come) THEN
            RETURN NULL;
        END IF;
        WITH made AS (
            INSERT INTO job_word_at (term, job_id, weight, spot, spots)
            SELECT s.term, t.job_id, s.weight, s.spot, s.spots
            FROM come AS t, job_text_spots(t.who, t.place, t.look, t.season, t.rest) AS s ORDER BY 1, 2
            RETURNING term
        )
        INSERT INTO job_word (term) SELECT DISTINCT term FROM made ON CONFLICT DO NOTHING;
        INSERT INTO job_word_tally AS held (part, jobs, words)
        SELECT job_id / 256, count(*), sum(words) FROM come GROUP BY 1
        ON CONFLICT (part) DO UPDATE SET jobs = held.jobs + excluded.jobs, words = held.words + excluded.words;
        RETURN NULL;
    END $$
    """,
    """
    CREATE FUNCTION job_text_words_update() RETURNS trigger LANGUAGE plpgsql AS $$
    BEGIN
        IF NOT EXISTS (SELECT 1 FROM gone) THEN
            RETURN NULL;
        END IF;
        WITH was AS (
            SELECT s.term, t.job_id FROM gone AS t, job_text_spots(t.who, t.place, t.look, t.season, t.rest) AS s
            EXCEPT
            SELECT s.term, t.job_id FROM come AS t, job_text_spots(t.who, t.place, t.look, t.season, t.rest) AS s
        )
        DELETE FROM job_word_at AS a USING was WHERE a.term = was.term AND a.job_id = was.job_id;
        WITH made AS (
            INSERT INTO job_word_at AS a (term, job_id, weight, spot, spots)
            SELECT s.term, t.job_id, s.weight, s.spot, s.spots
            FROM come AS t, job_text_spots(t.who, t.place, t.look, t.season, t.rest) AS s
            EXCEPT
            SELECT s.term, t.job_id, s.weight, s.spot, s.spots
            FROM gone AS t, job_text_spots(t.who, t.place, t.look, t.season, t.rest) AS s
            ON CONFLICT (term, job_id)
            DO UPDATE SET weight = excluded.weight, spot = excluded.spot, spots = excluded.spots
            RETURNING term
        )
        INSERT INTO job_word (term) SELECT DISTINCT term FROM made ON CONFLICT DO NOTHING;
        DELETE FROM job_word AS w USING (
            SELECT s.term FROM gone AS t, job_text_spots(t.who, t.place, t.look, t.season, t.rest) AS s
            EXCEPT
            SELECT s.term FROM come AS t, job_text_spots(t.who, t.place, t.look, t.season, t.rest) AS s
        ) AS was
        WHERE w.term = was.term AND NOT EXISTS (SELECT 1 FROM job_word_at AS a WHERE a.term = w.term);
        INSERT INTO job_word_tally AS held (part, jobs, words)
        SELECT part, sum(jobs), sum(words) FROM (
            SELECT job_id / 256 AS part, 1 AS jobs, words FROM come
            UNION ALL SELECT job_id / 256, -1, -words FROM gone
        ) AS moved GROUP BY part HAVING sum(jobs) <> 0 OR sum(words) <> 0
        ON CONFLICT (part) DO UPDATE SET jobs = held.jobs + excluded.jobs, words = held.words + excluded.words;
        RETURN NULL;
    END $$
    """,
    """
    CREATE FUNCTION job_text_words_delete() RETURNS trigger LANGUAGE plpgsql AS $$
    BEGIN
        DELETE FROM job_word_at AS a USING gone AS t, job_text_spots(t.who, t.place, t.look, t.season, t.rest) AS s
        WHERE a.term = s.term AND a.job_id = t.job_id;
        DELETE FROM job_word AS w USING (
            SELECT DISTINCT s.term
            FROM gone AS t, job_text_spots(t.who, t.place, t.look, t.season, t.rest) AS s
        ) AS was
        WHERE w.term = was.term AND NOT EXISTS (SELECT 1 FROM job_word_at AS a WHERE a.term = w.term);
        UPDATE job_word_tally AS held SET jobs = held.jobs - less.jobs, words = held.words - less.words
        FROM (SELECT job_id / 256 AS part, count(*) AS jobs, sum(words) AS words FROM gone GROUP BY 1) AS less
        WHERE held.part = less.part;
        RETURN NULL;
    END $$
    """,
    *(
        f"CREATE TRIGGER job_text_words_{change.lower()} AFTER {change} ON job_text {tables} "
        f"FOR EACH STATEMENT EXECUTE FUNCTION job_text_words_{change.lower()}()"
        for change, tables in (
            ("INSERT", "REFERENCING NEW TABLE AS come"),
            ("UPDATE", "REFERENCING OLD TABLE AS gone NEW TABLE AS come"),
            ("DELETE", "REFERENCING OLD TABLE AS gone"),
        )
    ),
)
"""The same there (`finishlog.store.search.postings`): a row for each word of a job, with where it stands.

Triggers keep it, once for a statement: one that writes many jobs costs no more than its words.
"""


@compiles(Double, "sqlite")
def _real(_kind: Double[float], _compiler: Any, **_: Any) -> str:
    """A STRICT table knows an 8-byte float as REAL, and no DOUBLE."""
    return "REAL"


def create(engine: Engine) -> None:
    """Create all tables in an empty database, with triggers and the search index; STRICT on SQLite."""
    if engine.dialect.name == "postgresql":
        _create_on_server(engine)
        return
    for table in Base.metadata.tables.values():
        table.dialect_kwargs["sqlite_strict"] = True
    Base.metadata.tables["seal"].dialect_kwargs["sqlite_with_rowid"] = False
    Base.metadata.create_all(engine)
    with engine.begin() as connection:
        append_only = (one for name in (*APPEND_ONLY, "chain") for one in _append_only(name))
        for statement in (*append_only, *_marking(), *_TEXT):
            connection.exec_driver_sql(statement)


_REFUSES = """
CREATE FUNCTION append_only() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION '%% is append-only: log a correction', TG_TABLE_NAME
        USING ERRCODE = 'integrity_constraint_violation';
END $$
"""
_PIECES = (
    'CREATE TABLE file_piece (sha256 TEXT COLLATE "C" NOT NULL, position BIGINT NOT NULL, bytes BYTEA NOT NULL, '
    "CONSTRAINT pk_file_piece PRIMARY KEY (sha256, position), "
    "CONSTRAINT fk_file_piece_sha256 FOREIGN KEY (sha256) REFERENCES file (sha256) DEFERRABLE INITIALLY DEFERRED)"
)
"""Only there: on SQLite the bytes of files are beside the log, and a table for them would never have a row."""
_TOKENS = (
    'CREATE TABLE write_token (token TEXT COLLATE "C" NOT NULL, left_at TIMESTAMPTZ NOT NULL DEFAULT now(), '
    "CONSTRAINT pk_write_token PRIMARY KEY (token))"
)
"""Only there too: by it a write is known whose commit the server did not answer (`postgres.outcome`)."""


def _create_on_server(engine: Engine) -> None:
    Base.metadata.create_all(engine)
    with engine.begin() as connection:
        for statement in (_PIECES, _TOKENS, _REFUSES, *_TEXT_ON_SERVER):
            connection.exec_driver_sql(statement)
        for table in (*APPEND_ONLY, "chain", "file_piece"):
            for change in ("update", "delete"):
                connection.exec_driver_sql(_calls(f"{table}_no_{change}", "BEFORE", table, "append_only"))
        for name, table, body in _notes():
            connection.exec_driver_sql(
                f"CREATE FUNCTION {name}() RETURNS trigger LANGUAGE plpgsql AS $$ {body} $$"
            )
            connection.exec_driver_sql(_calls(name, "AFTER", table, name))


def _calls(name: str, when: str, table: str, function: str) -> str:
    change = name.rpartition("_")[2].upper()
    return f"CREATE TRIGGER {name} {when} {change} ON {table} FOR EACH ROW EXECUTE FUNCTION {function}()"


def _notes() -> Iterator[tuple[str, str, str]]:
    """The triggers of `_marking` on a server: name, table, what their function does."""
    for table, change, what, row_id in _marked():
        body = f"BEGIN INSERT INTO unsealed (what, row_id) VALUES ({what}, {row_id}); RETURN NULL; END"
        yield f"{table}_unseals_{change.lower()}", table, body


def _append_only(table: str) -> tuple[str, str]:
    """The two triggers that make a table append-only."""
    body = f"ON {table} BEGIN SELECT RAISE(ABORT, '{table} is append-only: log a correction'); END"
    return (
        f"CREATE TRIGGER {table}_no_update BEFORE UPDATE {body}",
        f"CREATE TRIGGER {table}_no_delete BEFORE DELETE {body}",
    )


def _marked() -> Iterator[tuple[str, str, int, str]]:
    """Table, change, and under which number and row id it is noted."""
    for table, (what, row) in tables_seal.MARKED.items():
        for change in ("INSERT", "UPDATE", *(("DELETE",) if table in tables_seal.DELETABLE else ())):
            row_id = row.format(row="OLD" if change == "DELETE" else "NEW")
            yield table, change, what, row_id


def _marking() -> Iterator[str]:
    """The triggers that note every changed row, so that it is hashed before the commit."""
    for table, change, what, row_id in _marked():
        yield (
            f"CREATE TRIGGER {table}_unseals_{change.lower()} AFTER {change} ON {table} "
            f"BEGIN INSERT INTO unsealed (what, row_id) VALUES ({what}, {row_id}); END"
        )
