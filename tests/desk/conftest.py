"""What the tests of the desks share: a shop with a log in a folder, and sheets beside it."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Mapping, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from uuid import uuid4
from zoneinfo import ZoneInfo

import pytest

from finishlog.desk.exchange import exchange
from finishlog.desk.services import Services
from finishlog.records.exchange import ImportReport
from finishlog.records.log import Job
from finishlog.store import Log
from tests import engines

NOW = datetime(2026, 6, 16, 12, tzinfo=UTC)


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    """A test that has a folder may make a log in it: it runs on both engines."""
    if "tmp_path" in metafunc.fixturenames or "shop" in metafunc.fixturenames:
        metafunc.parametrize("engine_name", engines.of(metafunc), indirect=True)


@pytest.fixture(scope="session", autouse=True)
def stand_ins() -> Iterator[engines.StandIns]:
    """Logs at paths are logs of the server on its turn."""
    made = engines.StandIns()
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Log, "create", made.create)
        patch.setattr(Log, "open", made.open)
        yield made


@pytest.fixture(autouse=True)
def engine_name(request: pytest.FixtureRequest, stand_ins: engines.StandIns) -> Iterator[str]:
    """Which engine keeps the logs of a test."""
    name = str(getattr(request, "param", "sqlite"))
    with stand_ins.turn(name):
        yield name


class SheetShop:
    """A log that the first sheet makes, in a folder."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.path = folder / "pours.csv"
        self.log = folder / "shop.finishlog"
        self.services = Services(
            open_log=lambda: Log.open(self.log, clock=lambda: NOW, new_uid=lambda: uuid4().hex),
            has_log=lambda: self.log.exists(),
            make_log=lambda where, fill=None: Log.create(
                where or self.log, clock=lambda: NOW, new_uid=lambda: uuid4().hex, fill=fill
            ),
            clock=lambda: NOW,
            find_zone=lambda: ZoneInfo("America/Chicago"),
        )

    def write(self, *rows: Mapping[str, str]) -> Path:
        out = io.StringIO()
        writer = csv.DictWriter(out, list(dict.fromkeys(key for row in rows for key in row)))
        writer.writeheader()
        writer.writerows(rows)
        self.path.write_text(out.getvalue(), encoding="utf-8", newline="")
        return self.path

    def bring(self, *rows: Mapping[str, str], **options: Any) -> ImportReport:
        """The rows brought in as a sheet; the log is made where there is none."""
        options.setdefault("new", not self.log.exists())
        return exchange.bring_in(self.services, self.write(*rows), **options)

    def jobs(self) -> Sequence[Job]:
        with self.services.log().reading() as log:
            return [log.job(line.handle) for line in log.lines()]

    def only(self) -> Job:
        [job] = self.jobs()
        return job


@pytest.fixture
def sheet_shop(tmp_path: Path) -> Iterator[SheetShop]:
    shop = SheetShop(tmp_path)
    yield shop
    shop.services.close()
