"""The office at the screens: what comes first leads, the palette by people's words, clicks, what writing ends with."""

from __future__ import annotations

import os
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from datetime import UTC, date, datetime
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from textual.events import MouseScrollDown

from finishlog.desk.doubts.odd import Doubt
from finishlog.errors import InputError
from finishlog.records.care import Book, MonthCount, Reseal, Visit, Week, WeekPlan
from finishlog.records.due import TodayLine
from finishlog.records.log import Customer
from finishlog.tui import actions
from finishlog.tui.due import care_paint, today_paint, weeks
from finishlog.tui.due.care_form import ResealScreen
from finishlog.tui.due.care_paper import ResealPaper
from finishlog.tui.palette import Commands
from tests.tui.book_rows import painted

TODAY = date(2026, 6, 16)
FIRST = "The film is about 7.2 mil, over 6: wipe with solvent first."


def reseal(**more: Any) -> Reseal:
    told: dict[str, Any] = {"prepare": "wipe", "prepare_why": FIRST, "month": (2026, 6), **more}
    return Reseal(
        "u", 1, "job", "patio", Customer("c", "Puddlecombe"), "12 Teakettle Walk", None, (), 1,
        date(2023, 8, 1), date(2026, 6, 1), date(2028, 6, 1), "due", "Three years.", **told,
    )  # fmt: skip


def book(*lines: Reseal) -> Book:
    return Book(TODAY, date(2027, 6, 16), "1 reseal is open.", lines, (), (4, 5, 6, 7, 8, 9, 10))


# what comes first leads


def words_of(help: str | None, by_id: dict[str, actions.Action]) -> list[str]:
    found = next(action for action in by_id.values() if action.help == help)
    return (
        f"{found.label} {found.help} {actions.WORDS.get(found.id, '')}".casefold().replace(",", " ").split()
    )


@pytest.mark.parametrize("width", [58, 76, 116])
def test_care_leads_with_the_wipe_at_every_size_whatever_else_is_said(width: int) -> None:
    line = reseal(on=date(2026, 8, 14), note="wants a Friday, and the dog is to be let in before noon")
    row = painted(book(line), width)[1].text
    assert "! wipe first" in row
    assert care_paint.why(line, None, 2, width)[0].text.startswith(f"! {FIRST[:40]}")
    aside = [each.text for each in care_paint.aside(line, None, 40, "us")]
    assert next(at for at, text in enumerate(aside) if text.startswith("! The film")) < 4
    assert "wipe first" not in painted(book(reseal(left_alone=True)), width)[1].text


def due(**more: Any) -> TodayLine:
    at = datetime(2026, 6, 16, tzinfo=UTC)
    told: dict[str, Any] = {"before": "wipe first", "first": FIRST, **more}
    return TodayLine("job", "Puddlecombe", "patio", None, "reseal", None, "Reseal", "seal", "open", "until Jul 2", at,
                     at, "", "Sealed Aug 1 2023.", ("No pilot light.",), **told)  # fmt: skip


@pytest.mark.parametrize("width", [58, 76, 116])
def test_today_leads_with_the_wipe_at_every_size(width: int) -> None:
    found = SimpleNamespace(lines=(due(),), ahead=())
    row = today_paint.page(found, found, 0, width)[1].text  # type: ignore[arg-type]
    assert ("! wipe  Puddlecombe" if width < 66 else "! wipe first  Puddlecombe · patio") in row
    assert today_paint.why(due(), 2, width)[0].text.startswith(f"! {FIRST[:40]}")
    assert "! The film" in today_paint.aside(due(), 40)[3].text


# one app for what needs no log


class Desks:
    """What the screens of this file ask."""

    def __init__(self) -> None:
        self.failing: Exception | None = None
        self.wrote: list[str] = []

    def write_reseals(self, held: Book, what: str, file: str, wish: str) -> str:
        if self.failing is not None:
            raise self.failing
        self.wrote.append(f"{what} {file} {wish}")
        return f"1 letter in {file}."

    def set_care(self, *_given: Any) -> Any:
        raise self.failing or AssertionError

    def backup(self) -> str:
        if self.failing is not None:
            raise self.failing
        return "backup-2026-06-16.finishlog"


