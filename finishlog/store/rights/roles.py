"""Makes, gives, takes and checks the roles of a log on a server."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import closing, contextmanager
from typing import Any

from sqlalchemy.engine import Connection

from finishlog.errors import InputError, LogError
from finishlog.roles import CREW, ROLES
from finishlog.store.engine import protocol
from finishlog.store.engine.postgres import server
from finishlog.store.engine.postgres.address import Address
from finishlog.store.engine.postgres.standing import CREW_SCHEMA, group, role_of
from finishlog.store.rights import crew_views, grants

_MADE = "made by finishlog roles"
_MEMBERS = """
    SELECT m.rolname, g.rolname FROM pg_auth_members a
    JOIN pg_roles g ON g.oid = a.roleid JOIN pg_roles m ON m.oid = a.member
    WHERE g.rolname = ANY(%s) AND pg_has_role(m.oid, g.oid, 'USAGE')
    ORDER BY 1
"""
"""Whoever made a role may give it, and does not have it."""
_MADE_HERE = "SELECT 1 FROM pg_namespace WHERE nspname = %s"
_OLDER = (
    "SELECT nspname FROM pg_namespace "
    f"WHERE starts_with(nspname, '{server.SCHEMA}_before_') AND pg_has_role(nspowner, 'USAGE')"
)
_THERE = "SELECT obj_description(to_regnamespace(%s), 'pg_namespace'), to_regnamespace(%s) IS NOT NULL"
_TABLES = """
    SELECT n.nspname, c.relname, array_agg(p.priv) FROM pg_class c JOIN pg_namespace n ON n.oid = c.relnamespace
    CROSS JOIN unnest(ARRAY['SELECT','INSERT','UPDATE','DELETE','TRUNCATE','REFERENCES','TRIGGER']) AS p(priv)
    WHERE starts_with(n.nspname, %s) AND c.relkind IN ('r', 'v') AND has_table_privilege(%s, c.oid, p.priv)
    GROUP BY 1, 2
