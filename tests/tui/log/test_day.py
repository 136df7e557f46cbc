"""A new job and the day card of its pour, typed in as a practiced hand does, on the demo's log."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from finishlog.tui.jobs.job import JobScreen
from finishlog.tui.jobs.new import NewJobScreen
from finishlog.tui.log.day import DayScreen

Open = Callable[..., Any]
CARD = {
    "day": "Jun 15 2026",
    "weather.low_f": "58", "weather.high_f": "81", "weather.sky": "su",
    "load.1.ticket": "40731", "load.1.at": "7:30a", "load.1.yards": "6.5", "load.1.product": "Wet Biscuit",
    "load.1.lot": "K-131", "load.1.amount": "24 lb 6 oz", "load.1.water_gal": "5", "load.1.slump_in": "4.5",
    "load.2.ticket": "40732", "load.2.at": "8:50a", "load.2.yards": "2", "load.2.amount": "7.5 lb",
    "load.2.slump_in": "4",
    "powder_release.product": "Otter Back", "powder_release.lot": "0329", "powder_release.amount": "15 lb",
    "stamp.pattern": "ashlar", "stamp.mats": "5", "cure.method": "we", "pour.at": "10:15a",
    "leftover.returned_yd3": "0.25", "sample.1.kept_where": "rack",
}  # fmt: skip


async def new_job(stage: Any) -> None:
    await stage.press("escape", "n")
    assert isinstance(stage.app.screen, NewJobScreen)
    await stage.fill("customer", "Tansy Umberfield")
    await stage.fill("job", "garden room")
    await stage.fill("areas", "field 24x12 4in")
    await stage.fill("buried", "gas line, 18 in, along the fence")
    await stage.press("ctrl+s")
    assert isinstance(stage.app.screen, JobScreen)
    await stage.clear()


async def test_a_new_job_is_kept_and_opened(open_log: Open) -> None:
    async with open_log() as stage:
        await new_job(stage)
        assert "Tansy Umberfield · garden room" in stage.rows[2]
        await stage.press("right", "right", "right")
        assert "gas line, 18 in down, along the fence" in stage.text
        await stage.press("escape")
        await stage.press("slash")
        await stage.enter("umberfield")
        assert "garden room" in stage.text


async def test_a_new_job_needs_a_name(open_log: Open) -> None:
    async with open_log() as stage:
        await stage.press("escape", "n", "ctrl+s")
        assert isinstance(stage.app.screen, NewJobScreen)
        assert "Who is it for, or what is it?" in stage.text


async def test_a_pour_from_the_card_in_under_three_minutes_of_typing(open_log: Open) -> None:
    """Every key a practiced hand presses: letters, Tab from field to field, and Ctrl+S. Five a second."""
    async with open_log() as stage:
        await new_job(stage)
        await stage.press("d")
        assert isinstance(stage.app.screen, DayScreen)
        keys = 1
        order = [each.asked.key for each in stage.app.screen.fields]
        left = dict(CARD)
        for key in order:
            if key in left:
                text = left.pop(key)
                await stage.put(key, text)
                keys += len(text)
            if left:
                keys += 1
        assert not left
        await stage.settle()
        await stage.press("ctrl+s")
        keys += 1
        print(f"keys of a pour from the card: {keys}, {keys / 5:.0f} s at five a second")
        assert isinstance(stage.app.screen, JobScreen), stage.text
        assert keys <= 900
        assert "Day logged: " in stage.toast()
        await stage.clear()
        assert "Wet Biscuit" in stage.text
        await stage.press("right", "home")
        assert "load 6.50 yd³, Wet Biscuit 24.38 lb, ticket" in stage.row("7:30a")
        assert "40731" in stage.text
        assert "load 2.00 yd³, Wet Biscuit 7.5 lb, ticket 40732" in stage.text


@pytest.mark.long
async def test_another_load_keeps_what_was_typed(open_log: Open) -> None:
    async with open_log() as stage:
        await new_job(stage)
        await stage.press("d")
        await stage.fill("load-1-yards", "6.5")
        await stage.press("f2")
        assert stage.field("load-1-yards").value == "6.5"
        await stage.fill("load-3-yards", "1")
        await stage.press("ctrl+s")
        assert isinstance(stage.app.screen, JobScreen), stage.text


@pytest.mark.long
async def test_a_half_written_card_is_offered_again(open_log: Open) -> None:
    async with open_log() as stage:
        await new_job(stage)
        await stage.press("d")
        await stage.fill("load-1-yards", "6.5")
        await stage.press("escape", "l")
        assert "Unfinished: day card" in stage.text
        await stage.press("enter")
        assert isinstance(stage.app.screen, DayScreen)
        assert stage.field("load-1-yards").value == "6.5"


async def test_what_is_wrong_on_the_card_is_said_under_its_field(open_log: Open) -> None:
    async with open_log() as stage:
        await new_job(stage)
        await stage.press("d")
        await stage.fill("load-1-yards", "6.5")
        await stage.fill("rinse-pressure_psi", "1800")
        await stage.press("ctrl+s")
        assert isinstance(stage.app.screen, DayScreen)
        assert "when was it?" in stage.text
        assert stage.field("rinse-at").entry.has_focus


async def test_a_doubt_about_the_card_comes_into_view_and_a_reason_allows_it(open_log: Open) -> None:
    async with open_log() as stage:
        await new_job(stage)
        await stage.press("d")
        await stage.fill("load.1.yards", "6.5")
        await stage.fill("pour.at", "11:15a")
        await stage.press("ctrl+s")
        assert "is in the future" in stage.text
        assert stage.field("because").entry.has_focus
        assert "Because" in stage.text
        await stage.type("typed in ahead")
        await stage.press("ctrl+s")
        assert isinstance(stage.app.screen, JobScreen), stage.text
