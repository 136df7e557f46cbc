"""An import taken back, a folder laid open, a column's choices: what the screens of an import stand on."""

from __future__ import annotations

import os
from datetime import date
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from finishlog.desk.color import recipes
from finishlog.desk.exchange import back, folder, table
from finishlog.desk.record import taking_back
from finishlog.errors import InputError
from finishlog.inputs.paper_log.mapping import NO_MAPPING, ColumnMap
from finishlog.records.exchange import ColumnGuess

ROW = {"customer": "Quillfeather", "job": "patio", "poured_on": "2025-06-16", "yards": "6.75", "ticket": "1"}
LATER = {**ROW, "poured_on": "2025-07-16", "ticket": "2"}
UTC = ZoneInfo("UTC")


def job_of(shop: Any, handle: str) -> Any:
    with shop.services.log().reading() as log:
        return log.job(handle)


def test_only_what_the_last_sheet_added_to_a_job_is_withdrawn(sheet_shop: Any) -> None:
    sheet_shop.bring(ROW)
    handle = sheet_shop.only().handle
    sheet_shop.bring(LATER)
    assert back.last(sheet_shop.services).jobs == []  # type: ignore[union-attr]
    back.take_back(sheet_shop.services)
    job = job_of(sheet_shop, handle)
    assert job.state == "poured"
    assert [load.load.ticket for load in job.of_kind("load")] == ["1"]
    assert back.last(sheet_shop.services) is None
    with pytest.raises(InputError, match="No import"):
        back.take_back(sheet_shop.services)


def test_what_the_import_joined_goes_with_it(sheet_shop: Any) -> None:
    colored = {"base": "Wednesday Toast", "dose": "7 lb/yd3"}
    sheet_shop.bring({**ROW, **colored}, {**ROW, **colored, "job": "walk", "ticket": "2"})
    [group] = recipes.groups(sheet_shop.services).groups
    assert len(group.joined) == 1
    back.take_back(sheet_shop.services)
    with sheet_shop.services.log().reading() as log:
        assert log.joined() == {}


def test_an_entry_withdrawn_since_keeps_the_import(sheet_shop: Any) -> None:

    sheet_shop.bring(ROW)
    handle = sheet_shop.only().handle
    taking_back.undo(sheet_shop.services, handle)
    with pytest.raises(InputError) as wrong:
        back.take_back(sheet_shop.services)
    assert handle in wrong.value.cause
    assert back.last(sheet_shop.services) is not None


def test_a_folder_shows_its_newest_sheets_then_its_folders(tmp_path: Path) -> None:
    for name, day in (("a.csv", 1), ("B.XLSX", 3), ("c.txt", 2)):
        (tmp_path / name).write_text("x")
        os.utime(tmp_path / name, (day * 86_400, day * 86_400))
    (tmp_path / "zoo").mkdir()
    (tmp_path / ".hidden").mkdir()
    (tmp_path / "photo.jpg").write_text("")
    (tmp_path / "lost.csv").symlink_to(tmp_path / "nowhere")
    found = folder.lay_open(str(tmp_path), "", UTC)
    assert isinstance(found, folder.Folder)
    assert [one.name for one in found.found] == ["B.XLSX", "c.txt", "a.csv", "..", "zoo"]
    assert (found.found[0].changed, found.others) == (date(1970, 1, 4), 2)
    assert folder.lay_open("a.csv", str(tmp_path), UTC) == tmp_path / "a.csv"


def test_what_cannot_be_a_path_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError):
        folder.lay_open("a\0b", str(tmp_path), UTC)


def test_a_choice_takes_the_place_of_what_was_said_before() -> None:
    guess = ColumnGuess("What", ("patio",), "job", 1.0)
    told = table.choose(NO_MAPPING, guess, "=area")
    assert told == ColumnMap({"area": "What"})
    told = table.choose(told, guess, "note")
    assert told == ColumnMap(noted=("What",))
    told = table.choose(told, guess, "leave")
    assert told == ColumnMap(ignored=("What",))
    assert table.choose(told, guess, "=job") == ColumnMap({"job": "What"})


def test_the_readings_of_a_day_stand_first() -> None:
    asked = "Date: 3/4/24 can be read two ways. Set it once for the file: --dates mdy or --dates dmy."
    guess = ColumnGuess("Date", ("Mar 1 2024", "3/4/24"), "poured_on", 1.0, question=asked)
    titles = [one.title for one in table.choices(guess, date(2026, 6, 16))]
    assert titles[:2] == ["3/4/24 is Mar 4 2024", "3/4/24 is Apr 3 2024"]
    assert "Keep as a note" in titles
    assert len(titles) == len(set(titles))
