"""Two areas, three loads, one release and two coats for both, by keys from the form to the sheets.

Every figure is reckoned again here, with plain fractions.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from fractions import Fraction as F
from pathlib import Path
from typing import Any

import pytest

from finishlog.tui.app import FinishlogApp
from finishlog.tui.jobs.job import JobScreen
from finishlog.tui.match.measure import MeasureScreen
from finishlog.tui.match.screen import MatchScreen
from tests.conftest import Ran
from tests.papers import reading
from tests.tui.test_whole_job_keys import Hand, Step, at

Run = Callable[..., Ran]
WALK, YARD, NEW = F(12 * 4), F(18 * 14), F(22 * 16)
LOADS = ((F(3), F(21), F(0)), (F(2), F(15), F(0)), (F(3, 2), F(21, 2), F(1, 2)))
RELEASE, COATS = F(10), (F(2), F(3, 2))
PIGMENT = {"product": "Old Toast", "maker": "Crumb & Co", "lot": "T-88"}


def loads() -> list[Step]:
    return [
        (f"06-04 {8 + i:02d}:10", "load", {
            **PIGMENT, "at": f"{8 + i}a", "yards": str(float(yards)), "amount": f"{float(pounds)} lb", "area": "all",
            "returned_yd3": str(float(back)), "dumped_yd3": "0",
        }, None)
        for i, (yards, pounds, back) in enumerate(LOADS)
    ]  # fmt: skip


STORY: tuple[Step, ...] = (
    ("06-03 18:00", "job", {
        "customer": "Gravelpit", "street": "1 Kettle Row", "job": "two slabs", "handle": "two",
        "areas": "walk 12x4 4in, yard 18x14 4in",
    }, None),
    *loads(),
    ("06-04 11:30", "pour", {"at": "11:20a", "area": "all"}, None),
    ("06-04 11:40", "powder_release", {"at": "11:30a", "product": "Wet Hen", "lot": "H-7", "amount": "10 lb",
                                       "area": "all"}, None),
    ("07-05 09:10", "seal", {"at": "9a", "product": "Slick Badger", "amount": "2 gal", "number": "1",
                             "area": "all"}, None),
    ("07-05 15:10", "seal", {"at": "3p", "product": "Slick Badger", "amount": "1.5 gal", "number": "2",
                             "area": "all"}, None),
)  # fmt: skip


def weight(pounds: F) -> str:
    """To the ounce, the half up, as the scale shows it."""
    pounds_only, ounces = divmod(int(pounds * 16 + F(1, 2)), 16)
    return f"{pounds_only} lb {ounces} oz" if ounces else f"{pounds_only} lb"


async def driven(
    finishlog: Run, drive: Any, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> tuple[str, str, str]:
    """The job's screen, the plan's screen and the text of its sheets."""
    from finishlog.wiring import build

    log = str(tmp_path / "keys.finishlog")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("FINISHLOG_NOW", at("06-01 08:00").isoformat())
    assert finishlog("new", log).status == 0
    services = build(log)
    now = at("06-01 08:00")
    services.clock = lambda: now
    app = FinishlogApp(services)
    try:
        async with app.run_test(size=(120, 60), notifications=True) as pilot:
            hand = Hand(drive(app, pilot))
            await hand.stage.settle()
            for step in STORY:
                now = at(step[0])
                await hand.enter(step)
            assert isinstance(app.screen, JobScreen)
            job = hand.stage.text
            await hand.press("m")
            assert isinstance(app.screen, MeasureScreen)
            assert hand.stage.field("area").value == "yard"  # not the walk, which was typed first
            await hand.stage.fill("rect", "22x16")
            await hand.press("ctrl+s")
            assert isinstance(app.screen, MatchScreen), hand.stage.text
            plan = hand.stage.text
            await hand.press("w")
            await hand.stage.fill("sheet", "all")
            await hand.stage.fill("file", "plan.pdf")
            await hand.press("ctrl+s")
            return job, plan, reading.text((tmp_path / "plan.pdf").read_bytes())
    finally:
        services.close()


async def test_what_two_areas_share_is_said_once_from_the_form_to_the_sheets(
    finishlog: Run, drive: Any, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    job, plan, sheets = await driven(finishlog, drive, monkeypatch, tmp_path)
    both = WALK + YARD
    brought = sum(yards for yards, _, _ in LOADS)
    for area in (WALK, YARD):
        share = area / both
        assert f"{float(brought * share):.2f} yd³" in job
        assert f"{round(share * 100)} % here" in job
    assert f"{float(brought):.2f} yd³" not in job.split("Was done")[0]
    assert f"{float(RELEASE / both * 100):.2f} lb/100 ft²" in job

    # the old slab on the sheet is the yard, with its part
    assert f"{float(brought * YARD / both):.2f} yd³" in sheets
    assert (
        "loads 1 to 3 with walk, by area × depth: 84 % here" in sheets
        or "load 1, load 2 and load 3 with walk" in sheets
    )
    assert f"{float(RELEASE / both * 100):.2f} lb/100 ft² of Wet Hen" in sheets
    assert weight(RELEASE / both * NEW) in sheets

    # pigment: what stayed of each truck weighs in the dose
    stayed = [yards - back for yards, _, back in LOADS]
    dose = sum(pounds / yards * kept for (yards, pounds, _), kept in zip(LOADS, stayed, strict=True)) / sum(
        stayed
    )
    ordered = re.search(r"Order ([0-9.]+) yd³ and (.+?) of pigment", sheets)
    assert ordered is not None
    assert ordered.group(2) == weight(F(ordered.group(1)) * dose)
    assert f"{float(dose):.2f} lb/yd³" in sheets

    # sealer: each coat by its own spread over both areas
    gallons = sum(NEW / (both / used) for used in COATS)
    assert f"{float(gallons):.1f} gal" in sheets
    assert f"{both / COATS[0]} ft²/gal and {both / COATS[1]} ft²/gal" in sheets
    assert f"{weight(RELEASE / both * NEW)}" in plan
