"""Start of the screens on 20,000 jobs, against a minimal Textual app with one search box, in the same run.

Both are started as a person starts them, in a terminal of 80×24, and the clock runs from the start of
the process to the moment the terminal has received the text looked for.
"""

from __future__ import annotations

import fcntl
import os
import pty
import select
import statistics
import struct
import subprocess
import sys
import termios
import time
from pathlib import Path

import pytest

pytestmark = pytest.mark.bench

JOBS = 20_000
ROUNDS = 9
MINIMAL = """
from textual.app import App
from textual.widgets import Input
class Minimal(App):
    def compose(self):
        yield Input(placeholder="Search box")
Minimal().run()
"""
BUILD = Path(__file__).parent / "big.py"


def seconds_until(command: list[str], needles: list[bytes], longest: float = 20.0) -> list[float]:
    """When each text arrived at the terminal, in seconds from the start of the process."""
    master, slave = pty.openpty()
    fcntl.ioctl(master, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
    env = {**os.environ, "TERM": "xterm-256color", "COLORTERM": "truecolor"}
    start = time.perf_counter()
    process = subprocess.Popen(
        command, stdin=slave, stdout=slave, stderr=slave, env=env, start_new_session=True, close_fds=True
    )
    os.close(slave)
    seen, found = b"", []
    try:
        while len(found) < len(needles) and time.perf_counter() - start < longest:
            ready, _, _ = select.select([master], [], [], 0.5)
            if not ready:
                continue
            try:
                seen += os.read(master, 65536)
            except OSError:
                break
            now = time.perf_counter() - start
            while len(found) < len(needles) and needles[len(found)] in seen:
                found.append(now)
    finally:
        process.kill()
        process.wait()
        os.close(master)
    assert len(found) == len(needles), f"{needles[len(found)]!r} never came: {seen[-2000:]!r}"
    return found


@pytest.fixture(scope="module")
def log(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A log of 20,000 jobs."""
    path = tmp_path_factory.mktemp("bench") / "many.finishlog"
    subprocess.run(
        [sys.executable, str(BUILD), str(JOBS), str(path)], check=True, timeout=300, capture_output=True
    )
    return path


def test_first_frame_and_first_rows(log: Path, capsys: pytest.CaptureFixture[str]) -> None:
    minimal, frame, rows = [], [], []
    ours = [sys.executable, "-m", "finishlog", "--log", str(log)]
    for _ in range(ROUNDS):
        minimal += seconds_until([sys.executable, "-c", MINIMAL], [b"earch box"])
        first, then = seconds_until(ours, [b"scrap of a name", f"{JOBS} of {JOBS}".encode()])
        frame.append(first)
        rows.append(then)
    floor, first, then = (statistics.median(times) for times in (minimal, frame, rows))
    with capsys.disabled():
        print(
            f"\nscreens on {JOBS} jobs: minimal app {floor:.3f} s, "
            f"first frame {first:.3f} s ({first / floor:.2f} x), rows {then:.3f} s ({then / floor:.2f} x)"
        )
    assert first <= 1.6 * floor
    assert then <= 2.6 * floor
