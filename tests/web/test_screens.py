"""The screens in a browser: who gets them, what they are told, and that their process ends."""

from __future__ import annotations

import json
import os
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from threading import Thread
from typing import Any

import psutil
import pytest
import uvicorn
from starlette.websockets import WebSocketDisconnect
from websockets.sync.client import connect
from websockets.typing import Origin

from finishlog.tui import access
from finishlog.web import running
from finishlog.web.app import make
from finishlog.web.pages import screens
from finishlog.web.site import COOKIE, Site
from finishlog.wiring import build
from tests import own_pg
from tests.web import real
from tests.web.conftest import ORIGIN, Phone, Served

SOCKET = f"ws{ORIGIN[4:]}/screens/socket?width=100&height=30"
ENDED_S = 10.0


def runs(pid: int) -> bool:
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    return True


def ended(pid: int, within_s: float = ENDED_S) -> bool:
    end = time.monotonic() + within_s
    while runs(pid) and time.monotonic() < end:
        time.sleep(0.05)
    return not runs(pid)


@contextmanager
def opened(phone: Phone) -> Iterator[Any]:
    with phone.client.websocket_connect(SOCKET, headers=phone.heads) as ws:
        yield ws


def until(ws: Any, words: str) -> None:
    """Frames, until one shows the words."""
    seen = b""
    while words.encode() not in seen:
        seen = (seen + ws.receive_bytes())[-200_000:]


def pid_of(served: Served) -> int:
    """Of the one visitor; waited for until it runs."""
    end = time.monotonic() + 30
    while time.monotonic() < end:
        for one in served.site.own(screens.Open):
            if one.pid is not None:
                return one.pid
        time.sleep(0.05)
    raise AssertionError("no screens were opened")


def test_the_office_gets_its_screens_and_leaving_ends_them(served: Served) -> None:
    office = served.phone_of("Ada", "office")
    with office.client, opened(office) as ws:
        until(ws, "Care")
        ws.send_text(json.dumps(["ping", "7"]))
        pid = pid_of(served)
        assert runs(pid)
        ws.close()
        assert ended(pid)
    assert "left the screens" in served.visits()


@pytest.mark.parametrize("who", ["nobody", "crew", "foreign"])
def test_nobody_else_gets_them(served: Served, who: str) -> None:
    phone = served.phone() if who == "nobody" else served.phone_of("Bo", "crew" if who == "crew" else "owner")
    if who == "foreign":
        phone.heads = {"origin": "http://example.com"}
    with pytest.raises(WebSocketDisconnect), opened(phone) as ws:
        ws.receive_bytes()
    assert served.site.own(screens.Open) == set()
    phone.get("/screens")
    assert phone.status == {"nobody": 200, "crew": 403, "foreign": 200}[who]
    assert ("terminal" in phone.last.text) == (who == "foreign")


def test_only_so_many_at_once(served: Served) -> None:
    office = served.phone_of("Ada", "office")
    visitors: set[Any] = served.site.own(screens.Open)
    visitors |= {object() for _ in range(screens.MOST)}
    with pytest.raises(WebSocketDisconnect) as full, opened(office) as ws:
        ws.receive_bytes()
    assert full.value.code == screens.FULL


