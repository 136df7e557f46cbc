"""A real browser as a phone: Debian's Chromium, with a profile that outlives it, on the site behind a wire."""

from __future__ import annotations

import os
import shutil
import signal
import socket
import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest

from tests.web.browser.wire import Wire
from tests.web.conftest import START, Served

CHROMIUM, DRIVER = shutil.which("chromium"), shutil.which("chromedriver")
PATIENCE_S = 40
SHIFTED = """(() => {
  const real = Date, off = %d;
  window.Date = class extends real {
    constructor(...given) { given.length ? super(...given) : super(real.now() + off); }
    static now() { return real.now() + off; }
  };
})()"""
"""The page's clock agrees with the log's, which stands at 7:40."""
LAN = "shop.example.com"
"""What a browser does not take for its own machine."""


@dataclass
class Browser:
    """Chromium in the hand's size. What it keeps stays in its profile when it ends, or is killed."""

    origin: str
    profile: Path
    size: tuple[int, int]
    clock_off_s: float = 0.0
    dots: int = 2
    """To a pixel."""
    driver: Any = None

    def open(self) -> None:
        """Start it, with whatever the profile holds."""
        from selenium import webdriver
        from selenium.webdriver.chrome.service import Service

        options = webdriver.ChromeOptions()
        options.binary_location = CHROMIUM or ""
        for flag in (
            "headless=new", "no-sandbox", "disable-dev-shm-usage", "disable-background-networking",
            "disable-component-update", "no-first-run", "disable-gpu", f"user-data-dir={self.profile}",
            f"host-resolver-rules=MAP {LAN} 127.0.0.1",
        ):  # fmt: skip
            options.add_argument(f"--{flag}")
        self.driver = webdriver.Chrome(
            options, Service(DRIVER)
        )  # with its path nothing is looked for elsewhere
        self.shaped(*self.size)
        self.tell("Emulation.setTimezoneOverride", timezoneId="America/Chicago")
        off = (START + self.clock_off_s - time.time()) * 1000
        self.tell("Page.addScriptToEvaluateOnNewDocument", source=SHIFTED % off)

    def shaped(self, width: int, height: int) -> None:
        """A screen of this size."""
        self.tell(
            "Emulation.setDeviceMetricsOverride",
            width=width, height=height, deviceScaleFactor=self.dots, mobile=True,
        )  # fmt: skip

    def tell(self, command: str, **given: Any) -> None:
        self.driver.execute_cdp_cmd(command, given)

    def close(self) -> None:
        """As a person closes it."""
        if self.driver is not None:
            self.driver.quit()
            self.driver = None

    def kill(self) -> None:
        """kill -9: the battery fell out."""
        pid = int(os.readlink(self.profile / "SingletonLock").rpartition("-")[2])
        os.kill(pid, signal.SIGKILL)
        driver, self.driver = self.driver, None
        driver.service.stop()

    def go(self, path: str) -> None:
        self.driver.get(self.origin + path)

    def one(self, selector: str) -> Any:
        return self.driver.find_element("css selector", selector)

    def press(self, selector: str) -> None:
        """Tap what is there, and it is wide enough for a thumb."""
        found = self.one(selector)
        assert found.size["height"] >= 48, (selector, found.size)
        self.driver.execute_script("arguments[0].scrollIntoView({block: 'center'})", found)
        found.click()

    def text(self) -> str:
        return str(self.driver.execute_script("return document.body ? document.body.innerText : ''"))

    def until(self, what: Callable[[], Any], why: str = "") -> Any:
        """What comes of it, once it is true."""
        end = time.monotonic() + PATIENCE_S
        while not (found := what()):
            assert time.monotonic() < end, f"{why or 'it'} did not come: {self.text()}"
            time.sleep(0.05)
        return found

    def reads(self, *words: str) -> None:
        """Wait until the page says all of it."""
        self.until(lambda: all(word in self.text() for word in words), f"{words}")

    def asked(self, script: str) -> Any:
        """What a script of the page answers once it is done."""
        return self.driver.execute_async_script(f"(async () => {{{script}}})().then(arguments[0])")

    def fits(self) -> None:
        """Nothing is wider than the hand."""
        wide = self.driver.execute_script("return document.documentElement.scrollWidth")
        assert wide <= self.size[0], (wide, self.driver.current_url)


@dataclass
class Net:
    """The site of a log, behind a wire."""

    served: Served
    wire: Wire
    folder: Path
    browsers: list[Browser] = field(default_factory=list)

    @property
    def origin(self) -> str:
        return f"http://127.0.0.1:{self.wire.port}"

    @property
    def plain(self) -> str:
        """The same by a name of the local network, without TLS."""
        return f"http://{LAN}:{self.wire.port}"

    def browser(
        self, size: tuple[int, int] = (390, 844), clock_off_s: float = 0.0, *, plain: bool = False
    ) -> Browser:
        made = Browser(
            self.plain if plain else self.origin,
            self.folder / f"profile{len(self.browsers)}",
            size,
            clock_off_s,
        )
        self.browsers.append(made)
        made.open()
        return made

    def comes_in(self, browser: Browser, name: str = "Bo") -> None:
        people = self.served.site.people
        if people.book.read().person(name) is None:
            people.add(name, "crew")
        browser.go(f"/in/{people.link(name)}")
        browser.press("main button")
        browser.reads("Today", "Rinse")


@pytest.fixture
def net(served: Served, tmp_path: Path) -> Iterator[Net]:
    if not (CHROMIUM and DRIVER):
        pytest.skip("no chromium on this machine: the walks in a browser are left out")
    import uvicorn

    from finishlog.web.app import make

    wire = Wire()
    made = Net(served, wire, tmp_path)
    listening = socket.create_server(("127.0.0.1", 0))
    wire.to = listening.getsockname()[1]
    app = make(served.site, (made.origin, made.plain))
    server = uvicorn.Server(uvicorn.Config(app, log_level="warning", timeout_graceful_shutdown=1))
    thread = threading.Thread(target=server.run, args=([listening],), daemon=True)
    thread.start()
    yield made
    for browser in made.browsers:
        browser.close()
    wire.close()
    server.should_exit = True
    thread.join(10)
