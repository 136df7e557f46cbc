"""Every screen at 60×20, 80×24 and 120×36, with colors, with 256 of them and with none."""

from __future__ import annotations

import re
from collections.abc import AsyncIterator, Callable
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest
from PIL import Image
from rich.cells import cell_len

from finishlog.records.answers import DemoStart
from finishlog.settings import Machine
from finishlog.tui.widgets.canvas import Canvas
from finishlog.tui.widgets.pane import Pane

Open = Callable[..., Any]
SIZES = [(60, 20), (80, 24), (120, 36)]
ENDS = [(60, 20), (120, 36), pytest.param((80, 24), marks=pytest.mark.long)]
"""The least size and the widest layout; most other tests run at the one between."""
DEMO = DemoStart("puddlecombe-patio", "22x14", "4 in")


async def walk(stage: Any) -> list[list[str]]:
    """All screens, one after another."""
    seen = [stage.rows]
    for keys in (
        ("m",),
        ("enter",),
        ("2", "enter"),
        ("right",),
        ("right",),
        ("right",),
        ("f1",),
        ("escape", "5"),
    ):
        await stage.press(*keys)
        seen.append(stage.rows)
    return seen


@pytest.mark.parametrize("size", ENDS)
async def test_nothing_is_cut_at_the_frame_and_the_margins_are_kept(
    open_app: Open, size: tuple[int, int]
) -> None:
    margin = 2 if size[0] >= 70 else 1
    async with open_app(size=size, demo=DEMO) as stage:
        for number, rows in enumerate(await walk(stage)):
            assert len(rows) == size[1]
            assert all(cell_len(row) == size[0] for row in rows)
            assert rows[0].split()[:4] == ["1", "Today", "2", "Jobs"]
            assert rows[0].rstrip().endswith("7:40a")
            assert re.search(r"\?( help)?  Esc( back)? *$", rows[-1])
            assert rows[1].strip() == ""
            if number >= 2:
                assert all(row.startswith(" " * margin) for row in rows[2:-1])
            if number == 2:
                assert len(ends_of_figures(rows)) == 1


def ends_of_figures(rows: list[str]) -> set[int]:
    """Where the figures of a plan end; in one column."""
    figure = r" *(?:Order|Release|Sealer) +\d[\d. ]*(?:yd³|lb \d+ oz|lb|gal)"
    return {match.end() for row in rows[5:] if (match := re.match(figure, row))}


async def test_dates_of_the_list_end_in_one_column(open_app: Open) -> None:
    async with open_app() as stage:
        ends = {len(row.rstrip()) for row in stage.rows if re.search(r"[A-Z][a-z]{2} 20\d\d *$", row)}
        assert len(ends) == 1


@pytest.mark.parametrize("size", [(59, 20), (60, 19), (30, 10), (10, 4)])
async def test_a_window_too_small_says_so(open_app: Open, size: tuple[int, int]) -> None:
    async with open_app(size=size) as stage:
        told = " ".join(" ".join(row.split()) for row in stage.rows[1:-1])
        assert "needs" in told
        if size[0] >= 30:
            assert "needs 60 × 20" in told
            assert "Puddlecombe · back patio" in told


async def test_a_window_that_grows_shows_everything_again(open_app: Open) -> None:
    async with open_app(size=(50, 18)) as stage:
        await stage.pilot.resize_terminal(120, 36)
        await stage.settle()
        assert "Find" in stage.text
        assert "Wet Biscuit, Dunfold Colors" in stage.text
        await stage.pilot.resize_terminal(80, 24)
        await stage.settle()
        assert "Wet Biscuit, Dunfold Colors" not in stage.text


