"""The help page "On the phone" says what is true: its commands run, in its order."""

from __future__ import annotations

import shlex
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from finishlog.cli.main import parse
from finishlog.tui import help as help_screen
from finishlog.web import app, phone_clock, running
from finishlog.web.gate import place
from finishlog.web.pages import keeping
from tests.test_readme import README, ROOT, examples

LINES = examples(help_screen.page("phone"))


def test_the_page_runs_as_written(
    finishlog: Callable[..., Any], demo: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Serving itself is stood in for: it would go on until told to stop."""
    served: list[str] = []
    monkeypatch.setattr(
        place, "check_certificate", lambda *_: None
    )  # tests/web/test_gate_real.py has a real one
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    monkeypatch.setattr(running, "serve", lambda _, at, *__, **___: served.append(at.origin))
    for command in LINES:
        parse(shlex.split(command)[1:])
        ran = finishlog("--log", demo, *shlex.split(command)[1:])
        assert ran.status == 0, (command, ran.err)
    assert served == ["http://127.0.0.1:8021", "https://192.0.2.7:8021"]
    assert ran.out.split() == ["Ada", "office", "link", "only"]


def test_the_readme_shows_a_picture_that_is_small() -> None:
    picture = ROOT / ".pictures" / "phone.png"
    assert f"{picture.parent.name}/{picture.name}" in README
    assert picture.stat().st_size < 60_000


def test_what_it_promises_without_a_signal_is_so() -> None:
    page = help_screen.page("phone")
    assert f"the jobs of the next {keeping.DAYS} days ({keeping.MOST_JOBS} at the most)" in page
    assert f"more than {phone_clock.OFF_S // 60} minutes off" in page
    worker, waiting = ((app._STATIC / name).read_text("utf-8") for name in ("worker.js", "waiting.js"))
    assert "OLDEST_MS = 3 * 86400000" in worker
    assert '"Not in the log yet."' in waiting


def test_serving_without_tls_says_what_it_gives_up(
    finishlog: Callable[..., Any], demo: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(running, "serve", lambda _, at, ready, **__: ready(at))
    ran = finishlog("--log", demo, "serve", "--host", "192.0.2.7", "--insecure-lan")
    assert ran.status == 0
    for word in ("can read all", "change what is logged", "with no signal none opens", "stays open"):
        assert word in ran.out
    assert "No TLS" not in finishlog("--log", demo, "serve").out
