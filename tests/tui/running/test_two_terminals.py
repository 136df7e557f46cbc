"""Two real programs in two pseudo-terminals on one log, on a file and on a server, read as a person would."""

from __future__ import annotations

import os
import select
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from pathlib import Path

import pytest

import finishlog
from finishlog.desk.jobs import edit
from finishlog.desk.record import record
from finishlog.tui.widgets.bars import AWAY
from tests import own_pg
from tests.tui.running.test_others import services
from tests.tui.running.test_terminal import MAIN, own_terminal

pty = pytest.importorskip("pty", reason="pseudo-terminals are POSIX's")
pyte = pytest.importorskip("pyte")

FIRST_S, SEEN_S, AWAY_S = 60.0, 2.0, 5.0
JOB = "quillfeather-front-walk"
KEYS = {"enter": "\r", "esc": "\x1b", "down": "\x1b[B", "up": "\x1b[A", "right": "\x1b[C", "tab": "\t",
        "ctrl+s": "\x13", "ctrl+t": "\x14", "ctrl+y": "\x19", "ctrl+u": "\x15", "ctrl+k": "\x0b"}  # fmt: skip


class Terminal:
    """The program in a terminal of its own."""

    def __init__(self, where: str, who: str, size: tuple[int, int] = (80, 24)) -> None:
        self._theirs, ours = pty.openpty()
        import fcntl
        import struct
        import termios

        fcntl.ioctl(ours, termios.TIOCSWINSZ, struct.pack("HHHH", *size[::-1], 0, 0))
        self._screen = pyte.Screen(*size)
        self._stream = pyte.ByteStream(self._screen)
        environment = {
            **os.environ,
            "TERM": "xterm-256color",
            "USER": who,
            "PYTHONPATH": str(Path(finishlog.__file__).parents[1]),
        }
        self._program = subprocess.Popen(
            [sys.executable, "-c", MAIN, "--log", where], stdin=ours, stdout=ours, stderr=ours, cwd="/tmp",
            preexec_fn=own_terminal, env=environment,
        )  # fmt: skip
        os.close(ours)

    @property
    def text(self) -> str:
        return "\n".join(self._screen.display)

    def read(self, seconds: float) -> None:
        if select.select([self._theirs], [], [], seconds)[0]:
            self._stream.feed(os.read(self._theirs, 65536))

    def until(self, there: Callable[[str], bool], within_s: float = FIRST_S) -> float:
        """Seconds until the screen shows it."""
        begun = time.monotonic()
        while not there(self.text):
            assert time.monotonic() - begun < within_s, self.text
            self.read(0.02)
        return time.monotonic() - begun

    def shows(self, words: str, within_s: float = FIRST_S) -> float:
        return self.until(lambda text: words in text, within_s)

    def press(self, *keys: str) -> None:
        for key in keys:
            os.write(self._theirs, KEYS.get(key, key).encode())
            self.read(0.05)

    def end(self) -> None:
        self._program.kill()
        self._program.wait()
        os.close(self._theirs)


@pytest.fixture
def terminal() -> Iterator[Callable[[str, str], Terminal]]:
    """Opens a log in a terminal, for somebody."""
    with ExitStack() as open_ones:

        def opened(where: str, who: str) -> Terminal:
            made = Terminal(where, who)
            open_ones.callback(made.end)
            made.shows("front walk")
            return made

        yield opened


def filled(where: str) -> str:
    """The log, with one job and one entry."""
    built = services(where)
    if "://" not in where:
        built.make_log(None).close()
    edit.new_job(built, {"customer": "Ottoline Quillfeather", "job": "front walk", "handle": JOB})
    record.record(built, JOB, "note", {"note": "hose", "by": "Bo"})
    built.close()
    return where


def to_the_job(one: Terminal) -> None:
    one.press("enter")
    one.shows("Was done")
    if "hose" not in one.text:
        one.press("right")
        one.shows("hose")


def to_the_correction(one: Terminal) -> None:
    one.press("e")
    one.shows("Correct: note")
    one.until(lambda text: "Log it" in text)


def two_at_it(where: str, terminal: Callable[[str, str], Terminal]) -> None:
    bo, maud = terminal(where, "bo"), terminal(where, "maud")
    for one in (bo, maud):
        to_the_job(one)
    bo.press("l")
    bo.shows("What was done?")
    bo.press(*"note")
    bo.until(lambda text: "► Note" in text)
    bo.press("enter")
    bo.shows("Log: note")
    bo.until(lambda text: "Log it" in text)
    bo.press("tab", "tab", "tab", *"two loads late", "ctrl+s")
    bo.shows("u undoes it")
    late = maud.shows("two loads late", SEEN_S)
    print(f"\nseen in the other terminal after {late:.2f} s")
    bo.press("up")  # from what was just logged to the entry that maud's mark has stayed on
    for one in (bo, maud):
        to_the_correction(one)
        one.shows("entry 1")
        one.press("tab", "tab")
    maud.press("ctrl+u", "ctrl+k", *"three loads late")
    maud.shows("three loads late")
    bo.press("ctrl+u", "ctrl+k", *"one load late", "ctrl+s")
    bo.shows("u undoes it")
    shown = maud.shows("one load late", SEEN_S)
    print(f"the conflict is shown after {shown:.2f} s")
    assert "three loads late" in maud.text
    maud.press("ctrl+s")
    maud.shows("someone else changed 1 field too")
    maud.press("ctrl+y", "ctrl+s")
    maud.shows("u undoes it")
    bo.shows("three loads late", SEEN_S)


def test_an_entry_and_a_conflict_are_shown_in_the_other_terminal(
    tmp_path: Path, terminal: Callable[[str, str], Terminal]
) -> None:
    two_at_it(filled(str(tmp_path / "shop.finishlog")), terminal)


@pytest.mark.long
def test_the_same_on_a_server(address: str, terminal: Callable[[str, str], Terminal]) -> None:
    two_at_it(filled(address), terminal)


@pytest.mark.long
@pytest.mark.parametrize("way", ["kill", "freeze"])
def test_a_server_that_goes_away_is_said_and_the_program_goes_on(
    way: str, terminal: Callable[[str, str], Terminal]
) -> None:
    with own_pg.running() as server:
        where = filled(server.database())
        one = terminal(where, "bo")
        one.press("n")
        one.shows("New job")
        one.press(*"Barnaby")
        getattr(server, way)()
        late = one.shows(AWAY, AWAY_S)
        print(f"\nsaid {late:.2f} s after {way}")
        one.press(*" Crumpet", "ctrl+s")
        if way == "kill":
            one.shows("Not written")
            one.press("enter")
            server.start()
        else:
            server.thaw()
        back = one.until(lambda text: AWAY not in text)
        print(f"back {back:.2f} s after the server")
        if way == "kill":
            one.shows("Barnaby Crumpet")
            one.press("ctrl+s")
        one.shows("is saved")
