"""Photos on the screens: taken in, listed by age, boxed, read and kept. The picture is a drawn card beside a slab."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from threading import Event
from typing import Any

import pytest
from PIL import Image

from finishlog.desk.record import record
from finishlog.tui.jobs.job import JobScreen
from finishlog.tui.jobs.jobs import JobsScreen
from finishlog.tui.paint import wording
from finishlog.tui.photo import picture, places
from finishlog.tui.photo.add import AddScreen
from finishlog.tui.photo.find import FindScreen
from finishlog.tui.photo.photo import PhotoScreen
from finishlog.tui.photo.photos import PhotosScreen
from finishlog.tui.photo.picture_pane import PicturePane
from tests.color.card_drawing import CORNERS, SLAB, SLAB_LAB, drawn, spot_of

Open = Callable[..., Any]
SLAB_TEXT = ",".join(map(str, SLAB))


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A phone's folder: two photos with a card in them, and a text that is none. The card is not looked for."""
    monkeypatch.setattr("finishlog.color.photo.card_finder.candidates", lambda _: iter(()))
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


async def take_in(stage: Any, folder: Path, taken: str = "Jun 16 7a") -> None:
    await stage.press("a")
    assert isinstance(stage.app.screen, AddScreen)
    await stage.fill("path", str(folder))
    await stage.fill("damp", "no")
    await stage.fill("sealed", "no")
    if taken:
        await stage.fill("taken", taken)
    await stage.press("ctrl+s")


async def to_photo(stage: Any, folder: Path) -> Any:
    """The last of two photos, opened; they came in without the form."""
    desks = stage.app.desks
    line = desks.page("", limit=2, offset=0).lines[1]
    desks.add_photos(line.handle, {"path": str(folder), "taken": "Jun 16 7a", "damp": "no", "sealed": "no"}, None,
                     lambda *_: None)  # fmt: skip
    await to_photos(stage)
    await stage.press("enter")
    return stage.app.screen


async def put_corners(stage: Any) -> None:
    """The card's corners, the last one by numbers: a corner alone is read for nothing."""
    screen = stage.app.screen
    screen._corners = tuple((x / 760, y / 420) for x, y in (*CORNERS[:3], (300, 300)))
    await stage.press(*["tab"] * (len(places.NAMES) + 3 - screen._at))
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
        await stage.clear()
        await stage.press("v")
        assert "2 of 2" in stage.row("IMG_1.png")
        grid = stage.app.screen.query_one(PicturePane).grid
        assert len(grid[0]) / len(grid) == pytest.approx(760 / 420, rel=0.05)
        await stage.press("left")
        assert "1 of 2" in stage.row("IMG_0.png")
        await stage.press("escape")
        assert isinstance(stage.app.screen, PhotosScreen)


async def test_a_photo_without_a_time_asks_and_keeps_nothing_meanwhile(open_log: Open, folder: Path) -> None:
    async with open_log() as stage:
        await to_photos(stage)
        await take_in(stage, folder, taken="")
        assert isinstance(stage.app.screen, AddScreen)
        assert "Give the time it was taken" in " ".join(stage.text.split())
        assert stage.app.desks.photos(stage.app.screen._handle).lines == ()
        await stage.fill("taken", "Jun 16 7a")
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
        assert "the card's colors hold within" in stage.text
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


async def test_a_chip_of_known_color_is_typed_and_makes_the_slab_surer(open_log: Open, folder: Path) -> None:
    """Nonsense is said and stays; blank takes it out again."""
    async with open_log() as stage:
        screen = await to_photo(stage, folder)
        await put_box(stage, SLAB_TEXT)
        await put_corners(stage)
        without = screen._measured.spots[0].lab_sd
        await typed(stage, "58,9,17")
        assert "is no chip" in stage.rows[-1]
        assert any("Chip: 12 or L,a,b = x,y,w,h" in row for row in stage.rows)
        x, y, *_ = (int(part) for part in SLAB_TEXT.split(","))
        chip = f"{','.join(map(str, SLAB_LAB))}={x},{y},40,40"
        await stage.press("escape")
        await typed(stage, chip)
        assert screen._measured.spots[0].lab_sd < without
        sd = screen._measured.spots[0].lab_sd
        await stage.press("s")
        assert readings(stage)[-1].sd_L == pytest.approx(sd[0], abs=0.01)


