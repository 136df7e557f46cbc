"""A log on a server, served to phones: it goes away and comes back, and a crew stays a crew. Uploads at full size."""

from __future__ import annotations

import os
import time
from pathlib import Path

import psutil
import pytest

from finishlog.desk.services import Services
from finishlog.wiring import build
from tests import own_pg
from tests.web.real import Real, serving

PHOTOS = "/job/larkspur-breakfast-patio/photos"


class Lent:
    """Stands for a log that a server's owner opened."""

    role = "owner"
    prices = None

    def close(self) -> None:
        pass


def test_a_crew_on_a_phone_is_a_crew_whoever_opened_the_log(demo: str) -> None:
    services: Services = build(demo).seen_by("crew")
    services._log = Lent()  # type: ignore[assignment]
    assert services.role == "crew"
    assert not services.may("prices")


@pytest.mark.long
def test_a_server_that_is_away_is_said_and_the_page_goes_on_when_it_is_back(tmp_path: Path) -> None:
    with own_pg.running() as server, serving(server.database(), tmp_path, limits="") as real:
        cookie = real.come_in("Bo")
        assert real.ask("/", cookie)[0] == 200
        server.crash()
        status, answer = real.ask("/find?words=patio", cookie)
        assert status == 503
        assert "server" in answer
        assert "Traceback" not in answer
        assert real.ask("/in")[0] == 200
        server.start()
        assert own_pg.until(lambda: real.ask("/find?words=patio", cookie)[0] == 200, 30)


def _sends(real: Real, heads: str, pieces: int) -> int:
    """Bytes that were taken of a body in pieces that never ends."""
    piece = b"10000\r\n" + b"x" * 65536 + b"\r\n"
    sent = 0
    with real.connect() as to:
        to.sendall(f"POST {PHOTOS} HTTP/1.1\r\n{heads}transfer-encoding: chunked\r\n\r\n".encode())
        try:
            while sent < pieces * 65536:
                to.sendall(piece)
                sent += 65536
        except OSError:
            pass
    return sent


@pytest.mark.long
def test_two_gigabytes_in_pieces_take_neither_memory_nor_disk(demo: str, tmp_path: Path) -> None:
    spool = tmp_path / "spool"
    spool.mkdir()
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("TMPDIR", str(spool))
        with serving(demo, tmp_path, limits="") as real:
            process = psutil.Process(real.process.pid)
            cookie, before = real.come_in("Bo"), process.memory_info().rss
            heads = f"host: {real.host}\r\norigin: {real.origin}\r\n{cookie}\r\n"
            form = "content-type: multipart/form-data; boundary=b\r\n"
            began = time.monotonic()
            sent = _sends(real, heads + form, 2 * 2**14)
            took = time.monotonic() - began
            grown = (process.memory_info().rss - before) / 2**20
            print(f"taken {sent / 2**20:.0f} MB in {took:.1f} s, memory +{grown:.0f} MB")
            assert sent < 2**30  # 200 MB of a form, and what came while its answer was read
            assert grown < 100
            assert own_pg.until(lambda: os.listdir(spool) == [])
            assert real.is_well()
