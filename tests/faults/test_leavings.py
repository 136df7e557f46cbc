"""Killed at any call, a log, copy or export is there whole with its files or not at all, and a retry makes it."""

import os
import random
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from itertools import count
from pathlib import Path
from typing import NoReturn

import pytest

from finishlog.errors import LogError
from finishlog.records.writing import NewCustomer, NewEntry, NewFile, NewJob, NewSite
from finishlog.store import Log
from finishlog.store.archive import export
from finishlog.store.archive.copying import copy_to
from finishlog.store.disk import leavings
from finishlog.store.disk.files import built_beside

NOW = datetime(2025, 5, 14, 13, 30, tzinfo=UTC)
TICKET = b"T-1029, 5 1/2 yd\n"
Make = Callable[[Path], None]
CALLS = (
    "open",
    "os.mkdir",
    "os.rename",
    "os.link",
    "os.remove",
    "os.rmdir",
    "os.truncate",
    "sqlite3.connect",
)
"""What a program does to a disk, as the interpreter reports it before it is done."""


@pytest.fixture
def source(tmp_path: Path) -> Path:
    """A log with one job and one file."""
    ticket = tmp_path / "ticket.txt"
    ticket.write_bytes(TICKET)
    where = tmp_path / "source.finishlog"
    _create(where, ticket)
    return where


def _create(where: Path, ticket: Path) -> None:
    def fill(log: Log) -> None:
        with log.writing() as writer:
            writer.add_job(NewJob("patio", NewCustomer("Bo"), NewSite("s"), handle="patio"))
            writer.add_entry("patio", NewEntry("note", NOW, files=(NewFile(ticket),)))

    uids = count()
    Log.create(where, clock=lambda: NOW, new_uid=lambda: f"u{next(uids)}", fill=fill).close()


def _open(where: Path) -> Log:
    return Log.open(where, clock=lambda: NOW, new_uid=lambda: "x")


def killed_at(number: int, make: Make, target: Path) -> bool:
    """Whether the program that made it was killed at its call of that number: at once, without any cleaning up."""
    child = os.fork()
    if child == 0:
        left = iter(range(number))

        def die(event: str, _: object) -> None:
            if event in CALLS and next(left, None) is None:
                os.kill(os.getpid(), signal.SIGKILL)

        sys.addaudithook(die)
        try:
            make(target)
        finally:
            os._exit(0)
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == -signal.SIGKILL


def killed_at_each(make: Make, folder: Path, some: int | None = None) -> Iterator[Path]:
    """A target for each call at which its maker was killed; the last and `some` others, from a seed, if given."""
    folder.mkdir()
    last = calls_of(make, folder / "all")
    numbers = range(last - 1)
    for number in (*(numbers if some is None else random.Random(1).sample(numbers, some)), last - 1):
        target = folder / f"at-{number}" / "shop.finishlog"
        target.parent.mkdir()
        if killed_at(number, make, target):
            yield target


def calls_of(make: Make, target: Path) -> int:
    """How many calls a maker makes."""
    read, write = os.pipe()
    if os.fork() == 0:
        sys.addaudithook(lambda event, _: event in CALLS and os.write(write, b".") and None)
        try:
            make(target)
        finally:
            os._exit(0)
    os.wait()
    os.close(write)
    with os.fdopen(read, "rb") as made:
        return len(made.read())


def bare(target: Path) -> None:
    """The least that a maker does: a log's bytes, and a file beside them."""
    with built_beside(target, "log") as part:
        part.write_bytes(b"log")
        Path(f"{part}.files", "ab").mkdir(parents=True)
        Path(f"{part}.files", "ab", "abc").write_bytes(TICKET)


@pytest.mark.parametrize("some", [5, pytest.param(None, marks=pytest.mark.long)])
@pytest.mark.parametrize("links", [True, False])
def test_killed_at_each_call_there_is_all_or_nothing_and_a_retry_makes_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, links: bool, some: int | None
) -> None:
    """Also on a disk without hard links."""
    if not links:
        monkeypatch.setattr(os, "link", _no_links)
    seen = set()
    for target in killed_at_each(bare, tmp_path / "tries", some):
        whole = target.exists() and target.read_bytes() == b"log"
        if whole:
            assert Path(f"{target}.files", "ab", "abc").read_bytes() == TICKET
            target.rename(target.parent / "moved")  # what got its name is never swept, wherever it goes
            leavings.sweep(target)
            assert Path(f"{target}.files", "ab", "abc").read_bytes() == TICKET
        else:
            bare(target)
            assert target.read_bytes() == b"log"
        seen.add(whole)
        leavings.sweep(target)
        assert leavings.leavings(target) == []
        assert [path.name for path in target.parent.rglob(".*")] == []
    assert seen == {True, False}


def _no_links(*_: object) -> NoReturn:
    raise PermissionError("no hard links here")


