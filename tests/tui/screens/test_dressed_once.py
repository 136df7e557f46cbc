"""Opening a screen costs what is on it: styles are not looked up twice, nor for screens that stay as they are."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

import pytest
from textual.css.stylesheet import Stylesheet
from textual.dom import DOMNode

from finishlog.tui.bench import sums
from finishlog.tui.forms.fields import Field

Open = Callable[..., Any]


@pytest.fixture
def dressed(monkeypatch: pytest.MonkeyPatch) -> list[DOMNode]:
    """All that was dressed together with others, each time it was; a widget that is mounted is none of it."""
    found: list[DOMNode] = []
    dress = Stylesheet.update_nodes

    def told(self: Stylesheet, nodes: Iterable[DOMNode], animate: bool = False) -> None:
        nodes = list(nodes)
        found.extend(nodes)
        dress(self, nodes, animate=animate)

    monkeypatch.setattr(Stylesheet, "update_nodes", told)
    return found


@pytest.mark.parametrize("size", [(60, 20), (120, 36)])
async def test_a_screen_is_dressed_once_for_its_size(
    open_app: Open, dressed: list[DOMNode], size: tuple[int, int]
) -> None:
    async with open_app(size=size) as stage:
        dressed.clear()
        await stage.press("enter")
        job = stage.app.screen
        assert dressed.count(job) == 1
        assert job.has_class("-wide", "-high") if size[0] > 110 else job.has_class("-narrow", "-low")
        await stage.pilot.resize_terminal(80, 24)
        await stage.settle()
        assert job.has_class("-normal", "-low")
        assert not job.classes & {"-wide", "-high", "-narrow", "-small"}


async def test_a_place_that_opens_leaves_the_others_as_they_are(
    open_app: Open, dressed: list[DOMNode]
) -> None:
    async with open_app() as stage:
        jobs = stage.app.screen
        dressed.clear()
        await stage.press("5")
        bench = stage.app.screen
        assert jobs not in dressed
        await stage.press("2")
        dressed.clear()
        await stage.press("5")
        assert (dressed.count(bench), dressed.count(jobs)) == (1, 0)
        dressed.clear()
        stage.app.theme = "full-sun"
        await stage.settle()
        assert bench in dressed
        await stage.press("2")
        assert jobs in dressed  # another theme is worn by all, when they are next seen


async def test_the_bench_lays_out_a_form_when_it_is_first_shown(open_app: Open) -> None:
    async with open_app() as stage:
        await stage.press("5")
        first = set(stage.app.screen.query(Field))
        assert len(first) == len(sums.SUMS[0].specs("us"))
        await stage.press("right")
        second = set(stage.app.screen.query(Field)) - first
        assert len(second) == len(sums.SUMS[1].specs("us"))
        await stage.press("left", "right")
        assert set(stage.app.screen.query(Field)) == first | second
