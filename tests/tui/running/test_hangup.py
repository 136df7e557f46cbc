"""The terminal goes away while the screens are open: they leave, and do not read its end for ever."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from finishlog.tui.running import hangup

pty = pytest.importorskip("pty", reason="pseudo-terminals are POSIX's")

FIRST_S, LAST_S = 60.0, 10.0


def test_a_terminal_that_has_gone_is_told_from_one_that_is_there() -> None:
    from threading import Thread

    theirs, ours = pty.openpty()
    found: list[bool] = []
    waiting = Thread(target=lambda: found.append(hangup._hung_up(ours)), daemon=True)
    waiting.start()
    waiting.join(0.2)
    assert waiting.is_alive()
    os.close(theirs)
    waiting.join(10)
    os.close(ours)
    assert found == [True]


def test_a_terminal_that_went_before_it_was_watched_has_gone() -> None:
    theirs, ours = pty.openpty()
    assert not hangup._has_gone(ours)
    os.close(theirs)
    assert not os.isatty(ours)
    assert hangup._has_gone(ours)
    os.close(ours)


def own_session() -> None:
    """A session without a terminal of its own: nothing signals the hangup."""
    os.setsid()


def own_terminal() -> None:
    """As a terminal window starts it: its going is signaled."""
    import fcntl
    import termios

    os.setsid()
    fcntl.ioctl(0, termios.TIOCSCTTY, 0)


def under_nohup() -> None:
    own_terminal()
    signal.signal(signal.SIGHUP, signal.SIG_IGN)


@pytest.mark.long
@pytest.mark.parametrize("begin", [own_session, own_terminal, under_nohup])
def test_the_screens_leave_when_their_terminal_goes(
    demo: str, begin: Callable[[], None], tmp_path: Path
) -> None:
    theirs, ours = pty.openpty()
    told = [sys.executable, "-m", "finishlog", "--log", demo]
    program = subprocess.Popen(
        told, stdin=ours, stdout=ours, stderr=ours, cwd=tmp_path, preexec_fn=begin,
        env={**os.environ, "TERM": "xterm-256color"},
    )  # fmt: skip
    os.close(ours)
    try:
        read_until(theirs, b"Jobs")
        os.close(theirs)
        assert program.wait(LAST_S) in (0, hangup.STATUS)
    finally:
        if program.poll() is None:
            program.kill()
        program.wait()


@pytest.mark.long
@pytest.mark.parametrize("begin", [own_session, under_nohup])
def test_the_screens_leave_when_their_terminal_went_before_they_stood(
    demo: str, begin: Callable[[], None], tmp_path: Path
) -> None:
    theirs, ours = pty.openpty()
    program = subprocess.Popen(
        [sys.executable, "-m", "finishlog", "--log", demo], stdin=ours, stdout=ours, stderr=subprocess.DEVNULL,
        cwd=tmp_path, preexec_fn=begin, env={**os.environ, "TERM": "xterm-256color"},
    )  # fmt: skip
    os.close(ours)
    os.close(theirs)
    try:
        program.wait(FIRST_S)
    finally:
        if program.poll() is None:
            program.kill()
        program.wait()


def read_until(terminal: int, text: bytes) -> None:
    os.set_blocking(terminal, False)
    found, end = b"", time.monotonic() + FIRST_S
    while text not in found:
        assert time.monotonic() < end, found[-500:]
        try:
            found += os.read(terminal, 65536)
        except BlockingIOError:
            time.sleep(0.02)
