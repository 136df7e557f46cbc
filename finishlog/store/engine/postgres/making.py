"""Makes and checks the schema of a log on a server; all of it in transactions, so that nothing half-made stays."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from typing import Any

from sqlalchemy import func, select, text
from sqlalchemy.engine import Connection
from sqlalchemy.exc import DBAPIError

from finishlog.errors import LogError
from finishlog.store.engine.postgres import server
from finishlog.store.engine.postgres.address import Address
from finishlog.store.engine.protocol import Rights
from finishlog.store.schema import revisions
from finishlog.store.schema.base import Base

_HAS = "SELECT 1 FROM pg_catalog.pg_tables WHERE schemaname = %s AND tablename = %s"
"""Also of a table to which one has no right, as a crew."""
_OURS = ("alembic_version", "job")
"""Tables of every revision."""
_OTHERS = (
    "SELECT 1 FROM pg_stat_activity WHERE datname = current_database() AND pid <> pg_backend_pid() "
    f"AND application_name = '{server.APPLICATION}' AND coalesce(backend_type, 'client backend') = 'client backend' "
    "LIMIT 1"
)
"""Of others' connections who is no superuser is not told what they are."""
_CLOSING_S = 2.0
_MAKING = "hashtext('finishlog making')"
_HAS_SCHEMA = "SELECT 1 FROM pg_catalog.pg_namespace WHERE nspname = %s"


def require(where: Address, schema: str) -> None:
    """Raise LogError if there is no log, or something else of its name."""
    with closing(server.connect(where, schema)) as raw:
        if raw.execute(_HAS_SCHEMA, (schema,)).fetchone() is None:
            raise LogError(
                f"No log at {where}.",
                "Nothing was made there.",
                "Name another with --log, or start one with: finishlog --log ADDRESS new",
            )
        if any(raw.execute(_HAS, (schema, table)).fetchone() is None for table in _OURS):
            raise LogError(
                f"This is not a finishlog log: {where}.",
                f"The database has a schema {schema} of another program.",
                "Name another database with --log.",
            )


def revision_of(where: Address, schema: str) -> str | None:
    """The revision of a log's tables."""
    with closing(server.connect(where, schema)) as raw:
        if raw.execute(_HAS, (schema, "alembic_version")).fetchone() is None:
            return None
        row = raw.execute("SELECT version_num FROM alembic_version").fetchone()
    return None if row is None else str(row[0])


def newer(where: Address, found: str | None) -> LogError:
    """The failure of a program that is older than the log."""
    return LogError(
        f"The log is newer than this program: {where}.",
        f"Its schema is {found}, the newest this program knows is {revisions.head()}.",
        "Install the newer finishlog; the log was left alone.",
    )


def alone(raw: Any, where: Address) -> None:
    """Hold the right to make a log in that database, as long as the connection lasts. Raises LogError."""
    if not raw.execute(f"SELECT pg_try_advisory_lock({_MAKING})").fetchone()[0]:
        raise LogError(
            f"Another program is making a log there: {where}.", "It was left alone.", "Wait until it is done."
        )


def refuse_existing(raw: Any, where: Address) -> None:
    """Raise LogError if the database has a log, or a schema of its name."""
    if raw.execute(_HAS_SCHEMA, (server.SCHEMA,)).fetchone() is not None:
        raise LogError(
            f"There is a log already: {where}.", "It was left alone.", "Name another database with --log."
        )


def has_log(where: Address) -> bool:
    """Whether the database has a log, or a schema of its name."""
    with server.told(where), closing(server.connect(where)) as raw:
        return raw.execute(_HAS_SCHEMA, (server.SCHEMA,)).fetchone() is not None


def give_name(raw: Any, where: Address, before: str, rights: Rights) -> None:
    """A complete log gets its name; the one that has it gets the name `before`, and nobody may have it open."""
    with raw.transaction():
        there = bool(before) and raw.execute(_HAS_SCHEMA, (server.SCHEMA,)).fetchone() is not None
        if there:
            raw.execute("SET LOCAL lock_timeout = '5s'")
            raw.execute(
                f"LOCK TABLE {server.SCHEMA}.log_state IN ACCESS EXCLUSIVE MODE"
            )  # none writes from here on
            refuse_others(raw, where)
            raw.execute(f"ALTER SCHEMA {server.SCHEMA} RENAME TO {before}")
        raw.execute(f"ALTER SCHEMA {server.PART} RENAME TO {server.SCHEMA}")
        rights(raw, before if there else "")


def refuse_users(where: Address) -> None:
    """As `refuse_others`, before there is anything to do."""
    with server.told(where), closing(server.connect(where)) as raw:
        refuse_others(raw, where)


def refuse_others(raw: Any, where: Address) -> None:
    """Raise LogError while another program has a log of that database open. One that is just closing is waited for."""
    until = time.monotonic() + _CLOSING_S
    while raw.execute(_OTHERS).fetchone() is not None:
        if time.monotonic() > until:
            raise LogError(
                f"Another program has the log open: {where}.",
                "Nothing was changed.",
                "Close it everywhere, then try again.",
            )
        time.sleep(0.05)


def make(where: Address, schema: str) -> None:
    """Make an empty log in one transaction."""
    with transaction(where, schema) as connection:
        connection.exec_driver_sql(f"CREATE SCHEMA {schema}")
        run_migrations(connection, "head")


def migrate(where: Address, schema: str, revision: str) -> None:
    """Run the migrations in one transaction."""
    with transaction(where, schema) as connection:
        connection.exec_driver_sql(f"CREATE SCHEMA IF NOT EXISTS {schema}")
        run_migrations(connection, revision)


def run_migrations(connection: Connection, revision: str) -> None:
    """Run the migrations within a transaction."""
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(revisions.migrations()).replace("%", "%%"))
    config.attributes["connection"] = connection
    command.upgrade(config, revision)


@contextmanager
def transaction(where: Address, schema: str) -> Iterator[Connection]:
    """A transaction of its own that takes no turn to write."""
    engine = server.make_engine(where, schema)
    try:
        with engine.connect() as plain:
            connection = plain.execution_options(plain=True)
            with connection.begin():
                yield connection
    finally:
        engine.dispose()


def dangling(connection: Connection) -> list[tuple[str, str]]:
    """Rows that name a missing row, table of each. The server refuses such rows; a damaged one may have them."""
    found: list[tuple[str, str]] = []
    for table in Base.metadata.sorted_tables:
        for key in table.foreign_key_constraints:
            other = key.referred_table.alias()
            pairs = [(one.parent, other.c[one.column.name]) for one in key.elements]
            there = select(1).where(*(target == own for own, target in pairs)).exists()
            query = (
                select(func.count()).select_from(table).where(*(own.is_not(None) for own, _ in pairs), ~there)
            )
            found += [(table.name, key.referred_table.name)] * int(connection.execute(query).scalar_one())
    return found


def unreadable(connection: Connection, tick: Callable[[], None] | None) -> list[str]:
    """A line for each table of which a row cannot be read."""
    found = []
    for table in Base.metadata.sorted_tables:
        if tick is not None:
            tick()
        try:
            with connection.begin_nested():
                query = f"SELECT count(*), sum(hashtext(t::text)) FROM {table.name} AS t"
                connection.execute(text(query.replace("::", r"\:\:"))).all()
        except DBAPIError as error:
            found.append(f"{table.name}: {server.line(error.orig or error)}")
    return found
