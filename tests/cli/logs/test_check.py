"""`check` on a terminal: progress on one line of standard error, stopped by Ctrl+C, gone on with."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from finishlog.cli.logs import telling as lines
from finishlog.cli.logs.mending import CHECK_STOPPED, checking
from finishlog.cli.logs.telling import Telling


def test_progress_is_told_on_a_terminal_and_wiped(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("sys.stderr.isatty", lambda: True)
    monkeypatch.setattr(lines, "_EVERY_S", -1.0)  # every word is due
    with Telling(checking, CHECK_STOPPED) as telling:
        telling("entries", 0.25)
        telling("pages", None)
    parts = capsys.readouterr().err.split("\r")
    assert parts[1:3] == ["Checking entries: 25%", "Checking every page… "]
    assert parts[3:] == [" " * len(parts[1]), ""]


def test_nothing_is_told_where_there_is_no_terminal(demo: str, finishlog: Callable[..., Any]) -> None:
    ran = finishlog("--log", demo, "check")
    assert (ran.status, ran.err) == (0, "")


def test_ctrl_c_says_that_the_next_check_goes_on(
    demo: str,
    finishlog: Callable[..., Any],
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    told: list[str] = []

    def stop(_self: Telling, what: str, _share: float | None) -> None:
        told.append(what)
        if what == "list":
            raise KeyboardInterrupt

    with monkeypatch.context() as stopped:
        stopped.setattr(Telling, "__call__", stop)
        ran = finishlog("--log", demo, "check")
    assert ran.status == 130
    assert "Stopped. The next check resumes here." in ran.err
    again: list[str] = []
    monkeypatch.setattr(Telling, "__call__", lambda _self, what, _share: again.append(what))
    assert finishlog("--log", demo, "check").status == 0
    assert told[0] == "pages"
    assert "pages" not in again


def test_an_older_copy_is_accepted_once(demo: str, finishlog: Callable[..., Any], tmp_path: Any) -> None:
    copy = tmp_path / "copy.finishlog"
    assert finishlog("--log", demo, "backup", str(copy)).status == 0
    handle = "bogglethwaite-front-yard"
    logged = finishlog("--log", demo, "record", handle, "note", "--note", "swept twice")
    assert logged.status == 0, logged.err
    with open(demo, "wb") as log:
        log.write(copy.read_bytes())
    ran = finishlog("--log", demo, "check")
    assert ran.status == 3
    assert "A saved entry is missing" in ran.out
    assert f"({handle}), note on 2026-06-16." in ran.out
    assert finishlog("--log", demo, "check", "--accept").status == 0
    assert finishlog("--log", demo, "check").status == 0
