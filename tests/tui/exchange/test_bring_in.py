"""A paper log comes in by the screens: a file, its columns, what would come in, and the way back."""

from __future__ import annotations

import os
import re
from collections.abc import AsyncIterator, Callable, Iterator
from contextlib import asynccontextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from rich.cells import cell_len

from finishlog.desk.services import Services
from finishlog.tui.app import FinishlogApp
from finishlog.tui.screens.failure import Failure

Open = Callable[..., Any]
SIZES = [(60, 20), (120, 36), pytest.param((80, 24), marks=pytest.mark.long)]
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


def handles(shop: Services) -> list[str]:
    with shop.log().reading() as log:
        return [line.handle for line in log.lines()]


async def choose(stage: Any, name: str) -> None:
    """A file of the folder shown, by its name."""
    screen = stage.app.screen
    screen.put_mark([line.name for line in screen.lines].index(name))
    await stage.press("enter")


async def to_columns(stage: Any, papers: Path, text: str, name: str = "book.csv") -> None:
    (papers / name).write_text(text, encoding="utf-8")
    await stage.press("i")
    await choose(stage, name)


def column_row(stage: Any, header: str) -> str:
    """The row of a column on the screen, without the pane beside it."""
    return " ".join(stage.row(f" {header} ").split("│")[0].split())


@pytest.mark.parametrize("size", SIZES)
async def test_an_easy_sheet_takes_three_keys_beside_choosing_it(
    opened: Open, shop: Services, papers: Path, size: tuple[int, int]
) -> None:
    async with opened(size=size) as stage:
        await to_columns(stage, papers, SURE)
        assert "All columns matched." in stage.text
        assert re.search(r"Addr +12 Tea\S*.* → Street", stage.row("Addr"))
        assert "→ Poured on, m/d/y" in stage.row("3/14/2024")
        await stage.press("ctrl+s")
        assert "3 pours and 3 new jobs ready to import." in stage.text
        assert jobs(shop) == []
        await stage.press("s")
        assert jobs(shop) == ["Gravelpit", "Marmot", "Quillfeather"]
        assert type(stage.app.screen).__name__ == "JobsScreen"
        assert "Quillfeather · back patio" in stage.text
        assert "Brought in 3 pours and 3 new jobs." in stage.toast()


@pytest.mark.parametrize("size", SIZES)
async def test_every_screen_of_it_keeps_the_frame(opened: Open, papers: Path, size: tuple[int, int]) -> None:
    async with opened(size=size) as stage:
        await to_columns(stage, papers, ASKS)
        for keys in ((), ("enter",), ("escape", "ctrl+s"), ("enter", "enter", "enter", "enter", "ctrl+s")):
            await stage.press(*keys)
            rows = stage.rows
            assert len(rows) == size[1]
            assert all(cell_len(row) == size[0] for row in rows)
            assert re.search(r"(\?|F1)( help)?  Esc( back)? *$", rows[-1])
            assert "→" in stage.text or "1 " in stage.text
        assert "2 pours and 2 new jobs ready to import." in stage.text


async def test_what_asks_stands_first_and_holds_the_sheet_until_it_is_said(
    opened: Open, shop: Services, papers: Path
) -> None:
    async with opened() as stage:
        await to_columns(stage, papers, ASKS)
        assert [line.header for line in stage.app.screen.lines] == [
            "Date", "Dose", "[/nope]", "Customer", "Color", "Yards", "Scribble",
        ]  # fmt: skip
        assert "2 columns need an answer." in stage.text
        await stage.press("ctrl+s")
        assert "settle this one first" in stage.rows[-1]
        await stage.press("enter")
        assert "3/4/24 is Mar 4 2024" in stage.text
        await stage.press("down", "enter")
        assert "→ Poured on, d/m/y" in stage.text
        assert stage.app.screen.current.header == "Dose"  # on to the next that asks
        await stage.press("enter")
        assert "7 is 7 lb/yd3" in stage.text
        await stage.press("enter", "ctrl+s")
        assert "Apr 3 2024 · Quillfeather · 6.75 yd³ · Wet Biscuit 7 lb/yd3" in stage.text
        await stage.press("s")
    assert jobs(shop) == ["Gravelpit", "Quillfeather"]


