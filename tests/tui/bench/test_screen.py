"""The bench: yards, dose and film without a job."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from finishlog.tui.bench.screen import BenchScreen, Parts
from finishlog.tui.jobs.jobs import JobsScreen

Open = Callable[..., Any]


async def opened(stage: Any, *keys: str) -> None:
    await stage.press("escape", "5", *keys)
    assert isinstance(stage.app.screen, BenchScreen)


async def test_yards_of_the_worked_example(open_app: Open) -> None:
    """27 x 16.5 ft, 4 in, no history: 6.75 yd³, .045 that it runs short."""
    async with open_app() as stage:
        await opened(stage, "tab")
        await stage.enter("27x16.5")
        await stage.press("tab")
        await stage.enter("4in")
        assert "Order 6.75 yd³. 5 in 100 that it runs short." in stage.rows[3]
        assert "→ 445.5 ft²" in stage.row("Rectangles")
        assert "►   6.75 yd³" in stage.text


async def test_dose_of_the_worked_example(open_app: Open) -> None:
    """6.75 yd³ at 4 % of 564 lb is 152.28 lb, 22.56 lb/yd³."""
    async with open_app(size=(120, 36)) as stage:
        await opened(stage, "right", "tab")
        await stage.enter("6.75")
        await stage.press("tab")
        await stage.enter("4 %")
        await stage.press("tab")
        await stage.enter("564")
        await stage.press("tab", "tab")
        await stage.enter("5lb")
        await stage.press("tab")
        await stage.enter("4")
        assert "152 lb 4 oz of pigment. 2 loads." in stage.rows[3]
        assert "22.56 lb/yd³" in stage.text
        assert "4 % of cementitious, 4 % of cement" in stage.text
        assert "18 packs + 4 oz weighed" in stage.text


async def test_a_dose_over_the_limit_is_refused_with_its_source(open_app: Open) -> None:
    async with open_app(size=(120, 36)) as stage:
        await opened(stage, "right", "tab")
        await stage.enter("6.75")
        await stage.press("tab")
        await stage.enter("10.1 %")
        assert "C979" in stage.text
        assert "of pigment." not in stage.rows[3]


async def test_film_of_the_worked_example(open_app: Open) -> None:
    """231/144 x 1000 / 225 = 7.13 mil wet; x 25 % = 1.78 dry (check values, section 6)."""
    async with open_app() as stage:
        await opened(stage, "left", "left", "tab")
        await stage.enter("450")
        await stage.press("tab")
        await stage.enter("225, 300")
        assert "2.0 gal" in stage.row("Coat 1")
        assert "7.13 mil wet, 1.78 mil dry" in stage.row("Coat 1")


async def test_an_answer_goes_when_what_it_needs_goes(open_app: Open) -> None:
    async with open_app() as stage:
        await opened(stage, "right", "right", "tab")
        await stage.enter("450")
        assert "of sealer" in stage.rows[3]
        await stage.press(*["backspace"] * 3)
        assert "How much sealer? Type the area." in stage.rows[3]


async def test_each_sum_keeps_what_was_typed(open_app: Open) -> None:
    async with open_app() as stage:
        await opened(stage, "tab")
        await stage.enter("24x18")
        await stage.press("escape", "right", "left")
        assert "24x18" in stage.row("Rectangles")
        await stage.press("2", "5")
        assert "24x18" in stage.row("Rectangles")


async def test_escape_steps_from_field_to_sums_to_jobs(open_app: Open) -> None:
    async with open_app() as stage:
        await opened(stage, "tab")
        await stage.type("24")
        await stage.press("escape")
        assert isinstance(stage.app.focused, Parts)
        await stage.press("escape")
        assert isinstance(stage.app.screen, JobsScreen)


async def test_a_wrong_number_is_said_under_its_field_once_left(open_app: Open) -> None:
    async with open_app() as stage:
        await opened(stage, "right", "tab")
        await stage.type("six")
        await stage.press("tab")
        assert "six" in stage.row("Yards │")
        assert "! “six” " in stage.text
        assert "Like 5 1/2 yd" in stage.text


async def test_metric_is_read_and_written(open_app: Open) -> None:
    async with open_app(units="metric") as stage:
        await opened(stage, "tab")
        await stage.enter("8 m x 5 m")
        await stage.press("tab")
        await stage.enter("100 mm")
        assert "→ 40.00 m²" in stage.row("Rectangles")
        assert "m³" in stage.rows[3]