@pytest.mark.parametrize("size", ENDS)
async def test_without_color_everything_is_told_by_words(
    open_app: Open, size: tuple[int, int], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    async with open_app(size=size, demo=DEMO) as stage:
        assert "▓▓▓▓▒▒" in stage.text
        await stage.press("m", "enter")
        assert "This terminal cannot show these colors. Go by the words." in stage.text
        assert "light grayish yellow" in stage.text


async def test_no_color_sends_no_color(open_app: Open, monkeypatch: pytest.MonkeyPatch) -> None:
    """https://no-color.org as it is meant: bold and underline stay, colors do not."""
    monkeypatch.setenv("NO_COLOR", "1")
    async with open_app(demo=DEMO) as stage:
        strips = [
            strip.apply_filter(line_filter, stage.app.screen.background_colors[1])
            for strip in stage.app.screen._compositor.render_strips()
            for line_filter in stage.app.get_line_filters()
            if type(line_filter).__name__ == "Uncolored"
        ]
        styles = [segment.style for strip in strips for segment in strip if segment.style]
        assert styles
        assert all(style.color is None and style.bgcolor is None for style in styles)
        assert any(style.bold for style in styles)


async def test_256_colors_mark_swatches_as_near(open_app: Open, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("finishlog.tui.app.depth_of", lambda *_: "gray")
    async with open_app(demo=DEMO) as stage:
        assert "≈ light grayish yellowish brown" in stage.text
        await stage.press("m", "enter")
        assert "This terminal cannot show these colors." in stage.text


SCREENS = 43
GROUPS = 9
"""Pages of the settings."""


async def every_screen(stage: Any) -> AsyncIterator[str]:
    """All screens one after another, on the demo's log; the name of each as it stands there."""
    await stage.press("slash")
    yield "jobs, typing"
    await stage.press("escape", "down")
    yield "jobs"
    await stage.press("enter")
    for part in ("went in", "was done", "looked", "care"):
        yield f"job, {part}"
        await stage.press("right")
    for what, keys in OPENED.items():
        await stage.press(*keys)
        yield what
        await stage.press("escape")
    async for name in colors_and_photos(stage):
        yield name
    for what in ("change", "copy", "owner", "merge"):
        await stage.app.screen.run_action(f"small('{what}')")
        await stage.settle()
        yield f"small form, {what}"
        await stage.press("escape")
    await stage.press("m")
    await stage.fill("rect", "22x14")
    yield "measures"
    await stage.press("ctrl+s")
    yield "match"
    await stage.press("w")
    yield "sheet of a plan"
    await stage.press("escape", "escape", "escape", "escape", "escape")
    await stage.app.run_action("app.settings")
    for page in range(GROUPS):
        await stage.settle()
        yield f"settings, page {page + 1}"
        await stage.press("f4")
    await stage.press("escape")
    async for name in a_paper_log(stage):
        yield name
    await stage.press("5")
    yield "bench"
    await stage.press("f1")
    yield "help"


async def a_paper_log(stage: Any) -> AsyncIterator[str]:
    """From any screen; back at the list of jobs."""
    with TemporaryDirectory() as folder:
        path = Path(folder, "paper log.csv")
        path.write_text("Date,Client,[/nope],Dose\n3/14/24,Quillfeather,a,7\n5/6/24,Gravelpit,b,9\n")
        await stage.app.run_action("app.bring_in")
        await stage.settle()
        await stage.press("tab")
        await stage.enter(folder)
        await stage.press("enter")
        yield "a paper log, its file"
        await stage.press("home", "enter")
        yield "a paper log, its columns"
        await stage.press("enter")
        yield "a paper log, one column"
        await stage.press("enter", "ctrl+s")
        yield "a paper log, what would come in"
        await stage.press("escape", "escape", "escape")


async def colors_and_photos(stage: Any) -> AsyncIterator[str]:
    """From a job, and back to it. The photo has no card in it."""
    await stage.press("c")
    yield "color"
    await stage.press("enter")
    yield "how good we were"
    await stage.press("escape")
    await stage.app.screen.run_action("recipes")
    await stage.settle()
    yield "recipes"
    await stage.press("escape", "escape", "p")
    with TemporaryDirectory() as folder:
        path = f"{folder}/IMG_0412.png"
        Image.linear_gradient("L").convert("RGB").save(path)
        texts = {"path": path, "taken": "unknown"}
        stage.app.desks.add_photos(stage.app.screen._handle, texts, None, lambda *_: None)
    stage.app.screen.reread()
    await stage.settle()
    yield "photos"
    await stage.press("v")
    yield "a photo, large"
    await stage.press("escape", "a")
    yield "photos come in"
    with TemporaryDirectory() as folder:
        Image.linear_gradient("L").convert("RGB").save(f"{folder}/IMG_0413.png")
        await stage.fill("path", folder)
        await stage.press("f2")
        yield "photos to choose from"
        await stage.press("escape")
    await stage.press("escape", "enter")
    yield "photo"
    await stage.press("g")
    yield "photo, by a gray card"
    await stage.press("escape", "escape")


OPENED = {
    "kinds": ("l",),
    "load": ("l", "l", "o", "a", "d", "enter"),
    "weather": ("l", "w", "e", "a", "enter"),
    "reading": ("l", "r", "e", "a", "enter"),
    "day card": ("d",),
    "sheets": ("w",),
}


def cut(stage: Any) -> list[str]:
    """What has more rows than it is given, and does not scroll: cut silently."""
    return [
        f"{canvas!r}: {len(canvas.paint(canvas.size.width))} rows in {canvas.size.height}"
        for canvas in stage.app.screen.query(Canvas)
        if canvas.is_on_screen and not any(isinstance(one, Pane) for one in canvas.ancestors)
        and len(canvas.paint(canvas.size.width)) > canvas.size.height
    ]  # fmt: skip


async def looked_over(stage: Any, size: tuple[int, int]) -> None:
    """The frame of every screen, its footer, and that nothing is cut."""
    seen = []
    async for name in every_screen(stage):
        seen.append(name)
        rows = stage.rows
        assert all(cell_len(row) == size[0] for row in rows), name
        assert re.search(r"(\?|F1)( help)?  Esc( back)? *$", rows[-1]), (name, rows[-1])
        assert not cut(stage), name
        if size[1] <= 20:
            for title in stage.app.screen.query("#title"):
                assert title.size.height <= 3, name
    assert len(seen) == len(set(seen)) == SCREENS


@pytest.mark.long
async def test_every_screen_keeps_its_frame_and_cuts_nothing_at_the_least_size(open_log: Open) -> None:
    async with open_log(size=SIZES[0]) as stage:
        await looked_over(stage, SIZES[0])


@pytest.mark.long
@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("dress", ["shade", "full-sun", "no color", "plain glyphs"])
async def test_the_same_at_every_size_in_sun_without_color_and_in_plain_glyphs(
    open_log: Open, size: tuple[int, int], dress: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    if dress == "no color":
        monkeypatch.setenv("NO_COLOR", "1")
    theme = "full-sun" if dress == "full-sun" else "shade"
    machine = Machine(theme=theme, plain_glyphs=dress == "plain glyphs")
    async with open_log(size=size, machine=machine) as stage:
        await looked_over(stage, size)
