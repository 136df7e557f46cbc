"""Another program at work on an open log is no fault of the log, and loses nothing by it."""

import fcntl
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from threading import Event, Thread

import pytest

from finishlog.desk.exchange import exchange
from finishlog.errors import InputError
from finishlog.papers import files
from finishlog.store.disk import attachments, held, switching
from finishlog.store.engine import wal
from finishlog.store.engine.salvage.pages import Pages
from tests.faults.test_log_files import created, opened

BULK = """
import sqlite3, sys
from finishlog.store.engine.wal import next_stamp

def unit(name):
    raw.execute("BEGIN IMMEDIATE")
    for number in range(900):
        raw.execute("INSERT INTO setting VALUES (?, ?, '2026-06-16T12:00:00.000000Z')",
                    (f"{name} {number}", "x" * 3000))
    before = raw.execute("PRAGMA user_version").fetchone()[0]
    raw.execute(f"PRAGMA user_version={next_stamp(before)}")

raw = sqlite3.connect(sys.argv[1], isolation_level=None)
raw.execute("PRAGMA cache_size=50")
unit("one")
raw.execute("COMMIT")
raw.execute("PRAGMA wal_checkpoint")
unit("two")
print("half of it is in the new filling", flush=True)
sys.stdin.readline()
raw.execute("COMMIT")
print("kept", flush=True)
sys.stdin.readline()
"""


@contextmanager
def bulk(where: Path) -> Iterator[subprocess.Popen[str]]:
    """Another program that merged the -wal, and is in the middle of the next large write."""
    command = [sys.executable, "-c", BULK, str(where)]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as other:
        assert other.stdout is not None
        assert other.stdout.readline().startswith("half")
        yield other


def test_a_large_write_of_another_program_is_not_a_replaced_log(tmp_path: Path) -> None:
    where = tmp_path / "shop.finishlog"
    created(where).close()
    log = opened(where)
    uid = log.identity()
    with bulk(where) as other:
        assert log.identity() == uid
        log.close()  # emptied the -wal that the other was filling
        said, _ = other.communicate("\n\n")
    assert "kept" in said
    with closing(sqlite3.connect(where)) as raw:
        assert raw.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        assert raw.execute("SELECT count(*) FROM setting WHERE key LIKE 'two %'").fetchone() == (900,)
    assert not list(tmp_path.glob("*set-aside*"))


def test_a_log_changed_by_a_database_tool_meanwhile_goes_on(tmp_path: Path) -> None:
    """Its units have no stamp; the first of ours after it tells whose the -wal is."""
    where = tmp_path / "shop.finishlog"
    created(where).close()
    with closing(opened(where)) as log, closing(sqlite3.connect(where)) as tool:
        log.identity()
        tool.execute("UPDATE setting SET value = value")
        tool.execute("INSERT INTO setting VALUES ('by hand', 'x', '2026-06-16T12:00:00.000000Z')")
        tool.commit()
        with log.writing() as writer:
            writer.set_setting("ours", "kept")
        assert wal.is_its_own(where)
        opened(where).close()


OTHER = (
    "import sqlite3, sys; raw = sqlite3.connect(sys.argv[1]); raw.execute('SELECT 1 FROM job'); raw.close()"
)


def as_photo(where: Path) -> None:
    with attachments.reading(where):
        pass


def as_paper_log(where: Path) -> None:
    exchange._text_of(where)


def as_target(where: Path) -> None:
    files.check(str(where), force=True)


@pytest.mark.parametrize("named", [as_photo, as_paper_log, as_target])
def test_an_open_log_named_as_another_file_keeps_its_locks(
    tmp_path: Path, named: Callable[[Path], None]
) -> None:
    """Closing any handle of a file gives up all locks on it: then the next program takes the -wal away."""
    where = tmp_path / "shop.finishlog"
    created(where).close()
    with closing(opened(where)) as log:
        log.identity()
        with pytest.raises(InputError):
            named(where)
        subprocess.run([sys.executable, "-c", OTHER, str(where)], check=True)
        assert wal.wal_of(where).exists()
        with log.writing() as writer:
            writer.set_setting("ours", "kept")


def test_what_is_being_written_as_the_log_is_closed_is_kept(tmp_path: Path) -> None:
    """A worker may still be at it as the screens close: its locks stay until it is done."""
    where = tmp_path / "shop.finishlog"
    created(where).close()
    log = opened(where)
    with log.writing() as writer:
        writer.set_setting("ours", "kept")
        log.close()
        subprocess.run([sys.executable, "-c", OTHER, str(where)], check=True)
        assert wal.wal_of(where).exists()
    log.close()
    with closing(opened(where)) as log, log.reading() as reader:
        assert reader.settings()["ours"] == "kept"
    assert not held.is_held(where)


def test_who_waited_for_a_switch_does_not_do_it_once_more(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Meanwhile the next restore has decided its own: the moves of before would take its log."""
    target = tmp_path / "shop.finishlog"
    target.write_text("first")
    coming = tmp_path / "coming"
    coming.write_text("second, not decided yet")
    marker = switching.marker_of(target)
    marker.write_text('[["coming", "shop.finishlog"]]')
    with marker.open("r+") as file:
        lock, asked = fcntl.flock, Event()
        lock(file, fcntl.LOCK_EX)

        def asks(handle: int, how: int) -> None:
            asked.set()  # the marker is open by now
            lock(handle, how)

        monkeypatch.setattr(fcntl, "flock", asks)
        waiting = Thread(target=switching.finish, args=(target,))
        waiting.start()
        assert asked.wait(60)
        marker.unlink()
        marker.write_text("[]")
    waiting.join()
    assert target.read_text() == "first"
    assert marker.read_text() == "[]"


def test_a_rescue_leaves_the_entries_of_another_log_out(tmp_path: Path) -> None:
    where, other = tmp_path / "shop.finishlog", tmp_path / "other.finishlog"
    for path in (where, other):
        created(path).close()
        with closing(opened(path)) as log, log.writing() as writer:
            writer.set_setting("of", path.stem)
    with closing(opened(other)) as log:
        with log.writing() as writer:
            writer.set_setting("of", "another")
        shutil.copy(wal.wal_of(other), wal.wal_of(where))
    assert Pages(where).newer == {}
    wal.wal_of(where).unlink()
    with closing(opened(where)) as log:
        with log.writing() as writer:
            writer.set_setting("of", "its own")
        assert Pages(where).newer
