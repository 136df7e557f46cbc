"""A crew on a server: what it needs works through the commands; all else is tried by raw SQL, and refused."""

from __future__ import annotations

import os
import re
from collections.abc import Callable, Iterator
from contextlib import closing
from typing import Any

import psycopg
import pytest

from finishlog.roles import CREW, OFFICE
from finishlog.store.engine.postgres.address import parsed
from finishlog.store.rights import roles
from finishlog.store.sealing import form
from tests import pg
from tests.store.rights.attempts import refused

JOB = "walk"
PRICES = ("48151.62", "48151", "62915.37", "62915", "7331.25", "7331")
A_PRICE = re.compile(rf"(?<![0-9a-f])({'|'.join(map(re.escape, PRICES))})(?![0-9a-f])")
"""Not within a uid or a hash, where any digits may stand."""
KEPT_FOR_SPEED = {
    *("job_line", "job_facet", "due", "care", "job_text", "job_word", "job_word_at", "job_word_tally"),
    *("learned", "write_token"),
}
CREWS_ENTRIES = (
    ("load", "--set", "yards=4", "--area", "field", "--product", "Puddle Tan", "--amount", "12 lb"),
    ("powder_release", "--area", "field", "--product", "Otter Back", "--lot", "0999", "--amount", "5 lb"),
    ("stamp", "--area", "field"),
    ("sweep", "--area", "field", "--set", "reclaimed_lb=2"),
    ("rinse", "--area", "field", "--because", "dry"),
    ("reading", "--area", "field", "--set", "color=52,3,9", "--set", "damp=no"),
    ("care", "--set", "state=booked", "--set", "on=2027-08-13"),
    ("note", "--note", "gate left open"),
)


@pytest.fixture(scope="module")
def log(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[str, str]]:
    """The addresses of an owner and of a crew of a log that has a price in each place there is."""
    from finishlog.__main__ import main

    address, home = pg.database(), tmp_path_factory.mktemp("owner")
    where, login = parsed(address), f"{CREW}_{os.getpid()}"
    roles.make(where)
    for role in (CREW, OFFICE):
        roles.add(where, login.replace(CREW, role), role)
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("FINISHLOG_NOW", "2026-06-16T07:40:00-05:00")
        for name in ("DATA", "CONFIG", "CACHE", "STATE"):
            patch.setenv(f"XDG_{name}_HOME", str(home))
        for command in (
            ("job", "new", "--customer", "Ottoline Quillfeather", "--job", "walk", "--areas", "field 24x18 4in",
             "--handle", JOB, "--poured-on", "2026-06-15"),
            ("shelf", "buy", "Otter Back", "--kind", "powder release", "--lot", "0999", "--amount", "50 lb",
             "--price", PRICES[0]),
            ("record", JOB, "change", "--area", "field", "--set", f"price_added={PRICES[2]}"),
        ):  # fmt: skip
            assert main(["--log", address, *command]) == 0
    with psycopg.connect(address, autocommit=True) as raw:
        raw.execute("SET search_path = finishlog")
        raw.execute("INSERT INTO setting VALUES ('price_per_yd3', %s, '2026-06-16T12:00:00Z')", (PRICES[4],))
        raw.execute(
            "INSERT INTO draft VALUES ('entry walk change', %s, '2026-06-16T12:00:00Z')", (PRICES[4],)
        )
        plan = (
            '{"cost": {"usd": 7331.25}, "concrete": {"prices": {"joint": "7331/1"}, "options": [], "n": 2.5}}'
        )
        raw.execute(
            "INSERT INTO advice SELECT 1, 'a', id, 'plan', 'm', '{}', %s, '2026-06-16T12:00:00Z' FROM job",
            (plan,),
        )
    yield address, address.replace("postgres:@", f"{login}@")
    roles.drop(where)
    pg.drop(address)
    for role in (CREW, OFFICE):
        pg.execute(f"DROP ROLE {login.replace(CREW, role)}")


@pytest.fixture
def shop(log: tuple[str, str], finishlog: Callable[..., Any]) -> tuple[Callable[..., Any], str, str]:
    """Commands, with those addresses."""
    return finishlog, *log


