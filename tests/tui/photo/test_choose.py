"""Photos chosen from a list of their folder; one without a time is asked where the time is typed."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from PIL import Image

from finishlog.tui.paint import wording
from finishlog.tui.photo import choose_paint
from finishlog.tui.photo.add import AddScreen
from finishlog.tui.photo.choose import ChooseScreen
from finishlog.tui.photo.photos import PhotosScreen

Open = Callable[..., Any]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Nine photos by the camera's clock, the tenth without a time, and a text that is none."""
    made = tmp_path / "june"
    made.mkdir()
    for number in range(10):
        exif = Image.Exif()
        if number != 9:
            exif.get_ifd(0x8769)[0x9003] = f"2026:06:16 0{number % 7}:10:00"
        path = made / f"IMG_{number}.jpg"
        Image.new("RGB", (60, 45), (150 + number, 120, 90)).save(path, exif=exif)
        os.utime(path, (1000 + number, 1000 + number))
    (made / "list.jpg").write_text("eggs, butter")
    return made


async def to_photos(stage: Any, folder: Path) -> None:
    """The photos of the second job, on a machine that took photos from that folder last."""
    stage.app.machine = type(stage.app.machine)(last_photos=str(folder))
    line = stage.app.desks.page("", limit=2, offset=0).lines[1]
    stage.app.push_screen(PhotosScreen(line.handle, wording.name(line)))
    await stage.settle()


def kept(stage: Any) -> list[str]:
    handle = next(s for s in stage.app.screen_stack if isinstance(s, PhotosScreen))._handle
    return sorted(line.name for line in stage.app.desks.photos(handle).lines)


async def test_several_are_marked_and_taken_in_with_four_keys_and_the_choosing(
    open_log: Open, folder: Path
) -> None:
    async with open_log(size=(60, 20)) as stage:
        await to_photos(stage, folder)
        await stage.press("a", "enter")
        assert isinstance(stage.app.screen, ChooseScreen)
        assert "10 photos, 1 other file" in stage.text
        assert "IMG_9.jpg" in stage.text
        assert "no date in it" in stage.text
        await stage.press("down", "space", "space", "enter")
        assert isinstance(stage.app.screen, AddScreen)
        assert "2 photos: IMG_8.jpg, IMG_7.jpg" in stage.text
        await stage.press("enter")
        assert isinstance(stage.app.screen, PhotosScreen), stage.text
        assert kept(stage) == ["IMG_7.jpg", "IMG_8.jpg"]
        assert stage.app.machine.last_photos == str(folder)


async def test_a_photo_without_a_time_puts_the_cursor_in_when(open_log: Open, folder: Path) -> None:
    async with open_log(size=(60, 20)) as stage:
        await to_photos(stage, folder)
        await stage.press("a", "enter", "f2", "enter", "enter")
        assert isinstance(stage.app.screen, AddScreen)
        when = stage.field("taken")
        assert stage.app.focused is when.entry
        said = " ".join(stage.text.split())
        assert "IMG_9.jpg: It does not say when it was taken." in said
        assert len(kept(stage)) == 9
        await stage.enter("Jun 16 7a")
        await stage.press("ctrl+s")
        assert isinstance(stage.app.screen, PhotosScreen), stage.text
        assert len(kept(stage)) == 10


@pytest.mark.parametrize("size", [(60, 20), (120, 36)])
async def test_the_path_is_as_wide_as_the_screen(open_log: Open, folder: Path, size: tuple[int, int]) -> None:
    async with open_log(size=size) as stage:
        await to_photos(stage, folder)
        await stage.press("a")
        entry = stage.field("path").entry
        assert entry.region.width >= size[0] - 6
        await stage.enter(str(folder / "IMG_3.jpg"))
        await stage.press("ctrl+s")
        assert kept(stage) == ["IMG_3.jpg"]


async def test_a_folder_opens_and_left_goes_back_to_it(open_log: Open, folder: Path) -> None:
    async with open_log() as stage:
        await to_photos(stage, folder.parent)
        await stage.press("a", "enter", "home")
        assert "june/" in stage.text
        while stage.app.screen.current.name != "june":
            await stage.press("down")
        await stage.press("enter")
        assert "10 photos" in stage.text
        await stage.press("left")
        assert stage.app.screen.current.name == "june"


@pytest.mark.parametrize("room", [3, 10, 13, 31])
def test_pages_hold_every_item_once_and_fit(room: int) -> None:
    items = [SimpleNamespace(is_folder=at < 5) for at in range(400)]
    at, seen = 0, []
    while at < len(items):
        page = choose_paint.page(items, at, room)  # type: ignore[arg-type]
        assert page.start == at
        assert choose_paint.page(items, page.stop - 1, room) == page  # type: ignore[arg-type]
        assert sum(1 if items[n].is_folder else choose_paint.HIGH for n in page) <= max(
            room, choose_paint.HIGH
        )
        seen += page
        at = page.stop
    assert seen == list(range(400))
