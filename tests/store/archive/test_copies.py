"""A copy each day the log changed, thinned as it ages; a file stands there once."""

import os
import shutil
import signal
import sqlite3
from collections.abc import Callable
from contextlib import closing
from datetime import date, timedelta
from pathlib import Path

import pytest

from finishlog.desk.exchange import copies as desk
from finishlog.errors import LogError
from finishlog.store.archive import copies
from finishlog.store.disk import leavings, surroundings
from tests.conftest import Ran
from tests.faults.test_log_files import opened

DAY = date(2026, 6, 16)


def write(log: str, word: str) -> None:
    with closing(sqlite3.connect(log)) as raw:
        raw.execute(
            "INSERT OR REPLACE INTO setting VALUES ('a word', ?, '2026-06-16T12:00:00.000000Z')", (word,)
        )
        raw.commit()


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def test_a_copy_each_day_that_the_log_changed(
    demo: str, tmp_path: Path, finishlog: Callable[..., Ran]
) -> None:
    folder, log = tmp_path / "copies", Path(demo)
    made = copies.keep(log, folder, DAY)
    assert made == folder / "2026-06-16.finishlog"
    assert finishlog("--log", str(made), "check", "--json").json()["problems"] == []
    write(demo, "more")
    assert copies.keep(log, folder, DAY) is None
    assert copies.keep(log, folder, DAY + timedelta(1)) is not None
    assert copies.keep(log, folder, DAY + timedelta(2)) is None  # nothing was written since
    write(demo, "and more")
    assert copies.keep(log, folder, DAY + timedelta(3)) is not None
    found = [name for name in names(folder) if name.endswith(".finishlog")]
    assert found == ["2026-06-16.finishlog", "2026-06-17.finishlog", "2026-06-19.finishlog"]


def test_a_photo_stands_once_and_takes_no_room(demo: str, tmp_path: Path) -> None:
    folder = tmp_path / "copies"
    for number in range(3):
        write(demo, str(number))
        copies.keep(Path(demo), folder, DAY + timedelta(number))
    photo = next(path for path in Path(f"{demo}.files").rglob("*") if path.is_file())
    found = [path for path in (folder / copies.FILES).rglob("*") if path.name == photo.name]
    assert len(found) == 1
    assert found[0].samefile(photo)
    photo.unlink()
    assert Path(f"{folder}/2026-06-18.finishlog.files", photo.name[:2], photo.name).stat().st_size > 0


def test_without_hard_links_it_is_a_copy(
    demo: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, finishlog: Callable[..., Ran]
) -> None:
    def no(*_: object, **__: object) -> None:
        raise PermissionError("no links here")

    monkeypatch.setattr(os, "link", no)
    made = copies.keep(Path(demo), tmp_path / "copies", DAY)
    assert finishlog("--log", str(made), "check", "--json").json()["problems"] == []


def test_which_copies_stay() -> None:
    days = {DAY - timedelta(number) for number in range(800)}
    stays = copies.kept(days, DAY)
    assert {day for day in stays if (DAY - day).days < 7} == {DAY - timedelta(n) for n in range(7)}
    weekly = sorted(day for day in stays if 7 <= (DAY - day).days < 30)
    assert {day.isoweekday() for day in weekly if day.month == 6} == {7}  # the last day of its week
    months = {(day.year, day.month) for day in stays}
    assert len(months) == 13
    assert min(stays) == date(2025, 6, 30)
    assert len(stays) <= 7 + 4 + 1 + 12
    assert copies.kept({date(2020, 1, 1)}, DAY) == {date(2020, 1, 1)}  # the last one always stays
    assert copies.kept(set(), DAY) == set()
    # day by day, thinned each day, nothing that should stay has gone before
    held: set[date] = set()
    for number in range(500):
        today = DAY + timedelta(number)
        held = copies.kept({*held, today}, today)
    assert len({(day.year, day.month) for day in held}) >= 12
    assert len([day for day in held if (today - day).days < 28]) >= 7 + 2


def test_a_clock_years_ahead_takes_no_copy_away() -> None:
    days = {DAY - timedelta(number) for number in range(800)}
    before = copies.kept(days, DAY)
    ahead = {date(2199, 1, 1), date(2199, 1, 2)}
    after = copies.kept(before | ahead, date(2199, 1, 2))
    assert after == before | ahead
    back = copies.kept(after | {DAY + timedelta(1)}, DAY + timedelta(1))
    assert back >= {*ahead, DAY + timedelta(1)}


