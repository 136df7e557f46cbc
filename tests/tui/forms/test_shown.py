"""What has the focus is on the screen, after every key, in every form of every kind.

Keys go straight to the screen, past the gate of keys typed ahead, and nothing is painted: where a widget lies and
what lies over it is known from the layout.
"""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Callable, Iterator
from typing import Any

import pytest
from textual.events import Key
from textual.geometry import Region
from textual.screen import Screen
from textual.widget import Widget

from finishlog.trade.events import kinds_in_order
from finishlog.tui.bench import sums
from finishlog.tui.bench.screen import BenchScreen
from finishlog.tui.due.care_form import ResealScreen
from finishlog.tui.due.care_paper import ResealPaper
from finishlog.tui.due.today_sheet import DueSheet, PutOffSheet
from finishlog.tui.forms.fields import Button, Field
from finishlog.tui.forms.form import FormScreen
from finishlog.tui.forms.paper import JobPaper
from finishlog.tui.jobs.new import NewJobScreen
from finishlog.tui.log.day import DayScreen
from finishlog.tui.log.entry import LogScreen
from finishlog.tui.log.small import SmallScreen
from finishlog.tui.match.measure import MeasureScreen
from finishlog.tui.photo.add import AddScreen
from finishlog.tui.rinse.screen import RinseScreen
from finishlog.tui.settings.screen import SettingsScreen
from finishlog.tui.shelf import form
from finishlog.tui.shelf.sheet import SheetScreen

Open = Callable[..., Any]
JOB = "bogglethwaite-front-yard"
TITLE = "Wilhelmina Bogglethwaite · front yard"
SIZES = [(60, 20), (80, 24), (120, 36)]
SMALL = ("change", "copy", "area", "bury", "owner", "merge", "note")
SETTINGS = 9
"""Pages of the settings."""
LEAST = ("sheet Rinse", "sheet Seal", "pour", "measures", "bench 3", "rinse helper")
SAMPLE = ("sheet Seal",)
"""Forms of every make; all of them are walked in the long tier."""


@pytest.fixture(autouse=True)
def nothing_is_painted(monkeypatch: pytest.MonkeyPatch) -> None:
    """Cells cost most of the time; where they would be is laid out all the same."""
    monkeypatch.setattr(Screen, "_compositor_refresh", lambda self: self._dirty_widgets.clear())


async def rest(stage: Any) -> None:
    """Until no message waits and nothing is read."""
    app, quiet = stage.app, 0
    for _ in range(20_000):
        busy = _busy(app)
        quiet = 0 if busy else quiet + 1
        if quiet > 3:
            return
        await asyncio.sleep(0 if app.work.idle and not app.screen._dirty_widgets else 0.001)
    raise AssertionError("the screens did not come to rest")


def _busy(app: Any) -> bool:
    screen = app.screen
    near = (app, screen, *([screen.focused] if screen.focused else []))
    return (
        not app.work.idle
        or any(not pump._message_queue.empty() or pump._next_callbacks for pump in near)
        or bool(screen._callbacks or screen._layout_required or screen._dirty_widgets)
        or any(not pump._message_queue.empty() or pump._next_callbacks for pump in screen.walk_children())
    )


async def key(stage: Any, name: str) -> None:
    """A key as the gate hands it on."""
    await stage.app.ahead._hand_on(Key(name, None))
    await rest(stage)


def hidden(stage: Any) -> str:
    """Where what has the focus is off the screen, or under something else; its label with it."""
    focused = stage.app.focused
    if focused is None:
        return "nothing has the focus"
    field = next((one for one in focused.ancestors if isinstance(one, Field)), None)
    parts = [focused, *field.query(".label, .wrong")] if field is not None else [focused]
    return next((said for part in parts if part.display and (said := _covered(stage.app.screen, part))), "")


def _covered(screen: Any, widget: Widget) -> str:
    region: Region = widget.region
    if not region.area:
        return f"{widget!r} has no place"
    for x, y in _ends(region):
        if not screen.region.contains(x, y):
            return f"{widget!r} is off the screen, row {y}"
        there, _ = screen.get_widget_at(x, y)
        if there is not widget and widget not in there.ancestors:
            return f"{widget!r} lies under {there!r}, row {y}"
    return ""


def _ends(region: Region) -> Iterator[tuple[int, int]]:
    for y in range(region.y, region.bottom):
        yield region.x, y
        yield region.right - 1, y


