"""Two people at the same rows: what one types is never lost, and never overwrites what the other wrote."""

from __future__ import annotations

from collections.abc import AsyncIterator, Callable, Iterator
from contextlib import asynccontextmanager
from pathlib import Path
from typing import Any

import pytest

from finishlog.desk.jobs import edit, settings
from finishlog.desk.record import record, taking_back
from finishlog.desk.services import Services
from finishlog.tui.app import FinishlogApp
from finishlog.tui.log.entry import LogScreen
from finishlog.tui.log.small import SmallScreen
from finishlog.tui.settings.screen import SettingsScreen
from tests.tui.running.test_others import services

JOB = "quillfeather-front-walk"
BOTH = pytest.mark.parametrize("place", ["sqlite", "postgres"], indirect=True)


@pytest.fixture
def place(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """A log with one job and one entry, on a file or on a server."""
    on_server = getattr(request, "param", "sqlite") == "postgres"
    where = str(request.getfixturevalue("address") if on_server else tmp_path / "shop.finishlog")
    built = services(where)
    if not on_server:
        built.make_log(None).close()
    edit.new_job(built, {"customer": "Ottoline Quillfeather", "job": "front walk", "handle": JOB})
    record.record(built, JOB, "note", {"note": "hose", "by": "Bo"})
    built.close()
    return where


@pytest.fixture
def maud(place: str) -> Iterator[Services]:
    """Another person's program on the same log."""
    built = services(place)
    built.who = "maud@truck"
    yield built
    built.close()


@asynccontextmanager
async def opened(place: str, drive: Callable[..., Any], screen: Any, **more: Any) -> AsyncIterator[Any]:
    built = services(place)
    app = FinishlogApp(built)
    async with app.run_test(size=more.get("size", (80, 24)), notifications=True) as pilot:
        stage = drive(app, pilot)
        await stage.settle()
        app.push_screen(screen)
        await stage.until(lambda: app.screen is screen and screen.stands)
        await stage.settle()
        yield stage
    built.close()


def correction() -> LogScreen:
    return LogScreen(JOB, "front walk", replaces=1)


def standing(maud: Services) -> list[dict[str, Any]]:
    with maud.log().reading() as log:
        return [{"note": e.note, "by": e.person, "number": e.number} for e in log.job(JOB).entries]


def corrected(maud: Services, **texts: str) -> None:
    record.record(maud, JOB, "note", texts, replaces=1)


async def saved(stage: Any) -> None:
    form = stage.app.screen
    await stage.press("ctrl+s")
    await stage.until(lambda: stage.app.screen is not form)
    await stage.settle()


@BOTH
async def test_what_does_not_conflict_is_merged(
    place: str, maud: Services, drive: Callable[..., Any]
) -> None:
    async with opened(place, drive, correction()) as stage:
        await stage.fill("note", "the hose leaks")
        focused = stage.app.focused
        corrected(maud, by="Maud")
        await stage.until(lambda: stage.field("by").value == "Maud")
        await stage.settle()
        assert stage.app.focused is focused
        assert stage.field("note").value == "the hose leaks"
        assert "It was “Bo”" in stage.text
        await saved(stage)
    assert standing(maud) == [{"note": "the hose leaks", "by": "Maud", "number": 3}]


@BOTH
@pytest.mark.parametrize(("key", "kept"), [("ctrl+y", "mine"), ("ctrl+t", "theirs")])
async def test_what_both_changed_is_shown_both_and_saved_once_one_is_chosen(
    place: str, maud: Services, drive: Callable[..., Any], key: str, kept: str
) -> None:
    async with opened(place, drive, correction()) as stage:
        await stage.fill("note", "mine")
        corrected(maud, note="theirs")
        await stage.until(lambda: "“theirs”" in stage.text)
        assert stage.field("note").value == "mine"
        await stage.press("ctrl+s")
        assert "someone else changed 1 field too" in stage.text
        assert standing(maud) == [{"note": "theirs", "by": "Bo", "number": 2}]
        await stage.press(key)
        assert "“theirs”" not in stage.text
        await saved(stage)
    assert standing(maud) == [{"note": kept, "by": "Bo", "number": 3}]


async def test_what_was_undone_meanwhile_is_logged_anew(
    place: str, maud: Services, drive: Callable[..., Any]
) -> None:
    async with opened(place, drive, correction()) as stage:
        await stage.fill("note", "the hose leaks")
        taking_back.undo(maud, JOB, 1)
        await stage.until(lambda: "undone meanwhile" in stage.text)
        await saved(stage)
    assert standing(maud) == [{"note": "the hose leaks", "by": "Bo", "number": 3}]


async def test_who_saves_in_the_same_moment_overwrites_nothing(
    place: str, maud: Services, drive: Callable[..., Any]
) -> None:
    async with opened(place, drive, correction()) as stage:
        stage.app.others.stop()  # the news come too late
        await stage.fill("note", "mine")
        corrected(maud, note="theirs")
        await stage.press("ctrl+s")
        await stage.until(lambda: "“theirs”" in stage.text)
        assert stage.field("note").value == "mine"
    assert standing(maud) == [{"note": "theirs", "by": "Bo", "number": 2}]


async def test_what_was_left_half_typed_comes_back_over_the_corrected_entry(
    place: str, maud: Services, drive: Callable[..., Any]
) -> None:
    async with opened(place, drive, correction()) as stage:
        await stage.fill("note", "mine")
        await stage.press("escape")
        corrected(maud, note="theirs", by="Maud")
        again = LogScreen(JOB, "front walk", replaces=2)
        stage.app.push_screen(again)
        await stage.until(lambda: again.stands and "“theirs”" in stage.text)
        assert (stage.field("note").value, stage.field("by").value) == ("mine", "Maud")
        await stage.press("ctrl+y", "ctrl+s")  # looked at first
        await saved(stage)
        third = stage.app.desks.correction(JOB, 3)
    assert standing(maud) == [{"note": "mine", "by": "Maud", "number": 3}]
    assert third.draft is None


async def test_a_note_that_both_changed_is_shown_both(
    place: str, maud: Services, drive: Callable[..., Any]
) -> None:
    async with opened(place, drive, SmallScreen(JOB, "front walk", "note"), size=(120, 36)) as stage:
        await stage.fill("note", "gate code 12")
        edit.set_note(maud, JOB, "mind the dog")
        await stage.until(lambda: "“mind the dog”" in stage.text)
        await stage.fill("note", ", mind the dog")
        await stage.press("ctrl+y")
        await saved(stage)
    with maud.log().reading() as log:
        assert log.job(JOB).note == "gate code 12, mind the dog"


async def test_a_page_of_settings_writes_back_nothing_old(
    place: str, maud: Services, drive: Callable[..., Any]
) -> None:
    screen = SettingsScreen()
    async with opened(place, drive, screen) as stage:
        first, second = (field.asked.key for field in screen.fields[:2])
        stage.app.others.stop()
        await stage.fill(first, "180")
        settings.change(maud, {second: "7"})
        await stage.press("ctrl+s")
        await stage.until(lambda: stage.field(second).value == "7")
        await stage.press("ctrl+s")
        await stage.until(lambda: "Saved" in stage.toast())
    with maud.log().reading() as log:
        own = log.settings()
        assert (own[first], own[second]) == ("180", "7")