@pytest.mark.long
def test_who_is_signed_out_has_no_screens_any_more(served: Served, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(screens, "LOOK_S", 0.2)
    office = served.phone_of("Ada", "office")
    with office.client, opened(office) as ws:
        ws.receive_bytes()
        pid = pid_of(served)
        served.site.people.put_out("Ada")
        assert ended(pid)


def test_files_of_the_machine_are_nobodys_in_a_browser() -> None:
    from finishlog.tui.actions import ACTIONS

    assert {one.id for one in ACTIONS} >= access.AT_MACHINE
    for role in ("owner", "office"):
        assert access.hidden(role, True) >= access.AT_MACHINE
        assert access.refused(role, "app", "app.backup", True) == access.NOT_FROM_AFAR
    assert access.refused("owner", "app", "app.backup") == ""


def test_its_page_brings_all_it_needs(served: Served) -> None:
    office = served.phone_of("Ada", "office")
    text = office.get("/screens")
    assert f'data-session-websocket-url="ws{ORIGIN[4:]}/screens/socket"' in text
    assert "://" not in text.replace(f"ws{ORIGIN[4:]}", "")
    for name in screens._FILES:
        assert office.client.get(f"/screens/{name}").status_code == 200
    assert "unsafe" not in office.client.get("/screens").headers["content-security-policy"]
    assert office.client.get("/screens/..%2fapp_service.py").status_code == 404


def test_a_log_on_a_server_is_named_by_its_address(served: Served) -> None:
    where = "postgresql://crew@db.example.com/log?sslmode=require"
    assert screens.log_of(Site(build(where), served.site.people, served.site.visits)) == where


@pytest.mark.long
def test_the_screens_over_a_log_on_a_server(tmp_path: Path) -> None:
    """All of it real: the server of the log, that of the phones, and the socket."""
    with own_pg.running() as server, real.serving(address := server.database(), tmp_path, limits="") as web:
        web.people.add("Una", "office")
        heads = {"cookie": web.come_in("Una").removeprefix("cookie: ")}
        at = f"ws{web.origin[4:]}/screens/socket?width=100&height=30"
        with connect(at, additional_headers=heads, origin=Origin(web.origin)) as ws:
            seen = b""
            while b"Care" not in seen:
                got = ws.recv(60)
                assert isinstance(got, bytes)
                seen = (seen + got)[-200_000:]
            (child,) = psutil.Process(web.process.pid).children()
            assert address in child.cmdline()
        assert ended(child.pid)
        assert web.is_well()


@contextmanager
def serving(served: Served) -> Iterator[int]:
    """A server as it is run, on a port of its own."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    config = uvicorn.Config(
        make(served.site, (f"http://127.0.0.1:{port}",)), port=port, log_level="error",
        ws_ping_interval=running.LISTENS_S, ws_ping_timeout=running.LISTENS_S,
    )  # fmt: skip
    server = uvicorn.Server(config)
    thread = Thread(target=server.run, daemon=True)
    thread.start()
    while not server.started:
        time.sleep(0.05)
    yield port
    server.should_exit = True
    thread.join(10)


@pytest.mark.long
def test_a_browser_that_falls_silent_has_left(served: Served) -> None:
    served.site.people.add("Ada", "office")
    session = served.site.people.follow(served.site.people.link("Ada"))
    with serving(served) as port, socket.create_connection(("127.0.0.1", port)) as line:
        asks = (
            f"GET /screens/socket HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nOrigin: http://127.0.0.1:{port}\r\n"
            f"Cookie: {COOKIE}={session}\r\nConnection: Upgrade\r\nUpgrade: websocket\r\n"
            "Sec-WebSocket-Version: 13\r\nSec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\r\n\r\n"
        )
        line.sendall(asks.encode())
        assert b" 101 " in line.recv(4096)
        pid, began = pid_of(served), time.monotonic()
        assert ended(pid)
        print(f"ended {time.monotonic() - began:.1f} s after it fell silent")


@pytest.mark.long
def test_they_end_with_a_server_that_was_killed(served: Served) -> None:
    """As a child of a program that is killed at once."""
    env = {
        **os.environ,
        "FINISHLOG_VISITOR": "office",
        "TEXTUAL_DRIVER": "textual.drivers.web_driver:WebDriver",
    }
    program = (
        "import os, subprocess, sys, time\n"
        "env = {**os.environ, 'FINISHLOG_PARENT': str(os.getpid())}\n"
        "child = subprocess.Popen([sys.executable, '-m', 'finishlog', '--log', sys.argv[1]], env=env,\n"
        "    stdin=subprocess.PIPE, stdout=subprocess.PIPE)\n"
        "child.stdout.readline()\n"
        "print(child.pid, flush=True)\n"
        "time.sleep(60)\n"
    )
    server = subprocess.Popen(
        [sys.executable, "-c", program, screens.log_of(served.site)],
        env=env,
        stdout=subprocess.PIPE,
        text=True,
    )
    assert server.stdout is not None
    pid = int(server.stdout.readline())
    assert runs(pid)
    server.kill()
    server.wait()
    assert ended(pid)
