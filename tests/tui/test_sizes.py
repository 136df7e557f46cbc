"""Every screen at 60×20, 80×24 and 120×36, with colors, with 256 of them and with none."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest
from rich.cells import cell_len

from finishlog.records.demo import DemoStart

Open = Callable[..., Any]
SIZES = [(60, 20), (80, 24), (120, 36)]
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


@pytest.mark.parametrize("size", SIZES)
async def test_nothing_is_cut_at_the_frame_and_the_margins_are_kept(
    open_app: Open, size: tuple[int, int]
) -> None:
    margin = 2 if size[0] >= 70 else 1
    async with open_app(size=size, demo=DEMO) as stage:
        for number, rows in enumerate(await walk(stage)):
            assert len(rows) == size[1]
            assert all(cell_len(row) == size[0] for row in rows)
            assert rows[0].split()[:4] == ["2", "Jobs", "5", "Bench"]
            assert rows[0].rstrip().endswith("7:40a")
            assert re.search(r"\?( help)?  Esc( back)? *$", rows[-1])
            assert rows[1].strip() == ""
            if number >= 2:
                assert all(row.startswith(" " * margin) for row in rows[2:-1])


@pytest.mark.parametrize("size", SIZES)
async def test_figures_stand_in_one_column(open_app: Open, size: tuple[int, int]) -> None:
    async with open_app(size=size, demo=DEMO) as stage:
        await stage.press("m", "enter")
        ends = {
            match.end()
            for row in stage.rows[5:]
            if (match := re.match(r" *(?:Order|Release|Sealer) +\d[\d. ]*(?:yd³|lb \d+ oz|lb|gal)", row))
        }
        assert len(ends) == 1


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


@pytest.mark.parametrize("size", SIZES)
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
