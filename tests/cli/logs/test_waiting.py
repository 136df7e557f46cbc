"""While the demo is made the terminal says so and takes no keys; it comes back however that ends."""

from __future__ import annotations

import os
import select
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from finishlog.cli import waiting
from finishlog.cli.logs import demo

pty = pytest.importorskip("pty", reason="pseudo-terminals are POSIX's")
termios = pytest.importorskip("termios")

FIRST_S = 30.0


@pytest.fixture
def terminal() -> Iterator[tuple[int, int]]:
    theirs, ours = pty.openpty()
    yield theirs, ours
    os.close(theirs)
    os.close(ours)


def echoes(terminal: int) -> bool:
    return bool(termios.tcgetattr(terminal)[3] & termios.ECHO)


def waits(terminal: int) -> bool:
    return bool(select.select([terminal], [], [], 0.05)[0])


def test_keys_pressed_meanwhile_are_neither_shown_nor_kept(terminal: tuple[int, int]) -> None:
    theirs, ours = terminal
    with waiting.hushed(ours):
        assert not echoes(ours)
        os.write(theirs, b"xyz\n")
        assert waits(ours)
    assert echoes(ours)
    assert not waits(ours)
    assert not waits(theirs), "something was echoed"


def until(theirs: int, words: str) -> str:
    seen, end = "", time.monotonic() + FIRST_S
    while words not in seen:
        assert time.monotonic() < end, seen
        if waits(theirs):
            seen += os.read(theirs, 4096).decode()
    return seen


STATUS = {
    signal.SIGTERM: {143},
    signal.SIGHUP: {129},
    signal.SIGINT: {130, -2},
}
"""A shell shows 130 for both of the last: where ^C falls into text that Python compiles (a dataclass being made), the
interpreter, told 130, ends itself by the signal, as every program may that has cleaned up (CPython, pythonrun.c)."""


def _heeds_signals() -> None:
    """What runs in the background is started deaf to some; a person's program is not."""
    for each in (signal.SIGHUP, signal.SIGINT):
        signal.signal(each, signal.SIG_DFL)


@pytest.mark.parametrize("end", [signal.SIGTERM, signal.SIGHUP, signal.SIGINT])
def test_the_demo_says_that_it_is_made_and_gives_the_terminal_back_when_it_is_stopped(
    terminal: tuple[int, int], tmp_path: Path, end: signal.Signals
) -> None:
    theirs, ours = terminal
    program = subprocess.Popen(
        [sys.executable, "-m", "finishlog", "demo"], stdin=ours, stdout=ours, stderr=ours, cwd=tmp_path,
        env={**os.environ, "TMPDIR": str(tmp_path), "PYTHONIOENCODING": "utf-8"}, preexec_fn=_heeds_signals,
    )  # fmt: skip
    try:
        assert until(theirs, demo.MAKING).startswith(demo.MAKING)
        while echoes(ours):
            time.sleep(0.01)
        program.send_signal(end)
        assert program.wait(FIRST_S) in STATUS[end]
    finally:
        program.kill()
        program.wait()
    assert echoes(ours)
    if end is signal.SIGINT:
        assert "interrupted" in until(theirs, "interrupted")
    assert list(tmp_path.glob("finishlog-demo-*")) == []


AT_ONCE = """
import os, signal, sys, termios
from finishlog.cli.waiting import waiting

put = termios.tcsetattr
def ended(*how):
    termios.tcsetattr = put
    put(*how)
    os.kill(os.getpid(), int(sys.argv[1]))
termios.tcsetattr = ended
with waiting("busy"):
    print("not ended")
"""


@pytest.mark.parametrize("end", [signal.SIGTERM, signal.SIGHUP])
def test_one_that_is_stopped_as_it_hushes_the_terminal_gives_it_back(
    terminal: tuple[int, int], end: signal.Signals
) -> None:
    _, ours = terminal
    how = [sys.executable, "-c", AT_ONCE, str(int(end))]
    done = subprocess.run(how, stdin=ours, stdout=subprocess.PIPE, timeout=FIRST_S, preexec_fn=_heeds_signals)
    assert b"not ended" not in done.stdout
    assert done.returncode == 128 + end
    assert echoes(ours)
