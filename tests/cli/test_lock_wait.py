"""Another program holds the log: a command says so after a second, and Ctrl+C ends it with nothing written."""

from __future__ import annotations

import os
import signal
import sqlite3
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import closing
from typing import Any

import pytest

from finishlog.desk import services

NOTE = ("record", "mumblethorpe-porch", "note", "--note", "the neighbor's hose ran over it")
SAID = "finishlog: Another program is writing to this log; waiting… Ctrl+C stops the wait.\n"


@pytest.fixture
def held(demo: str) -> Iterator[sqlite3.Connection]:
    with closing(sqlite3.connect(demo, isolation_level=None, check_same_thread=False)) as other:
        other.execute("BEGIN IMMEDIATE")
        yield other


def notes(demo: str) -> int:
    with closing(sqlite3.connect(demo)) as log:
        return int(log.execute("SELECT count(*) FROM entry WHERE note = ?", (NOTE[-1],)).fetchone()[0])


@pytest.fixture
def on_word(monkeypatch: pytest.MonkeyPatch) -> Callable[[Callable[[], object]], None]:
    """What happens as soon as the wait is said."""

    def then(call: Callable[[], object]) -> None:
        say = services._say_waiting

        def said() -> None:
            say()
            call()

        monkeypatch.setattr(services, "WORD_AFTER_S", 0.05)
        monkeypatch.setattr(services, "_say_waiting", said)

    return then


def test_ctrl_c_ends_the_wait_and_nothing_is_written(
    finishlog: Any, demo: str, held: sqlite3.Connection, on_word: Any
) -> None:
    def ctrl_c() -> None:  # as the signal does it; a worker of a parallel run takes no signal
        raise KeyboardInterrupt

    on_word(ctrl_c)
    ran = finishlog("--log", demo, *NOTE)
    assert (ran.status, ran.out, ran.err) == (130, "", SAID + "interrupted\n")
    assert notes(demo) == 0


def test_a_wait_that_ends_by_itself_is_said_once(
    finishlog: Any, demo: str, held: sqlite3.Connection, on_word: Any
) -> None:
    on_word(lambda: held.execute("ROLLBACK"))
    ran = finishlog("--log", demo, *NOTE)
    assert (ran.status, ran.err) == (0, SAID)
    assert notes(demo) == 1


@pytest.mark.long
def test_the_program_says_it_within_two_seconds_and_ends_at_once(demo: str, held: sqlite3.Connection) -> None:
    child = subprocess.Popen(
        [sys.executable, "-m", "finishlog", "--log", demo, *NOTE],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        env={**os.environ, "FINISHLOG_NOW": "2026-06-16T12:45:00-05:00"},
    )  # fmt: skip
    assert child.stderr is not None
    assert child.stderr.readline() == SAID
    began = time.monotonic()
    child.send_signal(signal.SIGINT)
    _, err = child.communicate(timeout=20)
    assert (child.returncode, err) == (130, "interrupted\n")
    assert time.monotonic() - began < 2
    assert notes(demo) == 0
