"""Twenty phones at once for two minutes: how long their pages take beside a bare page, and that nothing is lost."""

from __future__ import annotations

import io
import json
import os
import random
import re
import socket
import sqlite3
import statistics
import subprocess
import sys
import time
from collections import Counter, defaultdict
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing, contextmanager
from http.client import HTTPConnection
from pathlib import Path
from urllib.parse import quote
from uuid import uuid4

import psutil
import pytest
from PIL import Image

from tests.web.real import Real, serving

PHONES, LASTS_S, TIMES = 20, float(os.environ.get("FINISHLOG_PHONES_S", "120")), 10.0
JOBS = 2_000
THINKS_S = 0.5, 3.5
"""A look at a page before the next."""
PAGES = ("today", "find", "job", "form", "photos")
SCRAPS = ("puddlecombe slate", "thistlwick walk", "otter", "mapel road patio")
ROOT = Path(__file__).parents[1]


class Phone:
    """One that is signed in: what it asks, how long each answer took, what was acknowledged."""

    def __init__(self, real: Real, floor: int, number: int, photo: bytes) -> None:
        self._real, self._photo = real, photo
        self._name = f"Bo {number}"
        real.people.add(self._name, "crew")
        self._cookie = real.come_in(self._name).partition(": ")[2]
        self._line, self._bare = HTTPConnection("127.0.0.1", real.port), HTTPConnection("127.0.0.1", floor)
        self._dice = random.Random(number)
        self.took: dict[str, list[float]] = defaultdict(list)
        self.acknowledged: list[str] = []

    def live(self, ends: float) -> None:
        """A crew's minute, again and again: what is due, a job found, its page, an entry, now and then a photo."""
        self._think()
        while time.monotonic() < ends:
            today = self._page("today", "/")
            due, poured = (re.findall(rf'href="/job/([^/"?]+)/{page}', today) for page in ("log", "photos"))
            self._floor()
            self._page("find", f"/find?words={quote(self._dice.choice(SCRAPS))}")
            job = self._dice.choice(due)
            self._page("job", f"/job/{job}")
            self._floor()
            self._page("form", f"/job/{job}/log/note")
            self._entry(job)
            if self._dice.random() < 0.5:
                job = self._dice.choice(poured)
                self._page("photos", f"/job/{job}/photos")
                self._floor()
                self._sends_photo(job)

    def _think(self) -> None:
        time.sleep(self._dice.uniform(*THINKS_S))

    def _page(self, what: str, path: str) -> str:
        status, text = self._ask(what, "GET", path)
        assert status == 200, (path, status, text[:200])
        self._think()
        return text

    def _ask(self, what: str, method: str, path: str, body: bytes = b"", **heads: str) -> tuple[int, str]:
        began = time.perf_counter()
        self._line.request(method, path, body or None, {"cookie": self._cookie, **heads})
        answer = self._line.getresponse()
        text = answer.read().decode()
        self.took[what].append(time.perf_counter() - began)
        return answer.status, text

    def _floor(self) -> None:
        began = time.perf_counter()
        self._bare.request("GET", "/")
        self._bare.getresponse().read()
        self.took["bare"].append(time.perf_counter() - began)
        self._think()

    def _sent(self, what: str, uid: str, path: str, body: bytes, kind: str) -> None:
        """Sent as the queue does it; every third answer is as good as lost, so it is sent once more."""
        token = json.loads(self._ask("token", "GET", "/token")[1])
        heads = {"x-csrf": token["csrf"], "origin": self._real.origin, "content-type": kind}
        for _ in range(2 if self._dice.random() < 0.3 else 1):
            status, text = self._ask(what, "POST", path, body, **heads)
            assert status == 200, (path, status, text[:300])
            assert json.loads(text)["kept"]
        self.acknowledged.append(uid)
        self._think()

    def _entry(self, job: str) -> None:
        uid = uuid4().hex
        texts = {"note": f"{self._name} {uid}", "at": "now", "by": self._name}
        given = {"job": job, "who": self._name, "uid": uid, "kind": "note", "texts": texts, "off_s": 0}
        self._sent("entry", uid, "/sent", json.dumps(given).encode(), "application/json")

    def _sends_photo(self, job: str) -> None:
        uid = uuid4().hex
        query = f"job={job}&who={quote(self._name)}&name={uid}.jpg&off_s=0&by={quote(self._name)}"
        own = self._photo[:2] + b"\xff\xfe\x00\x22" + uid.encode() + self._photo[2:]
        self._sent("photo", uid, f"/sent/photo/{uid}?{query}", own, "image/jpeg")


