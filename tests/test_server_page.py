"""The help page "When one machine is not enough" says what is true: its commands run, on a server."""

from __future__ import annotations

import os
import shlex
from collections.abc import Callable
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit, urlunsplit

import pytest

from finishlog.cli.main import parse
from finishlog.tui import help as help_screen
from tests.test_readme import examples

ADDRESS = "postgresql://{}@db.example.com/shop"
LINES = examples(help_screen.page("server"))


def test_every_command_of_the_page_can_be_parsed() -> None:
    assert len(LINES) >= 6
    for command in LINES:
        parse(shlex.split(command)[1:])


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
    assert finishlog("--log", bare_address, "roles", "remove", crew).status == 0
    assert finishlog("--log", bare_address, "roles", "drop").status == 0
