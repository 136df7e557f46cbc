"""`restore`: the copy is verified first, and killed at any call the old log or the copy is there, whole."""

import os
import random
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from time import monotonic
from typing import Any

import pytest

from finishlog.errors import InputError, LogError
from finishlog.records.writing import NewCustomer, NewEntry, NewFile, NewJob, NewSite
from finishlog.store import Log
from tests.faults.test_log_files import created, foreign, opened
from tests.faults.test_replaced import checked, keep, killed_after, names_in, sound

CALLS = ("replace", "rename", "link", "fsync", "unlink", "mkdir", "rmdir", "open")
RESTORE = """
import sys
from finishlog.store import Log
Log.put_back(sys.argv[1], sys.argv[2])
"""


class Killed(BaseException):
    """The program ends here."""


@contextmanager
def killed_at(
    number: int, monkeypatch: pytest.MonkeyPatch, calls: tuple[str, ...] = CALLS
) -> Iterator[list[str]]:
    """The call of that number, among those that change something, and all after it are never made."""
    made: list[str] = []

    def counted(name: str, call: Callable[..., Any]) -> Callable[..., Any]:
        def counting(*args: Any, **named: Any) -> Any:
            if name == "open" and not (len(args) > 1 and args[1] & os.O_CREAT):
                return call(*args, **named)
            made.append(name)
            if len(made) >= number:
                raise Killed
            return call(*args, **named)

        return counting

    with monkeypatch.context() as patched:
        for name in calls:
            patched.setattr(os, name, counted(name, getattr(os, name)))
        yield made


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    """A log with two files and entries in a -wal, and a copy from before the second, in another folder."""
    where = tmp_path / "shop" / "shop.finishlog"
    where.parent.mkdir()
    (tmp_path / "stick").mkdir()
    log = created(where)
    with log.writing() as writer:
        writer.add_job(NewJob("patio", NewCustomer("Bo"), NewSite("s"), handle="patio"))
    attach(log, tmp_path, "first")
    keep(log, "old")
    log.backup(tmp_path / "stick" / "copy.finishlog")
    attach(log, tmp_path, "second")
    log.close()
    killed_after(where, "new")
    return where


def attach(log: Log, folder: Path, name: str) -> None:
    path = folder / f"{name}.txt"
    path.write_text(name)
    with log.writing() as writer:
        writer.add_entry("patio", NewEntry("note", log._clock(), files=(NewFile(path),)))


def copy_of(where: Path) -> Path:
    return where.parent.parent / "stick" / "copy.finishlog"


def texts(where: Path) -> set[str]:
    return {path.read_text() for path in Path(f"{where}.files").rglob("*") if path.is_file()}


def is_old(where: Path) -> bool:
    return names_in(where) == {"old", "new"} and texts(where) == {"first", "second"} and sound(where)


def is_the_copy(where: Path) -> bool:
    return names_in(where) == {"old"} and texts(where) == {"first"} and sound(where)


def test_the_copy_is_there_and_the_log_from_before_is_kept_whole(shop: Path) -> None:
    done = Log.put_back(copy_of(shop), shop)
    assert done.before is not None
    assert done.before.name.startswith("shop.before-restore-")
    assert is_the_copy(shop)
    assert checked(shop, accept=False)  # older than this machine has seen it, and on purpose
    assert is_old(done.before)  # its -wal went along
    assert is_the_copy(copy_of(shop))
    again = Log.put_back(done.before, shop)
    assert is_old(shop)
    assert again.before is not None
    assert is_the_copy(again.before)
    names = {path.name for path in shop.parent.iterdir()}
    assert not [name for name in names if name.startswith(".")]


def test_a_place_without_a_log(shop: Path) -> None:
    target = shop.with_name("none.finishlog")
    assert Log.put_back(copy_of(shop), target).before is None
    assert is_the_copy(target)


def test_a_damaged_log_gives_way(shop: Path) -> None:
    shop.write_bytes(b"\0" * 9000)
    done = Log.put_back(copy_of(shop), shop)
    assert is_the_copy(shop)
    assert done.before is not None
    assert done.before.read_bytes() == b"\0" * 9000


