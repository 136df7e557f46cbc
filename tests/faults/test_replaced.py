"""A log that is replaced, moved or removed, open or not: refused, and what came in its place stays whole."""

import os
import shutil
import signal
import sqlite3
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, date, datetime
from multiprocessing import get_context
from multiprocessing.connection import Connection
from pathlib import Path

import pytest

from finishlog.errors import LogError
from finishlog.records.writing import NewCustomer, NewJob, NewSite
from finishlog.store import Log
from finishlog.store.archive import copies, zipped
from tests.faults.test_log_files import created, opened

STILL = "is not the file that was opened"


def writes_on(where: Path, told: Connection) -> None:
    """Another program: it keeps what it is told, until it is told to close."""
    uids = (f"uid-x{number}" for number in range(50))
    log = Log.open(where, clock=lambda: datetime.now(UTC), new_uid=lambda: next(uids))
    while (name := told.recv()) != "close":
        try:
            keep(log, name)
            told.send("kept")
        except LogError as refused:
            told.send(f"refused: {refused.line()}")
    log.close()
    told.send("closed")


def keep(log: Log, *names: str) -> None:
    for name in names:
        with log.writing() as writer:
            writer.set_setting(name, "kept")


def names_in(where: Path) -> set[str]:
    log = opened(where)
    try:
        with log.reading() as reader:
            return {name for name, value in reader.settings().items() if value == "kept"}
    finally:
        log.close()


def sound(where: Path) -> bool:
    with closing(sqlite3.connect(f"{where.as_uri()}?mode=ro", uri=True)) as raw:
        return raw.execute("PRAGMA integrity_check").fetchall() == [("ok",)]


def checked(where: Path, *, accept: bool = True) -> bool:
    """`accept`: it may be older than what this machine has seen there."""
    with closing(opened(where)) as log:
        return log.check(accept=accept).ok