class Fakes:
    """These desks before the usual ones of the tests."""

    def __init__(self, own: Desks, usual: Any) -> None:
        self._own, self._usual = own, usual

    def __getattr__(self, name: str) -> Any:
        return getattr(self._own, name, None) or getattr(self._usual, name)


@pytest.fixture
def office(open_app: Callable[..., Any]) -> Callable[..., Any]:
    from tests.tui.conftest import FakeDesks

    @asynccontextmanager
    async def opened(own: Desks, **more: Any) -> AsyncIterator[Any]:
        async with open_app(desks=Fakes(own, FakeDesks()), **more) as stage:
            yield stage

    return opened


async def test_writing_ends_with_what_happened(
    office: Callable[..., Any], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A refusal, a doubt, a file with its count; also where the help was opened over it meanwhile."""
    monkeypatch.chdir(tmp_path)
    desks = Desks()
    async with office(desks) as stage:
        stage.app.push_screen(ResealPaper(book(reseal())))
        await stage.settle()
        desks.failing = InputError("Nobody to write to.", where="file")
        await stage.press("ctrl+s")
        assert "Nobody to write to." in stage.text
        assert "writing…" not in stage.text
        desks.failing = None
        await stage.press("ctrl+s")
        assert desks.wrote == ["ics reseals-calendar.ics new"]
        assert "1 letter in reseals-calendar.ics." in stage.toast()
        stage.app.push_screen(ResealScreen(reseal(), "booked", date(2026, 8, 15), lambda _: None))
        await stage.settle()
        assert f"! {FIRST}"[:50] in stage.text  # leads the form
        doubt = Doubt("Sat Aug 15 is on a weekend.")
        desks.failing = doubt
        await stage.press("ctrl+s")
        assert "Sat Aug 15 is on a weekend." in stage.text
        assert stage.field("because").display
        await stage.press("escape")
        await stage.app.run_action("app.backup")
        await stage.settle()
        assert "copying…" not in stage.text  # it failed, and a dialog says so
        desks.failing = None
        await stage.press("enter")
        await stage.app.run_action("app.backup")
        await stage.settle()
        assert "The copy is in backup-2026-06-16.finishlog." in stage.toast()


async def test_what_is_said_stays_as_long_as_it_takes_to_read(office: Callable[..., Any]) -> None:
    async with office(Desks()) as stage:
        for said, least, most in (("Kept.", 5, 5), ("No letter: " + "Ottoline Quillfeather, " * 14, 15, 60)):
            stage.app.done(said)
            await stage.settle()
            [note] = stage.app._notifications  # the one before made room
            assert note.message == said
            assert least <= note.timeout <= most


def test_a_week_plan_of_another_year_names_it() -> None:
    visit = Visit("job", "Puddlecombe · patio", "12 Teakettle Walk", None, date(2027, 4, 1), TODAY, date(2028, 6, 1),
                  False, False, "window to Jun 1 2028")  # fmt: skip
    made = WeekPlan((Week(date(2027, 3, 29), (visit,), True),), (), ("1 reseal.",), 0, 4)
    assert weeks.page(made, 76, TODAY)[0].text == "Week of Mon Mar 29 2027  full"
    assert weeks.page(made, 76, date(2027, 1, 5))[0].text == "Week of Mon Mar 29  full"


def test_a_copy_is_made_under_a_free_name(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from finishlog.desk.exchange import keeping

    monkeypatch.chdir(tmp_path)
    made = SimpleNamespace(backup=lambda name: Path(name).touch(), where=Path("shop.finishlog"))
    services: Any = SimpleNamespace(today=lambda: TODAY, log=lambda: made)
    names = [keeping.backup(services) for _ in range(3)]
    assert names == [f"backup-2026-06-16{end}.finishlog" for end in ("", "-2", "-3")]
    assert sorted(os.listdir()) == sorted(names)


# the palette


SAID = {
    "letters": "care.paper", "remind": "care.paper", "e-mail": "care.paper", "mail merge": "care.paper",
    "wash": "job.rinse", "color card": "photos.open", "address": "app.settings", "holidays": "app.settings",
    "backup": "app.backup", "undo": "care.undo", "take back": "job.undo", "print": "job.paper",
    "schedule": "care.weeks", "appointment": "care.book", "buy": "shelf.new", "inventory": "app.place.shelf",
    "calculator": "app.place.bench", "snooze": "today.off", "quit": "app.quit", "customer": "jobs.new",
    "calendar": "care.weeks", "called": "care.next", "shortcuts": "app.help", "sold": "job.owner",
}  # fmt: skip


async def test_the_palette_finds_every_action_by_the_words_people_use(office: Callable[..., Any]) -> None:
    by_id = {action.id: action for action in actions.ACTIONS}
    assert set(actions.WORDS) <= set(by_id)
    offered = [
        a
        for a in actions.ACTIONS
        if a.palette and a.scope in ("today", "jobs", "job", "care", "shelf", "app")
    ]
    assert [a.id for a in offered if a.id not in actions.WORDS] == []
    async with office(Desks()) as stage:
        commands = Commands(stage.app.screen)
        for said, wanted in SAID.items():
            hits = [hit async for hit in commands.search(said)]
            assert any(by_id[wanted].help == hit.help for hit in hits), said
        assert [hit async for hit in commands.search("xylophone")] == []
        for said in ("letter", "wash", "backup", "archive", "undo"):  # where words are found no letters are
            for hit in [hit async for hit in commands.search(said)]:
                assert any(word.startswith(said) for word in words_of(hit.help, by_id)), (said, hit.help)
        assert [hit.help async for hit in commands.search("bckup")] == [by_id["app.backup"].help]
        await stage.press("escape", "ctrl+p")
        assert "What do you want to do?" in stage.text
        assert "Search for commands" not in stage.text


async def test_an_action_of_another_place_goes_there_months_and_visits_are_clicked_and_the_pane_scrolls(
    open_log: Callable[..., Any],
) -> None:
    async with open_log(size=(120, 20)) as stage:
        await stage.press("escape")
        hits = [hit async for hit in Commands(stage.app.screen).search("letters")]
        next(hit for hit in hits if str(hit.text) == "Care: Paper  (w)").command()
        await stage.until(lambda: isinstance(stage.app.screen, ResealPaper))
        await stage.settle()
        await stage.press("escape")
        screen = stage.app.screen
        pane = screen.query_one("#along")
        assert pane.max_scroll_y > 0  # more than the window shows
        await stage.pilot._post_mouse_events([MouseScrollDown], "#along")
        await stage.settle()
        assert pane.scroll_y > 0
        months = [month for month in screen._found.book.months if month.states]
        last = months[-1]
        title = screen.query_one("#title")
        row, column = next(
            (y, x)
            for y, line in enumerate(title.paint(title.size.width))
            for x in range(line.width)
            if line.act_at(x) == f"month_at({last.year}, {last.month})"
        )
        await stage.pilot.click("#title", offset=(column, row))
        await stage.settle()
        assert screen.current.month == (last.year, last.month)
        assert pane.scroll_y == 0  # another line, from its top
        await stage.press("k")
        assert isinstance(stage.app.screen, weeks.WeeksScreen)
        await stage.pilot.click("#weeks", offset=(16, 1))
        await stage.settle()
        assert type(stage.app.screen).__name__ == "JobScreen"


async def test_a_plan_that_fails_does_not_go_on_counting(office: Callable[..., Any]) -> None:
    class Failing(Desks):
        def weeks(self, progress: Any) -> Any:
            raise InputError("A season with no months leaves nothing to plan.")

    async with office(Failing()) as stage:
        stage.app.push_screen(weeks.WeeksScreen())
        await stage.settle()
        assert "A season with no months" in stage.text
        await stage.press("enter")
        assert "planning…" not in stage.text
        assert "not planned" in stage.text


def test_months_with_reseals_alone_are_clicked() -> None:
    months = (MonthCount(2026, 6, ("due",), False), MonthCount(2026, 7, (), False))
    names, marks = care_paint.glance(months, 76)
    assert (names.act_at(0), marks.act_at(0)) == ("month_at(2026, 6)", "month_at(2026, 6)")
    assert names.act_at(6) == ""
