"""What a phone sends is seen in a terminal that has the log open, within two seconds of its acknowledgment."""

from __future__ import annotations

import shutil
import time
from collections.abc import Iterator
from pathlib import Path
from threading import Event, Thread
from typing import Any

import pytest

from finishlog.__main__ import main
from finishlog.web.pages import queue
from tests import pg
from tests.tui.running.test_two_terminals import SEEN_S, Terminal
from tests.web.browser.conftest import Browser, Net
from tests.web.browser.test_browser import JOB, SIZES, photographs, shots

ROOM = (100, 60)
"""Columns and rows: all that is sent is on the screen at once."""


@pytest.fixture(params=["file", "server"])
def demo(request: pytest.FixtureRequest, made_demo: Path, tmp_path: Path) -> Iterator[str]:
    """The demo's log, in a file and on a PostgreSQL server."""
    shutil.copytree(f"{made_demo}.files", tmp_path / "demo.finishlog.files")
    file = str(shutil.copy(made_demo, tmp_path / "demo.finishlog"))
    if request.param == "file":
        yield file
        return
    address = pg.bare()
    assert main(["--log", file, "copy-to", address]) == 0
    yield address
    pg.drop(address)


class Watched(Thread):
    """A terminal that is looked at all the time: when each line was first on its screen."""

    def __init__(self, terminal: Terminal) -> None:
        super().__init__(daemon=True)
        self._terminal, self._ended = terminal, Event()
        self.first: dict[str, float] = {}

    def run(self) -> None:
        while not self._ended.is_set():
            self._terminal.read(0.02)
            for line in self._terminal.text.split("\n"):
                self.first.setdefault(line.strip(), time.monotonic())

    def end(self) -> None:
        self._ended.set()
        self.join()

    def there(self, *each: str) -> list[float]:
        """When a line with each of these words came; nothing as long as one is not there."""
        first = self.first.copy()
        times = [min((at for line, at in first.items() if words in line), default=0.0) for words in each]
        return times if all(times) else []


@pytest.fixture
def terminal(demo: str) -> Iterator[Terminal]:
    one = Terminal(demo, "ada", ROOM)
    one.shows("breakfast patio")
    one.press("/", *"larkspur", "enter")
    one.shows("1 of 31")
    one.press("enter")
    one.shows("Was done")
    one.press("right")
    one.shows("jointed")
    yield one
    one.end()


@pytest.fixture
def told(monkeypatch: pytest.MonkeyPatch) -> dict[int, float]:
    """When the server first acknowledged each entry."""
    times: dict[int, float] = {}
    said = queue._kept

    def kept(job: str, number: int, *given: Any) -> Any:
        times.setdefault(number, time.monotonic())
        return said(job, number, *given)

    monkeypatch.setattr(queue, "_kept", kept)
    return times


def rinses(phone: Browser) -> None:
    phone.go(f"/job/{JOB}/log/rinse")
    phone.one("#f-swept").send_keys("yes")
    phone.one("#f-note").send_keys("two passes")
    phone.press("form[data-wait] button.main")
    phone.until(lambda: phone.driver.current_url.endswith("/waiting"))


@pytest.mark.long
@pytest.mark.parametrize("size", SIZES)
def test_three_photos_and_a_rinse_are_seen_in_a_terminal(
    net: Net, terminal: Terminal, told: dict[int, float], size: tuple[int, int], tmp_path: Path
) -> None:
    phone = net.browser(size)
    net.comes_in(phone)
    watched = Watched(terminal)
    watched.start()
    rinses(phone)
    photographs(phone, shots(tmp_path, 3))
    phone.reads("Nothing waits.", "rinsed", "photo")
    shown = phone.until(
        lambda: watched.there("rinsed", "7:10a photo", "7:11a photo", "7:12a photo"), "the screen"
    )
    watched.end()
    late = [there - when for there, when in zip(shown, told.values(), strict=True)]
    print(f"\nseen at {size} after", ", ".join(f"{seconds:.2f} s" for seconds in late))
    assert max(late) <= SEEN_S
