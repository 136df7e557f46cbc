"""The help page "When one machine is not enough" says what is true: its commands run, on a server."""

from __future__ import annotations

import os
import re
import shlex
from collections.abc import Callable
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit, urlunsplit

import psycopg
import pytest

from finishlog.cli.main import parse
from finishlog.tui import help as help_screen
from tests import raw
from tests.migrations.conftest import future  # noqa: F401  (a fixture)
from tests.test_readme import examples

ADDRESS = "postgresql://{}@db.example.com/shop"
PAGE = help_screen.page("server")
LINES = examples(PAGE)


def test_every_command_of_the_page_can_be_parsed() -> None:
    assert len(LINES) >= 6
    for command in LINES:
        parse(shlex.split(command)[1:])


def sql(start: str) -> str:
    """A statement that the page names."""
    return re.findall(rf"{start}[^;]*;", PAGE)[0]


@pytest.mark.long
def test_what_is_said_to_the_server_itself_is_true(
    finishlog: Callable[..., Any],
    address: str,
    tmp_path: Path,
    future: Callable[[str], None],  # noqa: F811
) -> None:
    """A restored log's rows and then those of before it; an upgraded log's rows of before; room; upkeep."""

    def on(*argv: str) -> str:
        ran = finishlog("--log", address, *argv)
        assert ran.status == 0, (argv, ran.err)
        return str(ran.out)

    def before() -> str:
        found = raw.rows(
            address, "SELECT nspname FROM pg_namespace WHERE nspname LIKE 'finishlog_before_%' ORDER BY 1"
        )
        return str(found[0][0])  # a number comes before a name

    on("roles", "make")
    on("backup", str(tmp_path / "monday.zip"))
    on("job", "new", "--customer", "Ottoline Quillfeather", "--job", "walk")
    on("restore", str(tmp_path / "monday.zip"))
    assert "Quillfeather" not in on("find")
    with psycopg.connect(address, autocommit=True) as server:
        was = before()
        server.execute(sql("ALTER SCHEMA finishlog RENAME"))
        server.execute(sql("ALTER SCHEMA finishlog_before").replace("finishlog_before_20260616_074000", was))
        on("roles", "make")
        assert "Quillfeather" in on("find")
        assert "The log is sound." in on("check")
        on("roles", "drop")
        future("op.execute('CREATE TABLE more (id INT)')")
        on("find")
        said = "finishlog_before_0010"
        assert server.execute(sql("SELECT").replace(said, before()).replace(".entry", ".job")).rowcount == 1
        server.execute(sql("DROP").replace(said, before()))
        server.execute(sql("VACUUM"))
    assert "The log is sound." in on("check")


@pytest.mark.long
def test_the_page_runs_as_written(
    finishlog: Callable[..., Any], bare_address: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """In its order, from a shop's log in a file; the screens alone are opened elsewhere."""
    monkeypatch.chdir(tmp_path)
    assert finishlog("demo", "--into", "shop.finishlog").status == 0
    before = finishlog("--log", "shop.finishlog", "today", "--json").out
    crew = f"bo_{os.getpid()}"
    parts = urlsplit(bare_address)
    as_crew = urlunsplit(parts._replace(netloc=f"{crew}@{parts.netloc.rpartition('@')[2]}"))
    addresses = {ADDRESS.format("ada"): bare_address, ADDRESS.format("bo"): as_crew, "bo": crew}
    for command in LINES:
        argv = [addresses.get(word, word) for word in shlex.split(command)[1:]]
        if argv[:1] == ["--log"] and len(argv) == 2:
            continue
        ran = finishlog(*argv)
        assert ran.status == 0, (command, ran.err)
    for where in (bare_address, as_crew, "friday.finishlog"):
        assert finishlog("--log", where, "today", "--json").out == before, where
    assert os.path.getsize("before.zip") > 0
    assert os.path.getsize("monday.zip") > 0
    assert finishlog("--log", bare_address, "roles", "remove", crew).status == 0
    assert finishlog("--log", bare_address, "roles", "drop").status == 0
