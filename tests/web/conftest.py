"""The site as a phone meets it, without a network: a log of the demo, people, a browser that keeps its cookies."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime
from html import unescape
from pathlib import Path
from typing import Any

import pytest
from argon2 import PasswordHasher
from starlette.testclient import TestClient

from finishlog.desk.services import Services
from finishlog.web.app import make
from finishlog.web.gate import people
from finishlog.web.gate.book import BookFile
from finishlog.web.gate.people import People
from finishlog.web.gate.tries import Tries
from finishlog.web.gate.visits import Visits
from finishlog.web.site import Site
from finishlog.wiring import build

ORIGIN = "http://127.0.0.1:8021"
START = datetime.fromisoformat("2026-06-16T07:40:00-05:00").timestamp()


@dataclass
class Seconds:
    """A clock that a test moves."""

    at: float = START

    def __call__(self) -> float:
        return self.at


@dataclass
class Phone:
    """A browser without script."""

    client: TestClient
    last: Any = None
    heads: dict[str, str] = field(default_factory=lambda: {"origin": ORIGIN})

    def get(self, path: str) -> str:
        self.last = self.client.get(path)
        return unescape(self.last.text)

    def post(self, path: str, **texts: str) -> str:
        """A form as it stands on the page shown last, with these texts typed into it."""
        self.last = self.client.post(path, data={**self.hidden(), **texts}, headers=self.heads)
        return unescape(self.last.text)

    def hidden(self) -> dict[str, str]:
        form = self.last.text if self.last is not None else ""
        return dict(re.findall(r'<input type="hidden" name="(\w+)" value="([^"]*)"', form))

    @property
    def status(self) -> int:
        return int(self.last.status_code)


@dataclass
class Served:
    """A site over a log of its own."""

    site: Site
    services: Services
    seconds: Seconds
    phones: list[TestClient] = field(default_factory=list)

    def phone(self) -> Phone:
        """One that nobody came in with."""
        self.phones.append(
            TestClient(make(self.site, (ORIGIN,)), base_url=ORIGIN, raise_server_exceptions=False)
        )
        return Phone(self.phones[-1])

    def phone_of(self, name: str, role: str = "crew") -> Phone:
        """One that came in by a link."""
        people = self.site.people
        if people.book.read().person(name) is None:
            people.add(name, role)
        phone = self.phone()
        phone.post(f"/in/{people.link(name)}")
        assert phone.status == 200, phone.last.text
        return phone

    def kinds(self, handle: str) -> list[str]:
        with self.services.log().reading() as log:
            return [entry.kind for entry in log.job(handle).entries]

    def visits(self) -> str:
        return self.site.visits.path.read_text(encoding="utf-8")


@pytest.fixture
def quick_hash(monkeypatch: pytest.MonkeyPatch) -> None:
    """Pass phrases are hashed as they are, but with less work."""
    hasher = PasswordHasher(time_cost=1, memory_cost=64, parallelism=1)
    monkeypatch.setattr(people, "_hasher", lambda: hasher)
    monkeypatch.setattr(people, "_nobody", lambda: str(hasher.hash("nobody")))


@pytest.fixture
def served(demo: str, clock: str, tmp_path: Path, quick_hash: None) -> Iterator[Served]:
    seconds = Seconds()
    services = build(demo)
    book = People(BookFile(tmp_path / "people.json"), Tries(seconds), seconds)
    site = Site(services, book, Visits(tmp_path / "visits.log", services.now))
    made = Served(site, services, seconds)
    yield made
    for phone in made.phones:
        phone.close()
    site.close()


@pytest.fixture
def crew(served: Served) -> Phone:
    return served.phone_of("Bo")
