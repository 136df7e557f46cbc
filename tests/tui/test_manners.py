"""What holds on every screen: places, help, palette, failures, nasty text, leaving."""

from __future__ import annotations

import re
from collections.abc import Callable
from itertools import pairwise
from threading import Event
from typing import Any

import pytest

from finishlog.errors import InputError, LogError
from finishlog.records.answers import DemoStart
from finishlog.settings import Machine
from finishlog.tui import help as help_screen
from finishlog.tui.bench.screen import BenchScreen
from finishlog.tui.desks.views import JobView
from finishlog.tui.help import HelpScreen
from finishlog.tui.jobs.job import JobScreen
from finishlog.tui.jobs.jobs import JobsScreen
from finishlog.tui.match.screen import MatchScreen
from finishlog.tui.screens.failure import Failure, crash_text, details

Open = Callable[..., Any]
DEMO = DemoStart("puddlecombe-patio", "22x14", "4 in")
ACTS = re.compile("[\x00-\x09\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069\u2028\u2029]")
"""Characters that would act on a terminal; the line feed only joins our rows."""


async def test_only_the_places_that_exist_are_on_the_bar_and_their_numbers_hold(open_app: Open) -> None:
    async with open_app() as stage:
        assert stage.rows[0].split()[:4] == ["1", "Today", "2", "Jobs"]
        assert stage.rows[0].rstrip().endswith("Tue Jun 16  7:40a")
        await stage.press("escape", "5")
        assert isinstance(stage.app.screen, BenchScreen)
        await stage.press("2")
        assert isinstance(stage.app.screen, JobsScreen)


async def test_the_number_of_the_present_place_goes_to_its_list(open_app: Open) -> None:
    async with open_app(demo=DEMO) as stage:
        await stage.press("m", "enter", "2")
        assert isinstance(stage.app.screen, JobsScreen)


async def test_a_place_is_left_and_found_again_as_it_was(open_app: Open) -> None:
    async with open_app(demo=DEMO) as stage:
        await stage.press("m", "enter", "5", "2")
        assert isinstance(stage.app.screen, MatchScreen)


async def test_escape_leads_from_the_plan_to_home_step_by_step(open_app: Open) -> None:
    async with open_app() as stage:
        await stage.press("escape", "enter", "m")
        await stage.enter("20x12")
        await stage.press("ctrl+s")
        seen = []
        for _ in range(5):
            seen.append(type(stage.app.screen).__name__)
            await stage.press("escape")
        assert seen == ["MatchScreen", "MeasureScreen", "MeasureScreen", "JobScreen", "JobsScreen"]
        assert "q quits" in stage.rows[-1]


async def test_help_shows_this_screens_keys_first(open_app: Open) -> None:
    async with open_app() as stage:
        await stage.press("escape", "enter")
        for key in ("question_mark", "f1"):
            await stage.press(key)
            assert isinstance(stage.app.screen, HelpScreen)
            assert "Help · One job" in stage.text
            assert "plan an addition" in stage.text
            await stage.press("escape")
            assert isinstance(stage.app.screen, JobScreen)


@pytest.mark.parametrize("about", sorted(help_screen.TITLES))
def test_a_help_page_has_this_screens_keys_first_and_those_of_every_screen_last(about: str) -> None:
    rows = [line.text.strip() for line in help_screen.paint(about, help_screen.page(about), 76, {})]
    heads = [title for title, under in pairwise(rows) if under and set(under) == {"─"}]
    assert heads[-1] == "Everywhere"
    assert heads[0] == "Keys here" or "Keys here" not in heads
    assert len(heads) > 1


async def test_a_question_mark_in_a_field_is_a_question_mark_and_f1_is_help(open_app: Open) -> None:
    async with open_app() as stage:
        await stage.press("slash", "question_mark")
        assert stage.app.screen.box.value == "?"
        await stage.press("f1")
        assert isinstance(stage.app.screen, HelpScreen)


async def test_every_verb_is_in_the_palette_with_its_key(open_app: Open) -> None:
    async with open_app(size=(120, 90)) as stage:
        await stage.press("escape", "ctrl+p")
        await stage.until(lambda: "Leave" in stage.text)
        for verb in (
            "Open  (Enter)",
            "Match  (m)",
            "Bench  (5)",
            "Help  (F1)",
            "Theme: full sun",
            "Leave  (q)",
        ):
            assert verb in stage.text


async def test_the_theme_is_changed_from_the_palette(open_app: Open) -> None:
    async with open_app() as stage:
        await stage.press("escape", "ctrl+p")
        await stage.type("full sun")
        await stage.until(lambda: "Theme: full sun" in stage.text)
        await stage.press("enter", "enter")
        assert stage.app.theme == "full-sun"
        assert stage.app.palette.dark is False


async def test_other_themes_of_textual_still_work(open_app: Open) -> None:
    async with open_app(demo=DEMO) as stage:
        for theme in ("nord", "textual-light", "gruvbox"):
            stage.app.theme = theme
            await stage.settle()
            assert "Puddlecombe" in stage.text