def cut_short(copy: Path) -> None:
    os.truncate(copy, copy.stat().st_size // 2)


def a_page_of_noise(copy: Path) -> None:
    data = bytearray(copy.read_bytes())
    data[4096 * 5 : 4096 * 40] = b"\x5a" * (4096 * 35)
    copy.write_bytes(data)


def without_a_file(copy: Path) -> None:
    shutil.rmtree(f"{copy}.files")
    for path in copy.parent.parent.glob("shop/*.files"):
        shutil.rmtree(path)


def a_file_of_noise(copy: Path) -> None:
    for folder in (Path(f"{copy}.files"), copy.parent.parent / "shop" / "shop.finishlog.files"):
        for path in folder.rglob("*"):
            if path.is_file():
                path.write_text("noise")


@pytest.mark.parametrize(
    "change", [foreign, cut_short, a_page_of_noise, without_a_file, a_file_of_noise, Path.unlink]
)
def test_a_copy_that_is_not_whole_changes_nothing(shop: Path, change: Callable[[Path], None]) -> None:
    copy = copy_of(shop)
    if change is foreign:
        copy.unlink()
    change(copy)
    before = {path.name: path.read_bytes() for path in shop.parent.iterdir() if path.is_file()}
    with pytest.raises(LogError) as refused:
        Log.put_back(copy, shop)
    assert "\n" not in refused.value.line()
    assert {path.name: path.read_bytes() for path in shop.parent.iterdir() if path.is_file()} == before


def test_without_the_files_it_lacks(shop: Path) -> None:
    without_a_file(copy_of(shop))
    done = Log.put_back(copy_of(shop), shop, without_missing=True)
    assert (done.files, done.missing) == (0, 1)
    assert names_in(shop) == {"old"}


def test_a_file_that_the_copy_lacks_is_taken_from_beside_the_log(shop: Path) -> None:
    shutil.rmtree(f"{copy_of(shop)}.files")
    assert Log.put_back(copy_of(shop), shop).files == 1
    assert is_the_copy(shop)


def test_the_log_itself_and_another_program_s_are_refused(shop: Path) -> None:
    with pytest.raises(InputError, match="the log itself"):
        Log.put_back(shop, shop)
    other = shop.with_name("other.db")
    foreign(other)
    before = other.read_bytes()
    with pytest.raises(LogError) as refused:
        Log.put_back(copy_of(shop), other)
    assert "another program" in refused.value.cause
    assert other.read_bytes() == before


def test_an_open_log_is_refused(shop: Path) -> None:
    with closing(opened(shop)) as log:
        with log.reading():
            pass
        with pytest.raises(LogError, match="has the log open"):
            Log.put_back(copy_of(shop), shop)
        keep(log, "still")
    program = subprocess.run(
        [sys.executable, "-c", OPEN_AND_TRY, str(shop), str(copy_of(shop))],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert "has the log open" in program.stdout
    assert names_in(shop) == {"old", "new", "still"}


OPEN_AND_TRY = """
import subprocess, sys
from datetime import UTC, datetime
from finishlog.store import Log
log = Log.open(sys.argv[1], clock=lambda: datetime.now(UTC), new_uid=str)
with log.reading() as reader:
    reader.count()
code = "import sys; from finishlog.store import Log; Log.put_back(sys.argv[1], sys.argv[2])"
done = subprocess.run([sys.executable, "-c", code, sys.argv[2], sys.argv[1]], capture_output=True, text=True)
print(done.stderr[-300:])
log.close()
"""


@pytest.mark.parametrize("some", [2, pytest.param(None, marks=pytest.mark.long)])
def test_killed_at_every_call(
    shop: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, some: int | None
) -> None:
    """Old until the moves are written down, the copy from then on; and it can be tried again at once.

    Of its calls the first, the last and `some` between, and all with None.
    """
    seen: list[bool] = []
    whole = tmp_path / "whole"
    shutil.copytree(shop.parent, whole)
    with killed_at(999, monkeypatch) as made:
        Log.put_back(copy_of(shop), whole / shop.name)
    between = range(2, len(made))
    for number in (
        1,
        *(between if some is None else sorted(random.Random(1).sample(between, some))),
        len(made),
    ):
        folder = tmp_path / f"try {number}"
        shutil.copytree(shop.parent, folder)
        where = folder / shop.name
        with killed_at(number, monkeypatch):
            try:
                Log.put_back(copy_of(shop), where)
            except Killed:  # not by `raises`, which would keep its open files
                pass
            else:
                raise AssertionError
        before = names_in(where) == {"old", "new"}
        assert is_old(where) if before else is_the_copy(where)
        (kept,) = [*folder.glob("*before-restore*.finishlog")] if not before else [where]
        assert is_old(kept)
        Log.put_back(copy_of(shop), where)
        assert is_the_copy(where)
        assert not [path for path in folder.iterdir() if path.name.startswith(".")]
        seen.append(before)
        shutil.rmtree(folder)
    assert len(made) > 15
    assert seen == sorted(seen, reverse=True)  # once it is decided there is no way back
    assert set(seen) == {True, False}


@pytest.mark.long
def test_fifty_restores_are_killed(shop: Path, tmp_path: Path) -> None:
    """By the system, at any moment."""
    outcomes, whole = [], 0.0
    for number in range(51):
        folder = tmp_path / f"try {number}"
        shutil.copytree(shop.parent, folder)
        where = folder / shop.name
        start = monotonic()
        program = subprocess.Popen([sys.executable, "-c", RESTORE, str(copy_of(shop)), str(where)])
        try:
            program.wait(60 if number == 0 else whole * (0.5 + number / 80))
        except subprocess.TimeoutExpired:
            program.kill()
        program.wait()
        if number == 0:
            whole = monotonic() - start
        before = names_in(where) == {"old", "new"}
        assert is_old(where) if before else is_the_copy(where)
        Log.put_back(copy_of(shop), where)
        assert is_the_copy(where)
        outcomes.append(before)
        shutil.rmtree(folder)
    print(f"{sum(outcomes)} stayed, {len(outcomes) - sum(outcomes)} switched")
