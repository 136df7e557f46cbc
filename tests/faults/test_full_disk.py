"""A disk that takes no more is called full, by every command that writes; the log is sound, nothing is half-made."""

from __future__ import annotations

import os
import resource
import shutil
import signal
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

import pytest

import finishlog
from finishlog.errors import LogError
from finishlog.store.disk import files
from finishlog.store.engine import sqlite
from finishlog.store.engine.header import APPLICATION_ID
from tests.desk.photo_making import jpeg

JOB = "mumblethorpe-porch"
SHEET = "customer,job,street,poured_on,yards,base,dose\n" + "".join(
    f"Hollis Numbletoft {n},back patio,{n} Snail Stair,2025-06-16,6.75,Wednesday Toast,7 lb/yd3\n"
    for n in range(30)
)
COMMANDS = {
    "new": ("--log", "new.finishlog", "new"),
    "record": ("--log", "demo.finishlog", "record", JOB, "note", "--note", "x" * 3000),
    "photo": ("--log", "demo.finishlog", "photo", JOB, "slab.jpg", "--taken", "unknown"),
    "import": ("--log", "demo.finishlog", "import", "pours.csv"),
    "backup": ("--log", "demo.finishlog", "backup", "copy.finishlog"),
    "export": ("--log", "demo.finishlog", "export", "out"),
    "import --new": ("--log", "again.finishlog", "import", "given", "--new"),
    "sheet": ("--log", "demo.finishlog", "sheet", JOB, "history", "--pdf", "history.pdf"),
    "care": (
        "--log",
        "demo.finishlog",
        "care",
        "--by",
        "2030-01-01",
        "--letters",
        "letters.pdf",
        "--csv",
        "care.csv",
    ),
    "upgrade": ("--log", "old.finishlog", "find"),
    "demo": ("demo", "--into", "invented.finishlog"),
}
SIDE = ("-wal", "-shm")


@contextmanager
def no_file_over(size: int) -> Iterator[None]:
    """As on a full disk, a write beyond it fails; the signal is ignored, so the program goes on.

    Python 3.11 would keep what it compiles meanwhile, cut off in its middle.
    """
    sys.dont_write_bytecode = True
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    ignored = signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, before[1]))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)
        signal.signal(signal.SIGXFSZ, ignored)
        sys.dont_write_bytecode = False


@pytest.fixture
def folder(demo: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "slab.jpg").write_bytes(jpeg())
    (tmp_path / "pours.csv").write_text(SHEET)
    return tmp_path


def prepared(finishlog: Any, folder: Path, command: str) -> None:
    if command == "import --new":
        assert finishlog("--log", "demo.finishlog", "export", "given").status == 0
    if command == "upgrade":
        released = Path(__file__).parents[1] / "migrations" / "released" / "0003.sql"
        with closing(sqlite3.connect(folder / "old.finishlog")) as old:
            old.executescript(released.read_text())
            old.execute(f"PRAGMA application_id={APPLICATION_ID}")
            old.execute("PRAGMA journal_mode=WAL")


def names(folder: Path) -> set[str]:
    return {
        str(path.relative_to(folder))
        for path in folder.rglob("*")
        if not path.name.endswith(SIDE) and not path.is_relative_to(folder / "homes")
    }


def tried(finishlog: Any, folder: Path, command: str, size: int) -> bool:
    """Whether it went through. If not: one line, exit status 3, all as it was."""
    before = names(folder)
    with no_file_over(size):
        ran = finishlog(*COMMANDS[command])
    if ran.status == 0:
        return True
    assert ran.status == 3, (size, ran)
    assert len(ran.err.splitlines()) == 1, (size, ran)
    assert "read-only" not in ran.err
    assert names(folder) == before, (size, ran)
    checked = finishlog("--log", "demo.finishlog", "check")
    assert checked.status == 0, (size, checked)
    return False


@pytest.mark.parametrize("command", ["new", "record", "export", "sheet"])
def test_a_full_disk_is_called_full(finishlog: Any, folder: Path, command: str) -> None:
    prepared(finishlog, folder, command)
    with no_file_over(1000):
        ran = finishlog(*COMMANDS[command])
    assert ran.status == 3
    assert any(word in ran.err for word in ("The disk is full", "The file is too large for this disk")), (
        ran.err
    )
    assert "Free some space" in ran.err
    assert not tried(finishlog, folder, command, 0)


def test_a_folder_of_others_is_still_called_read_only(demo: str, tmp_path: Path) -> None:
    """The disk has room, so the folder is what is wrong."""
    assert not files.has_no_room(tmp_path)
    assert not files.has_no_room(tmp_path / "not there")
    log = sqlite3.connect(sqlite.uri(Path(demo), "ro"), uri=True)
    with closing(log), pytest.raises(LogError, match="Cannot write the log"), sqlite.told(Path(demo)):
        log.execute("DELETE FROM draft")
    with no_file_over(1000):
        assert files.has_no_room(tmp_path)


@pytest.mark.long
@pytest.mark.parametrize("command", COMMANDS)
def test_a_disk_that_fills_at_each_write(finishlog: Any, folder: Path, command: str) -> None:
    prepared(finishlog, folder, command)
    sizes = [
        0,
        1,
        500,
        *(4096 * n // 2 for n in (1, 2, 3, 5, 8, 16, 17, 24, 33, 48, 80, 120, 200, 320, 460, 600)),
    ]
    if not any(tried(finishlog, folder, command, size) for size in sizes):  # up to the first that does
        assert finishlog(*COMMANDS[command]).status == 0
    ran = finishlog("--log", "demo.finishlog", "check")
    assert ran.status == 0, ran


DISK = """
mount -t tmpfs -o size=2m tmpfs "$1" && cp -r "$2" "$2.files" "$1" && cd "$1"
head -c 3000000 /dev/zero > rest 2>/dev/null
"$3" -m finishlog --log demo.finishlog record mumblethorpe-porch note --note wet; echo "status $?"
"$3" -m finishlog --log demo.finishlog find mumblethorpe; echo "status $?"
"$3" -m finishlog new other.finishlog; echo "status $?"
rm rest; ls -A
"$3" -m finishlog --log demo.finishlog check; echo "status $?"
"""


@pytest.mark.long
def test_a_real_disk_that_is_full(demo: str, tmp_path: Path) -> None:
    """A disk in memory, seen by this test alone."""
    if (
        not shutil.which("unshare")
        or subprocess.run(["unshare", "-rm", "true"], capture_output=True).returncode
    ):
        pytest.skip("this machine lends nobody a disk of his own")
    (tmp_path / "disk").mkdir()
    environment = {
        **os.environ,
        "FINISHLOG_NOW": "2026-06-17",  # after the demo's last entry: a clock behind it is doubted first
        "PYTHONPATH": str(Path(finishlog.__file__).parents[1]),
    }
    told = ["unshare", "-rm", "sh", "-c", DISK, "sh", str(tmp_path / "disk"), demo, sys.executable]
    ran = subprocess.run(told, capture_output=True, text=True, env=environment)
    assert ran.stderr.count("The disk is full") == 2, ran
    assert "read-only" not in ran.stderr
    statuses = [line for line in ran.stdout.splitlines() if line.startswith("status")]
    assert statuses == ["status 3", "status 0", "status 3", "status 0"], ran
    assert "other.finishlog" not in ran.stdout