async def test_a_failure_says_what_why_and_what_to_do_and_can_be_copied(open_app: Open, fake: Any) -> None:
    desks = fake.desks()
    async with open_app(desks=desks) as stage:
        desks.failing = LogError(
            "The log is locked.", "Another program writes to it.", "Close it and try again."
        )
        await stage.press("escape", "enter")
        assert isinstance(stage.app.screen, Failure)
        for part in ("The log is locked.", "Another program writes to it.", "Close it and try again."):
            assert part in stage.text
        await stage.press("y")
        assert "copied" in stage.text
        assert "Another program writes to it." in stage.app.clipboard
        await stage.press("enter")
        assert isinstance(stage.app.screen, JobScreen)


async def test_a_fault_of_ours_is_said_as_one(open_app: Open, fake: Any) -> None:
    desks = fake.desks()
    async with open_app(desks=desks) as stage:
        desks.failing = RuntimeError("boom \x1b[31m [/nope]")
        await stage.press("escape", "enter")
        assert "This is a bug in finishlog" in stage.text
        assert "RuntimeError: boom \\x1b[31m [/nope]" in stage.text
        await stage.press("y")
        assert "Traceback" in stage.app.clipboard
        assert not ACTS.search(stage.app.clipboard)


def test_details_and_crash_texts_hold_no_character_that_acts(fake: Any) -> None:
    for error in (InputError(fake.nasty, fake.nasty, where=fake.nasty), RuntimeError(fake.nasty)):
        assert not ACTS.search(details(error))
        assert not ACTS.search(crash_text(error))


@pytest.mark.parametrize("size", [(120, 36), pytest.param((80, 24), marks=pytest.mark.long)])
async def test_nasty_names_are_shown_everywhere_and_never_act(
    open_app: Open, fake: Any, size: tuple[int, int]
) -> None:
    async with open_app(size=size, desks=fake.desks(lines=fake.lines[6:])) as stage:
        seen = [stage.text]
        for keys in (("escape", "enter"), ("right",), ("right",), ("right",), ("m",)):
            await stage.press(*keys)
            seen.append(stage.text)
        await stage.enter("20x12")
        await stage.press("ctrl+s")
        seen.append(stage.text)
        stage.app.done(f"Saved as {fake.nasty}.")
        await stage.settle()
        seen.append(stage.text)
        stage.app.frame.fail(LogError(fake.nasty, fake.nasty, fake.nasty))
        await stage.settle()
        seen.append(stage.text)
        assert isinstance(stage.app.screen, Failure)
        assert all("[/nope]" in text for text in seen[:2] + seen[-3:])
        assert not any(ACTS.search(text) for text in seen)


async def test_pasted_control_characters_stay_out_of_fields(open_app: Open) -> None:
    from textual.events import Paste

    async with open_app() as stage:
        stage.app.screen.box.post_message(Paste("wa\x1b[31mlk\u202e\nway"))
        await stage.settle()
        assert stage.app.screen.box.value == "wa[31mlk way"
        stage.app.screen.box.post_message(Paste("x" * 100_000))
        await stage.settle()
        assert len(stage.app.screen.box.value) == stage.app.screen.box.LONGEST


async def test_leaving_waits_until_everything_is_written(open_app: Open, fake: Any) -> None:
    desks = fake.desks()
    async with open_app(desks=desks, demo=DEMO) as stage:
        await stage.press("m", "enter")
        desks.gate = Event()
        await stage.pilot.press("s")
        await stage.pilot.press("q")
        await stage.until(lambda: "saving… quits when done" in stage.rows[-1])
        assert stage.app.is_running
        desks.gate.set()
        await stage.until(lambda: not stage.app.is_running or stage.app._exit)
    assert desks.saved == [None]
    assert stage.app.return_code == 0


async def test_writes_go_one_at_a_time_in_their_order(open_app: Open) -> None:
    async with open_app() as stage:
        gate, started, done = Event(), [], []

        def write(number: int) -> int:
            started.append(number)
            gate.wait(60)
            return number

        for number in range(3):
            stage.app.frame.put(lambda number=number: write(number), done.append)
        await stage.until(lambda: bool(started))
        await stage.pilot.pause(0.1)
        assert len(started) == 1
        gate.set()
        await stage.settle()
        assert sorted(done) == [0, 1, 2]


async def test_a_save_that_fails_is_a_dialog_and_can_be_tried_again(open_app: Open, fake: Any) -> None:
    desks = fake.desks()
    async with open_app(desks=desks, demo=DEMO) as stage:
        await stage.press("m", "enter")
        desks.failing = LogError("The disk is full.", "Nothing was written.", "Make room.")
        await stage.press("s")
        assert "The disk is full." in stage.text
        desks.failing = None
        await stage.press("enter", "s")
        assert desks.saved == [None]


async def test_keys_can_be_remapped_by_the_id_of_their_action(open_app: Open) -> None:
    async with open_app(demo=DEMO, machine=Machine(keys={"jobs.match": "f8"})) as stage:
        await stage.press("m")
        assert isinstance(stage.app.screen, JobsScreen)
        assert "F8 match" in stage.rows[-1]
        await stage.press("f8")
        assert "Measures" in stage.text


def test_a_view_is_a_plain_value(fake: Any) -> None:
    view = fake.job_view(fake.lines[0])
    assert isinstance(view, JobView)
    assert hash(view.looks[0].hex)