@pytest.fixture
def another(log: tuple[str, str]) -> Iterator[Any]:
    """Another crew's connection."""
    login = f"other_{os.getpid()}"
    roles.add(parsed(log[0]), login, CREW)
    with closing(psycopg.connect(log[0].replace("postgres:@", f"{login}@"), autocommit=True)) as raw:
        raw.execute("SET search_path = finishlog_crew, finishlog")
        yield raw
    roles.remove(parsed(log[0]), login)


@pytest.fixture
def crew(log: tuple[str, str]) -> Iterator[Any]:
    with closing(psycopg.connect(log[1], autocommit=True)) as raw:
        raw.execute("SET search_path = finishlog_crew, finishlog")
        yield raw


def _relations(raw: Any) -> list[tuple[str, str]]:
    query = (
        "SELECT n.nspname, c.relname FROM pg_class c JOIN pg_namespace n ON n.oid = c.relnamespace "
        "WHERE n.nspname IN ('finishlog', 'finishlog_crew', 'finishlog_rights') AND c.relkind IN ('r', 'v', 'm')"
    )
    return [(str(schema), str(name)) for schema, name in raw.execute(query)]


def test_a_crew_does_all_its_work_and_the_log_is_sound(shop: tuple[Any, str, str]) -> None:
    run, owner, crew = shop
    for entry in CREWS_ENTRIES:
        ran = run("--log", crew, "record", JOB, *entry)
        assert ran.status == 0, (entry, ran.err)
    for command in (
        ("undo", JOB), ("undo", JOB), ("shelf", "count", "Otter Back", "--lot", "0999", "--amount", "40 lb"),
        ("show", JOB), ("find", "Quillfeather"), ("today",), ("care",), ("shelf",), ("color", JOB),
    ):  # fmt: skip
        ran = run("--log", crew, *command)
        assert ran.status == 0, (command, ran.err)
        assert "$" not in ran.out
        assert not any(price in ran.out for price in PRICES)
    first = run("--log", crew, "undo", JOB, "1")
    assert (first.status, first.err.count("\n")) == (2, 1)
    assert "Only the owner or the office may" in first.err
    assert run("--log", owner, "check").status == 0, "what a crew may not hash waits"
    assert run("--log", owner, "record", JOB, "note", "--note", "hashes the rest").status == 0
    checked = run("--log", owner, "check")
    assert checked.status == 0, checked.out
    assert "Another program" not in checked.out
    held = run("--log", owner, "shelf", "--json").json()
    lot = next(one for one in held if one["lot"] == "0999")
    assert lot["usd_per_unit"] == pytest.approx(48151.62 / 50, abs=0.01), (
        "what was paid outlives a crew's count"
    )


def test_no_price_can_be_read_in_any_column_of_any_table(crew: Any) -> None:
    seen = 0
    for schema, name in _relations(crew):
        try:
            rows = crew.execute(f"SELECT t::text FROM {schema}.{name} AS t").fetchall()
        except psycopg.errors.InsufficientPrivilege:
            continue
        seen += len(rows)
        assert not [row for row in rows if A_PRICE.search(row[0])], (schema, name)
    assert seen > 20
    for statement in ("SELECT price_usd FROM finishlog.stock_move", "SELECT facts FROM finishlog.entry",
                      "SELECT answer FROM finishlog.advice", "SELECT sums FROM finishlog.shelf",
                      "SELECT value FROM finishlog.setting", "SELECT body FROM finishlog.draft",
                      "SELECT hash FROM finishlog.seal", "SELECT told FROM finishlog_rights.paid"):  # fmt: skip
        assert refused(crew, statement), statement
    found = crew.execute("SELECT count(*) FROM seal WHERE what IN (16, 17, 20)").fetchone()
    assert found == (0,), "a hash without a uid could be tried"


def test_a_uid_that_would_let_a_price_be_tried_out_is_not_seen(log: tuple[str, str], crew: Any) -> None:
    with psycopg.connect(log[0]) as raw:
        for table, priced in (("entry", "kind = 'change'"), ("stock_move", "true"), ("advice", "true")):
            (uid,) = raw.execute(f"SELECT uid FROM finishlog.{table} WHERE {priced}").fetchone()  # type: ignore[misc]
            assert crew.execute(f"SELECT count(*) FROM {table} WHERE uid = %s", (uid,)).fetchone() == (0,)


