"""Blend on the bench: from a sheet of samples."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from finishlog.tui.bench.blend import Colored
from finishlog.tui.bench.screen import BenchScreen
from finishlog.tui.paint import wording
from tests.color.pigment.test_blend import DOSES, exact

Open = Callable[..., Any]


@pytest.fixture
def sheet(tmp_path: Path) -> str:
    """Samples of two pigments, read without error."""
    rows = ["sample,Rust,Soot,L,a,b,photos"]
    for number, (doses, lab) in enumerate(zip(DOSES, exact(DOSES), strict=True), 1):
        cells = [f"{value:.3f}" for value in (*doses[:2], *lab)]
        rows.append(",".join([str(number), *cells, "3"]))
    path = tmp_path / "samples.csv"
    path.write_text("\n".join(rows) + "\n")
    return str(path)


async def to_blend(stage: Any, **texts: str) -> BenchScreen:
    await stage.press("escape", "5", "left")
    screen = stage.app.screen
    assert isinstance(screen, BenchScreen)
    for key, text in texts.items():
        field = next(one for one in screen.fields if one.asked.key == key)
        field.entry.focus()
        await stage.pilot.pause()
        await stage.enter(text)
    await stage.settle()
    return screen


async def test_a_color_in_reach_gives_doses_and_the_ladder_to_pour(open_log: Open, sheet: str) -> None:
    wanted = exact(DOSES[7:8])[0]
    target = ",".join(f"{value:.2f}" for value in wanted)
    async with open_log(size=(120, 36)) as stage:
        screen = await to_blend(stage, target=target, samples=sheet)
        painter = screen._answers[-1]
        assert isinstance(painter, Colored)
        doses = painter.view.answer.found.doses
        assert doses == pytest.approx(dict(zip(("Rust", "Soot"), DOSES[7], strict=True)), abs=0.15)
        assert stage.rows[3].strip().startswith("9 in 10 within ΔE00 ")
        assert stage.rows[3].strip().endswith("Pour the ladder first.")
        assert "Rust" in stage.text
        assert "cementitious" in stage.text
        assert stage.rows[4].strip() == wording.CANNOT_SHOW
        assert "Ladder to pour" in stage.text
        assert "Pour the ladder" in stage.text


async def test_out_of_reach_says_so_and_names_the_nearest(open_log: Open, sheet: str) -> None:
    async with open_log(size=(120, 36)) as stage:
        await to_blend(stage, target="90,40,60", samples=sheet)
        assert stage.rows[3].strip().startswith("Out of reach. The closest is ΔE00 ")
        assert "nearest " in stage.text


@pytest.mark.long
async def test_a_pigment_that_no_sample_holds_is_not_guessed(open_log: Open, tmp_path: Path) -> None:
    path = tmp_path / "one.csv"
    path.write_text("sample,Rust,Soot,L,a,b\n1,0,0,62,1,7\n2,1,1,55,6,12\n3,2,2,50,9,14\n4,4,4,45,11,15\n")
    async with open_log(size=(120, 36)) as stage:
        await to_blend(stage, target="52,8,13", samples=str(path))
        assert stage.rows[3].strip().startswith("Cannot tell")
        told = " ".join(stage.text.split())
        assert "one ratio in every sample" in told or "cannot be told apart" in told


@pytest.mark.long
async def test_a_target_that_is_no_color_is_said_under_its_field(open_log: Open, sheet: str) -> None:
    async with open_log() as stage:
        screen = await to_blend(stage, target="reddish-ish")
        await stage.press("tab")
        assert screen.fields[0].has_class("-wrong")


@pytest.mark.long
async def test_a_sheet_that_is_not_there_is_said(open_log: Open, tmp_path: Path) -> None:
    async with open_log(size=(120, 36)) as stage:
        await to_blend(stage, target="52,8,13", samples=str(tmp_path / "no.csv"))
        assert "No such file." in stage.text
        assert "Traceback" not in stage.text