async def test_a_column_is_changed_by_a_few_letters_and_kept_through_esc(opened: Open, papers: Path) -> None:
    async with opened() as stage:
        await to_columns(stage, papers, SURE)
        screen = stage.app.screen
        screen.put_mark([line.header for line in screen.lines].index("What"))
        await stage.press("enter", "k", "e", "e", "p", "enter")
        assert column_row(stage, "What").endswith("→ kept as a note note")
        await stage.press("ctrl+s")
        assert "cells kept as notes on their jobs" in stage.text
        await stage.press("escape")
        assert column_row(stage, "What").endswith("→ kept as a note note")
        await stage.press("enter", *"area", "enter")
        assert column_row(stage, "What").endswith("→ Area sure")
        await stage.press("enter", *"leave", "enter")
        assert column_row(stage, "What").endswith("→ left out out")
        await stage.press("escape")
        assert type(stage.app.screen).__name__ == "ImportFile"


async def test_without_the_day_of_the_pour_nothing_goes_on(opened: Open, papers: Path) -> None:
    async with opened() as stage:
        await to_columns(stage, papers, SURE)
        await stage.press("enter", *"keep", "enter", "ctrl+s")
        assert type(stage.app.screen).__name__ == "ImportColumns"
        assert "No column gives the pour date yet." in stage.text


async def test_the_answers_are_kept_for_the_next_sheet(opened: Open, papers: Path) -> None:
    async with opened() as stage:
        await to_columns(stage, papers, ASKS)
        await stage.press("enter", "down", "enter", "enter", "enter", "ctrl+s", "s")
        later = ASKS.replace("3/4/24", "7/8/24").replace("5/6/24", "9/10/24").replace("Gravelpit", "Marmot")
        await to_columns(stage, papers, later, "next.csv")
        assert "Same as last time." in stage.text
        await stage.press("ctrl+s")
        assert "Aug 7 2024 · Quillfeather" in stage.text


async def test_a_sheet_brought_in_twice_says_that_it_is_there(
    opened: Open, shop: Services, papers: Path
) -> None:
    async with opened() as stage:
        await to_columns(stage, papers, SURE)
        await stage.press("ctrl+s", "s", "i")
        await choose(stage, "book.csv")
        await stage.press("ctrl+s")
        assert "Nothing new: the log already has every row." in stage.text
        await stage.press("s")
        assert "nothing new in it" in stage.rows[-1]
    assert len(jobs(shop)) == 3


async def test_a_refused_row_is_named_and_holds_all_of_it(opened: Open, shop: Services, papers: Path) -> None:
    async with opened() as stage:
        await to_columns(
            stage, papers, SURE + "6/1/2024,7 Thistle Way,Dabbins,pad,6 lb/yd,Fox Ear,,2,4,cobble,,x\n"
        )
        await stage.press("ctrl+s")
        assert "Nothing comes in yet: 1 row is refused." in stage.text
        assert "This line has 12 cells, the header 10" in stage.row("row 5")
        await stage.press("s")
        assert "nothing comes in yet" in stage.rows[-1]
        await stage.press("left")
        assert type(stage.app.screen).__name__ == "ImportColumns"
    assert jobs(shop) == []


