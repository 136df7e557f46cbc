"""A paper log comes in by the screens: a file, its columns, what would come in, and the way back."""

from __future__ import annotations

from collections.abc import AsyncIterator, Callable, Iterator
from contextlib import asynccontextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from finishlog.desk.services import Services
from finishlog.tui.app import FinishlogApp

Open = Callable[..., Any]
SIZES = [(60, 20), (80, 24), (120, 36)]
SURE = """\
Date,Addr,Client,What,Dose,Color,Sealed,Yds,Ticket,Pattern
3/14/2024,12 Teakettle Lane,Quillfeather,back patio,7 lb/yd,Wet Biscuit,4/20/2024,6.75,40721,ashlar
4/2/2024,9 Snail Stair,Gravelpit,drive,11 lb/yd,Fox Ear,,8.5,40800,slate
5/20/2024,4 Marmot Row,Marmot,walk,5 lb/yd,Kettle Smoke,6/21/2024,3,40911,cobble
"""
ASKS = """\
Date,Customer,Color,Dose,Yards,[/nope],Scribble
3/4/24,Quillfeather,Wet Biscuit,7,6.75,x1,blue truck
5/6/24,Gravelpit,Fox Ear,9,8.5,,
"""


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Services]:
    from finishlog import wiring

    built = wiring.build(str(tmp_path / "log.finishlog"))
    built.use(built.make_log(None))
    built.clock = lambda: datetime(2026, 6, 16, 12, 40, tzinfo=UTC)
    built.find_zone = lambda: ZoneInfo("America/Chicago")
    yield built
    built.close()


@pytest.fixture
def papers(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A home folder with what lies in one."""
    home = tmp_path / "home"
    (home / "old").mkdir(parents=True)
    (home / "photo.jpg").write_bytes(b"")
    monkeypatch.setenv("HOME", str(home))
    return home


@pytest.fixture
def opened(shop: Services, papers: Path, drive: Callable[..., Any]) -> Open:
    """The screens on an empty log, the mark on the list of jobs."""

    @asynccontextmanager
    async def opened(size: tuple[int, int] = (80, 24), **more: Any) -> AsyncIterator[Any]:
        app = FinishlogApp(shop, **more)
        async with app.run_test(size=size, notifications=True) as pilot:
            stage = drive(app, pilot)
            await stage.settle()
            await stage.press("escape")
            yield stage

    return opened


def jobs(shop: Services) -> list[str]:
    with shop.log().reading() as log:
        return sorted(line.customer for line in log.lines())


async def test_a_look(opened: Open, papers: Path) -> None:
    (papers / "book.csv").write_text(SURE)
    (papers / "asks.csv").write_text(ASKS)
    for size in SIZES:
        async with opened(size=size) as stage:
            await stage.press("i")
            print(stage.text)
            for name in ("book", "asks"):
                screen = stage.app.screen
                screen.put_mark([l.name for l in screen.lines].index(f"{name}.csv"))
                await stage.settle()
                await stage.press("enter")
                print(stage.text)
                await stage.press("enter")
                print(stage.text)
                await stage.press("escape", "ctrl+s")
                print(stage.text)
                print(type(stage.app.screen))
                while type(stage.app.screen).__name__ != "ImportFile":
                    await stage.press("escape")