@pytest.fixture
def where(made: Path, tmp_path: Path) -> Path:
    """A log with some jobs, closed, and beside it a copy from before the last entries, `old.finishlog`."""
    shutil.copytree(made, tmp_path, dirs_exist_ok=True)
    return tmp_path / "shop.finishlog"


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Both, made once."""
    folder = tmp_path_factory.mktemp("shop")
    log = created(folder / "shop.finishlog")
    with log.writing() as writer:
        for number in range(60):
            writer.add_job(NewJob(f"patio {number}", NewCustomer(f"Bo {number}"), NewSite("s" * 200)))
    log.backup(folder / "old.finishlog")
    keep(log, "before")
    with log.writing() as writer:
        for number in range(60, 200):
            writer.add_job(NewJob(f"wall {number}", NewCustomer(f"Di {number}"), NewSite("t" * 200)))
    log.close()
    return folder


def over_it(where: Path) -> None:
    os.replace(shutil.copy(where.with_name("old.finishlog"), where.with_name("new")), where)


def in_place(where: Path) -> None:
    shutil.copyfile(where.with_name("old.finishlog"), where)


def another_log(where: Path) -> None:
    created(where.with_name("other.finishlog")).close()
    os.replace(where.with_name("other.finishlog"), where)


def moved(where: Path) -> None:
    os.rename(where, where.with_name("moved.finishlog"))


def removed(where: Path) -> None:
    where.unlink()


GONE = [moved, removed]
REPLACED = [over_it, in_place, another_log]


@pytest.mark.parametrize("change", [*REPLACED, *GONE])
def test_six_entries_after_it_are_refused(where: Path, change: Callable[[Path], None]) -> None:
    log = opened(where)
    keep(log, "open")
    change(where)
    there = where.exists()
    for number in range(6):
        with pytest.raises(LogError, match=STILL) as refused:
            keep(log, f"lost {number}")
        assert "\n" not in refused.value.line()
        assert "Nothing was written" in refused.value.line()
    with pytest.raises(LogError, match=STILL), log.reading():
        pass
    with pytest.raises(LogError, match=STILL):
        log.backup(where.with_name("copy.finishlog"))
    log.close()
    assert where.exists() == there
    if there:
        assert sound(where)
        assert names_in(where) == set()  # as it came: the entries of the other are not in it
        assert sound(where)
        assert checked(where)


@pytest.mark.parametrize("change", [over_it, another_log, moved, removed])
def test_what_was_kept_before_is_written_beside_it(where: Path, change: Callable[[Path], None]) -> None:
    """The file is gone or elsewhere without its -wal, but the open program still has all of it."""
    log = opened(where)
    keep(log, "open")
    change(where)
    with pytest.raises(LogError) as refused:
        keep(log, "lost")
    with pytest.raises(LogError) as again:
        keep(log, "lost")
    assert again.value.line() == refused.value.line()
    log.close()
    (kept,) = where.parent.glob("shop.as-it-was-*.finishlog")
    assert kept.name in refused.value.line()
    assert names_in(kept) == {"before", "open"}
    assert checked(kept)


@pytest.mark.parametrize("change", [*REPLACED, *GONE])
def test_another_program_writes_on(where: Path, change: Callable[[Path], None]) -> None:
    """What an open program was told is kept is in the old file or beside it; the new file is never touched."""
    forked = get_context("fork")
    ours, theirs = forked.Pipe()
    program = forked.Process(target=writes_on, args=(where, theirs))
    program.start()
    theirs.close()

    def tell(name: str) -> str:
        ours.send(name)
        assert ours.poll(60)
        return str(ours.recv())

    assert tell("a") == "kept"
    change(where)
    if where.exists():
        with pytest.raises(LogError, match="Another program still has") as busy:
            opened(where)
        assert "Close it" in busy.value.line()
    assert all(STILL in tell(f"lost {number}") for number in range(6))
    assert tell("close") == "closed"
    program.join(10)
    assert program.exitcode == 0
    if where.exists():
        assert names_in(where) == set()
        assert sound(where)
    kept = list(where.parent.glob("shop.as-it-was-*.finishlog"))
    if change is not in_place:  # there the content itself is gone
        assert [names_in(each) for each in kept] == [{"before", "a"}]


def killed_after(where: Path, *names: str) -> None:
    """A program keeps these and is killed: its last entries stand in the -wal alone."""
    child = os.fork()
    if child == 0:
        try:
            uids = (f"uid-k{number}" for number in range(50))
            log = Log.open(where, clock=lambda: datetime.now(UTC), new_uid=lambda: next(uids))
            keep(log, *names)
            os.kill(os.getpid(), signal.SIGKILL)
        finally:
            os._exit(1)
    assert os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == -signal.SIGKILL


@pytest.mark.parametrize("change", REPLACED)
def test_a_wal_of_another_file_is_set_aside(where: Path, change: Callable[[Path], None]) -> None:
    """The last backup put in the place of a log whose program was killed, as anybody would."""
    killed_after(where, "killed", "killed too")
    wal = Path(f"{where}-wal").read_bytes()
    change(where)
    log = opened(where)
    (note,) = log.notices
    log.close()
    (aside,) = where.parent.glob("shop.finishlog.set-aside-*")
    assert aside.name in note
    assert aside.read_bytes() == wal
    assert names_in(where) == set()
    assert sound(where)
    assert checked(where)
    with closing(opened(where)) as again:
        assert again.notices == ()


@pytest.mark.parametrize("rounds", [2, pytest.param(4, marks=pytest.mark.long)])
def test_the_wal_of_the_log_itself_is_read(where: Path, rounds: int) -> None:
    """After a kill, again and again, and after the whole folder was copied elsewhere."""
    expected = {"before"}
    for number in range(rounds):
        killed_after(where, *(names := [f"{number} {each}" for each in "abc"]))
        expected |= set(names)
        assert Path(f"{where}-wal").stat().st_size
        other = where.parent / f"other {number}"
        other.mkdir()
        for file in where.parent.glob("shop.finishlog*"):
            if file.is_file():
                shutil.copy(file, other)
        assert names_in(other / where.name) == expected
        if number != rounds - 2:  # one is read while nobody has merged it
            assert names_in(where) == expected
    assert not list(where.parent.rglob("*set-aside*"))


def test_a_copy_made_meanwhile_takes_the_wal_that_follows_it(where: Path) -> None:
    """A backup of this very state, put back under a -wal that goes on from it: nothing is lost."""
    log = opened(where)
    log.backup(where.with_name("now.finishlog"))
    log.close()
    killed_after(where, "x", "y")
    os.replace(where.with_name("now.finishlog"), where)
    assert names_in(where) == {"before", "x", "y"}
    assert sound(where)


def test_two_logs_that_went_on_from_one_are_not_mixed(where: Path) -> None:
    twin = where.with_name("twin.finishlog")
    shutil.copy(where, twin)
    killed_after(where, "a1", "a2", "a3")
    killed_after(twin, "b1", "b2", "b3")
    assert checked(twin)
    log = opened(twin)
    keep(log, "b4")
    log.close()
    os.replace(twin, where)
    assert names_in(where) == {"before", "b1", "b2", "b3", "b4"}
    assert sound(where)


def test_once_the_right_file_is_back_all_goes_on(where: Path) -> None:
    log = opened(where)
    keep(log, "open")
    for change, back in (
        (moved, lambda: os.rename(where.with_name("moved.finishlog"), where)),
        (in_place, lambda: shutil.copyfile(where.with_name("kept"), where)),
    ):
        shutil.copyfile(where, where.with_name("kept"))
        change(where)
        with pytest.raises(LogError, match=STILL):
            keep(log, "lost")
        back()
        keep(log, f"after {change.__name__}")
        with log.reading() as reader:
            assert reader.count() == 200
    log.close()
    assert names_in(where) == {"before", "open", "after moved", "after in_place"}
    assert sound(where)


def test_replaced_in_the_midst_of_a_write(where: Path) -> None:
    for change in (in_place, over_it):
        log = opened(where)
        with pytest.raises(LogError, match=STILL), log.writing() as writer:  # noqa: PT012
            writer.set_setting("midst", "kept")
            change(where)
        log.close()
        assert sound(where)
        assert "midst" not in names_in(where)


def test_a_wal_removed_under_an_open_log(where: Path) -> None:
    """What is written then would stand in a file without a name."""
    log = opened(where)
    keep(log, "open")
    Path(f"{where}-wal").unlink()
    with pytest.raises(LogError, match=STILL) as refused:
        keep(log, "lost")
    assert "-wal" in refused.value.cause
    log.close()
    assert names_in(where) == {"before", "open"}
    assert sound(where)


def test_an_idle_log_and_many_writers_are_no_strangers(where: Path) -> None:
    """Merging the -wal moves the header again and again, by this program and by others."""
    one, two = opened(where), opened(where)
    big = "x" * 40_000
    for number in range(150):
        for log in (one, two):
            with log.writing() as writer:
                writer.set_setting(f"{number % 7}", big)
            with log.reading() as reader:
                assert reader.settings()[f"{number % 7}"] == big
    one.close()
    keep(two, "end")
    two.close()
    assert "end" in names_in(where)


def test_a_unit_of_work_that_wrote_nothing_changes_nothing(where: Path) -> None:
    """Nothing is counted as a change of the log that changed nothing."""
    log = opened(where)
    before = where.read_bytes()
    with log.writing():
        pass
    log.close()
    assert where.read_bytes() == before


@pytest.mark.parametrize("how", REPLACED)
def test_the_copy_of_the_day_and_an_archive_leave_what_came_in_place_whole(
    where: Path, how: Callable[[Path], None]
) -> None:
    """Each opens the log by its name: the -wal of the log from before is not its."""
    log = opened(where)
    with log.writing() as writer:
        for number in range(40):
            writer.add_job(NewJob(f"path {number}", NewCustomer(f"Al {number}"), NewSite("u" * 200)))
    how(where)
    with pytest.raises(LogError):
        copies.keep(where, where.parent / "copies", date(2026, 6, 16))
    with pytest.raises(LogError):
        zipped.pack(where, where.with_name("drawer.zip"))
    log.close()
    assert sound(where)
    assert checked(where)
