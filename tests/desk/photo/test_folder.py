"""A folder listed for its photos: by bytes, newest first, nothing followed, everything that is none counted."""

from __future__ import annotations

import os
from datetime import UTC, datetime
from pathlib import Path

import pytest
from PIL import Image

from finishlog.desk.photo import folder
from finishlog.errors import InputError


def picture(path: Path, day: int, taken: str = "") -> Path:
    exif = Image.Exif()
    if taken:
        exif.get_ifd(0x8769)[0x9003] = taken
    Image.new("RGB", (40, 30), (150, 120, 90)).save(path, exif=exif)
    os.utime(path, (day * 86400, day * 86400))
    return path


def test_pictures_by_their_bytes_the_newest_first_and_the_rest_counted(tmp_path: Path) -> None:
    picture(tmp_path / "old.jpg", 1)
    picture(tmp_path / "new.png", 3)
    picture(tmp_path / "named as text.jpg", 2).rename(tmp_path / "slab.txt")
    (tmp_path / "list.jpg").write_text("eggs, butter")
    (tmp_path / "empty.jpg").touch()
    (tmp_path / "june").mkdir()
    (tmp_path / ".hidden").mkdir()
    os.mkfifo(tmp_path / "pipe.jpg")
    os.symlink(tmp_path / "old.jpg", tmp_path / "link.jpg")
    found = folder.listing(tmp_path)
    assert [each.name for each in found.pictures] == ["new.png", "slab.txt", "old.jpg"]
    assert [each.name for each in found.folders] == ["june"]
    assert (found.others, found.cut) == (4, 0)
    assert found.pictures[0].changed == datetime(1970, 1, 4, tzinfo=UTC)


def test_more_than_fit_are_the_newest_and_the_rest_is_said(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(folder, "MOST", 2)
    for day in (1, 2, 3):
        picture(tmp_path / f"{day}.png", day)
    found = folder.listing(tmp_path)
    assert [each.name for each in found.pictures] == ["3.png", "2.png"]
    assert found.cut == 1


def test_a_name_that_is_no_text_is_listed_and_can_be_looked_at(tmp_path: Path) -> None:
    picture(tmp_path / "a.jpg", 1).rename(os.fsdecode(os.fsencode(tmp_path) + b"/bad\xff\x1b[31m.jpg"))
    [one] = folder.listing(tmp_path).pictures
    assert "\udcff" not in one.name
    assert folder.peek(one.path).small


def test_a_peek_tells_the_camera_s_time_or_what_is_wrong(tmp_path: Path) -> None:
    told = folder.peek(picture(tmp_path / "a.jpg", 1, "2026:06:04 09:30:00"))
    assert (told.taken, told.wrong) == (datetime(2026, 6, 4, 9, 30), "")  # noqa: DTZ001
    assert folder.peek(picture(tmp_path / "b.jpg", 1)).wrong == "It does not say when it was taken."
    cut = tmp_path / "c.jpg"
    cut.write_bytes((tmp_path / "a.jpg").read_bytes()[:200])
    assert folder.peek(cut).small == b""
    assert folder.peek(cut).wrong


def test_what_cannot_be_listed_is_said(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="cannot be listed"):
        folder.listing(tmp_path / "nowhere")
    with pytest.raises(InputError, match="cannot be listed"):
        folder.listing(Path("a\0b"))


def test_the_folder_used_last_comes_first(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("HOME", str(tmp_path))
    assert folder.begin_at("") == tmp_path
    (tmp_path / "DCIM").mkdir()
    (tmp_path / "june").mkdir()
    assert folder.begin_at(str(tmp_path / "gone")) == tmp_path / "DCIM"
    assert folder.begin_at(str(tmp_path / "june")) == tmp_path / "june"
