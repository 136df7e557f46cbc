"""A key's way to the screen while a hundred photos come in, against the same key at rest, in a terminal of 80×24.

The clock runs from the key's bytes going into the terminal to the first bytes that come back.
"""

from __future__ import annotations

import fcntl
import os
import pty
import select
import struct
import subprocess
import sys
import termios
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from tests.bench.test_photo_bench import camera

pytestmark = pytest.mark.bench
PHOTOS, AT_REST, PAUSE = 100, 100, 0.06
TWO_FRAMES = 2 / 60
UP, DOWN, ESCAPE, ENTER, KEEP = b"\x1b[A", b"\x1b[B", b"\x1b", b"\r", b"\x13"


class Terminal:
    """finishlog in a terminal, and what it has shown since it was last looked at."""

    def __init__(self, master: int) -> None:
        self.master, self.shown = master, b""

    def read(self, seconds: float) -> bytes:
        if not select.select([self.master], [], [], seconds)[0]:
            return b""
        came = os.read(self.master, 65536)
        self.shown += came
        return came

    def until(self, needle: bytes, longest: float = 30.0) -> None:
        end = time.perf_counter() + longest
        while needle not in self.shown:
            assert time.perf_counter() < end, f"{needle!r} never came: {self.shown[-1500:]!r}"
            self.read(0.2)

    def press(self, *keys: bytes) -> None:
        """One after another, each when nothing comes any more, or after a second: progress never rests."""
        for key in keys:
            os.write(self.master, key)
            end = time.perf_counter() + 1
            while time.perf_counter() < end and self.read(0.4):
                pass

    def seconds(self, key: bytes) -> float:
        while self.read(0):
            pass
        began = time.perf_counter()
        os.write(self.master, key)
        while not self.read(0.05):
            assert time.perf_counter() - began < 5, "a key has no answer"
        return time.perf_counter() - began

    def rest(self) -> None:
        end = time.perf_counter() + PAUSE
        while (left := end - time.perf_counter()) > 0:
            self.read(left)


@contextmanager
def opened(log: Path, env: dict[str, str]) -> Iterator[Terminal]:
    master, slave = pty.openpty()
    fcntl.ioctl(master, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
    command = [sys.executable, "-m", "finishlog", "--log", str(log)]
    process = subprocess.Popen(
        command, stdin=slave, stdout=slave, stderr=slave, env=env, start_new_session=True, close_fds=True
    )
    os.close(slave)
    try:
        yield Terminal(master)
    finally:
        process.kill()
        process.wait()
        os.close(master)


def phone(folder: Path) -> Path:
    """A hundred photos of 12 million pixels: twelve pictures, each file its own by a few bytes at its end."""
    made = folder / "made"
    made.mkdir()
    pictures = [path.read_bytes() for path in camera(made)]
    came = folder / "phone"
    came.mkdir()
    for number in range(PHOTOS):
        (came / f"IMG_{number:04d}.jpg").write_bytes(pictures[number % len(pictures)] + f"{number}".encode())
    return came


def said(name: str, times: list[float]) -> str:
    ms = sorted(1000 * each for each in times)
    return f"{name} {len(ms)} keys, median {middle(ms):.0f} ms, 95 of 100 in {most(ms):.0f} ms, longest {ms[-1]:.0f} ms"


def middle(times: list[float]) -> float:
    return sorted(times)[len(times) // 2]


def most(times: list[float]) -> float:
    return sorted(times)[int(0.95 * len(times))]


def test_a_key_answers_while_photos_come_in(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    env = {**os.environ, "TERM": "xterm-256color", "COLORTERM": "truecolor", "TZ": "America/Chicago",
           "FINISHLOG_NOW": "2026-06-16T12:40:00Z",
           **{f"XDG_{what}_HOME": str(tmp_path / what) for what in ("CACHE", "DATA", "CONFIG")}}  # fmt: skip
    log, folder = tmp_path / "demo.finishlog", phone(tmp_path)
    make = [sys.executable, "-m", "finishlog", "demo", "--into", str(log)]
    subprocess.run(make, env=env, check=True, timeout=120, capture_output=True)
    with opened(log, env) as terminal:
        terminal.until(b"scrap of a name")
        terminal.press(b"", ESCAPE, DOWN, ENTER, b"p", b"a", str(folder).encode(), KEEP, ESCAPE, b"1")
        busy: list[float] = []
        terminal.shown = b""
        while b"photos kept" not in terminal.shown:
            busy.append(terminal.seconds((DOWN, UP)[len(busy) % 2]))
            terminal.rest()
        terminal.press(b"")
        rest: list[float] = []
        while len(rest) < AT_REST:
            rest.append(terminal.seconds((DOWN, UP)[(len(busy) + len(rest)) % 2]))
            terminal.rest()
    with capsys.disabled():
        print(f"\n{said('while photos come in', busy)}; {said('at rest', rest)}")
    assert len(busy) >= PHOTOS // 4, "they were in before anything was measured"
    assert middle(busy) <= middle(rest) + TWO_FRAMES
    assert most(busy) <= most(rest) + TWO_FRAMES
