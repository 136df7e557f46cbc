"""Shelf on the demo's log: what is left, what was done with a lot, a bucket's label."""

from __future__ import annotations

import shutil
from collections.abc import AsyncIterator, Callable, Iterator
from contextlib import asynccontextmanager
from datetime import UTC, datetime
from pathlib import Path
from threading import Event
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from finishlog.desk.shelf import shelf
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
    async def opened(size: tuple[int, int] = (80, 24), **more: Any) -> AsyncIterator[Any]:
        app = FinishlogApp(shop, **more)
        async with app.run_test(size=size, notifications=True) as pilot:
            stage = drive(app, pilot)
            await stage.settle()
            await stage.press("escape", "4")
            yield stage

    return opened


async def to_lot(stage: Any, lot: str) -> None:
    screen = stage.app.screen
    screen.put_mark([line.held.lot for line in screen.lines].index(lot))
    await stage.settle()


def said(shop: Any, lot: str) -> str:
    return next(line.said for line in shelf.shelf(shop).lines if line.held.lot == lot)


async def test_what_runs_low_stands_first_and_what_is_needed_names_the_lot_it_comes_from(
    opened: Open,
) -> None:
    async with opened() as stage:
        assert "Uncle's Saddle lot U-395" in stage.row("run low")
        assert stage.row("▌").startswith("▌ ! low       Uncle's Saddle · lot U-395")
        assert "swizzlecote-carport" not in stage.text
        await to_lot(stage, "U-401")
        assert "For swizzlecote-carport: 57.78 lb of Uncle's Saddle: enough, all of lot" in stage.text


def test_what_is_planned_takes_from_the_lot_that_runs_out(shop: Any) -> None:
    assert "runs out" not in shelf.shelf(shop).sentence
    shelf.move(shop, "count", {"product": "Uncle's Saddle", "lot": "U-401", "amount": "57 lb"})
    assert shelf.shelf(shop).sentence == "Uncle's Saddle, lot U-401 runs out with swizzlecote-carport."


async def test_opened_spoiled_and_thrown_by_keys(opened: Open, shop: Any) -> None:
    async def done(verb: str, amount: str) -> None:
        await to_lot(stage, "P-400")
        await stage.press("l")
        await stage.fill("verb", verb)
        assert f"Shelf · {verb}" in stage.text
        assert stage.field("lot").value == "P-400"
        if amount:
            await stage.fill("amount", amount)
        await stage.press("ctrl+s")

    before = "23 lb left, 2.5 lb reclaimed"
    async with opened() as stage:
        await done("opened", "")
        assert said(shop, "P-400") == before
        await done("spoiled", "1 lb")
        assert said(shop, "P-400") == "23 lb left, 1.5 lb reclaimed"
        await stage.press("u")
        assert said(shop, "P-400") == before
        await done("thrown away", "60 lb")
        assert "has only 25.5 lb." in stage.text
        await stage.fill("because", "the pallet was never counted")
        await stage.press("ctrl+s")
        assert said(shop, "P-400").startswith("37 lb more used than bought")


async def test_the_list_the_account_and_the_answer_follow_the_units(opened: Open, shop: Any) -> None:
    async with opened(size=(120, 36), units="metric") as stage:
        assert "3.63 kg left" in stage.row("· lot U-395 ·")
        await to_lot(stage, "U-401")
        assert "26.21 kg of" in stage.text
        assert "/kg" in stage.row("Price")
        assert " lb" not in stage.text
        await stage.press("enter")
        await stage.fill("amount", "30 kg")
        await stage.press("ctrl+s")
        assert "30 kg left" in stage.toast()


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
        await stage.press("z")
        assert said(shop, "U-395") == "31 lb left"


async def test_another_thing_done_is_another_form_with_what_was_typed(opened: Open) -> None:
    async with opened() as stage:
        await stage.press("l")
        assert "Shelf · opened" in stage.text  # a pigment is never swept up
        await stage.fill("verb", "bought")
        assert "Shelf · bought" in stage.text
        assert stage.field("lot").value == "U-395"
        assert "Total price" in stage.text


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
        assert "$3.00/lb" in stage.text


@pytest.mark.parametrize("text", ["-5 lb"])
async def test_an_amount_that_is_none_stays_in_its_field(opened: Open, shop: Any, text: str) -> None:
    async with opened() as stage:
        await stage.press("enter")
        await stage.fill("amount", text)
        await stage.press("ctrl+s")
        assert "1 field to fix" in stage.text
        assert stage.field("amount").value == text
        assert said(shop, "U-395") == "8 lb left"


async def test_a_label_for_a_bucket(opened: Open, tmp_path: Path) -> None:
    target = tmp_path / "bucket.pdf"
    async with opened() as stage:
        await stage.press("home", "w")
        assert "none reclaimed yet; l logs that" in stage.text
        await to_lot(stage, "P-400")
        await stage.press("w")
        await stage.fill("file", str(target))
        await stage.press("ctrl+s")
        assert target.read_bytes().startswith(b"%PDF")
        assert str(target) in stage.toast()


async def test_what_a_sealers_own_sheet_allows_is_kept_and_judges_the_slab(opened: Open, shop: Any) -> None:
    from finishlog.desk.doubts import sealer_sheet

    async with opened() as stage:
        await stage.press("home", "e")
        assert "only a sealer has a sheet" in stage.text
        while stage.app.screen.current.held.product.kind != "sealer":
            await stage.press("down")
        await stage.press("e")
        assert "usual 50 °F" in stage.row("Slab from")
        await stage.fill("sealer-low", "95 F")
        await stage.fill("sealer-high", "60 F")
        await stage.press("ctrl+s")
        assert "1 field to fix" in stage.text
        await stage.fill("sealer-low", "13 C")
        await stage.fill("sealer-rain-free", "12 h")
        await stage.press("ctrl+s")
        assert "Kept what the sheet of Slick Badger 25 says." in stage.toast()
        await stage.press("e")
        assert stage.field("sealer-low").value == "55 °F"
        await stage.fill("sealer-low", "")
        await stage.press("ctrl+s")
    assert sealer_sheet.look(shop, "Slick Badger 25")[1].told == ("high_f", "rain_free_h")


async def test_a_form_closes_with_the_help_that_was_opened_over_it(
    opened: Open, shop: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    gate, real = Event(), shelf.move

    def slow(*args: Any, **more: Any) -> Any:
        assert gate.wait(10)
        return real(*args, **more)

    monkeypatch.setattr(shelf, "move", slow)
    async with opened() as stage:
        await to_lot(stage, "U-395")
        await stage.press("enter")
        await stage.fill("amount", "11 lb")
        await stage.pilot.press("ctrl+s")
        await stage.app.run_action("app.help")  # as a click on the footer does
        await stage.pilot.pause()
        assert "MoveScreen" in [type(screen).__name__ for screen in stage.app.screen_stack[:-1]]
        gate.set()
        await stage.settle()
        assert type(stage.app.screen).__name__ == "ShelfScreen"
        assert "Counted 11 lb" in stage.toast()
