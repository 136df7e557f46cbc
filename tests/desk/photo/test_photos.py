"""Photos into a log: kept as they are, dated by the camera, asked about where they are odd, never twice."""

from __future__ import annotations

import hashlib
import shutil
from datetime import UTC, datetime
from pathlib import Path

import pytest
from PIL import Image

from finishlog.desk.photo import photos
from finishlog.desk.photo import small as smalls
from finishlog.desk.photo.photos import PhotoFacts
from finishlog.desk.record import record, taking_back
from finishlog.desk.record.record import WrongFields
from finishlog.desk.services import Services
from finishlog.errors import InputError, LogError
from finishlog.records.writing import NewArea, NewCustomer, NewEntry, NewJob, NewSite
from tests.desk.conftest import SheetShop
from tests.desk.photo_making import exif, jpeg, picture, scene

JOB = "patio"
POURED = datetime(2026, 6, 15, 15, tzinfo=UTC)  # 10 in the morning at the site


@pytest.fixture(scope="module")
def poured(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A log with a job of two areas, poured yesterday."""
    shop = SheetShop(tmp_path_factory.mktemp("poured"))
    made = shop.services.make_log(None)
    site = NewSite("12 Teakettle Lane", zone="America/Chicago")
    areas = (NewArea("field"), NewArea("steps", "stairs"))
    with made.writing() as log:
        log.add_job(
            NewJob("patio", NewCustomer("Ottoline Quillfeather"), site, "planned", areas=areas, handle=JOB)
        )
        log.add_entry(JOB, NewEntry("pour", POURED))
    made.close()
    return shop.log


@pytest.fixture
def services(
    sheet_shop: SheetShop, poured: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> Services:
    """That log, at seven in the morning."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    shutil.copy(poured, sheet_shop.log)
    return sheet_shop.services


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    made = tmp_path / "phone"
    made.mkdir()
    return made


def put(folder: Path, name: str, data: bytes) -> Path:
    path = folder / name
    path.write_bytes(data)
    return path


def test_a_photo_is_kept_byte_for_byte_and_dated_by_its_camera(services: Services, folder: Path) -> None:
    data = jpeg("2026:06:16 06:42:10", "-05:00")
    put(folder, "a.jpg", data)
    done = photos.add(services, JOB, [folder], PhotoFacts("field", "no", "no", "open shade", by="Bo"))
    [line] = done.kept
    assert done.sentence == "1 photo kept."
    assert line.sha256 == hashlib.sha256(data).hexdigest()
    assert services.log().file_path(line.sha256).read_bytes() == data
    assert (line.photo.format, line.photo.width, line.photo.height) == ("JPEG", 64, 48)
    assert (line.photo.taken, line.photo.utc_offset, line.photo.clock) == (
        "2026-06-16T06:42:10", "-05:00", "camera offset"
    )  # fmt: skip
    assert line.happened == datetime(2026, 6, 16, 11, 42, 10, tzinfo=UTC)
    assert line.age_h == pytest.approx(20.7028, abs=1e-3)
    assert (line.age, line.area, line.damp, line.sealed, line.light) == (
        "21 h old", "field", False, False, "open_shade"
    )  # fmt: skip
    assert photos.of_job(services, JOB) == (line,)
    with services.log().reading() as log:
        [entry] = log.job(JOB).of_kind("photo")
    assert (entry.person, entry.files[0].media_type) == ("Bo", "image/jpeg")
    assert services.log().check().problems == ()


def test_a_camera_that_says_no_offset_goes_by_the_site_s_clock_and_it_is_said(
    services: Services, folder: Path
) -> None:
    """Trap 14: never UTC."""
    done = photos.add(services, JOB, [put(folder, "a.jpg", jpeg("2026:06:16 06:42:10"))], PhotoFacts())
    [line] = done.kept
    assert line.happened == datetime(2026, 6, 16, 11, 42, 10, tzinfo=UTC)
    assert (line.photo.clock, line.photo.utc_offset) == ("site wall time", None)
    assert line.taken == "Jun 16 2026, 6:42a, the camera's, taken as the site's own"
    with services.log().reading() as log:
        [entry] = log.job(JOB).of_kind("photo")
    assert entry.facts["clock"] == "the camera's, taken as the site's own"


@pytest.mark.parametrize(
    ("taken", "offset", "instant"),
    [
        ("2026:06:16 11:42:10", "Z", (11, 42)),
        ("2026:06:16 17:12:10", "+05:30", (11, 42)),
        ("2026:06:16 06:42:10", "-0500", (11, 42)),
    ],
)
def test_offsets_are_read(
    services: Services, folder: Path, taken: str, offset: str, instant: tuple[int, int]
) -> None:
    done = photos.add(services, JOB, [put(folder, "a.jpg", jpeg(taken, offset))], PhotoFacts())
    [line] = done.kept
    assert (line.happened.hour, line.happened.minute) == instant


@pytest.mark.parametrize(
    ("taken", "offset", "what"),
    [
        ("0000:00:00 00:00:00", None, "time is wrong"),
        ("1970:01:01 00:00:00", None, "time is wrong"),
        ("1980:01:01 00:00:00", None, "time is wrong"),
        ("2026:13:45 99:99:99", None, "time is wrong"),
        ("\x1b[31m:06:16 06:42", None, "time is wrong"),
        ("2026:06:16 06:42:10", "+99:00", "offset"),
        ("2026:06:16 06:42:10", "+14:30", "offset"),
        ("2026:06:16 06:42:10", "\x1b]0;", "offset"),
        (None, None, "does not say"),
        ("    :  :     :  :  ", None, "time is wrong"),
    ],
)
def test_a_clock_that_cannot_be_believed_is_asked(
    services: Services, folder: Path, taken: str | None, offset: str | None, what: str
) -> None:
    path = put(folder, "a.jpg", jpeg(taken, offset))
    done = photos.add(services, JOB, [path], PhotoFacts(), because="that is right")
    assert done.kept == ()
    [asked] = done.asked
    assert what in asked.doubts[0]
    assert "\x1b" not in asked.doubts[0]
    told = photos.add(services, JOB, [path], PhotoFacts(taken="6a")).kept[0]
    assert (told.photo.clock, told.photo.utc_offset) == ("told", None)
    assert told.happened == datetime(2026, 6, 16, 11, tzinfo=UTC)


def test_what_nobody_knows_is_kept_as_unknown(services: Services, folder: Path) -> None:
    path = put(folder, "a.jpg", jpeg(None))
    [line] = photos.add(services, JOB, [path], PhotoFacts(taken="Unknown")).kept
    assert (line.photo.clock, line.taken, line.age, line.age_h) == (
        "unknown", "time unknown", "age unknown", None
    )  # fmt: skip


def test_before_the_pour_and_in_the_future_are_asked_and_allowed_with_a_reason(
    services: Services, folder: Path
) -> None:
    put(folder, "early.jpg", jpeg("2026:06:14 09:00:00", seed=1))
    put(folder, "fine.jpg", jpeg("2026:06:16 06:00:00", seed=2))
    put(folder, "late.jpg", jpeg("2027:06:16 09:00:00", seed=3))
    first = photos.add(services, JOB, [folder], PhotoFacts())
    assert [line.name for line in first.kept] == ["fine.jpg"]
    assert [asked.name for asked in first.asked] == ["early.jpg", "late.jpg"]
    assert "before the pour" in first.asked[0].doubts[0]
    assert "in the future" in first.asked[1].doubts[0]
    assert first.sentence == "1 photo kept, 2 asked about."
    again = photos.add(
        services,
        JOB,
        [asked.path for asked in first.asked],
        PhotoFacts(),
        because="the forms, and a slow clock",
    )
    assert [line.age for line in again.kept] == ["before the pour", "365 days old"]
    with services.log().reading() as log:
        notes = {entry.files[0].name: entry.note for entry in log.job(JOB).of_kind("photo")}
    assert "Because: the forms" in str(notes["early.jpg"])
    assert notes["fine.jpg"] is None


def test_doubles_are_recognised_in_the_batch_and_in_the_log(services: Services, folder: Path) -> None:
    put(folder, "a.jpg", jpeg("2026:06:16 06:42:10"))
    put(folder, "b.jpg", jpeg("2026:06:16 06:42:10"))
    done = photos.add(services, JOB, [folder], PhotoFacts())
    assert ([line.name for line in done.kept], done.doubles[0].name) == (["a.jpg"], "b.jpg")
    again = photos.add(services, JOB, [folder], PhotoFacts())
    assert (again.kept, [double.entry for double in again.doubles]) == ((), [2, 2])
    with services.log().reading() as log:
        assert len(log.job(JOB).of_kind("photo")) == 1
    taking_back.undo(services, JOB, 2)
    assert len(photos.add(services, JOB, [folder], PhotoFacts()).kept) == 1


def test_a_batch_goes_on_and_tells_how_far_it_is(services: Services, folder: Path) -> None:
    for number in range(30):
        put(folder, f"{number:02d}.jpg", jpeg(f"2026:06:16 06:42:{number:02d}", seed=number))
    put(folder, "05a.jpg", b"no picture at all")
    told: list[tuple[int, int]] = []
    done = photos.add(services, JOB, [folder], PhotoFacts(), progress=lambda at, of: told.append((at, of)))
    assert len(done.kept) == 30
    assert [left.name for left in done.left_out] == ["05a.jpg"]
    assert told == [(number, 31) for number in range(1, 32)]
    assert [line.name for line in photos.of_job(services, JOB)] == [line.name for line in done.kept]


def test_the_area_is_the_one_that_is_told_or_the_only_one(services: Services, folder: Path) -> None:
    path = put(folder, "a.jpg", jpeg())
    with pytest.raises(WrongFields, match="no area"):
        photos.add(services, JOB, [path], PhotoFacts("porch", taken="6a"))
    with pytest.raises(WrongFields, match="Light"):
        photos.add(services, JOB, [path], PhotoFacts(light="moon", taken="6a"))
    [line] = photos.add(services, JOB, [path], PhotoFacts("STEPS", taken="6a")).kept
    assert line.area == "steps"
    [other] = photos.add(services, JOB, [put(folder, "b.jpg", jpeg(seed=2))], PhotoFacts(taken="6a")).kept
    assert other.area is None


def test_nothing_to_take_in_and_no_such_job(services: Services, folder: Path) -> None:
    with pytest.raises(InputError, match="No files"):
        photos.add(services, JOB, [folder], PhotoFacts())
    with pytest.raises(InputError, match="No job"):
        photos.add(services, "driveway", [put(folder, "a.jpg", jpeg())], PhotoFacts())


@pytest.mark.parametrize("orientation", range(1, 9))
def test_a_turned_photo_stands_upright(services: Services, folder: Path, orientation: int) -> None:
    """The upright scene is darkest red at the top; whichever way the camera was held."""
    turns = {
        1: None, 2: Image.Transpose.FLIP_LEFT_RIGHT, 3: Image.Transpose.ROTATE_180,
        4: Image.Transpose.FLIP_TOP_BOTTOM, 5: Image.Transpose.TRANSPOSE, 6: Image.Transpose.ROTATE_90,
        7: Image.Transpose.TRANSVERSE, 8: Image.Transpose.ROTATE_270,
    }  # fmt: skip
    upright, turn = scene(), turns[orientation]
    held = upright if turn is None else upright.transpose(turn)
    data = picture(image=held, exif=exif("2026:06:16 06:42:10", orientation=orientation), quality=95)
    [line] = photos.add(services, JOB, [put(folder, "a.jpg", data)], PhotoFacts()).kept
    assert (line.photo.width, line.photo.height) == (64, 48)
    with Image.open(smalls.thumbnail(services, line.sha256)) as small:
        assert small.size == (64, 48)
        for place in ((3, 3), (60, 3), (3, 44)):
            assert small.getpixel(place) == pytest.approx(upright.getpixel(place), abs=16)


def test_small_pictures_lie_in_the_cache_and_can_be_made_again(
    services: Services, folder: Path, tmp_path: Path
) -> None:
    data = picture(image=scene(1600, 1200), exif=exif("2026:06:16 06:42:10"))
    [line] = photos.add(services, JOB, [put(folder, "a.jpg", data)], PhotoFacts()).kept
    [made] = (tmp_path / "cache").rglob("*.jpg")
    assert smalls.thumbnail(services, line.sha256) == made
    assert not [path for path in tmp_path.rglob("*512.jpg") if "cache" not in path.parts]
    before = made.read_bytes()
    made.unlink()
    assert smalls.thumbnail(services, line.sha256).read_bytes() == before
    with Image.open(smalls.thumbnail(services, line.sha256, 96)) as small:
        assert small.size == (96, 72)
    services.log().file_path(line.sha256).unlink()
    with pytest.raises(LogError, match="is missing"):
        smalls.thumbnail(services, line.sha256, 48)


def test_a_full_cache_disk_loses_no_photo(
    services: Services, folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    blocked = tmp_path / "blocked"
    blocked.write_text("")
    monkeypatch.setenv("XDG_CACHE_HOME", str(blocked))
    [line] = photos.add(services, JOB, [put(folder, "a.jpg", jpeg())], PhotoFacts(taken="6a")).kept
    with pytest.raises(InputError, match="thumbnail"):
        smalls.thumbnail(services, line.sha256)


def test_a_photo_can_be_corrected_and_stays_the_same_file(services: Services, folder: Path) -> None:
    [line] = photos.add(services, JOB, [put(folder, "a.jpg", jpeg())], PhotoFacts(taken="6a")).kept
    record.record(services, JOB, "photo", {"damp": "yes", "area": "steps"}, replaces=line.entry)
    [again] = photos.of_job(services, JOB)
    assert (again.damp, again.area, again.sha256, again.photo) == (True, "steps", line.sha256, line.photo)
    assert again.happened == line.happened