def test_a_log_named_by_a_link_has_changed_too(demo: str, tmp_path: Path) -> None:
    link, folder = tmp_path / "link.finishlog", tmp_path / "copies"
    link.symlink_to(demo)
    with closing(opened(demo)) as log:
        for number in range(2):
            with log.writing() as writer:
                writer.set_setting("a word", str(number))  # in the -wal, beside the log itself
            assert copies.keep(link, folder, DAY + timedelta(number)) is not None


def test_thinning_leaves_the_photos(demo: str, tmp_path: Path) -> None:
    folder = tmp_path / "copies"
    for number in (0, 1, 2, 40, 41):
        write(demo, str(number))
        copies.keep(Path(demo), folder, DAY + timedelta(number))
    left = [name for name in names(folder) if name.endswith(".finishlog")]
    assert left == ["2026-06-18.finishlog", "2026-07-26.finishlog", "2026-07-27.finishlog"]
    assert names(folder)[-1] == "files"
    assert len(names(folder)) == 2 * 3 + 1


def test_killed_in_the_midst(demo: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = tmp_path / "copies"
    child = os.fork()
    if child == 0:
        monkeypatch.setattr(copies, "_share", lambda *_: os.kill(os.getpid(), signal.SIGKILL))
        copies.keep(Path(demo), folder, DAY)
    os.waitpid(child, 0)
    (left,) = folder.iterdir()
    assert leavings.leavings(folder / "2026-06-16.finishlog") == [left]
    assert copies.keep(Path(demo), folder, DAY) is not None
    assert [name for name in names(folder) if name.startswith(".")] == []


def test_a_full_disk_gets_no_copy(demo: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(shutil, "disk_usage", lambda _: shutil._ntuple_diskusage(10, 10, 1000))  # type: ignore[attr-defined]
    with pytest.raises(LogError, match="too full"):
        copies.keep(Path(demo), tmp_path / "copies", DAY)


@pytest.fixture
def services(demo: str, clock: str) -> object:
    from finishlog.wiring import build

    return build(demo)


def test_the_age_of_the_last_copy_is_said(services: object, demo: str, finishlog: Callable[..., Ran]) -> None:
    assert "No copy of this log yet" in desk.said(services)  # type: ignore[arg-type]
    assert desk.at_opening(services, copy=True) == ""  # type: ignore[arg-type]
    assert desk.last(services) == DAY  # type: ignore[arg-type]
    (made,) = desk.folder(Path(demo)).glob("*.finishlog")
    made.rename(made.with_name("2026-06-08.finishlog"))
    assert "8 days old" in desk.said(services)  # type: ignore[arg-type]
    assert "8 days old" in desk.at_opening(services, copy=False)  # type: ignore[arg-type]
    finishlog("--log", demo, "backup", f"{demo}.copy")
    assert desk.said(services) == ""  # type: ignore[arg-type]


def test_a_network_drive_is_said_once(
    services: object, demo: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    mounts = tmp_path / "mountinfo"
    monkeypatch.setattr(surroundings, "MOUNTS", mounts)
    line = "36 35 0:31 / {} rw,relatime shared:1 - {} host:/share rw\n"
    mounts.write_text(
        line.format("/", "ext4") + line.format(tmp_path, "nfs4") + line.format("/other", "tmpfs")
    )
    said = [desk.at_opening(services, copy=True) for _ in range(2)]  # type: ignore[arg-type]
    assert ("network drive" in said[0], said[1]) == (True, "")
    for kind, network in (
        ("cifs", True),
        ("smb3", True),
        ("fuse.remote", True),
        ("fuseblk", False),
        ("xfs", False),
    ):
        mounts.write_text(line.format("/", "ext4") + line.format(tmp_path, kind))
        assert surroundings.on_network(Path(demo)) is network


def test_a_synced_folder_and_what_a_conflict_left(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Path, "home", lambda: tmp_path)
    plain, synced, marked = tmp_path / "Shop", tmp_path / "My Sync" / "Shop", tmp_path / "Marked" / "Shop"
    for folder in (plain, synced, marked):
        folder.mkdir(parents=True)
    (marked.parent / ".sync-state").touch()
    said = [surroundings.remark(folder / "shop.finishlog") for folder in (plain, synced, marked)]
    assert [bool(each) for each in said] == [False, True, True]
    (plain / "shop (conflicted copy).finishlog").touch()
    (plain / "other conflict.finishlog").touch()
    assert "shop (conflicted copy).finishlog" in surroundings.remark(plain / "shop.finishlog")
