"""Roles made by who may make roles and owns the log, and is no superuser: as a hosted server gives it."""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import psycopg
import pytest

from finishlog.errors import LogError
from finishlog.store.engine.postgres import making
from finishlog.store.engine.postgres.address import parsed
from tests import pg, raw
from tests.conftest import Ran

Run = Callable[..., Ran]
OTHERS = "SELECT FROM pg_stat_activity WHERE datname = current_database() AND pid <> pg_backend_pid()"
ADMIN, BO = f"admin_{os.getpid()}", f"bo_{os.getpid()}"


@pytest.fixture
def addresses(bare_address: str) -> Iterator[tuple[str, str]]:
    """Those of the admin, in an empty database, and of Bo, who is not there yet."""
    database = bare_address.partition("?")[0].rpartition("/")[2]
    pg.execute(f"CREATE ROLE {ADMIN} LOGIN CREATEROLE")
    pg.execute(f"GRANT CREATE ON DATABASE {database} TO {ADMIN}")
    yield (bare_address.replace("postgres:@", f"{ADMIN}@"), bare_address.replace("postgres:@", f"{BO}@"))
    pg.drop(bare_address)
    pg.execute(f"DROP ROLE IF EXISTS {BO}")
    pg.execute(f"DROP ROLE {ADMIN}")


def nobody_there(address: str) -> None:
    """A connection that was closed is gone by and by."""
    end = time.monotonic() + 30
    while raw.rows(address, OTHERS):
        assert time.monotonic() < end
        time.sleep(0.01)


def test_an_admin_sees_that_a_crew_has_the_log_open(
    addresses: tuple[str, str], finishlog: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A server tells who is no superuser less of others' connections."""
    admin, bo = addresses
    assert finishlog("--log", admin, "new").status == 0
    pg.execute(f"CREATE ROLE {BO} LOGIN")
    monkeypatch.setattr(making, "_CLOSING_S", 0.0)
    with psycopg.connect(bo, application_name="finishlog"), pytest.raises(LogError, match="has the log open"):
        making.refuse_users(parsed(admin))


def test_an_admin_who_is_no_superuser_makes_gives_takes_and_keeps_roles(
    addresses: tuple[str, str], bare_address: str, finishlog: Run, tmp_path: Path
) -> None:
    admin, bo = addresses
    copy = str(tmp_path / "copy.zip")

    def on(*argv: str) -> str:
        ran = finishlog("--log", admin, *argv)
        assert ran.status == 0, (argv, ran.err)
        return ran.out

    on("new")
    on("roles", "make")
    on("roles", "add", BO, "--as", "crew")
    assert finishlog("--log", bo, "find").status == 0
    assert "You work as owner" in on("roles")
    on("backup", copy)
    nobody_there(bare_address)
    on("restore", copy)
    assert finishlog("--log", bo, "find").status == 0
    on("roles", "add", BO, "--as", "office")
    assert on("roles").split()[-2:] == [BO, "office"]
    assert "The log is sound." in on("check")
    assert "is no login" in on("roles", "remove", BO)
    assert finishlog("--log", bo, "find").status == 3
    on("roles", "drop")
    pg.execute(f"CREATE ROLE {BO} LOGIN")  # by whoever runs the server
    on("roles", "make")
    on("roles", "add", BO, "--as", "crew")
    assert finishlog("--log", bo, "find").status == 0
    assert "is no login" not in on("roles", "remove", BO)
    on("roles", "drop")


def test_a_membership_that_somebody_else_gave_is_not_taken_for_gone(
    addresses: tuple[str, str], finishlog: Run
) -> None:
    """Only who gave it can take it: it is said, and nothing is changed."""
    admin, _ = addresses
    assert finishlog("--log", admin, "new").status == 0
    assert finishlog("--log", admin, "roles", "make").status == 0
    database = admin.partition("?")[0].rpartition("/")[2]
    pg.execute(f"CREATE ROLE {BO} LOGIN")
    pg.execute(f"GRANT finishlog_{database}_office TO {BO}")
    for command in (("add", BO, "--as", "crew"), ("remove", BO)):
        ran = finishlog("--log", admin, "roles", *command)
        assert (ran.status, ran.err.count("\n")) == (2, 1), ran
        assert "somebody else" in ran.err
    assert f"{BO}  office" in finishlog("--log", admin, "roles").out
    pg.execute(f"DROP ROLE {BO}")


def test_who_may_make_no_roles_is_told_so_in_a_line(addresses: tuple[str, str], finishlog: Run) -> None:
    admin, _ = addresses
    assert finishlog("--log", admin, "new").status == 0
    pg.execute(f"ALTER ROLE {ADMIN} NOCREATEROLE")
    ran = finishlog("--log", admin, "roles", "make")
    assert (ran.status, ran.err.count("\n")) == (3, 1), ran
    assert "permission denied to create role. Ask who runs the server." in ran.err
    assert finishlog("--log", admin, "check").status == 0
