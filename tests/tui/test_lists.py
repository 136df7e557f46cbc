"""Every list alike: one click anywhere in a row opens it, as Enter opens the marked one."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from finishlog.settings import SEATS, Machine
from finishlog.tui.due.care_form import ResealScreen
from finishlog.tui.due.today_sheet import DueSheet
from finishlog.tui.exchange.columns import ImportColumns
from finishlog.tui.exchange.pick import PickScreen
from finishlog.tui.jobs.job import JobScreen
from finishlog.tui.jobs.jobs import JobsScreen
from finishlog.tui.log.entry import LogScreen
from finishlog.tui.log.kinds import KindScreen
from finishlog.tui.paint.ink import Line
from finishlog.tui.photo.photo import PhotoScreen
from finishlog.tui.photo.photos import PhotosScreen
from finishlog.tui.shelf.form import MoveScreen
from finishlog.tui.widgets.entry import Entry

Open = Callable[..., Any]
MARKS = ("▌", "►")


def test_a_row_opens_wherever_it_is_clicked() -> None:
    row = Line().put("▌").gap(3).put("a lot", act="pick(4)").facing(Line().muted("2 lb"), 40)
    assert [row.act_at(column) or row.pick for column in (0, 2, 5, 30, 38)] == ["pick(4)"] * 5
    assert Line().put("m", act="match").pick == ""


async def click(stage: Any, below: int, column: int = 52) -> None:
    """On the row so many below the marked one, where no text stands."""
    marked = next(at for at, row in enumerate(stage.rows) if row.strip().startswith(MARKS))
    await stage.pilot.click(offset=(column, marked + below))
    await stage.settle()


async def test_one_click_opens_on_every_list_of_the_log(open_log: Open, tmp_path: Path) -> None:
    async with open_log() as stage:
        for place, opens in (("1", DueSheet), ("3", ResealScreen), ("4", MoveScreen)):
            await stage.press(place)
            line = stage.app.screen.lines[1]
            at = stage.app.screen
            await click(stage, 1 if place != "3" else _second(stage))
            assert isinstance(stage.app.screen, opens), stage.text
            assert at.current is line
            await stage.press("escape")
        await stage.press("2", "home")
        job = stage.app.screen.rows.line_at(1)
        await click(stage, 3)
        assert isinstance(stage.app.screen, JobScreen)
        assert stage.app.screen._line.handle == job.handle
        await stage.press("l")
        assert isinstance(stage.app.screen, KindScreen)
        await click(stage, 1)
        assert isinstance(stage.app.screen, LogScreen)
        await stage.press("escape")
        for turn in (0, 90):
            Image.linear_gradient("L").rotate(turn).save(tmp_path / f"{turn}.png")
        texts = {"path": str(tmp_path), "taken": "unknown"}
        stage.app.desks.add_photos(job.handle, texts, None, lambda *_: None)
        await stage.press("p", "home")
        assert isinstance(stage.app.screen, PhotosScreen)
        photo = stage.app.screen.lines[1]
        await click(stage, 5, 20)
        assert isinstance(stage.app.screen, PhotoScreen)
        assert stage.app.screen._line == photo


def _second(stage: Any) -> int:
    """Rows from the mark to the second line of Care: a new month has its heading between."""
    first, second = stage.app.screen.lines[:2]
    return 1 if first.month == second.month else 3


async def test_one_click_chooses_in_the_lists_of_a_paper_log(
    open_log: Open, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("HOME", str(tmp_path))
    (tmp_path / "a.csv").write_text("Date,Client,Odd,Dose\n3/14/24,Quillfeather,a,7\n5/6/24,Gravelpit,b,9\n")
    (tmp_path / "b.csv").write_text("Date,Client,Odd,Dose\n3/14/24,Quillfeather,a,7\n5/6/24,Gravelpit,b,9\n")
    async with open_log() as stage:
        await stage.press("i")
        second = stage.app.screen.lines[stage.app.screen._mark + 1]
        assert second.kind == "sheet"
        await click(stage, 1)
        assert isinstance(stage.app.screen, ImportColumns)
        assert stage.app.screen._table.path.name == Path(second.path).name
        await click(stage, 1, 70)
        assert isinstance(stage.app.screen, PickScreen)
        await click(stage, 1, 70)
        assert isinstance(stage.app.screen, ImportColumns)


@pytest.mark.parametrize(("who", "place"), SEATS.items())
async def test_the_screens_open_on_what_one_comes_for(
    open_app: Open, fake: Any, who: str, place: str
) -> None:
    class Desks(fake.desks):  # type: ignore[misc,name-defined]
        def due(self) -> Any:
            from finishlog.records.due import Today

            return Today("Nothing is due.", (), ())

        def reseals(self, limit: int, offset: int) -> Any:
            from finishlog.records.care import Book
            from finishlog.tui.desks.office import BookView

            today = fake.now.date()
            return BookView(Book(today, today, "Nothing is due.", (), (), (4, 5)), "Apr to May")

    async with open_app(machine=Machine(who=who), desks=Desks()) as stage:
        assert stage.app.current_mode == place
        await stage.type("/walk")
        assert isinstance(stage.app.screen, JobsScreen)
        assert isinstance(stage.app.focused, Entry)
        assert stage.app.screen.box.value == "walk"
        await stage.press("escape", "escape", "escape")
        assert stage.app.current_mode == place