async def test_a_typed_line_ends_two_columns_before_the_edge(open_log: Open, folder: Path) -> None:
    async with open_log() as stage:
        await to_photo(stage, folder)
        await stage.press("h")
        entry = stage.app.focused.region
        assert entry.width > 20
        assert entry.right == stage.app.size.width - 2


async def typed(stage: Any, chip: str) -> None:
    await stage.press("h")
    stage.app.focused.value = chip
    await stage.press("enter")


async def test_after_a_coat_it_is_asked_whether_the_sealer_was_read(open_log: Open, folder: Path) -> None:
    async with open_log() as stage:
        desks = stage.app.desks
        handle = desks.page("", limit=2, offset=0).lines[1].handle
        record.record(
            desks._services, handle, "seal", {"at": "Jun 16 6a", "area": "field"}, because="a trial"
        )
        desks.add_photos(
            handle, {"path": str(folder), "taken": "Jun 16 7a", "damp": "no"}, None, lambda *_: None
        )
        await to_photos(stage)
        await stage.press("enter")
        await put_box(stage, SLAB_TEXT)
        await put_corners(stage)
        before = len(readings(stage))
        await stage.press("s")
        assert "sealed on Jun 16" in stage.text, stage.text
        assert "Sealed, yes or no" in stage.text
        stage.app.focused.value = "perhaps"
        await stage.press("enter")
        assert "Answer yes or no" in stage.text + stage.toast()
        stage.app.focused.value = "yes"
        await stage.press("enter")
        assert isinstance(stage.app.screen, PhotosScreen), stage.text
        assert [reading.sealed for reading in readings(stage)[before:]] == [True]


async def test_arrows_move_and_size_the_marked_box_and_space_takes_it_out(
    open_log: Open, folder: Path
) -> None:
    async with open_log() as stage:
        await to_photo(stage, folder)
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
        assert "adds it" in stage.text
        await stage.press("s")
        assert isinstance(stage.app.screen, PhotoScreen)
        assert "nothing read yet" in stage.rows[-1]


async def drag(stage: Any, *cells: tuple[int, int]) -> None:
    """Pressed on the first cell, dragged over the others, let go on the last."""
    await stage.pilot.mouse_down("#picture", offset=cells[0])
    for cell in cells[1:]:
        await stage.pilot.hover("#picture", offset=cell)
    await stage.pilot.mouse_up("#picture", offset=cells[-1])
    await stage.settle()


async def test_the_mouse_drags_boxes_corners_and_a_gray_card(open_log: Open, folder: Path) -> None:
    async with open_log() as stage:
        screen = await to_photo(stage, folder)
        cells, rows = size = len(screen._grid[0]), len(screen._grid) // 2
        before = screen._boxes[0]
        await drag(stage, (20, 6))  # a click puts the marked box there
        box = screen._boxes[0]
        assert (box.x + box.width / 2, box.y + box.height / 2) == pytest.approx((20.5 / cells, 6.5 / rows))
        screen._boxes = (before, *screen._boxes[1:])
        left, top, right, bottom = places.drawn_at(before, *size)
        await drag(stage, (left + 1, top + 1), (left + 3, top + 1), (left + 6, top + 3))
        box = screen._boxes[0]
        assert (box.x, box.y) == pytest.approx((before.x + 5 / cells, before.y + 2 / rows))
        assert (box.width, box.height) == (before.width, before.height)
        await drag(stage, (right + 5, bottom + 2), (right + 8, bottom + 3))
        assert screen._boxes[0].width == pytest.approx(before.width + 3 / cells)
        await drag(stage, (30, 2), (36, 6))  # nothing lies there: the marked box is drawn anew
        drawn_anew = places.drawn_at(screen._boxes[0], *size)
        assert drawn_anew == (30, 2, 36, 6)
        screen._corners = places.CARD
        x, y = places.CARD[2]
        await drag(stage, (int(x * cells), int(y * rows)), (40, 10))
        assert screen._corners[2] == pytest.approx((40.5 / cells, 10.5 / rows))
        assert screen._corners[0] == places.CARD[0]
        assert "card, lower right" in stage.text
        await stage.pilot.mouse_down("#picture", offset=(40, 10))
        await stage.pilot.hover("#picture", offset=(2, 2))
        await stage.pilot.press("escape")  # held: back where it was taken, and nothing is left
        await stage.settle()
        assert stage.app.screen is screen
        assert stage.app.mouse_captured is None