def test_every_change_of_every_table_is_refused_but_what_an_entry_does(crew: Any) -> None:
    for schema, name in _relations(crew):
        table = f"{schema}.{name}"
        assert refused(crew, f"TRUNCATE {table}"), table
        if name in KEPT_FOR_SPEED:
            continue
        if (schema, name) not in {("finishlog_crew", one) for one in ("draft", "seal", "unsealed", "shelf")}:
            assert refused(crew, f"DELETE FROM {table}"), table
        column = crew.execute(
            "SELECT attname FROM pg_attribute WHERE attrelid = %s::regclass AND attnum > 0 LIMIT 1", (table,)
        ).fetchone()[0] if schema != "finishlog_rights" else "id"  # fmt: skip
        if table not in {f"finishlog_crew.{one}" for one in ("job", "recipe", "product", "log_state")}:
            assert refused(crew, f"UPDATE {table} SET {column} = {column}"), table
    for statement in (
        "UPDATE job SET name = 'mine'", "UPDATE job SET state = 'archived'", "UPDATE job SET handle = 'x'",
        "UPDATE log_state SET uid = 'x'", "INSERT INTO setting VALUES ('a', 'b', 'c')",
        "INSERT INTO customer SELECT * FROM customer", "INSERT INTO job SELECT * FROM job",
        "INSERT INTO load (entry_id) SELECT min(id) FROM entry",
        "INSERT INTO finishlog.load (entry_id) SELECT 1", "INSERT INTO finishlog.entry SELECT * FROM entry",
    ):  # fmt: skip
        assert refused(crew, statement), statement


def test_the_hashes_and_counts_of_a_log_only_go_on(crew: Any) -> None:
    for statement in (
        "UPDATE log_state SET writes = writes - 1", "UPDATE log_state SET writes = writes + 2",
        "UPDATE log_state SET writes = writes + 1, entries = entries - 1", "UPDATE log_state SET proof = 'x'",
        "UPDATE log_state SET id = 2, writes = writes + 1", "UPDATE log_state SET uid = 'x', writes = writes + 1",
        "UPDATE seal SET hash = 'x'", "UPDATE unsealed SET what = 1", "DELETE FROM log_state",
    ):  # fmt: skip
        assert refused(crew, statement), statement
    count = "SELECT count(*) FROM seal"
    (before,) = crew.execute(count).fetchone()
    with crew.transaction(force_rollback=True):
        assert crew.execute("DELETE FROM seal").rowcount == 0
        assert crew.execute(count).fetchone() == (before,) > (0,)
        crew.execute("INSERT INTO unsealed (what, row_id) VALUES (11, 1)")
        crew.execute("DELETE FROM unsealed WHERE what = 11")
        assert crew.execute("SELECT count(*) FROM unsealed WHERE what = 11").fetchone() == (1,), "no new hash"
        crew.execute("INSERT INTO seal VALUES (11, 1, 'x')")
        crew.execute("DELETE FROM unsealed WHERE what = 11")
        assert crew.execute("SELECT count(*) FROM unsealed WHERE what = 11").fetchone() == (0,)


def test_a_hash_that_a_crew_forged_is_told_by_check(shop: tuple[Any, str, str], crew: Any) -> None:
    """Who may log must be let to hash; check works all out anew."""
    run, owner, _ = shop
    uid, writes, entries, proof = crew.execute("SELECT uid, writes, entries, proof FROM log_state").fetchone()
    (head,) = crew.execute("SELECT hash FROM chain ORDER BY entry_id DESC LIMIT 1").fetchone()
    (right,) = crew.execute("SELECT hash FROM seal WHERE what = 11 AND row_id = 1").fetchone()
    more = (writes + 1, entries + 1, form.state(uid, writes + 1, entries + 1, head))
    forged = "UPDATE log_state SET writes = %s, entries = %s, proof = %s"
    with psycopg.connect(owner, autocommit=True) as raw:
        raw.execute("SET search_path = finishlog")
        crew.execute("INSERT INTO seal VALUES (11, 1, 'x')")
        checked = run("--log", owner, "check")
        assert (checked.status, "is not as it was saved" in checked.out) == (3, True), checked
        raw.execute("UPDATE seal SET hash = %s WHERE what = 11 AND row_id = 1", (right,))
        crew.execute(forged, more)
        checked = run("--log", owner, "check")
        assert (checked.status, "says of itself" in checked.out) == (3, True), checked
        raw.execute(forged, (writes, entries, proof))
    assert run("--log", owner, "check").status == 0


