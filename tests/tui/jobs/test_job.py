"""One job: its strip, its parts."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from finishlog.errors import LogError
from finishlog.records.log import Reading
from finishlog.tui.jobs import paint, strip
from finishlog.tui.jobs.jobs import JobsScreen
from finishlog.tui.match.measure import MeasureScreen
from finishlog.tui.screens.failure import Failure

Open = Callable[..., Any]


async def test_title_age_and_answer_stand_on_top(open_app: Open) -> None:
    async with open_app() as stage:
        await stage.press("enter")
        assert stage.rows[2].strip().startswith("Puddlecombe · back patio")
        assert stage.rows[2].rstrip().endswith("poured May 14 2025, 398 days old")
        assert "Final color. 1 fact missing for a match." in stage.rows[3]


async def test_the_strip_names_the_days_of_its_readings(open_app: Open) -> None:
    async with open_app() as stage:
        await stage.press("enter")
        assert stage.row("day 1").split() == ["day", "1", "day", "3", "day", "7", "day", "28", "day", "45"]
        assert "read by hand, dry, bare" in stage.text


async def test_what_is_missing_is_written_where_its_figure_would_be(open_app: Open) -> None:
    async with open_app() as stage:
        await stage.press("enter")
        assert "! 33 % left, 1800 psi; age not logged" in stage.row("Rinse")
        assert stage.row("Pigment").rstrip().endswith("3.84 lb/yd³")


async def test_left_and_right_go_through_the_parts(open_app: Open) -> None:
    async with open_app() as stage:
        await stage.press("enter", "right")
        assert "load 4 yd³, ticket 40721" in stage.text
        await stage.press("right")
        assert "light grayish yellowish brown" in stage.text
        await stage.press("right")
        assert "gas line, 8 in down, north edge" in stage.row("Buried")
        await stage.press("right", "left", "left", "left")
        assert "Was done" in stage.text
        assert "load 4 yd³" in stage.text


async def test_a_corrected_entry_stands_under_what_replaced_it(open_app: Open) -> None:
    async with open_app() as stage:
        await stage.press("enter", "right")
        new, old = (stage.rows.index(stage.row(text)) for text in ("load 1.75 yd³", "was: load 2.75 yd³"))
        assert new < old
        assert stage.rows[old].index("load") > stage.rows[new].index("load")


async def test_wide_screens_show_everything_at_once(open_app: Open) -> None:
    async with open_app(size=(120, 36)) as stage:
        await stage.press("enter")
        row = stage.row("Went in")
        assert "Was done" in row
        assert "Looked" in stage.text
        assert "Left/Right" not in stage.rows[-1]


async def test_a_job_without_readings_says_so(open_app: Open) -> None:
    async with open_app() as stage:
        await stage.press("slash")
        await stage.enter("gravelpit")
        await stage.press("enter")
        assert "No color read yet." in stage.text


async def test_escape_goes_back_to_the_same_line_of_the_list(open_app: Open) -> None:
    async with open_app() as stage:
        await stage.press("down", "down", "enter", "escape")
        assert isinstance(stage.app.screen, JobsScreen)
        assert stage.app.screen.rows.current.handle == "quillfeather-steps"


async def test_m_plans_from_here(open_app: Open) -> None:
    async with open_app() as stage:
        await stage.press("enter", "m")
        assert isinstance(stage.app.screen, MeasureScreen)
        assert "Puddlecombe · back patio" in stage.text


async def test_a_job_that_cannot_be_read_is_a_dialog(open_app: Open, fake: Any) -> None:
    desks = fake.desks()
    async with open_app(desks=desks) as stage:
        desks.failing = LogError("The log is locked.", "Another program writes to it.", "Try again.")
        await stage.press("enter")
        assert isinstance(stage.app.screen, Failure)
        await stage.press("escape")
        assert "Puddlecombe · back patio" in stage.text


@pytest.mark.parametrize("count", [0, 1, 6, 7, 30])
def test_the_strip_holds_six_readings_at_most_the_first_and_the_last_among_them(
    fake: Any, count: int
) -> None:
    look = fake.job_view(fake.lines[0]).looks[0]
    looks = tuple(replace(look, age_days=day) for day in range(count))
    ages = [one.age_days for one in strip.chosen(looks, sealed=False)]
    assert len(ages) == min(count, 6)
    assert ages == sorted(set(ages))
    if count:
        assert (ages[0], ages[-1]) == (0, count - 1)


def test_damp_and_sealed_readings_are_never_in_the_bare_strip(fake: Any) -> None:
    look = fake.job_view(fake.lines[0]).looks[0]
    damp, sealed = Reading(50, 4, 16, damp=True), Reading(50, 4, 16, sealed=True)
    looks = (look, replace(look, reading=damp), replace(look, reading=sealed))
    assert strip.chosen(looks, sealed=False) == [look]
    assert [one.reading for one in strip.chosen(looks, sealed=True)] == [sealed]


def test_a_test_slab_is_never_the_color_of_the_job(fake: Any) -> None:
    look = fake.job_view(fake.lines[0]).looks[0]
    slab = replace(look, reading=Reading(70, 4, 16, sample=3), apart=True)
    assert strip.chosen((look, slab), sealed=False) == [look]
    view = replace(fake.job_view(fake.lines[0]), looks=(look, slab))
    assert any("sample 3" in line.text for line in paint.looked(view, 76))


def test_a_sealed_job_has_a_second_strip_with_the_word(fake: Any) -> None:
    view = fake.job_view(fake.lines[0])
    sealed = replace(view.looks[0], reading=Reading(50, 4, 16, sealed=True))
    lines = strip.strip(replace(view, looks=(*view.looks, sealed)), None, 76, 2, "full", True, figures=False)
    assert any("sealed 1" in line.text for line in lines)


async def test_a_page_opens_at_its_top(open_log: Open) -> None:
    async with open_log(size=(120, 36)) as stage:
        await stage.press("slash")
        await stage.enter("pilchpenny")
        await stage.press("enter")
        assert "Went in" in stage.text
        assert "Was done" in stage.text