def test_the_corners_of_a_card_are_brackets_and_no_numbers() -> None:
    """Each open towards the card, the chosen one double: no figure that could be read as a patch's."""
    found = places.marks((), places.CARD, 1, 40, 20)
    signs = {at: mark.sign for at, mark in found.items()}
    assert (signs[16, 8], signs[24, 8], signs[24, 12], signs[16, 12]) == ("┌", "╗", "┘", "└")
    assert (signs[17, 8], signs[23, 8], signs[16, 9], signs[24, 11]) == ("─", "═", "│", "│")
    assert not [sign for sign in signs.values() if sign.isdigit()]
    edge = places.marks((), ((0.99, 0.99), (0.0, 0.0), (0.0, 0.0), (0.99, 0.99)), 0, 4, 4)
    assert all(0 <= x < 4 and 0 <= y < 4 for x, y in edge)


async def test_a_gray_card_is_boxed_and_its_reading_is_rougher_and_says_so(
    open_log: Open, folder: Path
) -> None:
    """The drawn card's patch 21 stands for a gray card: it reflects about a fifth."""
    async with open_log() as stage:
        screen = await to_photo(stage, folder)
        await put_box(stage, SLAB_TEXT)
        await stage.press("g")
        assert "f gray card" in stage.text
        assert "card's corners" not in stage.text
        await put_box(stage, ",".join(map(str, spot_of(21))))
        spot = screen._measured.spots[0]
        assert screen._measured.card is None
        assert spot.lab == pytest.approx(SLAB_LAB, abs=3)
        assert spot.lab_sd[0] >= 8
        assert f"L* {spot.lab[0]:.0f} ± 8" in stage.text
        assert "Rough, by a gray card alone" in stage.text
        await stage.press("s")
        assert isinstance(stage.app.screen, PhotosScreen), stage.text
        kept = readings(stage)[-1]
        assert (kept.source, kept.sd_L) == ("gray card", pytest.approx(spot.lab_sd[0], abs=0.01))
        await stage.press("enter", "g", "space")
        assert not stage.app.screen._gray


