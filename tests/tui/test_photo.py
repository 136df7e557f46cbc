"""Photos on the screens: taken in, listed by age, boxed, read and kept. The picture is a drawn card beside a slab."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from finishlog.tui import photo_places, wording
from finishlog.tui.screens import photos_add
from finishlog.tui.screens.job import JobScreen
from finishlog.tui.screens.jobs import JobsScreen
from finishlog.tui.screens.photo import PhotoScreen
from finishlog.tui.screens.photos import PhotosScreen
from finishlog.tui.screens.photos_add import AddScreen
from finishlog.tui.widgets import picture
from tests.color.card_drawing import CORNERS, SLAB, SLAB_LAB, drawn

Open = Callable[..., Any]
SLAB_TEXT = ",".join(map(str, SLAB))


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A phone's folder: two photos with a card in them, and a text that is none. The card is not looked for."""
    monkeypatch.setattr("finishlog.color.card_finder.candidates", lambda _: iter(()))
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    made = tmp_path / "june"
    made.mkdir()
    for number, gain in enumerate((0.85, 0.7)):
        Image.fromarray(drawn(gain)).save(made / f"IMG_{number}.png")
    (made / "list.jpg").write_text("eggs, butter")
    return made


async def to_photos(stage: Any) -> None:
    """The photos of the second job: it was poured. By the screen itself: the job's own would learn its forecast."""
    line = stage.app.desks.page("", limit=2, offset=0).lines[1]
    stage.app.push_screen(PhotosScreen(line.handle, wording.name(line)))
    await stage.settle()


async def take_in(stage: Any, folder: Path, taken: str = "Jun 15 9a") -> None:
    await stage.press("a")
    assert isinstance(stage.app.screen, AddScreen)
    await stage.fill("path", str(folder))
    await stage.fill("damp", "no")
    await stage.fill("sealed", "no")
    if taken:
        await stage.fill("taken", taken)
    await stage.press("ctrl+s")


async def put_corners(stage: Any) -> None:
    """The card's corners, the last one by numbers: a corner alone is read for nothing."""
    screen = stage.app.screen
    screen._corners = tuple((x / 760, y / 420) for x, y in (*CORNERS[:3], (300, 300)))
    await stage.press(*["tab"] * (len(photo_places.NAMES) + 3 - screen._at))
    await put_box(stage, f"{CORNERS[3][0]},{CORNERS[3][1]}")


async def put_box(stage: Any, text: str) -> None:
    await stage.press("e")
    stage.app.focused.value = text
    await stage.press("enter")


def readings(stage: Any) -> list[Any]:
    view = stage.app.desks.job(stage.app.screen._handle)
    return [entry.reading for entry in view.page.job.entries if entry.reading is not None]


async def test_a_folder_comes_in_and_what_is_no_photo_is_said(open_log: Open, folder: Path) -> None:
    async with open_log() as stage:
        await to_photos(stage)
        assert "No photos yet." in stage.text
        await take_in(stage, folder)
        assert isinstance(stage.app.screen, PhotosScreen), stage.text
        assert "2 photos kept, 1 left out" in stage.toast()
        assert "list.jpg" in stage.toast()
        assert "2 not read yet." in stage.text
        assert "dry, bare" in stage.text
        assert "IMG_0.png" in stage.text
        assert "IMG_1.png" in stage.text
        assert not [row for row in stage.rows if "········" in row]  # the small pictures have come


async def test_a_photo_without_a_time_asks_and_keeps_nothing_meanwhile(open_log: Open, folder: Path) -> None:
    async with open_log() as stage:
        await to_photos(stage)
        await take_in(stage, folder, taken="")
        assert isinstance(stage.app.screen, AddScreen)
        assert "Say when it was taken" in " ".join(stage.text.split())
        assert stage.app.desks.photos(stage.app.screen._handle).lines == ()
        await stage.fill("taken", "Jun 15 9a")
        await stage.press("ctrl+s")
        assert isinstance(stage.app.screen, PhotosScreen), stage.text


