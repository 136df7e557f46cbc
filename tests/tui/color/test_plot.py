"""The plot in half-blocks, cell by cell."""

from __future__ import annotations

from dataclasses import replace

import pytest

from finishlog.tui.color import plot
from finishlog.tui.color.plot import Mark, Plot, Point, Upright
from finishlog.tui.paint.theme import Depth

FLAT = Plot((Point(0, 2, 4, 6), Point(8, 2, 4, 6)), (), (), known=8, bottom=0, top=7)
"""Eight pixels in four rows, one for each unit: the band from 2 to 6, the line at 4."""


def drawn(one: Plot, cells: int = 9, depth: Depth = "glyphs") -> list[str]:
    return [line.text for line in plot.draw(one, cells, 4, depth)]


def test_without_color_the_band_is_shaded_and_the_line_half_a_cell() -> None:
    assert drawn(FLAT) == ["░" * 9, "▄" * 9, "░" * 9, " " * 9]


@pytest.mark.parametrize("rows", [4, 7, 12])
@pytest.mark.parametrize("off", [0.3, 1.0, 2.5])
def test_without_color_no_column_has_more_than_one_line(rows: int, off: float) -> None:
    """The ends of the band are no lines beside the one that is drawn."""
    points = tuple(Point(age, age**0.5 - off, age**0.5, age**0.5 + off) for age in range(61))
    shown = [line.text for line in plot.draw(Plot(points, (), (), 60, -3, 11), 64, rows, "glyphs")]
    for x in range(64):
        column = "".join("#" if row[x] in "▀▄█" else row[x] for row in shown)
        assert len(column.replace("░", " ").split()) == 1
        assert set(column) <= set("#░ ")


def test_in_color_every_cell_has_the_colors_of_its_two_pixels() -> None:
    looks = [[(p.text, p.tone, p.back) for p in line.pieces] for line in plot.draw(FLAT, 9, 4, "full")]
    assert looks == [
        [("▄" * 9, "band", "")],
        [("▀" * 9, "band", "text")],
        [(" " * 9, "text", "band")],
        [(" " * 9, "text", "")],
    ]


def test_after_what_is_known_the_line_is_dashed() -> None:
    assert drawn(replace(FLAT, known=2))[1] == "▄▄▄░▄▄░░▄"


def test_a_steep_line_stays_joined() -> None:
    steep = Plot((Point(0, 0, 0, 0), Point(3, 0, 0, 0), Point(4, 7, 7, 7)), (), (), 4, 0, 7)
    assert [row[4] for row in drawn(steep, 5)] == ["█", "█", "█", "▀"]
    assert drawn(steep, 5)[3] == "▄▄▄▄▀"


def test_a_reading_lies_over_its_error_bar_and_both_over_the_band() -> None:
    rows = drawn(replace(FLAT, marks=(Mark(4, 2, 2.0),)))
    assert [row[4] for row in rows] == ["░", "▄", "●", "│"]
    assert drawn(replace(FLAT, marks=(Mark(4, 1, 1.0),)))[3] == "    ●    "


def test_a_reading_after_the_last_day_is_not_drawn() -> None:
    assert drawn(replace(FLAT, marks=(Mark(30, 4, 1),))) == drawn(FLAT)


def test_uprights_stand_only_where_both_pixels_agree() -> None:
    rows = drawn(replace(FLAT, uprights=(Upright(6, "accent"), Upright(99, "rule"))))
    assert [row[6] for row in rows] == ["│", "▄", "│", "│"]
    assert all(len(row) == 9 for row in rows)


def test_an_upright_keeps_the_band_behind_it() -> None:
    (line,) = plot.draw(replace(FLAT, uprights=(Upright(0, "accent"),)), 9, 4, "full")[2:3]
    assert [(p.text, p.tone, p.back) for p in line.pieces] == [
        ("│", "accent", "band"),
        (" " * 8, "text", "band"),
    ]


@pytest.mark.parametrize(("age", "value"), [(-1, 4.0), (4, 4.0), (8, 4.0), (20, 4.0)])
def test_a_flat_curve_is_flat_everywhere(age: float, value: float) -> None:
    assert plot.at(FLAT, age).value == value


def test_between_points_it_is_straight() -> None:
    rising = replace(FLAT, points=(Point(0, 1, 2, 3), Point(10, 3, 4, 9)))
    assert plot.at(rising, 5) == Point(5, 2, 3, 6)


@pytest.mark.parametrize("depth", ["full", "gray", "glyphs"])
@pytest.mark.parametrize(("cells", "rows"), [(2, 1), (40, 6), (100, 24)])
def test_it_fills_its_rectangle_whatever_lies_outside(depth: Depth, cells: int, rows: int) -> None:
    far = replace(
        FLAT, marks=(Mark(3, 900, 5), Mark(-4, 2, 1), Mark(8, -50, 99)), uprights=(Upright(-3, "rule"),)
    )
    lines = plot.draw(far, cells, rows, depth)
    assert [line.width for line in lines] == [cells] * rows
