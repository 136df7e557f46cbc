"""Upgrades an older log on a server: its rows are copied, then it is migrated, all in one transaction.

The copy is a schema of the same database, `finishlog_before_REVISION`, with the rows of every table. It has no
files: no migration touches their bytes. Whoever is killed in the middle leaves the log as it was, with no copy.
"""

from __future__ import annotations

from itertools import count
from typing import TYPE_CHECKING

from sqlalchemy.engine import Connection

from finishlog.errors import LogError
from finishlog.store.engine.postgres import making, server, standing
from finishlog.store.engine.protocol import ENGINE, Compute
from finishlog.store.schema import revisions

if TYPE_CHECKING:
    from finishlog.store.engine.postgres.address import Address
    from finishlog.store.engine.protocol import Engine

_LOCKED = "55P03"
_REVISION = "SELECT version_num FROM alembic_version"
_LEFT_OUT = "file_piece"
_TABLES = "SELECT tablename FROM pg_tables WHERE schemaname = %s AND tablename <> %s ORDER BY 1"
_SCHEMAS = "SELECT nspname FROM pg_namespace WHERE starts_with(nspname, %s)"


def bring_up_to_date(
    engine: Engine,
    where: Address,
    schema: str,
    compute: Compute,
    give_up_after_s: float,
    *,
    upgrade: bool,
) -> str | None:
    """Upgrade an older log; returns the schema of the copy. Raises LogError as `Engine.bring_up_to_date` does."""
    found = making.revision_of(where, schema)
    if found == revisions.head():
        return None
    if found is None or found not in revisions.known():
        raise making.newer(where, found)
    if not upgrade:
        raise LogError(
            f"The log is older than this program: {where}.",
            f"Its schema is {found}, the program's {revisions.head()}.",
            "Open it once with finishlog; its rows are copied first, then it is upgraded.",
        )
    try:
        with making.transaction(where, schema) as plain:
            connection = plain.execution_options(**{ENGINE: engine})
            _take_turn(connection, schema, give_up_after_s)
            if server.driver(connection).execute(_REVISION).fetchone()[0] != found:
                return None  # another program upgraded it meanwhile
            copy = _copied(connection, schema, found)
            _migrated(connection, compute, found)
    except Exception as error:
        if server.is_away(error) or server.sqlstate(error) == _LOCKED:
            raise
        raise LogError(
            f"Could not upgrade the log: {where}.", f"{_why(error)} The log is unchanged.", _remedy(error)
        ) from error
    return copy


def _take_turn(connection: Connection, schema: str, give_up_after_s: float) -> None:
    """Of several programs one upgrades, and no older one writes meanwhile. Locks first: they take no snapshot."""
    raw = server.driver(connection)
    raw.execute(f"SET LOCAL lock_timeout = {int(give_up_after_s * 1000)}")
    raw.execute("LOCK TABLE alembic_version IN EXCLUSIVE MODE")
    if raw.execute("SELECT to_regclass(%s)", (f"{schema}.log_state",)).fetchone()[0] is not None:
        raw.execute("LOCK TABLE log_state IN EXCLUSIVE MODE")


def _copied(connection: Connection, schema: str, revision: str) -> str:
    """The rows of every table, in a new schema; its name."""
    raw = server.driver(connection)
    first = f"{schema}_before_{revision}"
    taken = {row[0] for row in raw.execute(_SCHEMAS, (first,))}
    copy = next(name for n in count(1) if (name := first if n == 1 else f"{first}_{n}") not in taken)
    raw.execute(f"CREATE SCHEMA {copy}")
    for (table,) in raw.execute(_TABLES, (schema, _LEFT_OUT)).fetchall():
        raw.execute(f'CREATE TABLE {copy}."{table}" AS TABLE {schema}."{table}"')
    return copy


def _migrated(connection: Connection, compute: Compute, found: str) -> None:
    standing.put_aside(server.driver(connection))
    making.run_migrations(connection, "head")
    broken = making.dangling(connection)
    if broken:
        raise LogError("", f"After the upgrade {len(broken)} rows would point nowhere; nothing was changed.")
    compute(connection, found)


def _why(error: Exception) -> str:
    if isinstance(error, LogError):
        return error.cause
    if server.sqlstate(error):
        return f"The server says: {server.line(getattr(error, 'orig', None) or error)}."
    return f"{type(error).__name__}: {error}."


def _remedy(error: Exception) -> str:
    if server.is_read_only(error):
        return "Ask the owner of the log to open it once."
    return "Use the finishlog that wrote it last."
