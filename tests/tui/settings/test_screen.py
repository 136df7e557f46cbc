"""The shop's settings changed on the screen, on the demo's log."""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import Any

import pytest

from finishlog.records.shop import SETTINGS
from finishlog.records.shop_texts import TEXTS
from finishlog.settings import Machine
from finishlog.tui.settings import machine
from finishlog.tui.settings.screen import SettingsScreen

Open = Callable[..., Any]


async def to_settings(stage: Any) -> None:
    await stage.app.run_action("app.settings")
    await stage.settle()
    assert isinstance(stage.app.screen, SettingsScreen)


async def test_every_setting_stands_on_one_page_with_its_range_and_source(open_log: Open) -> None:
    async with open_log(size=(120, 36)) as stage:
        await to_settings(stage)
        seen: list[str] = []
        pages = len(stage.app.screen._groups)
        for _ in range(pages):
            keys = [one.asked.key for one in stage.app.screen.fields]
            if stage.app.screen._groups[stage.app.screen._page] not in machine.GROUPS:
                assert len(stage.app.screen.cautions) == len(keys)
                told = [key in {text.key for text in TEXTS} for key in keys]
                for text, words in zip(stage.app.screen.cautions, told, strict=True):
                    assert ("up to " if words else "Source: ") in text
                seen += keys
            await stage.press("f4")
        assert seen == [one.key for one in (*SETTINGS, *TEXTS)]
        assert stage.app.screen._page == 0


@pytest.mark.parametrize("size", [(60, 20), (120, 36)])
async def test_only_the_field_in_hand_tells_its_range_and_labels_have_room(
    open_log: Open, size: tuple[int, int]
) -> None:
    async with open_log(size=size) as stage:
        await to_settings(stage)
        assert stage.text.count("Source: ") == 1
        assert "Concrete: 0 to 10000" in stage.text
        await stage.press("tab")
        assert stage.text.count("Source: ") == 1
        assert "Leftover disposal: " in " ".join(stage.text.split())
        assert "What a cold joint costs" in stage.row("cold joint")


async def test_a_change_is_kept_and_a_blank_takes_the_usual_again(open_log: Open) -> None:
    async with open_log() as stage:
        usual = stage.app.desks.shop().waste_percent
        await to_settings(stage)
        await stage.fill("waste_percent", "7")
        assert "→ 7 %" in stage.text
        await stage.press("ctrl+s")
        assert "Saved: Waste." in stage.toast()
        assert stage.app.desks.shop().waste_percent == 7
        stage.field("waste_percent").fill("")
        await stage.settle()
        await stage.press("ctrl+s")
        assert stage.app.desks.shop().waste_percent == usual


async def test_out_of_range_is_said_under_the_field_and_nothing_is_kept(open_log: Open) -> None:
    async with open_log() as stage:
        usual = stage.app.desks.shop().waste_percent
        await to_settings(stage)
        await stage.fill("waste_percent", "70")
        await stage.press("ctrl+s")
        assert "1 field to fix" in stage.rows[-1]
        assert "out of range" in stage.text
        assert stage.app.desks.shop().waste_percent == usual
        await stage.press("f4")
        assert stage.app.screen._page == 0


async def test_settings_stand_in_the_palette(open_log: Open) -> None:
    async with open_log() as stage:
        await stage.press("escape", "ctrl+p")
        await stage.type("settings")
        await stage.until(lambda: "Settings" in stage.text)


async def to_page(stage: Any, group: str) -> None:
    """At once: the pages on the way cost as much as this one, and are gone through above."""
    groups = [*dict.fromkeys(one.group for one in stage.app.desks.settings()), *machine.GROUPS]
    stage.app.push_screen(SettingsScreen(groups.index(group)))
    await stage.settle()
    assert stage.app.screen._groups[stage.app.screen._page] == group


async def test_the_shops_name_is_kept_for_its_sheets(open_log: Open) -> None:
    async with open_log() as stage:
        await to_page(stage, "The shop")
        await stage.fill("shop_name", "Mudford Concrete")
        await stage.press("ctrl+s")
        assert "Saved: Shop." in stage.toast()
        assert {one.setting.key: one.text for one in stage.app.desks.settings()}[
            "shop_name"
        ] == "Mudford Concrete"


async def test_a_letter_with_a_strange_hole_is_refused_under_its_field(open_log: Open) -> None:
    async with open_log(size=(120, 36)) as stage:
        await to_page(stage, "Letters")
        await stage.fill("letter_greeting", "Dear {costumer},")
        await stage.press("ctrl+s")
        assert stage.field("letter_greeting").has_class("-wrong")
        assert "there is no {costumer} to fill" in stage.text


async def test_the_machines_settings_are_used_at_once_and_kept(open_log: Open) -> None:
    kept: list[Machine] = []
    async with open_log(keep=kept.append) as stage:
        await to_page(stage, "This machine")
        await stage.fill("outdoors", "y")
        await stage.fill("units", "m")
        await stage.fill("plain_glyphs", "yes")
        await stage.press("ctrl+s")
        assert kept == [Machine(outdoors=True, units="metric", plain_glyphs=True)]
        assert (stage.app.theme, stage.app.units) == ("full-sun", "metric")
        await stage.press("escape", "down", "enter")
        assert "kg/m3" in stage.text
        assert not set("●…³→") & set(stage.text)


async def test_a_key_of_ones_own_works_at_once_and_a_taken_one_is_refused(open_log: Open) -> None:
    kept: list[Machine] = []
    async with open_log(keep=kept.append) as stage:
        await to_page(stage, "Keys on this machine")
        at = [field.asked.title for field in stage.app.screen.fields].index("Match")
        await stage.fill(f"key.{at}", "n")
        await stage.press("ctrl+s")
        assert "n is new job already" in stage.text
        stage.field(f"key.{at}").fill("F8")
        await stage.settle()
        await stage.press("ctrl+s")
        assert kept[-1].keys == {"jobs.match": "f8", "job.match": "f8"}
        await stage.press("escape")
        assert "F8 match" in stage.rows[-1]
        await stage.press("f8")
        assert type(stage.app.screen).__name__ == "MeasureScreen"


async def test_a_settings_file_that_was_broken_is_said_at_the_start(open_log: Open) -> None:
    async with open_log(notice="settings.toml cannot be read: line 1. Using the defaults.") as stage:
        assert "settings.toml cannot be read" in stage.toast()


async def test_the_day_s_copy_is_made_once_the_screens_stand(open_log: Open) -> None:
    """In a thread of its own: what it says is shown, and nothing waits for it."""
    made: list[bool] = []

    def copy() -> str:
        made.append(threading.current_thread() is threading.main_thread())
        return "The last copy is 9 days old: finishlog backup FILE."

    async with open_log(copy=copy) as stage:
        await stage.until(lambda: "9 days old" in stage.toast())
        assert made == [False]
