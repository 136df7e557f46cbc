"""Sheets written from the screens: the file is a PDF, and an old one is never written over."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from finishlog.records.answers import DemoStart
from finishlog.tui.forms.paper import JobPaper, PlanPaper
from finishlog.tui.jobs.job import JobScreen
from finishlog.tui.match.screen import MatchScreen

Open = Callable[..., Any]


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


async def test_a_jobs_sheet_is_written_and_its_place_said(open_log: Open, folder: Path) -> None:
    async with open_log() as stage:
        await stage.press("slash")
        await stage.enter("bogglethwait front")
        await stage.press("enter", "w")
        assert isinstance(stage.app.screen, JobPaper)
        file = stage.field("file").value
        await stage.press("ctrl+s")
        assert isinstance(stage.app.screen, JobScreen), stage.text
        assert (folder / file).read_bytes().startswith(b"%PDF-")
        assert file in stage.toast()


async def test_the_file_is_named_after_its_sheet_and_never_written_over(open_log: Open, folder: Path) -> None:
    async with open_log() as stage:
        await stage.press("slash")
        await stage.enter("bogglethwait front")
        await stage.press("enter", "w")
        await stage.fill("sheet", "history")
        assert stage.field("file").value.endswith("-history.pdf")
        (folder / "mine.pdf").write_text("mine")
        await stage.fill("file", "mine.pdf")
        await stage.press("ctrl+s")
        assert isinstance(stage.app.screen, JobPaper)
        assert "mine.pdf already exists." in stage.text
        assert (folder / "mine.pdf").read_text() == "mine"


async def test_the_plan_goes_into_one_file(open_log: Open, folder: Path) -> None:
    from finishlog.desk.demo import demo as desk

    start: DemoStart = desk.start()
    async with open_log(demo=start) as stage:
        await stage.press("m", "enter", "w")
        assert isinstance(stage.app.screen, PlanPaper)
        await stage.fill("sheet", "all")
        await stage.fill("file", "plan.pdf")
        await stage.press("ctrl+s")
        assert isinstance(stage.app.screen, MatchScreen), stage.text
        assert (folder / "plan.pdf").read_bytes().startswith(b"%PDF-")


async def test_a_folder_that_is_not_there_is_said_under_the_file(open_log: Open) -> None:
    async with open_log() as stage:
        await stage.press("slash")
        await stage.enter("bogglethwait front")
        await stage.press("enter", "w")
        await stage.fill("file", "nowhere/a.pdf")
        await stage.press("ctrl+s")
        assert isinstance(stage.app.screen, JobPaper)
        assert "No such folder." in stage.text