"""


@contextmanager
def _connected(where: Address) -> Iterator[Any]:
    with server.told(where), closing(server.connect(where)) as raw:
        yield raw


@contextmanager
def _writing(where: Address) -> Iterator[Any]:
    with _connected(where) as raw, raw.transaction():
        yield raw


def make(where: Address) -> None:
    """Make the roles of a log, or make them anew. Raises LogError where the server does not let us."""
    with _writing(where) as raw:
        if raw.execute("SELECT to_regclass('finishlog.log_state')").fetchone()[0] is None:
            raise LogError(f"No log at {where}.", "Nothing was made there.", "Start one with: finishlog new")
        for statement in grants.make(raw.info.dbname):
            raw.execute(statement)
        _close_older(raw)


def drop(where: Address) -> None:
    """Take the roles away; who had one has no right to the log any more."""
    with _writing(where) as raw:
        _close_older(raw)
        for statement in grants.drop(raw.info.dbname):
            raw.execute(statement)


def remake(raw: Any, before: str = "") -> None:
    """Make rights anew where a database has roles, within a transaction: other tables have the names of the log's.

    Where the log that had its name is called `before` now, nobody keeps a right to it but its owner.
    """
    if _made_anew(raw):
        for statement in crew_views.written_still(before):
            raw.execute(statement)
        _close_older(raw)


def upgraded(connection: Connection) -> None:
    """Make rights anew in the transaction that upgrades a log, if it is on a server: tables changed."""
    if isinstance(protocol.of(connection).where, Address):
        _made_anew(server.driver(connection))


def _made_anew(raw: Any) -> bool:
    """Whether they were: in a new database nobody has a right before the owner says so, whatever roles it knows."""
    if not _groups_there(raw) or raw.execute(_MADE_HERE, (crew_views.OWN,)).fetchone() is None:
        return False
    for statement in grants.remake(raw.info.dbname):
        raw.execute(statement)
    return True


def _close_older(raw: Any) -> None:
    """Nobody but their owner has a right to logs that were set aside in the same database."""
    for (schema,) in raw.execute(_OLDER).fetchall():
        for statement in grants.nobodys(raw.info.dbname, schema):
            raw.execute(statement)


def _groups_there(raw: Any) -> bool:
    names = [group(raw.info.dbname, role) for role in ROLES]
    found = raw.execute("SELECT count(*) FROM pg_roles WHERE rolname = ANY(%s)", (names,)).fetchone()
    return bool(found[0] == len(names))


def add(where: Address, login: str, role: str, password: str | None = None) -> bool:
    """Give a login a role, instead of the one it had; made if it is new. Whether it was made.

    The server gets no password but its hash, made here.
    """
    with _writing(where) as raw:
        if not _groups_there(raw):
            raise InputError("The log has no roles yet.", example="finishlog roles make")
        name = grants.quoted(login)
        new = raw.execute("SELECT 1 FROM pg_roles WHERE rolname = %s", (login,)).fetchone() is None
        if new:
            raw.execute(f"CREATE ROLE {name} LOGIN")
            raw.execute(f"COMMENT ON ROLE {name} IS '{_MADE}'")
        if password:
            hashed = raw.pgconn.encrypt_password(password.encode(), login.encode()).decode()
            raw.execute(f"ALTER ROLE {name} PASSWORD '{hashed}'")
        _take_all(raw, login)
        raw.execute(f"GRANT {grants.quoted(group(raw.info.dbname, role))} TO {name}")
        return new


def _take_all(raw: Any, login: str) -> None:
    """Take each role of the log from a login. A server keeps, without a failure, what another gave."""
    for role in ROLES:
        raw.execute(f"REVOKE {grants.quoted(group(raw.info.dbname, role))} FROM {grants.quoted(login)}")
    kept = [role for name, role in members(raw) if name == login]
    if kept:
        raise InputError(
            f"{login} is {kept[0]} by somebody else, who alone can take it: nothing was changed.",
            where="NAME",
            example=f"REVOKE {group(raw.info.dbname, kept[0])} FROM {login}, by whoever runs the server",
        )


def remove(where: Address, login: str) -> bool:
    """Take a login's role; a login that `add` made goes with it. Whether it went."""
    with _writing(where) as raw:
        if login not in {name for name, _ in members(raw)}:
            raise InputError(f"{login} has no role here.", where="NAME", example="finishlog roles lists them")
        name = grants.quoted(login)
        _take_all(raw, login)
        said = raw.execute("SELECT shobj_description(to_regrole(%s), 'pg_authid')", (name,)).fetchone()[0]
        if said == _MADE:
            raw.execute(f"DROP ROLE {name}")
        return bool(said == _MADE)


def members(raw: Any) -> list[tuple[str, str]]:
    """Each login with its role."""
    groups = {group(raw.info.dbname, role): role for role in ROLES}
    return [(str(login), groups[name]) for login, name in raw.execute(_MEMBERS, (list(groups),))]


def listed(where: Address) -> tuple[str | None, list[tuple[str, str]]]:
    """The role of whoever asks, and each login with its role."""
    with _connected(where) as raw:
        return role_of(raw, server.SCHEMA), members(raw)


def show(where: Address) -> tuple[str, ...]:
    """The statements of `make`, for an admin who runs them by hand."""
    with _connected(where) as raw:
        return grants.make(raw.info.dbname)


def wrong(raw: Any) -> list[str]:
    """What is not as it should be with the roles; [] too where none were made."""
    said, there = raw.execute(_THERE, (CREW_SCHEMA, CREW_SCHEMA)).fetchone()
    if not _groups_there(raw):
        return []
    if not there or said != grants.mark():
        return ["The server's roles are not this version's: finishlog roles make makes them anew."]
    hands = group(raw.info.dbname, CREW)
    held = {
        (schema, table): set(some) for schema, table, some in raw.execute(_TABLES, (server.SCHEMA, hands))
    }
    meant = ((server.SCHEMA, grants.ON_TABLES), (CREW_SCHEMA, grants.ON_VIEWS))
    if held != {(schema, table): set(some) for schema, rights in meant for table, some in rights.items()}:
        return ["A crew's rights on the server were changed: finishlog roles make makes them anew."]
    return []
