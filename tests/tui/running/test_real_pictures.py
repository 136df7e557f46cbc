"""Real pictures only where the terminal draws them: nobody else is asked, nor pays for it."""

from __future__ import annotations

import fcntl
import os
import pty
import re
import select
import struct
import subprocess
import sys
import termios
import time
from pathlib import Path

import pytest
from PIL import Image

from finishlog.tui.running import real_pictures

ASKED = {"foot": b"\x1b[?62;4;22c", "xterm-kitty": b"\x1b[?62;22c"}
"""What those terminals answer to DA1 (ECMA-48; 4: Sixel, VT340)."""


@pytest.mark.parametrize(
    ("env", "may"),
    [
        ({"TERM": "xterm-256color"}, False),
        ({"TERM": "xterm-256color", "TERM_PROGRAM": "vscode"}, False),
        ({}, False),
        ({"TERM": "xterm-kitty"}, True),
        ({"TERM": "foot"}, True),
        ({"TERM": "foot-direct"}, True),
        ({"TERM": "xterm-256color", "TERM_PROGRAM": "WezTerm"}, True),
        ({"TERM": "xterm-256color", "KONSOLE_VERSION": "240800"}, True),
        ({"TERM": "xterm-kitty", "TMUX": "/tmp/tmux"}, False),
        ({"TERM": "screen-256color", "KITTY_WINDOW_ID": "1", "STY": "1.pts"}, False),
    ],
)
def test_only_a_terminal_that_says_so_is_asked(env: dict[str, str], may: bool) -> None:
    assert real_pictures.likely(env) is may


def test_an_ordinary_terminal_does_not_even_load_the_library() -> None:
    code = "import sys; from finishlog.tui.running import real_pictures as r; r.prepare({'TERM': 'xterm-256color'}); " \
           "sys.exit('textual_image' in sys.modules or 'PIL' in sys.modules or r.there())"  # fmt: skip
    assert subprocess.run([sys.executable, "-c", code], timeout=60).returncode == 0


@pytest.mark.long
@pytest.mark.parametrize(
    ("term", "drawn"), [("foot", b"\x1bP"), ("xterm-kitty", b"\x1b_G"), ("xterm-256color", "▀".encode())]
)
def test_the_terminal_gets_what_it_draws(term: str, drawn: bytes, tmp_path: Path) -> None:
    """A made-up terminal that answers as those do is sent Sixel, the Kitty protocol, or half blocks."""
    env = {**os.environ, "TERM": term, "COLORTERM": "truecolor", "FINISHLOG_NOW": "2026-06-16T12:40:00Z",
           **{f"XDG_{what}_HOME": str(tmp_path / what) for what in ("CACHE", "DATA", "CONFIG")}}  # fmt: skip
    for name in ("TMUX", "STY", "NO_COLOR"):
        env.pop(name, None)
    log, photo = tmp_path / "demo.finishlog", tmp_path / "slab.png"
    Image.linear_gradient("L").convert("RGB").save(photo)
    command = [sys.executable, "-m", "finishlog"]
    subprocess.run([*command, "demo", "--into", str(log)], env=env, check=True, capture_output=True)
    keep = ["photo", "larkspur-breakfast-patio", str(photo), "--taken", "Jun 16 7a"]
    subprocess.run([*command, "--log", str(log), *keep], env=env, check=True, capture_output=True)
    shown = shown_by([*command, "--log", str(log)], env, term)
    assert drawn in shown
    others = {b"\x1bP", b"\x1b_G"} - {drawn}
    assert not [one for one in others if one in shown]


def shown_by(command: list[str], env: dict[str, str], term: str) -> bytes:
    """What comes after `v` on the photos of the first job that is found."""
    master, slave = pty.openpty()
    fcntl.ioctl(master, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 800, 480))
    process = subprocess.Popen(
        command, stdin=slave, stdout=slave, stderr=slave, env=env, start_new_session=True, close_fds=True
    )
    os.close(slave)
    try:
        until(master, term, b"scrap of a name")
        for key, needle in (
            (b"/breakfast patio", b"1 of "),
            (b"\r", b"Went in"),
            (b"p", b"slab.png"),
            (b"v", b"1 of 1"),
        ):
            os.write(master, key)
            seen = until(master, term, needle)
        return seen + until(master, term, b"", 2.0)
    finally:
        process.kill()
        process.wait()
        os.close(master)


def until(master: int, term: str, needle: bytes, longest: float = 30.0) -> bytes:
    """What comes until the needle and half a second of quiet; questions are answered as that terminal does."""
    seen, end, quiet = b"", time.perf_counter() + longest, 0.0
    while time.perf_counter() < end and not (needle and needle in seen and quiet > 0.5):
        began = time.perf_counter()
        if not select.select([master], [], [], 0.1)[0]:
            quiet += time.perf_counter() - began
            continue
        quiet, came = 0.0, os.read(master, 65536)
        seen += came
        if b"\x1b[c" in came and b"\x1b_G" not in came:
            os.write(master, ASKED.get(term, b"\x1b[?6c"))
        asked = re.search(rb"\x1b_G[^\x1b]*i=(\d+)[^\x1b]*a=q|\x1b_G[^\x1b]*a=q[^\x1b]*i=(\d+)", came)
        if asked and term == "xterm-kitty":
            os.write(master, b"\x1b_Gi=" + (asked[1] or asked[2]) + b";OK\x1b\\")
    assert not needle or needle in seen, f"{needle!r} never came: {seen[-1500:]!r}"
    return seen