async def test_a_wrong_path_stands_in_the_dialog_and_the_form_stays(open_log: Open, tmp_path: Path) -> None:
    async with open_log() as stage:
        await to_photos(stage)
        await take_in(stage, tmp_path / "nowhere")
        assert "left out" in stage.text + stage.toast()


async def test_box_and_corners_by_numbers_read_the_slab_and_are_kept(open_log: Open, folder: Path) -> None:
    async with open_log() as stage:
        await to_photos(stage)
        await take_in(stage, folder)
        await stage.press("enter")
        screen = stage.app.screen
        assert isinstance(screen, PhotoScreen)
        await put_box(stage, SLAB_TEXT)
        await put_corners(stage)
        assert "on the card the colors hold within" in stage.text
        spot = screen._measured.spots[0]
        assert spot.lab == pytest.approx(SLAB_LAB, abs=1.5)
        assert f"L* {spot.lab[0]:.0f} ±" in stage.text
        assert spot.name in " ".join(stage.text.split())
        before = len(readings(stage))
        await stage.press("s")
        assert isinstance(stage.app.screen, PhotosScreen), stage.text
        kept = readings(stage)
        assert len(kept) == before + 1
        assert (kept[-1].L, kept[-1].a, kept[-1].b) == pytest.approx(spot.lab, abs=0.01)
        assert (kept[-1].spot, kept[-1].damp, kept[-1].sealed) == ("base", False, False)
        assert "1 reading logged" in stage.toast()


async def test_arrows_move_and_size_the_marked_box_and_space_takes_it_out(
    open_log: Open, folder: Path
) -> None:
    async with open_log() as stage:
        await to_photos(stage)
        await take_in(stage, folder)
        await stage.press("enter")
        screen = stage.app.screen
        cells, rows = len(screen._grid[0]), len(screen._grid) // 2
        before = screen._boxes[0]
        await stage.press("right", "right", "down", "shift+right")
        after = screen._boxes[0]
        assert after.x == pytest.approx(before.x + 2 / cells)
        assert after.y == pytest.approx(before.y + 1 / rows)
        assert after.width == pytest.approx(before.width + 1 / cells)
        assert after.height == before.height
        await stage.clear()
        await stage.press("space")
        assert not screen._boxes[0].there
        assert "puts it in" in stage.text
        await stage.press("s")
        assert isinstance(stage.app.screen, PhotoScreen)
        assert "nothing read yet" in stage.rows[-1]


