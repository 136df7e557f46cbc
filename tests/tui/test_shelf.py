"""Shelf on the demo's log: what is left, what was done with a lot, a bucket's label."""

from __future__ import annotations

import shutil
from collections.abc import AsyncIterator, Callable, Iterator
from contextlib import asynccontextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from finishlog.desk import shelf
from finishlog.tui.app import FinishlogApp

Open = Callable[..., Any]


@pytest.fixture
def shop(made_demo: Path, tmp_path: Path) -> Iterator[Any]:
    from finishlog import wiring

    built = wiring.build(str(shutil.copy(made_demo, tmp_path / "demo.finishlog")))
    built.clock = lambda: datetime(2026, 6, 16, 12, 40, tzinfo=UTC)
    built.find_zone = lambda: ZoneInfo("America/Chicago")
    yield built
    built.close()


@pytest.fixture
def opened(shop: Any, drive: Callable[..., Any]) -> Open:
    @asynccontextmanager
    async def opened(size: tuple[int, int] = (80, 24)) -> AsyncIterator[Any]:
        app = FinishlogApp(shop)
        async with app.run_test(size=size, notifications=True) as pilot:
            stage = drive(app, pilot)
            await stage.settle()
            await stage.press("escape", "4")
            yield stage

    return opened


def said(shop: Any, lot: str) -> str:
    return next(line.said for line in shelf.shelf(shop).lines if line.held.lot == lot)


async def test_what_runs_out_stands_first_with_what_needs_it(opened: Open) -> None:
    async with opened() as stage:
        assert "Uncle's Saddle, lot U-395 runs out with swizzlecote-carport." in stage.text
        assert stage.row("▌").startswith("▌ ! low       Uncle's Saddle · lot U-395")
        assert "For swizzlecote-carport: 57.78 lb of Uncle's Saddle: enough, all of lot" in stage.text


async def test_counting_a_lot_sets_what_is_left_and_undo_takes_it_back(opened: Open, shop: Any) -> None:
    async with opened() as stage:
        await stage.press("enter")
        assert stage.field("lot").value == "U-395"
        await stage.fill("amount", "31 lb")
        await stage.press("ctrl+s")
        assert said(shop, "U-395") == "31 lb left"
        assert "31 lb left" in stage.row("U-395")
        await stage.press("u")
        assert said(shop, "U-395") == "8 lb left"


async def test_another_thing_done_is_another_form_with_what_was_typed(opened: Open) -> None:
    async with opened() as stage:
        await stage.press("l")
        assert "Shelf · reclaimed clean" in stage.text
        await stage.fill("verb", "bought")
        assert "Shelf · bought" in stage.text
        assert stage.field("lot").value == "U-395"
        assert "Price of it all" in stage.text


async def test_a_new_lot_is_bought(opened: Open, shop: Any) -> None:
    async with opened(size=(120, 36)) as stage:
        await stage.press("i")
        for key, text in (("product", "Otter Back"), ("kind", "powder release"), ("lot", "0329"),
                          ("amount", "50 lb"), ("price", "150")):  # fmt: skip
            await stage.fill(key, text)
        await stage.press("ctrl+s")
        assert said(shop, "0329") == "50 lb left"
        await stage.press("end")
        while stage.app.screen.current.held.lot != "0329":
            await stage.press("up")
        assert "$3.00 a lb" in stage.text


@pytest.mark.parametrize("text", ["-5 lb"])
async def test_an_amount_that_is_none_stays_in_its_field(opened: Open, shop: Any, text: str) -> None:
    async with opened() as stage:
        await stage.press("enter")
        await stage.fill("amount", text)
        await stage.press("ctrl+s")
        assert "1 field to mend" in stage.text
        assert stage.field("amount").value == text
        assert said(shop, "U-395") == "8 lb left"


async def test_a_label_for_a_bucket(opened: Open, tmp_path: Path) -> None:
    target = tmp_path / "bucket.pdf"
    async with opened() as stage:
        await stage.press("end", "w")
        await stage.fill("file", str(target))
        await stage.press("ctrl+s")
        assert target.read_bytes().startswith(b"%PDF")