def _whole(where: Path) -> None:
    log = _open(where)
    checked = log.check()
    assert checked.problems == ()
    assert checked.notes == () or "SQLite" in checked.notes[0]
    with log.reading() as reader:
        (entry,) = reader.job("patio").entries
        assert log.file_path(entry.files[0].sha256).read_bytes() == TICKET
    log.close()


def _tried_again(make: Make, tries: Iterator[Path]) -> None:
    for target in tries:
        if not target.exists():
            make(target)
        _whole(target)
        assert list(target.parent.rglob(".*")) == []


@pytest.fixture(params=["backup", "copy", "create", "restore"])
def make(request: pytest.FixtureRequest, source: Path, tmp_path: Path) -> Make:
    """What makes a log: a backup, a copy, one that is filled as it is made, one out of an export."""
    log = _open(source)
    export.dump(log, tmp_path / "exported")
    log.close()

    def backup(target: Path) -> None:
        log = _open(source)
        log.backup(target)
        log.close()

    def copy(target: Path) -> None:
        log = _open(source)
        copy_to(log, target)
        log.close()

    makers: dict[str, Make] = {
        "backup": backup,
        "copy": copy,
        "create": lambda target: _create(target, tmp_path / "ticket.txt"),
        "restore": lambda target: export.restore(tmp_path / "exported", target) and None,
    }
    return makers[request.param]


def test_a_killed_maker_leaves_a_whole_log_or_none(make: Make, tmp_path: Path) -> None:
    _tried_again(make, killed_at_each(make, tmp_path / "tries", 1))


def test_killed_where_its_files_have_their_name_and_it_has_not_the_same_again_makes_it(
    make: Make, tmp_path: Path
) -> None:
    target = tmp_path / "elsewhere" / "new.finishlog"  # whoever opens the other log sweeps beside it
    target.parent.mkdir()
    if os.fork() == 0:
        os.link = lambda *_: os._exit(9)  # type: ignore[assignment]
        try:
            make(target)
        finally:
            os._exit(0)
    assert os.waitstatus_to_exitcode(os.wait()[1]) == 9
    assert Path(f"{target}.files").exists()
    _tried_again(make, iter([target]))


@pytest.mark.long
def test_a_maker_killed_at_each_call(make: Make, tmp_path: Path) -> None:
    _tried_again(make, killed_at_each(make, tmp_path / "tries"))


HELD = """
import sys, time
from pathlib import Path
from finishlog.store.disk.files import built_beside
with built_beside(Path(sys.argv[1]), "log") as part:
    part.write_bytes(b"theirs")
    print(part, flush=True)
    sys.stdin.read()
"""


def test_what_a_living_program_makes_is_not_swept_and_what_a_killed_one_made_is(tmp_path: Path) -> None:
    target = tmp_path / "shop.finishlog"
    with subprocess.Popen(
        [sys.executable, "-c", HELD, target], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    ) as other:
        assert other.stdout is not None
        part = Path(other.stdout.readline().strip())
        assert (leavings.leavings(target), leavings.sweep(target), part.read_bytes()) == ([], 0, b"theirs")
        other.kill()
        other.wait()
        assert leavings.leavings(target) == [part.parent]
        assert (leavings.sweep(target), list(tmp_path.iterdir())) == (1, [])


@pytest.mark.parametrize(
    "name", ["shop.finishlog", "shop.finishlog.files", "shop.before-upgrade-0002.finishlog"]
)
def test_what_older_versions_left_is_swept_after_a_day(tmp_path: Path, name: str) -> None:
    log, part = tmp_path / "shop.finishlog", tmp_path / f".{name[:40]}.ab12cd3_.part"
    part.write_bytes(b"half")
    others = tmp_path / ".other.finishlog.ab12cd3_.part"
    others.write_bytes(b"half")
    assert leavings.sweep(log) == 0
    for path in (part, others):
        os.utime(path, (time.time() - 2 * leavings.OLD_S,) * 2)
    assert leavings.leavings(log) == [part]
    assert leavings.sweep(log) == 1
    assert list(tmp_path.iterdir()) == [others]


def test_opening_sweeps(source: Path) -> None:
    half = Path(f"{source}.files", ".new-ab12cd3_.part")
    half.write_bytes(b"half a photo")
    _open(source).close()
    assert half.exists()  # a photo may be coming in right now
    os.utime(half, (time.time() - 2 * leavings.OLD_S,) * 2)
    _open(source).close()
    assert not half.exists()


def test_a_folder_of_files_of_no_log_is_left_alone(tmp_path: Path, source: Path) -> None:
    """Only what was marked as half-made is swept: photos whose log is elsewhere are somebody's."""
    target = tmp_path / "copy.finishlog"
    Path(f"{target}.files").mkdir()
    Path(f"{target}.files", "kept").write_bytes(b"somebody's")
    log = _open(source)
    with pytest.raises(LogError, match="already exists"):
        log.backup(target)
    log.close()
    assert Path(f"{target}.files", "kept").read_bytes() == b"somebody's"
