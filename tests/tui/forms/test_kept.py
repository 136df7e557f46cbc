"""Nothing is logged that the screen did not show: what one key keeps, what is only planned, what came back."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from textual.widgets import Input

from finishlog import wiring
from finishlog.desk.due import today
from finishlog.desk.forms import offers
from finishlog.desk.record import drafts, record
from finishlog.desk.services import Services
from finishlog.inputs.entry import entries
from finishlog.records.log import Entry
from finishlog.tui.due.today_sheet import DueSheet
from finishlog.tui.forms import paint
from finishlog.tui.forms.fields import Button, asks
from finishlog.tui.log.entry import LogScreen
from finishlog.tui.widgets import bars

Open = Callable[..., Any]
NOW = datetime(2026, 6, 16, 12, 40, tzinfo=UTC)
JOB = "larkspur-breakfast-patio"
CONTEXT = entries.Context(NOW, ZoneInfo("UTC"))
TITLE = "Cornelius Larkspur-Mudge · breakfast patio"


@pytest.fixture
def services(demo: str, clock: str) -> Iterator[Services]:
    built = wiring.build(demo)
    yield built
    built.close()


def said(text: str) -> str:
    """The screen without its frame: rows follow each other, so that what is broken over two stands together."""
    return " ".join(text.replace("│", " ").replace("▌", " ").split())


def stored(services: Services, handle: str) -> tuple[Entry, list[str]]:
    """The newest entry of a job, and each of its values as a form would say it."""
    with services.log().reading() as log:
        now = record.stand(log, services, handle)
    entry = max(now.job.entries, key=lambda one: one.number)
    context = record.of_entry(entry, now)
    values = entries.values_of(entry, context, now.names)
    told = []
    for field in entries.fields_of(entry.kind, context):
        value = values.get(field.key)
        if value is not None:
            text = entries.texts_of(entry.kind, {field.key: value}, context)[field.key]
            told.append(field.echo(text) or text)
    return entry, told


async def test_what_enter_enter_keeps_stood_on_the_screen(open_log: Open, services: Services) -> None:
    """Every kind of line that Today logs by one key, at the least size."""
    kinds = {}
    for line in today.today(services).lines:
        if line.what != "pour":
            kinds.setdefault(line.what, line)
    assert {"rinse", "sweep", "photo", "seal", "dryness_test", "judge_color"} <= kinds.keys()
    logged = set()
    async with open_log((60, 20)) as stage:
        for what, line in kinds.items():
            await stage.clear()
            before = len(_entries(services, line.job))
            stage.app.push_screen(DueSheet(line, lambda _: None))
            await stage.settle()
            if what == "rinse":  # whether it was swept is asked first
                await stage.press("n", "enter")
            if not isinstance(stage.app.focused, Button):
                await stage.press("escape")
                continue  # something is needed first: it is typed, and so seen
            screen = said(stage.text)
            await stage.press("enter")
            if isinstance(stage.app.screen, DueSheet):  # something is odd: the reason is asked
                screen += said(stage.text)
                assert "Because ▌" in stage.text
                await stage.enter("as it was")
                await stage.press("ctrl+s")
            assert not isinstance(stage.app.screen, DueSheet), stage.text
            assert len(_entries(services, line.job)) == before + 1
            _, told = stored(services, line.job)
            assert [one for one in told if said(one) not in screen] == [], what
            logged.add(what)
    assert {"rinse", "sweep", "photo", "seal"} <= logged


def _entries(services: Services, handle: str) -> tuple[Entry, ...]:
    with services.log().reading() as log:
        return log.job(handle).entries


def test_what_a_recipe_plans_is_shown_and_not_sent(services: Services) -> None:
    """The tip and the fan are how it is done; how much release is left is seen when it is done."""
    made = offers.offer(services, JOB, "rinse")
    assert "release_left_percent" not in made.values
    assert made.planned["release_left_percent"].said == "20 %"
    assert (made.values["tip_deg"], made.values["pressure_psi"]) == ("25 °", "2000 psi")
    line = next(one for one in today.today(services).lines if (one.job, one.what) == (JOB, "rinse"))
    done = today.log(services, line, {"swept": "no"})
    assert "release_left_percent" not in done.entry.facts
    assert done.entry.facts["tip_deg"] == 25


def test_a_draft_means_the_moment_that_it_meant_when_it_was_typed(
    services: Services, monkeypatch: pytest.MonkeyPatch
) -> None:
    key = drafts.draft_key(JOB, "rinse")
    monkeypatch.setattr(services, "clock", lambda: NOW - timedelta(days=1))
    drafts.keep_draft(services, key, {"at": "-2h", "note": "north end"})
    monkeypatch.setattr(services, "clock", lambda: NOW)
    draft = offers.offer(services, JOB, "rinse").draft
    assert draft == {"at": "2026-06-15 05:40", "note": "north end"}
    assert draft is not None
    assert draft.since == NOW - timedelta(days=1)  # type: ignore[attr-defined]


def test_what_came_back_says_since_when() -> None:
    zone = ZoneInfo("America/Chicago")
    assert paint.unfinished(NOW, NOW + timedelta(hours=2), zone) == (
        "Unfinished since 7:40a; here is what you typed."
    )
    assert paint.unfinished(NOW, NOW + timedelta(days=2), zone) == (
        "Unfinished since Tue Jun 16 7:40a; here is what you typed."
    )
    assert paint.unfinished(None, NOW, zone) == "Unfinished; here is what you typed."


async def test_a_sheet_that_came_back_is_marked_and_logs_nothing_on_the_next_enter(
    open_log: Open, services: Services
) -> None:
    drafts.keep_draft(
        services, drafts.draft_key(JOB, "rinse"), {"at": "-2h", "by": "Mo", "pressure_psi": "1500"}
    )
    record.record(services, JOB, "sweep", {"at": "7a"})
    before = _entries(services, JOB)
    line = next(one for one in today.today(services).lines if (one.job, one.what) == (JOB, "rinse"))
    async with open_log((60, 20)) as stage:
        stage.app.push_screen(DueSheet(line, lambda _: None))
        await stage.settle()
        assert "Unfinished since 7:40a; here is what you typed." in stage.text
        assert stage.app.focused is stage.field("at").entry
        assert stage.field("at").value == "2026-06-16 05:40"
        await stage.press("enter")
        assert stage.app.focused is stage.field("by").entry
        assert "Enter next field" in stage.rows[-1]
        assert _entries(services, JOB) == before
        await stage.press("ctrl+s")
        assert len(_entries(services, JOB)) == len(before) + 1


async def test_a_form_that_came_back_is_looked_at_before_ctrl_s_logs_it(
    open_log: Open, services: Services
) -> None:
    drafts.keep_draft(services, drafts.draft_key(JOB, "note"), {"note": "the hose leaks"})
    before = _entries(services, JOB)
    async with open_log() as stage:
        stage.app.push_screen(LogScreen(JOB, TITLE, "note"))
        await stage.settle()
        await stage.press("ctrl+s")
        assert _entries(services, JOB) == before
        assert "unfinished: check it first" in stage.text
        assert stage.app.focused is stage.field("at").entry
        await stage.press("ctrl+s")
        assert len(_entries(services, JOB)) == len(before) + 1


@pytest.mark.parametrize("width", [30, 58, 118])
def test_all_that_would_be_kept_stands_there_uncut(width: int) -> None:
    kept = [("When", "Tue Jun 16, 7:40 in the morning"), ("Who", "Odd Nils"), ("Note", "a " * 60 + "end")]
    lines = [line.text for line in paint.told(kept, width)]
    assert all(len(line) <= width for line in lines)
    told = " ".join(" ".join(lines).split())
    assert all(" ".join(value.split()) in told for _, value in kept)
    assert paint.told([], width) == []


async def test_a_whole_form_says_above_its_button_what_it_logs(open_log: Open) -> None:
    """What was offered may be scrolled away by then; the list is not."""
    async with open_log((60, 20)) as stage:
        stage.app.push_screen(LogScreen(JOB, TITLE, "rinse"))
        await stage.settle()
        stage.app.screen.query_one(Button).focus()
        await stage.until(lambda: "Pressure │" not in stage.text)
        screen = said(stage.text)
        for told in ("Logs When now", "Pressure 2000 psi", "Fan of the tip 25°", "Passes 2", "Who Odd Nils"):
            assert told in screen, told
        assert "planned" not in screen[screen.index("Logs When") :]
        assert "Enter log it" in stage.rows[-1]


def footed(scope: str, focused: object, width: int = 60) -> str:
    return bars.footer(scope, width, typing=isinstance(focused, Input), focused=focused).text


def test_the_footer_says_first_what_enter_does_in_what_has_the_focus() -> None:
    plain = asks("a", "A").entry
    choosing = asks("b", "B", choices=("x", "y")).entry
    for scope in (
        "form",
        "sheet",
        "rinse",
        "bench",
        "measure",
        "settings",
        "small",
        "new",
        "day",
        "paper",
        "add",
    ):
        assert footed(scope, plain).startswith("  Enter next field"), scope
        assert "Tab" not in footed(scope, plain)
        assert footed(scope, Button("Keep it")).startswith("  Enter keep it"), scope
    assert "Down choices" in footed("form", choosing)
    assert "Down choices" not in footed("form", plain)
    assert footed("form", Button("Log it")).count("log it") == 1
    assert footed("form", None).startswith("  Tab next")


async def test_while_choices_are_open_enter_takes_one(open_log: Open) -> None:
    async with open_log() as stage:
        stage.app.push_screen(LogScreen(JOB, TITLE, "weather"))
        await stage.settle()
        stage.field("sky").entry.focus()
        await stage.press("down")
        assert "Enter take it" in stage.rows[-1]
        await stage.press("enter")
        assert "Enter next field" in stage.rows[-1]


async def test_a_line_under_each_field_and_another_ground_under_the_focus(open_log: Open) -> None:
    async with open_log() as stage:
        stage.app.push_screen(LogScreen(JOB, TITLE, "note"))
        await stage.settle()
        here, other = stage.field("at").entry, stage.field("by").entry
        assert here.has_focus
        for entry in (here, other):
            cells = [segment for segment in entry.render_line(0) if segment.text]
            assert all(segment.style.underline for segment in cells)
            assert sum(len(segment.text) for segment in cells) >= entry.content_size.width
        assert here.styles.background != other.styles.background
        assert other.styles.background == stage.app.screen.styles.background
