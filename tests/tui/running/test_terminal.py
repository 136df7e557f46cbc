"""However the screens end, the terminal is given back: no mouse reports, the first screen, its echo."""

from __future__ import annotations

import os
import re
import select
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest

import finishlog
from finishlog.tui.running import terminal

pty = pytest.importorskip("pty", reason="pseudo-terminals are POSIX's")
termios = pytest.importorskip("termios")

FIRST_S = 60.0
MODES = ("1000", "1003", "1006", "1004", "1049", "2004")
"""The mouse, focus, the second screen, marked pastes."""
STARTED, SHOWN = b"\x1b[?1049h", b"Jobs"


def own_terminal() -> None:
    import fcntl

    os.setsid()
    fcntl.ioctl(0, termios.TIOCSCTTY, 0)


def left_on(written: bytes) -> list[str]:
    """The modes that were switched on last."""
    return [
        mode
        for mode in MODES
        if (re.findall(rf"\x1b\[\?{mode}([hl])".encode(), written) or [b"l"])[-1] == b"h"
    ]


def run(
    demo: str, tmp_path: Path, code: str, seen: bytes, then: Callable[[int], object]
) -> tuple[int, bytes, int]:
    """Exit status, all that was written, and the terminal's flags at the end; `then` with its id once it is `seen`."""
    theirs, ours = pty.openpty()
    environment = {
        **os.environ,
        "TERM": "xterm-256color",
        "PYTHONPATH": str(Path(finishlog.__file__).parents[1]),
    }
    program = subprocess.Popen(
        [sys.executable, "-c", code, "--log", demo], stdin=ours, stdout=ours, stderr=ours, cwd=tmp_path,
        preexec_fn=own_terminal, env=environment,
    )  # fmt: skip
    written, end, told = b"", time.monotonic() + FIRST_S, False
    try:
        while program.poll() is None or select.select([theirs], [], [], 0)[0]:
            assert time.monotonic() < end, written[-500:]
            if select.select([theirs], [], [], 0.05)[0]:
                written += os.read(theirs, 65536)
            if seen in written and not told:
                told = True
                then(program.pid)
        assert STARTED in written, written
        return program.returncode, written, termios.tcgetattr(ours)[3]
    finally:
        if program.poll() is None:
            program.kill()
        program.wait()
        os.close(theirs)
        os.close(ours)


MAIN = "import sys; from finishlog.__main__ import main; sys.exit(main(sys.argv[1:]))"
BROKEN = """
import sys
from finishlog.__main__ import main
from finishlog.tui.app import FinishlogApp
from finishlog.tui.jobs.jobs import JobsScreen
def broken(self, *args):
    raise RuntimeError("a fault")
{real} = broken
sys.exit(main(sys.argv[1:]))
"""


@pytest.mark.long
@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGHUP, signal.SIGINT])
@pytest.mark.parametrize("seen", [STARTED, SHOWN])
def test_a_signal_leaves_the_terminal_as_it_was(
    demo: str, tmp_path: Path, number: signal.Signals, seen: bytes
) -> None:
    status, written, flags = run(demo, tmp_path, MAIN, seen, lambda pid: os.kill(pid, number))
    assert status in (0, 130, 128 + number)
    assert left_on(written) == []
    assert flags & termios.ECHO
    assert flags & termios.ICANON


@pytest.mark.long
@pytest.mark.parametrize("real", ["FinishlogApp.on_mount", "JobsScreen.compose_body"])
def test_a_fault_at_the_start_leaves_the_terminal_as_it_was(demo: str, tmp_path: Path, real: str) -> None:
    status, written, flags = run(demo, tmp_path, BROKEN.format(real=real), b"nothing", lambda pid: None)
    assert status == 1
    assert left_on(written) == []
    assert flags & termios.ECHO


def broken_off(screens: int) -> None:
    silent = termios.tcgetattr(screens)
    silent[3] &= ~(termios.ECHO | termios.ICANON)
    termios.tcsetattr(screens, termios.TCSANOW, silent)
    raise SystemExit(143)


def test_what_breaks_off_the_screens_switches_all_off(monkeypatch: pytest.MonkeyPatch) -> None:
    theirs, ours = pty.openpty()
    before, kept = termios.tcgetattr(ours), [os.dup(fd) for fd in (0, 2)]
    for fd in (0, 2):
        os.dup2(ours, fd)
    try:
        with pytest.raises(SystemExit), terminal.given_back():
            broken_off(ours)
    finally:
        for fd, old in zip((0, 2), kept, strict=True):
            os.dup2(old, fd)
            os.close(old)
    assert termios.tcgetattr(ours)[3] == before[3]
    assert os.read(theirs, 4096).endswith(b"\x1b[?1049l\x1b[?25h\x1b[0m")
    with terminal.given_back():  # the usual end has said it already
        pass
    assert not select.select([theirs], [], [], 0)[0]
    os.close(theirs)
    os.close(ours)


def test_every_mode_that_textual_switches_on_is_switched_off() -> None:
    source = (Path(sys.modules["textual"].__file__ or "").parent / "drivers" / "linux_driver.py").read_text()
    switched = set(re.findall(r"\\x1b\[\?(\d+)h", source)) - {"25", "7", "1007", "2026", "2048"}
    assert "1049" in switched
    assert {mode for mode in switched if f"\x1b[?{mode}l".encode() not in terminal.OFF} == set()
