"""Pictures of slabs in cells."""

from __future__ import annotations

import pytest
from rich.cells import cell_len

from finishlog.tui.paint import swatch
from finishlog.tui.paint.theme import Depth

BASE, RELEASE = "#a9927a", "#6f5443"


@pytest.mark.parametrize(
    ("left", "cells"), [(None, 0), (0.0, 0), (1.0, 1), (16.0, 1), (33.0, 2), (50.0, 3), (90.0, 5), (100.0, 5)]
)
def test_the_chip_is_split_by_what_is_left(left: float | None, cells: int) -> None:
    assert swatch.split(left) == cells


@pytest.mark.parametrize("depth", ["full", "gray", "glyphs"])
@pytest.mark.parametrize("base", [BASE, None])
def test_a_chip_is_six_cells_wide(depth: Depth, base: str | None) -> None:
    rows = swatch.chip(base, RELEASE, 33.0, depth, True)
    assert [row.width for row in rows] == [6, 6]


def test_a_missing_color_is_six_points() -> None:
    assert swatch.chip(None, None, None, "full", True)[1].text == "······"


@pytest.mark.parametrize("percent", [0, 10, 33, 50])
def test_the_mottle_shows_just_the_share_that_is_left(percent: int) -> None:
    spots = swatch._spots(49, 12, percent)
    assert sum(map(sum, spots)) == round(49 * 12 * percent / 100)


def test_more_powder_never_moves_a_spot() -> None:
    less, more = swatch._spots(40, 8, 20), swatch._spots(40, 8, 40)
    assert all(m >= s for a, b in zip(less, more, strict=True) for s, m in zip(a, b, strict=True))


@pytest.mark.parametrize("depth", ["full", "gray", "glyphs"])
def test_the_mottle_fills_its_rectangle(depth: Depth) -> None:
    rows = swatch.mottle(BASE, RELEASE, 33.0, 40, 6, depth, True)
    assert [cell_len(row.text) for row in rows] == [40] * 6


def test_glyphs_run_from_dark_to_light_and_turn_on_a_light_ground() -> None:
    slabs = ("#4a4038", "#6f5f50", "#95826f", "#c0ad98")  # L* about 28, 41, 55, 72
    assert "".join(swatch.glyph(slab, True) for slab in slabs) == "░░▓█"
    assert "".join(swatch.glyph(slab, False) for slab in slabs) == "██▒░"


def test_the_release_is_a_step_darker_in_glyphs() -> None:
    assert swatch.glyph(BASE, True, steps_darker=1) != swatch.glyph(BASE, True)
    assert swatch.solid(BASE, 3, "glyphs", True).text == "▓▓▓"


def test_only_full_depth_shows_hues() -> None:
    backs = {piece.back for piece in swatch.solid(BASE, 4, "gray", True).pieces}
    assert all(back[1:3] == back[3:5] == back[5:7] for back in backs)
    assert {piece.back for piece in swatch.solid(BASE, 4, "full", True).pieces} == {BASE}
