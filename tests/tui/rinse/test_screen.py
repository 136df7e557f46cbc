"""The rinse helper on the demo's log: by habit, by numbers, off a photo."""

from __future__ import annotations

import shutil
from collections.abc import AsyncIterator, Callable, Iterator
from contextlib import asynccontextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as some

from finishlog.desk.rinse import words
from finishlog.tui.app import FinishlogApp
from finishlog.tui.log.entry import LogScreen
from finishlog.tui.paint import wording
from finishlog.tui.photo import places
from finishlog.tui.photo.photo import PhotoScreen
from finishlog.tui.rinse import screen as rinse
from finishlog.tui.rinse.screen import RinseScreen

Open = Callable[..., Any]
SPOTS = {"field": "49.5,4.8,12.2", "rinsed": "52,5.1,13.4", "unrinsed": "43.6,3.5,8.6", "dried": "yes"}


@pytest.fixture(scope="module")
def shop(made_demo: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    """One log for all of these tests, so that it learns from its readings once."""
    from finishlog import wiring

    built = wiring.build(str(shutil.copy(made_demo, tmp_path_factory.mktemp("rinse") / "demo.finishlog")))
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
            yield stage

    return opened


async def to_rinse(stage: Any) -> RinseScreen:
    """Of the second job: it was poured."""
    line = stage.app.desks.page("", limit=2, offset=0).lines[1]
    screen = RinseScreen(line.handle, wording.name(line))
    stage.app.push_screen(screen)
    await stage.settle()
    return screen


async def type_spots(stage: Any, **texts: str) -> None:
    await stage.press("e")
    for key, text in texts.items():
        stage.field(key).entry.value = text
    await stage.press("escape")


async def test_without_a_photo_it_is_habit_and_says_how_little_that_is(opened: Open) -> None:
    async with opened(size=(80, 40)) as stage:
        await to_rinse(stage)
        assert "from your crew's habit only" in stage.text
        assert "1 Dry three hand-sized spots" in stage.text
        told = " ".join(stage.text.split())
        assert "Put test spots on the kept sample or a hidden edge" in told
        assert "no heat gun" in told
        assert "which says little about this slab" in told
        assert "► " not in stage.text  # no ladder


async def test_three_spots_by_numbers_give_the_share_and_the_ladder(opened: Open) -> None:
    async with opened(size=(80, 40)) as stage:
        screen = await to_rinse(stage)
        await type_spots(stage, **SPOTS)
        found = screen._view.answer
        assert screen._view.spots.dried
        assert f"{found.left.mean * 100:.0f} % ± {found.left.sd * 100:.0f} left" in stage.text
        assert found.advice.split(";")[0] in stage.rows[3]
        assert "Now: low spots " in stage.text
        assert f"At {found.final_day} days: " in stage.text
        assert stage.row("here now").lstrip().startswith("►")
        shares = [
            row.split("%")[0].strip()
            for row in stage.rows
            if "% left" in row or ("left" in row and "±" in row)
        ]
        assert len(shares) >= len(found.ladder) - 1


async def test_a_wanted_share_stands_in_the_ladder(opened: Open) -> None:
    async with opened(size=(80, 40)) as stage:
        await to_rinse(stage)
        await type_spots(stage, **SPOTS, target="40")
        assert "  wanted  " in stage.row("+ two fifths")
        assert "what you asked" in stage.text


async def test_one_mark_says_where_one_is_and_no_two_rungs_have_one_name(opened: Open) -> None:
    """The range here covers two rungs: still one of them alone is the slab."""
    async with opened(size=(120, 40)) as stage:
        screen = await to_rinse(stage)
        await type_spots(stage, **SPOTS, target="25")
        assert [row for row in stage.rows if row.lstrip().startswith("► ") and "this slab" not in row] == [
            stage.row("here now")
        ]
        names = words.names([rung.left for rung in screen._view.answer.ladder])
        assert len(names) == len(set(names))
        assert all(any(name in row for row in stage.rows) for name in names)


async def test_the_fields_fold_away_and_the_verdict_has_its_color(opened: Open) -> None:
    async with opened(size=(60, 20)) as stage:
        screen = await to_rinse(stage)
        await stage.press("e")
        for key, text in SPOTS.items():
            stage.field(key).entry.value = text
        stage.field("target").entry.focus()
        await stage.press("enter")
        assert not screen.query_one("#spots").display
        assert "here now" in stage.text
        verdict = screen._view.answer.left.verdict
        tones = {piece.text: piece.tone for line in screen._paint_title(58) for piece in line.pieces}
        assert tones[next(text for text in tones if text.lower().startswith(verdict))] in (
            "ok",
            "warn",
            "bad",
        )
        assert rinse.TONES == {"clear": "ok", "rough": "warn", "cannot tell": "bad"}
        await stage.press("e")
        stage.field("field").entry.value = "brownish-ish"
        stage.field("target").entry.focus()
        await stage.press("enter")
        assert screen.query_one("#spots").display  # what cannot be read stays, and has the cursor
        assert stage.app.focused is stage.field("field").entry


@given(some.lists(some.floats(0, 1), min_size=1, max_size=6))
def test_shares_are_told_apart(parts: list[float]) -> None:
    whole = sorted({round(part, 2) for part in parts}, reverse=True)
    names = words.names(whole)
    assert len(names) == len(set(names))
    assert all(words.share(part) in name for part, name in zip(whole, names, strict=True))


async def test_where_nothing_tells_there_is_no_swatch_but_what_to_do(opened: Open) -> None:
    async with opened() as stage:
        screen = await to_rinse(stage)
        await type_spots(stage, field="50,5,13", rinsed="50.2,5,13", unrinsed="49.9,5,13", dried="no")
        assert screen._view.answer.left.verdict == "cannot tell"
        assert stage.rows[3].strip().startswith("Cannot tell.")
        assert "1 Dry three hand-sized spots" in stage.text
        assert "Now: " not in stage.text
        assert not any(glyph in stage.text for glyph in "░▒▓█")


@pytest.mark.parametrize("size", [(60, 56), (120, 48), pytest.param((80, 48), marks=pytest.mark.long)])
async def test_while_the_spots_dry_there_is_something_to_do(opened: Open, size: tuple[int, int]) -> None:
    async with opened(size=size) as stage:
        await to_rinse(stage)
        await type_spots(stage, **SPOTS | {"dried": "no"})
        told = " ".join(stage.text.split())
        assert "While the spots dry" in told
        assert "Run a fan or a cool blower on the spots, never a heat gun." in told
        await type_spots(stage, dried="yes")
        assert "While the spots dry" not in stage.text


@pytest.mark.long
async def test_a_color_that_cannot_be_read_is_said_and_stays(opened: Open) -> None:
    async with opened() as stage:
        await to_rinse(stage)
        await stage.press("e")
        await stage.fill("field", "brownish-ish")
        await stage.press("tab")
        assert stage.field("field").value == "brownish-ish"
        assert stage.field("field").has_class("-wrong")


async def test_the_fields_own_color_is_needed(opened: Open) -> None:
    async with opened() as stage:
        await to_rinse(stage)
        await type_spots(stage, rinsed="52,5,13")
        assert "The field's own color is missing." in stage.text


async def test_the_advice_is_kept_once_as_given(opened: Open) -> None:
    async with opened() as stage:
        screen = await to_rinse(stage)
        await stage.press("s")
        assert "no spots yet" in stage.rows[-1]
        await type_spots(stage, **SPOTS)
        await stage.press("s")
        assert "Advice saved" in stage.toast()
        await stage.press("s")
        with stage.app.services.log().reading() as log:
            kept = [one for one in log.advices(screen._handle) if one.kind == "rinse"]
        assert len(kept) == 1


async def test_l_logs_the_rinse(opened: Open) -> None:
    async with opened() as stage:
        await to_rinse(stage)
        await stage.press("l")
        assert isinstance(stage.app.screen, LogScreen)
        assert "Log: rinse" in stage.text


async def test_spots_off_a_photo(opened: Open, tmp_path: Path, monkeypatch: Any) -> None:
    """The drawn card's slab as field and, by two of its patches, a rinsed and an unrinsed spot."""
    from PIL import Image

    from tests.color.card_drawing import SLAB, drawn, spot_of
    from tests.tui.photo.test_photo import put_corners, take_in

    monkeypatch.setattr("finishlog.color.photo.card_finder.candidates", lambda _: iter(()))
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    (tmp_path / "june").mkdir()
    Image.fromarray(drawn()).save(tmp_path / "june" / "IMG_0.png")
    async with opened() as stage:
        screen = await to_rinse(stage)
        await stage.press("p")
        await take_in(stage, tmp_path / "june")
        assert "Which one shows the three spots?" in stage.text
        await stage.press("enter")
        photo = stage.app.screen
        assert isinstance(photo, PhotoScreen)
        assert [box.shows for box in photo._boxes if box.there] == ["field", "rinsed", "unrinsed"]
        there = {"field": SLAB, "rinsed": spot_of(1), "unrinsed": spot_of(0)}
        photo._boxes = tuple(
            places.typed(box, ",".join(map(str, there[box.shows])), 760, 420) if box.there else box
            for box in photo._boxes
        )
        await put_corners(stage)
        await stage.press("s")
        assert stage.app.screen is screen
        assert "spots off a photo" in stage.text
        assert len(screen._view.spots.field) == len(screen._view.spots.rinsed) == 1
        assert screen._view.spots.field[0] == screen._held.measured.spots[0].lab


async def test_at_the_least_size_and_without_color_words_carry_it(opened: Open, monkeypatch: Any) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    async with opened(size=(60, 20)) as stage:
        await to_rinse(stage)
        await type_spots(stage, **SPOTS)
        assert "This terminal cannot show these colors." in stage.text
        assert stage.app.screen.query_one("#title").size.height <= 3
        assert "Now: " in stage.text