def test_unfinished_forms_are_of_whoever_types_them(crew: Any, another: Any) -> None:
    draft = "INSERT INTO draft VALUES ('entry walk rinse by a@b', %s, '2026-06-16T12:00:00Z')"
    crew.execute(draft, ("mine",))
    another.execute(draft, ("theirs",))
    for raw, said in ((crew, "mine"), (another, "theirs")):
        assert raw.execute("SELECT key, body FROM draft").fetchall() == [("entry walk rinse by a@b", said)]
    assert another.execute("DELETE FROM draft").rowcount == 1
    assert crew.execute("SELECT body FROM draft").fetchall() == [("mine",)]
    assert crew.execute("DELETE FROM draft").rowcount == 1
    for key in ("entry walk change", "letter walk", "entry walk recipe_joined by a@b"):
        assert refused(crew, f"INSERT INTO draft VALUES ('{key}', 'x', 'y')"), key


@pytest.mark.parametrize(
    "statement",
    [
        "CREATE TABLE finishlog.mine (id INT)", "CREATE VIEW finishlog_crew.mine AS SELECT 1",
        "CREATE SCHEMA mine", "CREATE TABLE public.mine (id INT)", "DROP TABLE finishlog.draft",
        "ALTER TABLE finishlog.setting DISABLE ROW LEVEL SECURITY", "DROP VIEW finishlog_crew.entry",
        "ALTER TABLE finishlog.entry DISABLE TRIGGER ALL", "SET session_replication_role = replica",
        "SET ROLE postgres", "SET SESSION AUTHORIZATION postgres", "CREATE ROLE mine",
        "COPY finishlog.stock_move TO STDOUT", "COPY finishlog.job_line TO '/tmp/x'",
        "COPY finishlog.job_line TO PROGRAM 'cat'", "SELECT pg_read_file('/etc/passwd')",
        "SELECT pg_ls_dir('/')", "SELECT lo_import('/etc/passwd')", "SELECT lo_export(1, '/tmp/x')",
        "SELECT finishlog_rights.mine('entry', 1)", "SELECT finishlog_rights.unpriced('{}')",
        "CREATE FUNCTION finishlog.mine() RETURNS INT LANGUAGE sql AS 'SELECT 1'",
        "CREATE EXTENSION file_fdw", "SELECT rolpassword FROM pg_authid",
    ],
)  # fmt: skip
def test_no_way_around(crew: Any, statement: str) -> None:
    assert refused(crew, statement)


def test_the_office_sees_prices_and_changes_no_setting_of_the_shop(shop: tuple[Any, str, str]) -> None:
    run, _, crew = shop
    office = crew.replace(f"//{CREW}_", f"//{OFFICE}_")
    assert f"${PRICES[0][:2]}" in run("--log", office, "shelf", "moves").out
    assert "Only the owner" in run("--log", office, "shop", "--name", "Mine").err
    with closing(psycopg.connect(office, autocommit=True)) as raw:
        raw.execute("SET search_path = finishlog")
        assert (
            raw.execute("UPDATE finishlog.setting SET value = '1' WHERE key = 'price_per_yd3'").rowcount == 0
        )
        assert refused(raw, "INSERT INTO finishlog.setting VALUES ('joint', '1', 'x')")
        assert not refused(raw, "INSERT INTO finishlog.setting VALUES ('sealer:x', '1', 'x')")


def test_check_says_when_rights_are_not_as_they_should_be(shop: tuple[Any, str, str]) -> None:
    run, owner, _ = shop
    assert run("--log", owner, "check").status == 0
    with psycopg.connect(owner, autocommit=True) as raw:
        group = raw.execute("SELECT 'finishlog_' || current_database() || '_crew'").fetchone()[0]  # type: ignore[index]
        raw.execute(f"GRANT DELETE ON finishlog.customer TO {group}")
        assert "roles make" in run("--log", owner, "check").out
        assert run("--log", owner, "roles", "make").status == 0
        assert run("--log", owner, "check").status == 0
        raw.execute("DROP SCHEMA finishlog_crew CASCADE")
        assert "roles make" in run("--log", owner, "check").out
