"""A crew's rights hold after a restore, a copy and an upgrade, and are never more than before."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import psycopg
import pytest

from finishlog.roles import CREW
from finishlog.store.engine.postgres.address import parsed
from finishlog.store.rights import roles
from tests import pg
from tests.conftest import Ran
from tests.migrations.conftest import future  # noqa: F401  (a fixture)
from tests.store.rights.attempts import refused

JOB, PRICE = "walk", "48151.62"
LOGIN = f"still_{os.getpid()}"
Run = Callable[..., Ran]
COUNT = "SELECT count(*) FROM entry WHERE kind = 'note'"


@pytest.fixture
def owner(address: str, finishlog: Run) -> Iterator[str]:
    """The address of a log with roles, a crew, and a price."""
    roles.make(parsed(address))
    roles.add(parsed(address), LOGIN, CREW)
    for command in (
        ("job", "new", "--customer", "Ottoline Quillfeather", "--job", "walk", "--areas", "field 24x18 4in",
         "--handle", JOB, "--poured-on", "2026-06-15"),
        ("shelf", "buy", "Otter Back", "--kind", "powder release", "--amount", "50 lb", "--price", PRICE),
    ):  # fmt: skip
        assert finishlog("--log", address, *command).status == 0
    yield address
    roles.drop(parsed(address))
    pg.execute(f"DROP ROLE {LOGIN}")


def as_crew(owner: str) -> str:
    return owner.replace("postgres:@", f"{LOGIN}@")


def assert_rights_hold(owner: str, notes: int, run: Run) -> None:
    """A crew sees this log, no price, and changes nothing but what it logs; nothing of a log that was set aside."""
    with closing(psycopg.connect(as_crew(owner), autocommit=True)) as raw:
        raw.execute("SET search_path = finishlog_crew, finishlog")
        assert raw.execute(COUNT).fetchone() == (notes,)
        assert raw.execute("SELECT price_usd FROM stock_move").fetchall() == [(None,)]
        for schema, name in _relations(raw):
            if schema not in ("finishlog", "finishlog_crew"):
                assert refused(raw, f"SELECT * FROM {schema}.{name}"), (schema, name)
        for statement in (
            "SELECT price_usd FROM finishlog.stock_move", "DELETE FROM finishlog.entry", "DELETE FROM customer",
            "INSERT INTO setting VALUES ('a', 'b', 'c')", "UPDATE job SET name = 'mine'", "DROP VIEW entry",
        ):  # fmt: skip
            assert refused(raw, statement), statement
    said = run("--log", as_crew(owner), "record", JOB, "note", "--note", "dry")
    assert said.status == 0, said.err
    checked = run("--log", owner, "check")
    assert checked.status == 0, checked.out


def _relations(raw: Any) -> list[tuple[str, str]]:
    query = (
        "SELECT n.nspname, c.relname FROM pg_class c JOIN pg_namespace n ON n.oid = c.relnamespace "
        "WHERE n.nspname LIKE 'finishlog%' AND c.relkind IN ('r', 'v')"
    )
    return [(str(schema), str(name)) for schema, name in raw.execute(query)]


def test_after_a_restore(owner: str, finishlog: Run, tmp_path: Path) -> None:
    copy = str(tmp_path / "copy.zip")
    notes = [("--log", as_crew(owner), "record", JOB, "note", "--note", text) for text in ("kept", "lost")]
    assert finishlog(*notes[0]).status == 0
    assert finishlog("--log", owner, "backup", copy).status == 0
    assert finishlog(*notes[1]).status == 0
    assert finishlog("--log", owner, "restore", copy).status == 0
    assert (
        finishlog("--log", owner, "record", JOB, "note", "--note", "takes the number of the lost").status == 0
    )
    assert_rights_hold(owner, 2, finishlog)
    with closing(psycopg.connect(owner, autocommit=True)) as raw:
        found = raw.execute(
            "SELECT e.note FROM finishlog_rights.written JOIN finishlog.entry e USING (id) ORDER BY id"
        )
        assert found.fetchall() == [("kept",), ("dry",)]


@pytest.mark.long
def test_after_a_copy_to_where_it_was(owner: str, finishlog: Run, tmp_path: Path) -> None:
    there = str(tmp_path / "there.finishlog")
    assert finishlog("--log", as_crew(owner), "record", JOB, "note", "--note", "dry").status == 0
    assert finishlog("--log", owner, "copy-to", there).status == 0
    with closing(psycopg.connect(owner, autocommit=True)) as raw:
        raw.execute("DROP SCHEMA finishlog CASCADE")
    assert finishlog("--log", there, "copy-to", owner).status == 0
    assert_rights_hold(owner, 1, finishlog)


def test_after_an_upgrade(owner: str, finishlog: Run, future: Callable[[str], None]) -> None:  # noqa: F811
    assert finishlog("--log", as_crew(owner), "record", JOB, "note", "--note", "dry").status == 0
    future("op.execute('ALTER TABLE entry ALTER COLUMN note TYPE varchar')\n"
           "op.execute('CREATE TABLE more (id INT)')")  # fmt: skip
    said = finishlog("--log", as_crew(owner), "today")
    assert (said.status, "Ask the owner" in said.err) == (3, True), said.err
    assert finishlog("--log", owner, "today").status == 0
    assert_rights_hold(owner, 1, finishlog)
    with closing(psycopg.connect(as_crew(owner), autocommit=True)) as raw:
        assert refused(raw, "SELECT * FROM finishlog.more")


def test_a_log_without_roles_stays_without(
    address: str,
    tmp_path: Path,
    finishlog: Run,
    future: Callable[[str], None],  # noqa: F811
) -> None:
    copy = str(tmp_path / "copy.zip")
    assert finishlog("--log", address, "backup", copy).status == 0
    assert finishlog("--log", address, "restore", copy).status == 0
    future("op.execute('CREATE TABLE more (id INT)')")
    assert finishlog("--log", address, "find").status == 0
    with closing(psycopg.connect(address)) as raw:
        names = raw.execute("SELECT nspname FROM pg_namespace WHERE nspname LIKE 'finishlog%'").fetchall()
        assert not {"finishlog_crew", "finishlog_rights"} & {name for (name,) in names}
        assert raw.execute("SELECT 1 FROM pg_roles WHERE rolname LIKE %s", (f"finishlog_{raw.info.dbname}%",)
                           ).fetchall() == []  # fmt: skip