async def test_a_fault_in_the_middle_leaves_nothing_behind(
    opened: Open, shop: Services, papers: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from finishlog.store.writer import Writer

    whole, count = Writer.add_entries, 0

    def breaks(self: Writer, *told: Any) -> None:
        nonlocal count
        count += 1
        whole(self, *told)
        if count == 2:
            raise OSError("the disk is full")

    async with opened() as stage:
        await to_columns(stage, papers, SURE)
        await stage.press("ctrl+s")
        with monkeypatch.context() as patched:
            patched.setattr(Writer, "add_entries", breaks)
            await stage.press("s")
        assert "the disk is full" in stage.text
        await stage.press("enter")
        assert jobs(shop) == []
        with shop.log().reading() as log:
            assert not [key for key in log.settings() if key.startswith("import")]
        await stage.press("s")  # it is still there, and comes in now
    assert len(jobs(shop)) == 3


async def test_an_import_is_taken_back_and_comes_in_again(opened: Open, shop: Services, papers: Path) -> None:
    async with opened() as stage:
        await to_columns(stage, papers, SURE)
        await stage.press("ctrl+s", "s", "i")
        assert "The last import: 3 new jobs" in stage.text
        await stage.press("u")
        assert "Import undone: 3 new jobs" in stage.toast()
        assert jobs(shop) == []
        assert "The last import" not in stage.text
        await choose(stage, "book.csv")
        await stage.press("ctrl+s")
        assert "3 pours and 3 new jobs ready to import." in stage.text
        await stage.press("s")
    assert len(jobs(shop)) == 3


async def test_an_import_that_something_was_logged_on_stays(
    opened: Open, shop: Services, papers: Path
) -> None:
    from finishlog.desk.record import record

    async with opened() as stage:
        await to_columns(stage, papers, SURE)
        await stage.press("ctrl+s", "s")
        record.record(shop, handles(shop)[0], "weather", {"note": "hazy"})
        await stage.press("i", "u")
        assert "can no longer be undone" in stage.text
        await stage.press("enter")
    assert len(jobs(shop)) == 3


WRONG = {
    "empty.csv": b"",
    "picture.csv": b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR\0\0",
    "broken.xlsx": b"PK\x03\x04nothing more",
    "blank.csv": b"\n\n",
    "latin.csv": b"Date,Client\n3/14/2024,\xff\xfe\x81",
}


async def test_a_file_that_is_no_sheet_is_a_dialog(opened: Open, papers: Path) -> None:
    for name, held in WRONG.items():
        (papers / name).write_bytes(held)
    async with opened(size=(60, 20)) as stage:
        await stage.press("i")
        for name in WRONG:
            await choose(stage, name)
            if type(stage.app.screen).__name__ == "ImportColumns":  # another alphabet was read
                await stage.press("escape")
                continue
            assert "copy details" in stage.text, name
            assert "bug in finishlog" not in stage.text, name
            await stage.press("enter")
            assert name in stage.text


async def test_a_file_that_may_not_be_read_or_went_away_is_a_dialog(
    opened: Open, papers: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (papers / "book.csv").write_text(SURE)
    async with opened() as stage:
        await stage.press("i")
        with monkeypatch.context() as patched:
            real = os.open

            def locked(path: Any, *more: Any, **named: Any) -> int:
                if str(path).endswith("book.csv"):
                    raise PermissionError(13, "Permission denied")
                return real(path, *more, **named)

            patched.setattr(os, "open", locked)
            await choose(stage, "book.csv")
        assert "Permission denied" in stage.text
        await stage.press("enter", "tab")
        await stage.enter("nothing-here.csv")
        await stage.press("enter")
        assert isinstance(stage.app.screen, Failure)
        assert "No such file" in stage.app.screen.error.title  # type: ignore[attr-defined]


async def test_hostile_headers_and_very_many_columns_are_shown_safely(opened: Open, papers: Path) -> None:
    nasty = "\x1b[31mred\x1b]0;x\x07"
    header = ["Date", "Customer", nasty, "[/nope]", *(f"Column {at}" for at in range(200))]
    cells = ["3/14/2024", "Quillfeather", nasty, "[bold]", *(str(at) for at in range(200))]
    async with opened() as stage:
        await to_columns(stage, papers, ",".join(header) + "\n" + ",".join(cells) + "\n", "[b]wide.csv")
        assert "204 columns" in stage.text
        assert "\x1b" not in stage.text
        assert "[/nope]" in stage.text
        await stage.press("end", "enter", "escape", "ctrl+s")
        assert "1 pour and 1 new job ready to import." in stage.text
        await stage.press("s")
        assert "Quillfeather" in stage.text


async def test_folders_are_stepped_into_and_paths_typed(opened: Open, papers: Path) -> None:
    (papers / "old" / "inside.csv").write_text(SURE)
    async with opened() as stage:
        await stage.press("i")
        assert "1 other file is not shown." in stage.text
        await choose(stage, "old")
        assert "inside.csv" in stage.text
        assert "~/old" in stage.text
        await stage.press("left")
        assert "old/" in stage.text
        await stage.press("tab")
        await stage.enter("old/inside.csv")
        await stage.press("enter")
        assert "Columns · inside.csv" in stage.text
        await stage.press("ctrl+s", "s", "i")
        assert "~/old" in stage.text  # the folder of the last sheet


async def test_the_palette_finds_it_from_any_place(opened: Open) -> None:
    from finishlog.tui.palette import Commands

    async with opened() as stage:
        await stage.press("5")
        for word in ("bring in", "import", "paper log", "spreadsheet"):
            hits = [hit async for hit in Commands(stage.app.screen).search(word)]
            assert any("Bring in a paper log" in str(hit.text) for hit in hits), word
        await stage.app.run_action("app.bring_in")
        await stage.settle()
        assert "Bring in a paper log" in stage.text


async def test_it_comes_into_a_full_log_too(open_log: Open, papers: Path) -> None:
    async with open_log() as stage:
        await stage.press("escape")
        await to_columns(stage, papers, SURE)
        await stage.press("ctrl+s", "s")
        assert "Brought in 3 pours and 3 new jobs." in stage.toast()
        stage.app.look_for("quillfeather")
        await stage.settle()
        assert "Quillfeather · back patio" in stage.text
        await stage.press("escape", "i", "u")
        assert "Import undone" in stage.toast()
