"""Logs for the tests: made by the migrations once, then copied."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from finishlog.store import Log
from tests import engines, pg

START = datetime(2026, 6, 16, 12, tzinfo=UTC)


@dataclass
class Ticking:
    """A clock that moves a second at each look, and uids that count."""

    now: datetime = START
    made: int = 0
    logs: list[Log] = field(default_factory=list)

    def clock(self) -> datetime:
        self.now += timedelta(seconds=1)
        return self.now

    def new_uid(self) -> str:
        self.made += 1
        return f"uid-{self.made:06d}"

    def open(self, where: Path | str, **how: object) -> Log:
        log = Log.open(where, clock=self.clock, new_uid=self.new_uid, **how)  # type: ignore[arg-type]
        self.logs.append(log)
        return log

    def create(self, where: Path | str) -> Log:
        log = Log.create(where, clock=self.clock, new_uid=self.new_uid)
        self.logs.append(log)
        return log


@pytest.fixture(scope="session")
def empty_log(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An empty log made by the migrations, closed."""
    path = tmp_path_factory.mktemp("empty") / "empty.finishlog"
    Ticking().create(path).close()
    return path


@pytest.fixture
def ticking() -> Iterator[Ticking]:
    """Opens logs and closes them in the end."""
    machine = Ticking()
    yield machine
    for log in machine.logs:
        log.close()


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    """A test whose log is made by `fresh` runs on both engines."""
    if "engine_name" in metafunc.fixturenames:
        metafunc.parametrize("engine_name", engines.of(metafunc), indirect=True)


@pytest.fixture
def engine_name(request: pytest.FixtureRequest) -> str:
    """Which engine keeps the logs of a test."""
    return str(request.param)


@pytest.fixture
def fresh(empty_log: Path, tmp_path: Path, ticking: Ticking, engine_name: str) -> Iterator[Callable[[], Log]]:
    """Makes an open, empty log of its own at each call."""
    addresses: list[str] = []

    def make() -> Log:
        if engine_name == "postgres":
            addresses.append(pg.lent())
            return ticking.open(addresses[-1])
        path = tmp_path / f"log-{len(ticking.logs)}.finishlog"
        shutil.copy(empty_log, path)
        return ticking.open(path)

    yield make
    for address in addresses:
        pg.give_back(address)


@pytest.fixture
def log(fresh: Callable[[], Log]) -> Log:
    return fresh()
