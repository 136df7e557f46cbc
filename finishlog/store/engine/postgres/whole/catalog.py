"""The same comparison on a server: tables, constraints, indexes, triggers and functions read back from its catalog."""

from __future__ import annotations

from collections import defaultdict
from contextlib import closing

from finishlog.store.engine import ddl
from finishlog.store.engine.postgres import making, server
from finishlog.store.engine.postgres.address import Address

Schema = dict[str, frozenset[str]]
_COLUMNS = """
    SELECT c.relname, a.attname || ' ' || format_type(a.atttypid, a.atttypmod) || ' ' || coalesce(l.collname, '')
        || CASE WHEN a.attnotnull THEN ' NOT NULL' ELSE '' END
        || coalesce(' DEFAULT ' || pg_get_expr(d.adbin, d.adrelid), '')
        || ' ' || a.attidentity::text
    FROM pg_class c JOIN pg_namespace n ON n.oid = c.relnamespace
    JOIN pg_attribute a ON a.attrelid = c.oid AND a.attnum > 0 AND NOT a.attisdropped
    LEFT JOIN pg_collation l ON l.oid = a.attcollation AND a.attcollation <> 0
    LEFT JOIN pg_attrdef d ON d.adrelid = c.oid AND d.adnum = a.attnum
    WHERE n.nspname = %s AND c.relkind = 'r'
"""
_CONSTRAINTS = """
    SELECT r.relname, c.conname || ' ' || pg_get_constraintdef(c.oid) FROM pg_constraint c
    JOIN pg_class r ON r.oid = c.conrelid JOIN pg_namespace n ON n.oid = r.relnamespace
    WHERE n.nspname = %s AND c.contype <> 'n'
"""
_INDEXES = "SELECT indexname, indexdef FROM pg_indexes WHERE schemaname = %s"
_TRIGGERS = """
    SELECT t.tgname, pg_get_triggerdef(t.oid) FROM pg_trigger t JOIN pg_class r ON r.oid = t.tgrelid
    JOIN pg_namespace n ON n.oid = r.relnamespace WHERE n.nspname = %s AND NOT t.tgisinternal
"""
_FUNCTIONS = """
    SELECT p.proname || '()', regexp_replace(p.prosrc, '\\s+', ' ', 'g') FROM pg_proc p
    JOIN pg_namespace n ON n.oid = p.pronamespace WHERE n.nspname = %s
"""


def schema_of(where: Address, schema: str) -> Schema:
    """What a schema holds, by name of table, index, trigger or function."""
    found: dict[str, set[str]] = defaultdict(set)
    with closing(server.connect(where, schema)) as raw:
        for query in (_COLUMNS, _CONSTRAINTS, _INDEXES, _TRIGGERS, _FUNCTIONS):
            for name, words in raw.execute(query, (schema,)):
                if not str(name).startswith("alembic_version"):
                    found[str(name)].add(str(words).replace(f"{schema}.", "").strip())
    return {name: frozenset(words) for name, words in found.items()}


def both(where: Address) -> tuple[Schema, Schema]:
    """The mapped and the migrated schema, made in an empty database."""
    making.make(where, server.SCHEMA)
    with closing(server.connect(where)) as raw:
        raw.execute(f"CREATE SCHEMA {server.PART}")
    engine = server.make_engine(where, server.PART)
    try:
        ddl.create(engine.execution_options(plain=True))
    finally:
        engine.dispose()
    return schema_of(where, server.PART), schema_of(where, server.SCHEMA)
