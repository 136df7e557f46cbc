"""Logging, correcting and taking back from the screen of a job, on the demo's log."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from finishlog.tui.forms.form import FormScreen
from finishlog.tui.jobs.job import JobScreen
from finishlog.tui.log.entry import LogScreen
from finishlog.tui.log.kinds import KindScreen

Open = Callable[..., Any]


async def to_job(stage: Any, words: str = "bogglethwait front") -> None:
    """The first job with these words, opened."""
    await stage.press("slash")
    await stage.enter(words)
    await stage.press("enter")
    assert isinstance(stage.app.screen, JobScreen)


async def to_form(stage: Any, kind: str) -> None:
    """The form of a kind, by its first letters."""
    await stage.press("l")
    assert isinstance(stage.app.screen, KindScreen)
    await stage.enter(kind)
    await stage.press("enter")
    assert isinstance(stage.app.screen, LogScreen)


async def test_the_kinds_come_in_the_order_of_the_work_and_first_letters_find_one(open_log: Open) -> None:
    async with open_log() as stage:
        await to_job(stage)
        await stage.press("l")
        kinds = [title for _, title in stage.app.screen.fitting]
        assert kinds.index("Load") < kinds.index("Rinse") < kinds.index("Seal")
        await stage.type("se")
        assert [title for _, title in stage.app.screen.fitting] == ["Seal", "Strip or wipe sealer"]
        await stage.press("enter")
        assert "Log: seal" in stage.text


async def test_a_rinse_is_logged_and_stands_in_was_done(open_log: Open) -> None:
    async with open_log(size=(80, 36)) as stage:
        await to_job(stage)
        await to_form(stage, "rin")
        await stage.fill("pressure_psi", "1750 psi")
        assert "→ 1750 psi" in stage.row("1750 psi").replace("1,750", "1750")
        await stage.press("ctrl+s")
        assert isinstance(stage.app.screen, JobScreen)
        assert "u undoes it" in stage.toast()
        await stage.clear()
        await stage.press("right")
        assert "1750 psi" in stage.text


async def test_what_is_wrong_is_said_under_the_field_once_it_is_left(open_log: Open) -> None:
    async with open_log() as stage:
        await to_job(stage)
        await to_form(stage, "load")
        await stage.fill("slump_in", "45 in")
        assert "! " not in "\n".join(stage.rows[4:])
        await stage.press("tab")
        at = stage.rows.index(stage.row("45 in"))
        assert stage.rows[at + 1].strip().startswith("! ")
        await stage.press("ctrl+s")
        assert isinstance(stage.app.screen, LogScreen)
        assert "1 field to fix" in stage.rows[-1]
        assert stage.field("slump_in").value == "45 in"


async def test_choices_open_under_the_field_and_typing_makes_them_fewer(open_log: Open) -> None:
    async with open_log() as stage:
        await to_job(stage)
        await to_form(stage, "load")
        stage.field("is_balance").entry.focus()
        await stage.press("down", "down")
        assert "► no" in stage.text
        await stage.press("escape")
        assert isinstance(stage.app.screen, LogScreen)
        assert "► no" not in stage.text
        await stage.type("y")
        await stage.press("tab")
        assert stage.field("is_balance").value == "yes"
        stage.field("is_balance").entry.focus()
        await stage.press("down", "down", "enter")
        assert stage.field("is_balance").value == "no"


async def test_escape_keeps_the_draft_and_it_is_offered_again(open_log: Open) -> None:
    async with open_log() as stage:
        await to_job(stage)
        await to_form(stage, "rin")
        await stage.fill("pressure_psi", "1750")
        form = stage.app.screen
        with stage.app.work._writing:  # the form is gone before its turn to write comes
            await stage.pilot.press("escape")
            await stage.until(lambda: not form.is_attached)
        await stage.settle()
        assert isinstance(stage.app.screen, JobScreen)
        await stage.press("l")
        assert "Unfinished: rinse. Enter continues." in stage.text
        await stage.press("enter")
        assert "Unfinished since 7:40a; here is what you typed." in stage.text
        assert stage.field("pressure_psi").value == "1750"


async def test_a_draft_survives_a_crash(open_log: Open) -> None:
    async with open_log() as stage:
        await to_job(stage)
        await to_form(stage, "rin")
        await stage.fill("pressure_psi", "1750")
    async with open_log() as stage:
        await to_job(stage)
        assert "Unfinished: rinse. Press l." in " ".join(stage.text.split())
        await stage.press("l", "enter")
        assert stage.field("pressure_psi").value == "1750"
        await stage.press("ctrl+s", "ctrl+s")  # what came back is looked at first
        await stage.press("l")
        assert "Unfinished" not in stage.text


async def test_a_doubt_is_asked_once_and_a_reason_allows_it(open_log: Open) -> None:
    async with open_log() as stage:
        await to_job(stage)
        await to_form(stage, "rin")
        await stage.fill("at", "Jan 2 2020 9a")
        await stage.press("ctrl+s")
        assert isinstance(stage.app.screen, LogScreen)
        assert "before the pour of Oct 14 2025" in " ".join(stage.text.split()), stage.text
        assert stage.field("because").entry.has_focus
        await stage.type("old slab")
        await stage.press("ctrl+s")
        assert isinstance(stage.app.screen, JobScreen)


async def test_a_correction_takes_six_keys(open_log: Open) -> None:
    """From the job: show what was done, the form of the marked entry, two fields on, a figure, log it."""
    async with open_log(size=(80, 36)) as stage:
        await to_job(stage)
        await to_form(stage, "rin")
        await stage.fill("pressure_psi", "1750")
        await stage.press("ctrl+s")
        await stage.press("e", "e")
        assert "Correct: rinse" in stage.text
        before = [f.asked.key for f in stage.app.screen.fields].index("pressure_psi")
        keys = ["e", "e", *["tab"] * before, "9", "ctrl+s"]
        print(f"keys of a correction: {len(keys)}")
        assert len(keys) <= 6
        await stage.press(*keys[2:])
        assert isinstance(stage.app.screen, JobScreen)
        await stage.clear()
        assert "9 psi" in stage.text
        assert "was: rinsed" in stage.text


async def test_u_takes_back_what_was_logged_last(open_log: Open) -> None:
    async with open_log() as stage:
        await to_job(stage)
        await to_form(stage, "note")
        await stage.fill("note", "the gate was locked")
        await stage.press("ctrl+s", "u")
        assert "Undone." in stage.toast()
        await stage.press("l")
        assert isinstance(stage.app.screen, KindScreen)


@pytest.mark.parametrize(
    "size", [(80, 24), *(pytest.param(s, marks=pytest.mark.long) for s in ((60, 20), (120, 36)))]
)
async def test_every_form_keeps_to_the_frame(open_log: Open, size: tuple[int, int]) -> None:
    async with open_log(size=size) as stage:
        await to_job(stage)
        for kind in ("load", "weather", "reading"):
            await to_form(stage, kind)
            assert isinstance(stage.app.screen, FormScreen)
            assert all(row.startswith(" ") for row in stage.rows[2:-1])
            assert stage.rows[-1].rstrip().endswith("Esc back" if size[0] >= 70 else "Esc")
            await stage.press("escape")


async def test_blank_further_materials_stand_after_the_facts(open_log: Open) -> None:
    async with open_log() as stage:
        await to_job(stage)
        await to_form(stage, "load")
        keys = [field.asked.key for field in stage.app.screen.fields]
        assert keys.index("note") < keys.index("product_2") < keys.index("product_3")
        assert keys.index("product") < keys.index("water_gal")


async def test_what_is_only_planned_says_how_it_is_taken(open_log: Open) -> None:
    async with open_log() as stage:
        await to_job(stage, "larkspur")
        await to_form(stage, "rin")
        assert "Planned figures are gray; Down, Enter takes one." in " ".join(stage.text.split())


async def test_lots_follow_their_product_and_a_new_one_is_taken_as_typed(open_log: Open) -> None:
    async with open_log(size=(80, 36)) as stage:
        await to_job(stage)
        await to_form(stage, "load")
        lot = stage.field("lot")
        theirs = lot.choices
        other = next(
            name for name in stage.field("product").choices if stage.app.desks.lots(name) not in ((), theirs)
        )
        stage.field("product").fill(other)
        await stage.settle()
        assert lot.choices == stage.app.desks.lots(other) != theirs
        stage.field("lot").fill(lot.choices[0][:1])
        lot.entry.focus()
        await stage.press("down")
        assert "new, as typed" in stage.text
        await stage.press("end", *["down"] * len(lot.choices), "enter")
        assert lot.value == lot.choices[0][:1]
        stage.field("product").fill("A shade nobody bought yet")
        await stage.settle()
        assert lot.choices == ()


async def test_at_120_columns_what_was_told_last_stands_beside_the_form(open_log: Open) -> None:
    async with open_log(size=(120, 36)) as stage:
        await to_job(stage)
        await to_form(stage, "load")
        for title in ("Last time", "Usual here", "Mind"):
            assert title in stage.text
        assert "Slump: 4.5 in (4 to 5)" in stage.text
        await stage.pilot.resize_terminal(80, 24)
        await stage.settle()
        assert "Last time" not in stage.text


async def test_a_planned_job_says_not_yet(open_log: Open) -> None:
    async with open_log() as stage:
        await to_job(stage, "swizzlecote carport")
        assert "Concrete  not yet" in stage.text
        assert "not logged" not in stage.text


async def test_a_moment_is_echoed_whole_on_the_smallest_screen(open_log: Open) -> None:
    async with open_log(size=(60, 20)) as stage:
        await to_job(stage)
        await to_form(stage, "rin")
        await stage.fill("at", "yesterday 11:30a")
        rows = stage.rows[stage.rows.index(stage.row("yesterday 11:30a")) :]
        echo = " ".join(row[38:].replace("→", "").strip() for row in rows[:3])
        assert "Mon Jun 15, 11:30 in the morning" in " ".join(echo.split())
