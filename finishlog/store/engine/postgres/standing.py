"""Who is connected, as the server says: its roles of a log, told by their names, which the database gives them."""

from __future__ import annotations

from hashlib import blake2b
from typing import Any

from finishlog.roles import CREW, OWNER, ROLES

CREW_SCHEMA = "finishlog_crew"
"""What a crew sees of a log: views that stand before its tables (`finishlog.store.rights`)."""
_LONGEST = 63
_OWNS = "SELECT pg_has_role(current_user, nspowner, 'USAGE') FROM pg_catalog.pg_namespace WHERE nspname = %s"
_HAS = "SELECT rolname FROM pg_catalog.pg_roles WHERE rolname = ANY(%s) AND pg_has_role(current_user, oid, 'USAGE')"


def group(database: str, role: str) -> str:
    """The server's role of a log's role. Roles belong to the whole server: each log there has its own."""
    name = f"finishlog_{database}_{role}"
    if len(name.encode()) > _LONGEST:
        name = f"finishlog_{blake2b(database.encode(), digest_size=8).hexdigest()}_{role}"
    return name


def role_of(raw: Any, schema: str) -> str | None:
    """The role of whoever is connected: the schema's owner is an owner; None where the server says nothing."""
    found = raw.execute(_OWNS, (schema,)).fetchone()
    if found is None or found[0]:
        return OWNER
    groups = {group(raw.info.dbname, role): role for role in ROLES}
    held = {groups[name] for (name,) in raw.execute(_HAS, (list(groups),))}
    return next((role for role in ROLES if role in held), None)


def put_aside(raw: Any) -> None:
    """Take a crew's views away: tables that are seen by a view cannot change. They are made again with the rights."""
    raw.execute(f"DROP SCHEMA IF EXISTS {CREW_SCHEMA} CASCADE")


def enter(raw: Any, schema: str) -> None:
    """A crew finds its views first."""
    if role_of(raw, schema) == CREW:
        raw.execute(f"SET search_path = {CREW_SCHEMA}, {schema}")
