"""`restore`: an archive, a copy of the day, the list of what there is, and what each refusal says to do."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest

from finishlog.desk.exchange import copies as desk
from finishlog.store.archive import copies
from tests.conftest import Ran

Run = Callable[..., Ran]


def photos(log: Path) -> list[str]:
    return sorted(path.name for path in Path(f"{log}.files").rglob("*") if path.is_file())


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def shown(run: Run, log: str) -> object:
    return run("--log", log, "find", "--json").json()


def test_an_archive_comes_back_whole(demo: str, tmp_path: Path, finishlog: Run) -> None:
    stick, before = tmp_path / "stick" / "shop.zip", shown(finishlog, demo)
    stick.parent.mkdir()
    had = photos(Path(demo))
    assert finishlog("--log", demo, "backup", str(stick)).status == 0
    Path(demo).write_bytes(b"noise")
    shutil.rmtree(f"{demo}.files")
    ran = finishlog("--log", demo, "restore", str(stick))
    assert (ran.status, f"from {stick}, with {len(had)} files" in ran.out) == (0, True)
    assert "is kept at" in ran.out
    assert (shown(finishlog, demo), photos(Path(demo))) == (before, had)
    assert finishlog("--log", demo, "check").status == 0
    assert names(stick.parent) == ["shop.zip"]
    assert [name for name in names(tmp_path) if name.startswith(".")] == []


def test_an_archive_where_there_is_no_log(demo: str, tmp_path: Path, finishlog: Run) -> None:
    finishlog("--log", demo, "backup", str(tmp_path / "shop.zip"))
    new = tmp_path / "new machine.finishlog"
    ran = finishlog("--log", str(new), "restore", str(tmp_path / "shop.zip"))
    assert (ran.status, "old log is kept" in ran.out) == (0, False)
    assert shown(finishlog, str(new)) == shown(finishlog, demo)


def test_a_damaged_archive_changes_nothing(demo: str, tmp_path: Path, finishlog: Run) -> None:
    archive = tmp_path / "shop.zip"
    finishlog("--log", demo, "backup", str(archive))
    content = bytearray(archive.read_bytes())
    content[len(content) // 2] ^= 1
    archive.write_bytes(content)
    before = Path(demo).read_bytes()
    ran = finishlog("--log", demo, "restore", str(archive))
    assert (ran.status, "or it is damaged" in ran.err, str(archive) in ran.err) == (2, True, True)
    assert Path(demo).read_bytes() == before
    assert [name for name in names(tmp_path) if name.startswith(".") or "before" in name] == []


def test_an_archive_that_lacks_files_is_named_as_the_user_did(
    demo: str, tmp_path: Path, finishlog: Run
) -> None:
    next(path for path in Path(f"{demo}.files").rglob("*") if path.is_file()).unlink()
    archive = tmp_path / "shop.zip"
    assert finishlog("--log", demo, "backup", str(archive)).status == 3
    ran = finishlog("--log", demo, "restore", str(archive))
    assert (ran.status, f"incomplete: {archive}." in ran.err, ".part" in ran.err) == (3, True, False)
    assert finishlog("--log", demo, "restore", "--without-missing", str(archive)).status == 0


def test_a_copy_of_the_day_comes_back_and_the_others_stay(demo: str, tmp_path: Path, finishlog: Run) -> None:
    """Its files are in a folder that all copies share: they are copied, and it stands as before."""
    folder, had = desk.folder(Path(demo)), photos(Path(demo))
    made = copies.keep(Path(demo), folder, date(2026, 6, 16))
    assert made is not None
    assert Path(f"{made}.files").is_symlink()
    shared = names(folder)
    shutil.rmtree(f"{demo}.files")
    ran = finishlog("--log", demo, "restore", str(made))
    assert (ran.status, photos(Path(demo))) == (0, had)
    assert not Path(f"{demo}.files").is_symlink()
    assert (names(folder), photos(made)) == (shared, had)
    assert finishlog("--log", str(made), "check").status == 0
    assert finishlog("--log", demo, "check").status == 0


def test_without_a_copy_those_there_are_are_listed(demo: str, tmp_path: Path, finishlog: Run) -> None:
    none = finishlog("--log", demo, "restore")
    assert (none.status, f"No copy of {demo} is known" in none.err) == (2, True)
    made = copies.keep(Path(demo), desk.folder(Path(demo)), date(2026, 6, 1))
    backup = tmp_path / "to a stick.zip"
    finishlog("--log", demo, "backup", str(backup))
    Path(demo).unlink()  # the list needs no log
    ran = finishlog("--log", demo, "restore")
    listed, said = ran.out.splitlines()[1:3], ran.out.splitlines()[3]
    assert (ran.status, [line.split("  ")[2] for line in listed]) == (0, [str(backup), str(made)])
    assert said.endswith(f"restore '{backup}'")
    assert finishlog("--log", demo, "restore", str(backup)).status == 0
    backup.unlink()
    assert str(backup) not in finishlog("--log", demo, "restore").out


@pytest.mark.parametrize(
    ("make", "said"),
    [
        (lambda path: None, "No copy at"),
        (lambda path: path.write_text("a letter"), "not a finishlog log"),
        (lambda path: path.mkdir(), "It is a folder."),
    ],
)
def test_what_is_no_copy_leads_to_those_there_are(
    demo: str, tmp_path: Path, finishlog: Run, make: Callable[[Path], object], said: str
) -> None:
    make(tmp_path / "odd")
    ran = finishlog("--log", demo, "restore", str(tmp_path / "odd"))
    assert (ran.status, said in ran.err) == (3, True)
    assert "Nothing was changed. finishlog restore lists the copies" in ran.err
    assert "finishlog new" not in ran.err


def test_an_export_is_no_copy_but_comes_back_otherwise(demo: str, tmp_path: Path, finishlog: Run) -> None:
    finishlog("--log", demo, "export", str(tmp_path / "all"))
    ran = finishlog("--log", demo, "restore", str(tmp_path / "all"))
    assert (ran.status, f"finishlog --log NEW import --new {tmp_path / 'all'}" in ran.err) == (3, True)


def test_a_log_with_a_problem_says_what_can_be_done(demo: str, finishlog: Run) -> None:
    next(path for path in Path(f"{demo}.files").rglob("*") if path.is_file()).unlink()
    ran = finishlog("--log", demo, "check", "--mend")
    assert (ran.status, ran.out.splitlines()[0]) == (3, "The log has 1 problem.")
    assert f"finishlog --log {demo} restore lists its copies" in ran.out
    assert f"finishlog rescue {demo} NEW" in ran.out


def test_a_sound_log_needs_no_such_words(demo: str, finishlog: Run) -> None:
    assert "rescue" not in finishlog("--log", demo, "check").out


def test_a_log_that_is_gone_leads_to_its_copies(demo: str, finishlog: Run) -> None:
    Path(demo).unlink()
    ran = finishlog("--log", demo, "check")
    assert (ran.status, "finishlog restore lists copies" in ran.err) == (3, True)
