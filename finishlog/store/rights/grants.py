"""All that makes the roles of a log on a server, as SQL: for the program, and for an admin who runs it by hand."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from hashlib import blake2b

from finishlog.records.shop import SETTINGS
from finishlog.records.shop_texts import TEXTS
from finishlog.roles import CREW, OFFICE, OWNER, ROLES
from finishlog.store.engine.postgres.standing import group
from finishlog.store.rights import crew_views as crew
from finishlog.store.sealing.form import DETAILS

_ALL = ("SELECT", "INSERT", "UPDATE", "DELETE")
_KEPT = dict.fromkeys(
    (
        "job_line",
        "job_facet",
        "due",
        "care",
        "job_text",
        "job_word",
        "job_word_at",
        "job_word_tally",
        "write_token",
        "learned",
    ),
    _ALL,
)
"""What is kept for speed: a crew's entry makes its job's anew, and `check --mend` can make all of it."""
_READ = dict.fromkeys(
    (
        "alembic_version",
        "log_state",
        "customer",
        "site",
        "ownership",
        "area",
        "shape",
        "stage",
        "stage_material",
    ),
    ("SELECT",),
)
_ADDED = dict.fromkeys(
    ("person", "plant", "maker", "lot", "mix", "buried", "file", "photo", "file_piece", "chain"),
    ("SELECT", "INSERT"),
)
ON_TABLES: Mapping[str, tuple[str, ...]] = {**_KEPT, **_READ, **_ADDED}
"""A crew's rights to tables; it has none to those that it sees by a view."""
ON_VIEWS: Mapping[str, tuple[str, ...]] = {
    **dict.fromkeys(("entry", "stock_move", "advice", *DETAILS), ("SELECT", "INSERT")),
    **dict.fromkeys(("shelf", "draft", "seal", "unsealed"), ("SELECT", "INSERT", "DELETE")),
    **dict.fromkeys(("job", "recipe"), ("SELECT", "UPDATE")),
    "product": ("SELECT", "INSERT", "UPDATE"),
    "log_state": ("SELECT", "UPDATE"),
    "setting": ("SELECT",),
}
_POLICIES = ("owner_all", "office_reads", "office_adds", "office_changes", "office_removes")
_SHOPS = tuple(sorted({one.key for one in SETTINGS} | {one.key for one in TEXTS}))
"""Settings that are the owner's; of the others the office keeps those of a sheet or an import."""


def quoted(name: str) -> str:
    """A name of the server's, whatever is in it."""
    return '"' + name.replace('"', '""') + '"'


def make(database: str) -> tuple[str, ...]:
    """The statements that make the roles, or make them anew; in one transaction, by the log's owner."""
    return (
        *_groups(database),
        *_clean(),
        *crew.behind(),
        *crew.views(),
        *_rights(database),
        *_rows(database),
        _mark(),
    )


def remake(database: str) -> tuple[str, ...]:
    """The same where the roles are there: what an upgrade or a copy needs, and no right to make roles."""
    return make(database)[len(ROLES) :]


def _groups(database: str) -> Iterator[str]:
    for role in ROLES:
        name = group(database, role)
        literal = name.replace("'", "''")
        yield (
            f"DO $$ BEGIN IF NOT EXISTS (SELECT 1 FROM pg_roles WHERE rolname = '{literal}') "
            f"THEN CREATE ROLE {quoted(name)} NOLOGIN; END IF; END $$"
        )


def _clean() -> Iterator[str]:
    yield f"DROP SCHEMA IF EXISTS {crew.CREW} CASCADE"
    yield f"CREATE SCHEMA {crew.CREW}"