def taken() -> bytes:
    """A photo of 12 MP as a phone's camera makes it, this morning."""
    image, out = Image.effect_noise((4000, 3000), 20).convert("RGB"), io.BytesIO()
    exif = image.getexif()
    tags = exif.get_ifd(0x8769)
    tags[0x9003], tags[0x9011] = "2026:06:16 07:10:00", "-05:00"
    image.save(out, "jpeg", exif=exif, quality=85)
    return out.getvalue()


@contextmanager
def bare(lines: int) -> Iterator[int]:
    """The port of the page that it is measured against, served by a process of its own."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = int(free.getsockname()[1])
    env = {**os.environ, "FLOOR_LINES": str(lines), "PYTHONPATH": str(ROOT.parent)}
    process = subprocess.Popen([sys.executable, "-m", "tests.web.floor", str(port)], env=env)
    try:
        end = time.monotonic() + 30
        while True:
            try:
                socket.create_connection(("127.0.0.1", port)).close()
                break
            except OSError:
                assert time.monotonic() < end, "the bare page does not come"
                time.sleep(0.05)
        yield port
    finally:
        process.kill()
        process.wait()


@pytest.fixture
def big(tmp_path: Path) -> str:
    path = tmp_path / "big.finishlog"
    made = subprocess.run([sys.executable, ROOT / "bench" / "big.py", str(JOBS), path], capture_output=True)
    assert made.returncode == 0, made.stderr
    return str(path)


def entries(log: str, after: int = 0) -> list[tuple[int, str]]:
    """Number and identity of all that was logged after one."""
    with closing(sqlite3.connect(log)) as raw:
        return raw.execute("SELECT id, uid FROM entry WHERE id > ? ORDER BY id", (after,)).fetchall()


def slow(times: list[float]) -> float:
    """The 95th percentile, in milliseconds."""
    return statistics.quantiles(times, n=20)[-1] * 1000


def memory_mb(real: Real) -> float:
    return float(psutil.Process(real.process.pid).memory_info().rss) / 2**20


@pytest.mark.long
def test_twenty_phones_at_once_wait_little_and_lose_nothing(big: str, tmp_path: Path) -> None:
    (last, _), photo = entries(big)[-1], taken()
    with serving(big, tmp_path, limits="") as real, bare(lines=36) as floor:
        phones = [Phone(real, floor, number, photo) for number in range(PHONES)]
        first, cpu = memory_mb(real), psutil.Process(real.process.pid).cpu_times()
        with ThreadPoolExecutor(PHONES) as hands:
            list(hands.map(Phone.live, phones, [time.monotonic() + LASTS_S] * PHONES))
        after = memory_mb(real)
        used = psutil.Process(real.process.pid).cpu_times()
        assert real.is_well()
    took = {what: [one for phone in phones for one in phone.took[what]] for what in phones[0].took}
    for what, times in took.items():
        print(
            f"{what}: {len(times)}, median {statistics.median(times) * 1000:.0f} ms, 95th {slow(times):.0f} ms"
        )
    pages = [one for what in PAGES for one in took[what]]
    print(
        f"pages: {len(pages)}, 95th {slow(pages):.0f} ms, {slow(pages) / slow(took['bare']):.1f} of the bare page's"
    )
    print(f"memory {first:.0f} MB, after {after:.0f} MB, {(after - first) / PHONES:.1f} MB a phone")
    print(
        f"CPU of the server {used.user + used.system - cpu.user - cpu.system:.0f} s; load {os.getloadavg()}"
    )
    acknowledged = [uid for phone in phones for uid in phone.acknowledged]
    assert Counter(uid for _, uid in entries(big, last)) == Counter(acknowledged)
    assert slow(pages) <= TIMES * slow(took["bare"])
