"""The screens on the real demo log, through the real desks."""

from __future__ import annotations

import shutil
from collections.abc import AsyncIterator
from datetime import UTC, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from finishlog import wiring
from finishlog.desk.demo import demo
from finishlog.desk.services import Services
from finishlog.tui.app import FinishlogApp
from finishlog.tui.match.screen import MatchScreen

NOW = datetime(2026, 6, 16, 12, 40, tzinfo=UTC)


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    services = wiring.build(None)
    services.clock = lambda: NOW
    log = demo.new_log(services, str(tmp_path_factory.mktemp("demo") / "demo.finishlog"))
    log.close()
    return Path(log.where)


@pytest.fixture
async def services(made: Path, tmp_path: Path) -> AsyncIterator[Services]:
    copy = tmp_path / "demo.finishlog"
    copy.write_bytes(made.read_bytes())
    shutil.copytree(f"{made}.files", f"{copy}.files")
    built = wiring.build(str(copy))
    built.clock = lambda: NOW
    built.find_zone = lambda: ZoneInfo("UTC")
    yield built
    built.close()


async def test_two_keys_from_the_first_screen_to_the_plan_and_save(services: Services, drive) -> None:  # type: ignore[no-untyped-def]
    start = demo.start()
    app = FinishlogApp(services, demo=start)
    async with app.run_test(size=(120, 36)) as pilot:
        stage = drive(app, pilot)
        await stage.settle()
        assert app.screen.rows.current.handle == start.handle
        before = app.screen.rows.total
        await stage.press("m", "enter")
        assert isinstance(app.screen, MatchScreen)
        assert stage.rows[3].strip() == "Cannot tell before a sample."
        assert stage.rows[4].strip() == "A sample that matches the old slab would give 7 in 10."
        assert "nobody sees the joint" not in stage.text
        assert "NEW  wanted, like the old" in stage.text
        assert "NEW  day 45" not in stage.text
        assert "OLD  bare" in stage.text
        assert "gas line" in stage.text
        await stage.press("s", "2")
        assert app.screen.rows.total == before + 1
        await stage.press("slash")
        await stage.type("addition")
        assert "planned Jun 2026" in stage.text


@pytest.mark.parametrize("most", [2, pytest.param(1000, marks=pytest.mark.long)])
async def test_every_demo_job_can_be_opened(services: Services, drive, most: int) -> None:  # type: ignore[no-untyped-def]
    app = FinishlogApp(services)
    async with app.run_test(size=(80, 24)) as pilot:
        stage = drive(app, pilot)
        await stage.settle()
        await stage.press("escape")
        for _ in range(min(app.screen.rows.total, most)):
            name = app.screen.rows.current.customer
            await stage.press("enter")
            assert name[:20] in stage.text
            await stage.press("escape", "down")


async def test_a_scrap_with_a_typo_finds_the_reference(services: Services, drive) -> None:  # type: ignore[no-untyped-def]
    start = demo.start()
    app = FinishlogApp(services)
    async with app.run_test(size=(80, 24)) as pilot:
        stage = drive(app, pilot)
        await stage.settle()
        await stage.press("slash")
        await stage.enter("bogglethwait front")
        assert app.screen.rows.current.handle == start.handle
