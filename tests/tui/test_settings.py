"""The shop's settings changed on the screen, on the demo's log."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from finishlog.records.shop import SETTINGS
from finishlog.tui.screens.settings import SettingsScreen

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
            keys = [one.spec.key for one in stage.app.screen.fields]
            assert len(stage.app.screen.cautions) == len(keys)
            assert all("Source: " in text for text in stage.app.screen.cautions)
            seen += keys
            await stage.press("f4")
        assert seen == [setting.key for setting in SETTINGS]
        assert stage.app.screen._page == 0


async def test_a_change_is_kept_and_a_blank_takes_the_usual_again(open_log: Open) -> None:
    async with open_log() as stage:
        usual = stage.app.desks.shop().waste_percent
        await to_settings(stage)
        await stage.fill("waste_percent", "7")
        assert "→ 7 %" in stage.text
        await stage.press("ctrl+s")
        assert "Kept: Waste." in stage.toast()
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
        assert "1 field to mend" in stage.rows[-1]
        assert "out of range" in stage.text
        assert stage.app.desks.shop().waste_percent == usual
        await stage.press("f4")
        assert stage.app.screen._page == 0


async def test_settings_stand_in_the_palette(open_log: Open) -> None:
    async with open_log() as stage:
        await stage.press("escape", "ctrl+p")
        await stage.type("settings")
        assert "Settings" in stage.text
