"""A server as `finishlog serve` starts it, a process of its own, met over real sockets."""

from __future__ import annotations

import os
import re
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from finishlog.web.gate.book import BookFile
from finishlog.web.gate.people import People
from finishlog.web.gate.tries import Tries
from finishlog.wiring import build
from tests.conftest import NOW

SCRIPT = """
import sys
from finishlog.web.gate import connections
{limits}
from finishlog.__main__ import main
sys.exit(main(sys.argv[1:]))
"""
SHORT = (
    "connections.HEADERS_S = connections.STILL_S = 1.0; connections.LOOK_S = .1; connections.LINGER_S = .3"
)
"""Limits that a test need not wait long for."""


@dataclass
class Real:
    """A running server. `said` is what it printed until phones could come."""

    process: subprocess.Popen[str]
    home: Path
    people: People
    said: str

    @property
    def origin(self) -> str:
        found = re.search(r"Serving at (\S+)\. Ctrl", self.said)
        assert found, self.said
        return found[1]

    @property
    def host(self) -> str:
        return self.origin.partition("://")[2]

    @property
    def port(self) -> int:
        return int(self.host.rpartition(":")[2])

    def connect(self, timeout_s: float = 20) -> socket.socket:
        return socket.create_connection(("127.0.0.1", self.port), timeout_s)

    def say(self, request: bytes, timeout_s: float = 20) -> bytes:
        """What is answered until the connection is closed, or nothing comes for a moment."""
        with self.connect(timeout_s) as to:
            to.sendall(request)
            return read(to)

    def ask(self, path: str, *heads: str, method: str = "GET", body: bytes = b"") -> tuple[int, str]:
        """A request as a browser sends it: the status, and head and body of the answer."""
        lines = [f"{method} {path} HTTP/1.1", f"host: {self.host}", "connection: close", *heads]
        if method == "POST":
            lines += [f"origin: {self.origin}", f"content-length: {len(body)}"]
            lines += ["content-type: application/x-www-form-urlencoded"]
        answer = self.say("\r\n".join([*lines, "", ""]).encode() + body).decode("utf-8", "replace")
        return int(answer.split(" ", 2)[1]) if answer else 0, answer

    def come_in(self, name: str) -> str:
        """The cookie of a phone that came in by a link."""
        status, answer = self.ask(f"/in/{self.people.link(name)}", method="POST")
        assert status == 303, answer
        found = re.search(r"set-cookie: ([^;]+)", answer, re.IGNORECASE)
        assert found
        return f"cookie: {found[1]}"

    def visits(self) -> str:
        return (self.home / "state" / "finishlog" / "visits.log").read_text("utf-8")

    def peak_mb(self) -> float:
        """The most memory that it ever had at once."""
        status = Path(f"/proc/{self.process.pid}/status").read_text("ascii")
        return int(status.partition("VmHWM:")[2].split()[0]) / 1024

    def is_well(self) -> bool:
        return self.process.poll() is None and self.ask("/in")[0] == 200

    def end(self, how: signal.Signals) -> tuple[float, int, str]:
        """Seconds until it ended, its exit status, and what it said besides."""
        began = time.monotonic()
        self.process.send_signal(how)
        out, err = self.process.communicate(timeout=30)
        return time.monotonic() - began, self.process.returncode, out + err


def read(to: socket.socket) -> bytes:
    got = b""
    try:
        while data := to.recv(65536):
            got += data
    except (ConnectionResetError, TimeoutError):
        pass
    return got


@contextmanager
def serving(log: str, home: Path, *options: str, limits: str = SHORT) -> Iterator[Real]:
    """A server of its own, ended at the end."""
    folders = {f"XDG_{name}_HOME": str(home / name.lower()) for name in ("DATA", "CONFIG", "CACHE", "STATE")}
    env = {**os.environ, **folders, "FINISHLOG_NOW": NOW, "TZ": "America/Chicago"}
    services = build(log)
    identity = services.log().identity()
    services.close()
    book = BookFile(home / "data" / "finishlog" / "people" / f"{identity}.json")
    people = People(book, Tries(time.monotonic), time.time)
    people.add("Bo", "crew")
    people.add("Ada", "owner", "four words said apart")
    script = SCRIPT.format(limits=limits)
    argv = [sys.executable, "-c", script, "--log", log, "serve", "--port", "0", *options]
    process = subprocess.Popen(argv, env=env, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    said = ""
    assert process.stdout is not None
    while "Serving at" not in said:
        line = process.stdout.readline()
        assert line, process.communicate()
        said += line
    try:
        yield Real(process, home, people, said)
    finally:
        if process.poll() is None:
            process.kill()
        process.communicate()