async def test_one_may_leave_while_photos_come_in_and_is_told_in_the_end(
    open_log: Open, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from finishlog.desk.photo import photos

    go, look = Event(), photos._look
    monkeypatch.setattr(photos, "_look", lambda found: go.wait(20) and look(found))
    async with open_log() as stage:
        await to_photos(stage)
        await stage.press("a")
        await stage.fill("path", str(folder))
        await stage.fill("taken", "Jun 16 7a")
        await stage.pilot.press("ctrl+s", "escape")
        assert isinstance(stage.app.screen, PhotosScreen)
        assert not stage.app.work.idle
        await stage.pilot.press("1")
        go.set()
        await stage.settle()
        assert "2 photos kept, 1 left out" in stage.toast()
        await stage.press("2")
        assert len(stage.app.desks.photos(stage.app.screen_stack[-1]._handle).lines) == 2


async def test_a_photo_of_a_slab_nobody_remembers_finds_the_nearest_jobs(
    open_log: Open, folder: Path
) -> None:
    async with open_log() as stage:
        screen = stage.app.screen
        await screen.run_action("photo")
        await stage.settle()
        assert "a photo's path; Enter opens it" in stage.text
        await stage.press("end", "enter")
        assert "type the photo's path" in stage.rows[-1]
        await stage.enter(f"{folder}/list.jpg")
        await stage.press("enter")
        assert "It is text" in " ".join(stage.text.split())
        await stage.press("escape")
        screen.box.value = f"photo: '{folder}/IMG_0.png'"
        await stage.press("enter")
        assert isinstance(stage.app.screen, FindScreen), stage.text
        await put_box(stage, SLAB_TEXT)
        stage.app.screen._corners = tuple((x / 760, y / 420) for x, y in (*CORNERS[:3], (300, 300)))
        await stage.press(*["tab"] * 4)
        await put_box(stage, f"{CORNERS[3][0]},{CORNERS[3][1]}")
        lab = stage.app.screen._measured.spots[0].lab
        await stage.press("enter")
        assert isinstance(stage.app.screen, JobsScreen)
        assert screen.box.value == ",".join(f"{value:.1f}" for value in lab)
        found = stage.app.desks.page(screen.box.value, limit=50, offset=0).lines
        apart = [line.de00 for line in found]
        assert apart == sorted(apart)
        assert f"ΔE00 {apart[0]:.1f}" in stage.row(found[0].name)


async def test_a_refusal_says_why_and_the_boxes_stay(open_log: Open, folder: Path) -> None:
    """Corners around the slab alone hold no card."""
    async with open_log() as stage:
        await to_photo(stage, folder)
        await stage.press(*["tab"] * len(places.NAMES))
        stage.app.screen._corners = ((0.5, 0.5), (0.95, 0.15), (0.95, 0.85), (0.8, 0.85))
        await put_box(stage, "600,60")
        assert "not read" in stage.text
        assert stage.app.screen._measured is None
        assert stage.app.screen._wrong
        assert stage.app.screen._boxes[0].there


async def test_nonsense_typed_for_a_place_is_said_and_stays(open_log: Open, folder: Path) -> None:
    async with open_log() as stage:
        await to_photo(stage, folder)
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
        await stage.clear()
        await stage.press("v")
        grid = stage.app.screen.query_one(PicturePane).grid
        assert len(grid[0]) / len(grid) == pytest.approx(760 / 420, rel=0.15)
        await stage.press("escape", "enter")
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
    monkeypatch.setattr("finishlog.tui.running.work.monotonic", lambda: now[0])
    tell = screen._progress(lambda _, text: told.append(text))
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
    from finishlog.tui.paint.theme import contrast

    [line] = picture.paint((("#ffffff",), ("#ffffff",)), {(0, 0): picture.Mark("1")}, "full", True)
    [piece] = line.pieces
    assert (piece.text, piece.tone) == ("1", "#ffffff")
    assert contrast(piece.tone, piece.back) >= 4.5


def test_a_picture_keeps_its_shape_in_cells_twice_as_high_as_wide() -> None:
    assert picture.fitting(400, 300, 80, 17) == (45, 17)
    assert picture.fitting(300, 400, 20, 40) == (20, 13)


def test_places_stay_in_the_picture() -> None:
    box = places.spots(("base",))[0]
    assert box.moved(9, 9).x + box.width == pytest.approx(1)
    assert box.moved(-9, -9).y == 0
    assert box.sized(9, 9).width + box.x == pytest.approx(1)
    assert box.sized(-9, -9).width == places.LEAST
    assert places.corner_moved(places.CARD, 0, -9, 9)[0] == (0, 1)
    turned = [(10, 20), (10, 10), (20, 10), (20, 20)]
    found = places.from_top_left(turned, 100, 100)
    assert found == ((0.1, 0.1), (0.2, 0.1), (0.2, 0.2), (0.1, 0.2))