def _rights(database: str) -> Iterator[str]:
    owner, office, hands = (quoted(group(database, role)) for role in (OWNER, OFFICE, CREW))
    every = f"{owner}, {office}, {hands}"
    yield f"REVOKE ALL ON ALL TABLES IN SCHEMA {crew.LOG} FROM PUBLIC, {every}"
    yield f"REVOKE ALL ON SCHEMA {crew.LOG}, {crew.CREW}, {crew.OWN} FROM PUBLIC, {every}"
    yield f"REVOKE ALL ON ALL TABLES IN SCHEMA {crew.OWN} FROM PUBLIC, {every}"
    yield f"GRANT USAGE ON SCHEMA {crew.LOG} TO {every}"
    yield f"GRANT USAGE ON SCHEMA {crew.CREW} TO {hands}"
    yield f"GRANT EXECUTE ON ALL FUNCTIONS IN SCHEMA {crew.LOG} TO {every}"
    yield f"GRANT {', '.join(_ALL)} ON ALL TABLES IN SCHEMA {crew.LOG} TO {owner}, {office}"
    yield f"REVOKE INSERT, UPDATE, DELETE ON {crew.LOG}.alembic_version FROM {owner}, {office}"
    yield f"REVOKE EXECUTE ON ALL FUNCTIONS IN SCHEMA {crew.OWN} FROM PUBLIC"
    for name in ("mine(TEXT, BIGINT)", "hides(BIGINT, BIGINT)", "unpriced(JSONB)"):
        yield f"GRANT EXECUTE ON FUNCTION {crew.OWN}.{name} TO {hands}"
    for schema, rights in ((crew.LOG, ON_TABLES), (crew.CREW, ON_VIEWS)):
        for table, some in rights.items():
            yield f"GRANT {', '.join(some)} ON {schema}.{table} TO {hands}"


def nobodys(database: str, schema: str) -> Iterator[str]:
    """The statements that take every right to a log that was set aside."""
    names = ", ".join(quoted(group(database, role)) for role in ROLES)
    yield from (f"DROP POLICY IF EXISTS {name} ON {quoted(schema)}.setting" for name in _POLICIES)
    yield f"REVOKE ALL ON ALL TABLES IN SCHEMA {quoted(schema)} FROM PUBLIC, {names}"
    yield f"REVOKE ALL ON ALL FUNCTIONS IN SCHEMA {quoted(schema)} FROM {names}"
    yield f"REVOKE ALL ON SCHEMA {quoted(schema)} FROM PUBLIC, {names}"


def _rows(database: str) -> Iterator[str]:
    """The office writes no setting of the shop."""
    owner, office = (quoted(group(database, role)) for role in (OWNER, OFFICE))
    own = f"key NOT IN ({', '.join(f'{chr(39)}{key}{chr(39)}' for key in _SHOPS)})"
    table = f"{crew.LOG}.setting"
    yield f"ALTER TABLE {table} ENABLE ROW LEVEL SECURITY"
    for name in _POLICIES:
        yield f"DROP POLICY IF EXISTS {name} ON {table}"
    yield f"CREATE POLICY owner_all ON {table} TO {owner} USING (true) WITH CHECK (true)"
    yield f"CREATE POLICY office_reads ON {table} FOR SELECT TO {office} USING (true)"
    yield f"CREATE POLICY office_adds ON {table} FOR INSERT TO {office} WITH CHECK ({own})"
    yield f"CREATE POLICY office_changes ON {table} FOR UPDATE TO {office} USING ({own}) WITH CHECK ({own})"
    yield f"CREATE POLICY office_removes ON {table} FOR DELETE TO {office} USING ({own})"


def mark() -> str:
    """What the roles are made by: another version's say otherwise."""
    said = "\n".join((*crew.behind(), *crew.views(), *map(str, (ON_TABLES, ON_VIEWS, _SHOPS))))
    return f"finishlog roles {blake2b(said.encode(), digest_size=8).hexdigest()}"


def _mark() -> str:
    return f"COMMENT ON SCHEMA {crew.CREW} IS '{mark()}'"


def drop(database: str) -> tuple[str, ...]:
    """The statements that take all of it away; logins stay, without any right to the log."""
    names = ", ".join(quoted(group(database, role)) for role in ROLES)
    return (
        f"DROP SCHEMA IF EXISTS {crew.CREW} CASCADE",
        f"DROP SCHEMA IF EXISTS {crew.OWN} CASCADE",
        *(f"DROP POLICY IF EXISTS {name} ON {crew.LOG}.setting" for name in _POLICIES),
        f"ALTER TABLE {crew.LOG}.setting DISABLE ROW LEVEL SECURITY",
        f"REVOKE ALL ON ALL TABLES IN SCHEMA {crew.LOG} FROM {names}",
        f"REVOKE ALL ON ALL FUNCTIONS IN SCHEMA {crew.LOG} FROM {names}",
        f"REVOKE ALL ON SCHEMA {crew.LOG} FROM {names}",
        f"DROP ROLE {names}",
    )
