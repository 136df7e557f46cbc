"""A planned job on its screen: its plan as it was given, its shapes, and its figures beside the fields."""

from __future__ import annotations

import re
import shutil
from collections.abc import Callable
from datetime import date, datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from finishlog import wiring
from finishlog.desk.jobs import page as job_page
from finishlog.desk.match import plan as planning
from finishlog.desk.shape_words import drawn
from finishlog.records.log import Shape
from finishlog.records.plan import PlanRequest
from finishlog.tui.jobs.job import JobScreen
from finishlog.tui.log.entry import LogScreen
from finishlog.tui.match.screen import MatchScreen
from finishlog.tui.match.sketch import sketch
from tests.conftest import NOW

Open = Callable[..., Any]
SHAPES = (
    Shape(1, "rect", "22x16"),
    Shape(1, "rect", "8x3"),
    Shape(-1, "rect", "3x3"),
    Shape(1, "round", "4@2"),
)


@pytest.fixture(scope="module")
def saved_once(made_demo: Path, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str]:
    """The demo's log with a plan saved in it, and the handle of its job."""
    where = Path(shutil.copy(made_demo, tmp_path_factory.mktemp("saved") / "demo.finishlog"))
    shutil.copytree(f"{made_demo}.files", f"{where}.files")
    services = wiring.build(str(where))
    services.clock = lambda: datetime.fromisoformat(NOW)
    services.find_zone = lambda: ZoneInfo("America/Chicago")
    wanted = PlanRequest("bogglethwaite-front-yard", SHAPES, "4in", on=date(2027, 4, 12))
    handle = planning.save(services, planning.make(services, wanted), "side yard")
    services.close()
    return where, handle


@pytest.fixture
def saved(saved_once: tuple[Path, str], demo: str, clock: str) -> str:
    """A plan saved in the demo's log; the handle of its job."""
    shutil.copy(saved_once[0], demo)
    return saved_once[1]


async def to_job(stage: Any) -> None:
    await stage.press("2", "slash")
    await stage.type("/bogglethwaite side yard")
    await stage.press("enter")
    assert isinstance(stage.app.screen, JobScreen)


async def read_on(stage: Any) -> str:
    """All that stands on the page, screen by screen."""
    seen = stage.text
    for _ in range(25):
        await stage.press("pagedown")
        if stage.text in seen:
            break
        seen += "\n" + stage.text
    return seen


@pytest.mark.parametrize("size", [(60, 20), (120, 36), pytest.param((80, 24), marks=pytest.mark.long)])
async def test_a_planned_job_shows_its_plan(saved: str, open_log: Open, size: tuple[int, int]) -> None:
    async with open_log(size) as stage:
        await to_job(stage)
        assert "Cannot tell before a sample." in stage.text
        assert re.search(r"Order +5\.25 yd³", stage.text)
        page = await read_on(stage)
        assert "Nothing logged" not in page
        for words in ("Planned Jun 16 2026, from the log at that time.", "Loads", "Load 1", "88 lb 14 oz", "Release",
                      "Sealer", "When", "Sweep and rinse", "Mon Apr 12", "Buried", "gas line", "Cautions",
                      "22 × 16", "+ 8 × 3", "− 3 × 3", "4 corners r 2 ft", "┌", "┄"):  # fmt: skip
            assert words in page, words
        assert "would differ" not in page


async def test_what_was_done_says_that_it_is_not_poured(saved: str, open_log: Open) -> None:
    async with open_log() as stage:
        await to_job(stage)
        await stage.press("right", "right")
        assert "Not poured yet." in stage.text
        await stage.press("e")
        assert "not poured yet; l logs its first entry" in stage.rows[-1]


async def test_what_the_log_learned_since_is_said_and_m_makes_the_plan_again(
    saved: str, demo: str, open_log: Open
) -> None:
    services = wiring.build(demo)
    with services.log().writing() as log:
        log.set_setting("waste_percent", "20")
    async with open_log() as stage:
        await to_job(stage)
        assert "Remade now, it would differ: order" in stage.text
        assert "m remakes it." in " ".join(stage.text.split())
        assert re.search(r"Order +5\.25 yd³", stage.text)
        await stage.press("m")
        assert isinstance(stage.app.screen, MatchScreen)
        assert "remade, not saved" in stage.text
        await stage.press("s")
        assert "the earlier plan stays in the log" in stage.toast()
        await stage.press("escape")
        assert isinstance(stage.app.screen, JobScreen)
        assert "would differ" not in stage.text
        assert not re.search(r"Order +5\.25 yd³", stage.text)
    with services.log().reading() as log:
        assert len([each for each in log.advices(saved) if each.kind == "plan"]) == 2
    services.close()


async def test_a_planned_figure_is_logged_only_where_it_was_taken(
    saved: str, demo: str, open_log: Open
) -> None:
    async with open_log() as stage:
        await to_job(stage)
        await stage.press("l")
        await stage.type("load")
        await stage.press("enter")
        assert isinstance(stage.app.screen, LogScreen)
        assert "planned 5.25 yd³" in stage.row("Yards")
        assert "planned 88 lb 14 oz" in stage.row("Amount")
        assert "planned Mon Apr 12" in stage.row("Arrived")
        assert stage.field("yards").value == ""
        stage.field("yards").entry.focus()
        await stage.press("down", "enter")
        assert stage.field("yards").value == "5.25 yd³"
        await stage.fill("at", "Jun 16 2026 7a")
        await stage.press("ctrl+s")
        if isinstance(stage.app.screen, LogScreen):
            await stage.type("poured early")
            await stage.press("ctrl+s")
        assert isinstance(stage.app.screen, JobScreen)
        assert "5.25 yd³" in stage.toast()
    services = wiring.build(demo)
    entry = job_page.lay_open(services, saved).job.of_kind("load")[0]
    services.close()
    assert entry.load is not None
    assert entry.load.yards == 5.25
    assert [use.amount for use in entry.materials] == [None]


async def test_the_day_card_shows_them(saved: str, open_log: Open) -> None:
    async with open_log() as stage:
        await to_job(stage)
        await stage.press("d")
        field = stage.field("load.1.yards")
        assert (field.value, field.hint, field.choices[0]) == ("", "planned 5.25 yd³", "5.25 yd³")
        assert stage.field("load.2.yards").hint != "planned 5.25 yd³"


def test_a_sketch_is_to_one_scale_and_within_its_width() -> None:
    for width in (56, 76, 116):
        lines = [line.text for line in sketch(drawn(SHAPES), width)]
        assert max(map(len, lines)) <= width
        whole = "\n".join(lines)
        assert all(label in whole for label in ("22 × 16", "+ 8 × 3", "− 3 × 3", "4 corners r 2 ft"))
        top = next(line for line in lines if "┌" in line)
        slab = top.index("┐") - top.index("┌") + 1
        small = next(line for line in lines if "┌" in line[slab + 1 :])[slab + 1 :]
        assert (small.index("┐") - small.index("┌") + 1) / slab == pytest.approx(8 / 22, abs=0.06)
    assert sketch((), 80) == []


def test_round_and_pointed_shapes_are_drawn_too() -> None:
    rounded = [line.text for line in sketch(drawn((Shape(1, "rect", "22x16"), Shape(1, "round", "4@2"))), 76)]
    assert rounded[0].startswith("╭")
    dotted = [line.text for line in sketch(drawn((Shape(1, "polygon", "0,0 24,0 24,18"),)), 76)]
    assert set("".join(dotted[:-1])) == {" ", "·"}
    assert dotted[-1] == "24 × 18 over all"
    assert len(dotted[0].strip()) < len(dotted[-2].strip())