async def test_a_click_puts_the_marked_box_there(open_log: Open, folder: Path) -> None:
    async with open_log() as stage:
        await to_photos(stage)
        await take_in(stage, folder)
        await stage.press("enter")
        screen = stage.app.screen
        await stage.pilot.click("#picture", offset=(20, 6))
        await stage.settle()
        box = screen._boxes[0]
        assert box.x + box.width / 2 == pytest.approx(20.5 / len(screen._grid[0]))
        assert box.y + box.height / 2 == pytest.approx(6.5 / (len(screen._grid) // 2))


async def test_a_refusal_says_why_and_the_boxes_stay(open_log: Open, folder: Path) -> None:
    """Corners around the slab alone hold no card."""
    async with open_log() as stage:
        await to_photos(stage)
        await take_in(stage, folder)
        await stage.press("enter", *["tab"] * len(photo_places.NAMES))
        stage.app.screen._corners = ((0.5, 0.5), (0.95, 0.15), (0.95, 0.85), (0.8, 0.85))
        await put_box(stage, "600,60")
        assert "not read" in stage.text
        assert stage.app.screen._measured is None
        assert stage.app.screen._wrong
        assert stage.app.screen._boxes[0].there


async def test_nonsense_typed_for_a_place_is_said_and_stays(open_log: Open, folder: Path) -> None:
    async with open_log() as stage:
        await to_photos(stage)
        await take_in(stage, folder)
        await stage.press("enter")
        before = stage.app.screen._boxes
        await put_box(stage, "here")
        assert "cannot be read as a place" in stage.rows[-1]
        assert stage.app.focused.value == "here"
        assert stage.app.screen._boxes == before
        await stage.press("escape")
        assert isinstance(stage.app.screen, PhotoScreen)


@pytest.mark.long
async def test_jobs_like_this_looks_for_the_color(open_log: Open, folder: Path) -> None:
    async with open_log() as stage:
        await to_photos(stage)
        await take_in(stage, folder)
        await stage.press("enter")
        await put_box(stage, SLAB_TEXT)
        await put_corners(stage)
        lab = stage.app.screen._measured.spots[0].lab
        await stage.app.screen.run_action("like")
        await stage.settle()
        assert isinstance(stage.app.screen, JobsScreen)
        assert stage.app.screen.box.value == ",".join(f"{value:.1f}" for value in lab)


@pytest.mark.long
@pytest.mark.parametrize("size", [(60, 20), (120, 36)])
async def test_the_photo_keeps_its_frame_at_every_size(
    open_log: Open, folder: Path, size: tuple[int, int]
) -> None:
    async with open_log(size=size) as stage:
        await to_photos(stage)
        await take_in(stage, folder)
        await stage.press("enter")
        grid = stage.app.screen._grid
        assert len(grid[0]) / len(grid) == pytest.approx(760 / 420, rel=0.15)
        assert stage.rows[-1].rstrip().endswith("Esc back" if size[0] > 70 else "Esc")
        assert "a base" in stage.text


async def test_escape_goes_back_to_the_job_one_step_at_a_time(open_log: Open) -> None:
    async with open_log() as stage:
        await stage.press("escape", "home", "down", "enter", "p", "a", "escape")
        assert isinstance(stage.app.screen, PhotosScreen)
        await stage.press("escape")
        assert isinstance(stage.app.screen, JobScreen)


def test_progress_is_said_ten_times_a_second_at_most(monkeypatch: pytest.MonkeyPatch) -> None:
    screen, told, now = AddScreen("job", "Job", ()), [], [100.0]
    monkeypatch.setattr(photos_add, "monotonic", lambda: now[0])
    monkeypatch.setattr(screen, "post_message", told.append)
    tell = screen._progress()
    for done in range(1000):  # a second of it
        now[0] += 0.001
        tell(done, 1000)
    assert 2 <= len(told) <= 10


def test_a_frame_has_its_word_in_the_upper_edge_and_the_chosen_one_is_double() -> None:
    marks = picture.frame(2, 1, 12, 4, "a base", True)
    row = "".join(marks[x, 1].sign for x in range(2, 13))
    assert row == "╔a base═══╗"
    assert marks[2, 2].sign == marks[12, 3].sign == "║"
    assert (5, 2) not in marks
    assert picture.frame(2, 1, 12, 4, "a base", False)[2, 4].sign == "└"


def test_where_a_mark_lies_the_photo_is_dark_enough_for_white() -> None:
    from finishlog.tui.theme import contrast

    [line] = picture.paint((("#ffffff",), ("#ffffff",)), {(0, 0): picture.Mark("1")}, "full", True)
    [piece] = line.pieces
    assert (piece.text, piece.tone) == ("1", "#ffffff")
    assert contrast(piece.tone, piece.back) >= 4.5


def test_a_picture_keeps_its_shape_in_cells_twice_as_high_as_wide() -> None:
    assert picture.fitting(400, 300, 80, 17) == (45, 17)
    assert picture.fitting(300, 400, 20, 40) == (20, 13)


def test_places_stay_in_the_picture() -> None:
    box = photo_places.spots(("base",))[0]
    assert box.moved(9, 9).x + box.width == pytest.approx(1)
    assert box.moved(-9, -9).y == 0
    assert box.sized(9, 9).width + box.x == pytest.approx(1)
    assert box.sized(-9, -9).width == photo_places.LEAST
    assert photo_places.corner_moved(photo_places.CARD, 0, -9, 9)[0] == (0, 1)
    turned = [(10, 20), (10, 10), (20, 10), (20, 20)]
    found = photo_places.from_top_left(turned, 100, 100)
    assert found == ((0.1, 0.1), (0.2, 0.1), (0.2, 0.2), (0.1, 0.2))