async def forms(stage: Any) -> AsyncIterator[tuple[str, Callable[[], Any]]]:
    """Every form, by its name; each is made when its turn comes."""
    desks = stage.app.desks
    for kind in kinds_in_order():
        yield kind.key, lambda kind=kind: LogScreen(JOB, TITLE, kind.key)
    lines = {line.title: line for line in desks.due().lines if line.what != "pour"}
    for title, line in lines.items():
        yield f"sheet {title}", lambda line=line: DueSheet(line, lambda _: None)
    yield "put off", lambda: PutOffSheet(next(iter(lines.values())), lambda _: None)
    yield "day card", lambda: DayScreen(JOB, TITLE)
    yield "new job", NewJobScreen
    yield "correction", lambda: LogScreen(JOB, TITLE, replaces=2)
    for what in SMALL:
        yield f"small {what}", lambda what=what: SmallScreen(JOB, TITLE, what)
    yield "measures", lambda: MeasureScreen(JOB)
    for page in range(SETTINGS):
        yield f"settings {page}", lambda page=page: SettingsScreen(page)
    book = desks.reseals(100, 0).book
    yield "reseal", lambda: ResealScreen(book.lines[0], "due", None, lambda _: None)
    yield "what goes out", lambda: ResealPaper(book)
    yield "sheets", lambda: JobPaper(desks.job(JOB))
    yield "photos", lambda: AddScreen(JOB, TITLE, ("field", "border"))
    yield "rinse helper", lambda: RinseScreen(JOB, TITLE)
    shelf = desks.shelf("us", 100, 0).shelf
    sealer = next(line for line in shelf.lines if line.held.product.kind == "sealer")
    for verb in form.TITLES:
        yield f"shelf {verb}", lambda verb=verb: form.MoveScreen(verb, {}, None, lambda _: None)
    yield "sealer's sheet", lambda: SheetScreen(sealer)
    for at in range(len(sums.SUMS)):
        yield f"bench {at}", lambda at=at: _Bench(at)


class _Bench(BenchScreen):
    def __init__(self, at: int) -> None:
        super().__init__()
        self._begins = at

    def on_mount(self) -> None:
        super().on_mount()
        self._turn(self._begins)


async def walked(stage: Any, name: str, presses: tuple[str, ...]) -> list[str]:
    """Every stop of a form by these keys, and what was not in sight there."""
    if name == "rinse helper":
        await key(stage, "e")
    said = [f"{name}, at first: {found}"] if (found := hidden(stage)) else []
    stops = len(stage.app.screen.focus_chain)
    for press in presses:
        seen = set()
        for _ in range(stops):
            await key(stage, press)
            seen.add(stage.app.focused)
            if found := hidden(stage):
                said.append(f"{name}, {press}: {found}")
        assert len(seen) == stops, f"{name}: {press} leaves out a stop"
    return said


async def all_walked(stage: Any, presses: tuple[str, ...], only: tuple[str, ...] = ()) -> list[str]:
    said: list[str] = []
    names = []
    async for name, make in forms(stage):
        if only and name not in only:
            continue
        names.append(name)
        stage.app.push_screen(make())
        await rest(stage)
        assert stage.app.screen.query(Field), name
        said += await walked(stage, name, presses)
        stage.app.pop_screen()
        await rest(stage)
    assert not only or sorted(names) == sorted(only)
    return said


@pytest.mark.parametrize(("size", "only"), [(SIZES[0], LEAST), (SIZES[1], SAMPLE), (SIZES[2], SAMPLE)])
async def test_what_has_the_focus_is_in_sight_after_every_tab(
    open_log: Open, size: tuple[int, int], only: tuple[str, ...]
) -> None:
    async with open_log(size) as stage:
        assert await all_walked(stage, ("tab",), only) == []


@pytest.mark.long
@pytest.mark.parametrize("size", SIZES)
async def test_the_same_in_every_form_of_every_kind_both_ways(open_log: Open, size: tuple[int, int]) -> None:
    async with open_log(size) as stage:
        assert await all_walked(stage, ("tab", "shift+tab")) == []


async def test_tab_begins_at_when_and_ends_at_the_button(open_log: Open) -> None:
    async with open_log(SIZES[0]) as stage:
        line = next(line for line in stage.app.desks.due().lines if line.title == "Sweep")
        stage.app.push_screen(DueSheet(line, lambda _: None))
        await rest(stage)
        assert isinstance(stage.app.focused, Button)
        await key(stage, "tab")
        fields = list(stage.app.screen.query(Field))[1:]
        assert fields[0].asked.key == "at"
        for field in fields:
            assert stage.app.focused is field.entry
            await key(stage, "tab")
        assert isinstance(stage.app.focused, Button)


async def test_what_is_wrong_with_a_field_pushes_the_next_one_no_further_than_is_seen(open_log: Open) -> None:
    """Every field left with something wrong in it: a row comes in above the focus each time."""
    async with open_log(SIZES[0]) as stage:
        stage.app.push_screen(LogScreen(JOB, TITLE, "rinse"))
        await rest(stage)
        for _ in range(8):
            stage.app.focused.value = "?,?"
            await key(stage, "tab")
            assert hidden(stage) == ""
        assert len(stage.app.screen.query(".-wrong")) > 3


async def test_where_one_types_the_hint_stands_whole(open_log: Open) -> None:
    async with open_log(SIZES[0]) as stage:
        stage.app.push_screen(LogScreen(JOB, TITLE, "load"))
        await rest(stage)
        for _ in range(12):
            focused = stage.app.focused.parent.parent
            assert isinstance(focused, Field)
            echo = focused.query_one(".echo")
            rows = [line.text.strip() for line in echo.paint(echo.size.width)]
            if not focused.value:
                assert " ".join(rows) == focused.hint
                assert len(rows) == echo.size.height
            await key(stage, "tab")


def test_what_stands_beside_a_button_fits_the_least_size() -> None:
    """A cut "nothing i…" leaves out what counts."""
    notes = {one.NOTE for one in _all_of(FormScreen)}
    assert len(notes) > 4
    assert [note for note in notes if len(note) > BESIDE] == []


BESIDE = 25
"""Cells beside a button at 60 columns."""


def _all_of(kind: type[FormScreen]) -> Iterator[type[FormScreen]]:
    yield kind
    for one in kind.__subclasses__():
        yield from _all_of(one)
