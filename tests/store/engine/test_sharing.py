"""Several threads and programs on one log: nothing lost, nothing torn, nobody waits in silence."""

import shutil
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

import pytest

from finishlog.errors import LogError
from finishlog.records.writing import NewCustomer, NewJob, NewSite
from finishlog.store import Log
from finishlog.store.engine import sqlite, turns
from finishlog.store.log import Log as RealLog

MORNING = datetime(2025, 5, 14, 13, 30, tzinfo=UTC)
JOB = NewJob("patio", NewCustomer("Bo"), NewSite("s"))


def test_no_update_is_lost_between_threads(log: Log) -> None:
    """Trap 7: read, then write what was read. The default driver mode loses most of these."""
    with log.writing() as writer:
        writer.set_setting("count", "0")

    def count_up() -> None:
        for _ in range(25):
            with log.writing() as writer:
                writer.set_setting("count", str(int(writer.settings()["count"]) + 1))

    threads = [threading.Thread(target=count_up) for _ in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    with log.reading() as reader:
        assert reader.settings()["count"] == "150"


def test_a_reading_sees_one_moment(log: Log) -> None:
    with log.reading() as reader:
        assert reader.count() == 0
        with log.writing() as writer:
            writer.add_job(JOB)
        assert reader.count() == 0
    with log.reading() as reader:
        assert reader.count() == 1


def test_a_commit_is_synced(log: Log) -> None:
    """synchronous=FULL (2) and WAL: a commit that was acknowledged outlives a power cut."""
    with log._connection(write=True) as connection:
        assert connection.exec_driver_sql("PRAGMA synchronous").scalar_one() == 2
        assert connection.exec_driver_sql("PRAGMA journal_mode").scalar_one() == "wal"
        assert connection.exec_driver_sql("PRAGMA foreign_keys").scalar_one() == 1


def test_a_long_wait_is_told_and_then_succeeds(
    log: Log, ticking: object, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(turns, "TELL_EVERY_S", 0.01)
    with closing(sqlite.open_raw(log.where, "rw")) as other:
        other.execute("BEGIN IMMEDIATE")

        def let_go() -> None:
            words.append("waiting")
            if len(words) == 3:
                other.execute("ROLLBACK")

        words: list[str] = []
        waiting = ticking.open(log.where, on_wait=let_go)  # type: ignore[attr-defined]
        with waiting.writing() as writer:
            writer.add_job(JOB)
    assert words == ["waiting"] * 3


def test_whoever_waits_may_end_it(log: Log, ticking: object) -> None:
    class Enough(Exception):
        pass

    def end() -> None:
        words.append("waiting")
        if len(words) == 2:
            raise Enough

    words: list[str] = []
    waiting = ticking.open(log.where, on_wait=end)  # type: ignore[attr-defined]
    with closing(sqlite.open_raw(log.where, "rw")) as other:
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(Enough), waiting.writing() as writer:
            writer.add_job(JOB)
    with waiting.writing() as writer:  # and the log is as good as before
        assert writer.count() == 0
        writer.add_job(JOB)


def test_a_lock_that_stays_is_a_log_error(log: Log, ticking: object, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(turns, "TELL_EVERY_S", 0.02)
    words: list[str] = []
    waiting = ticking.open(log.where, on_wait=lambda: words.append("waiting"), give_up_after_s=0.1)  # type: ignore[attr-defined]
    with closing(sqlite.open_raw(log.where, "rw")) as other:
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(LogError, match="in use") as error, waiting.writing() as writer:
            writer.add_job(JOB)
        assert str(log.where) in error.value.line()
        with waiting.reading() as reader:  # a writer keeps nobody from reading
            assert reader.count() == 0
    assert 2 <= len(words) <= 6
    with waiting.writing() as writer:
        writer.add_job(JOB)


def test_a_backup_of_a_live_log_has_what_a_copy_of_its_file_has_not(
    log: Log, ticking: object, tmp_path: Path
) -> None:
    """Trap 9: committed rows stand in the -wal file until a checkpoint."""
    with log.writing() as writer:
        writer.add_job(JOB)
    bare = tmp_path / "bare.finishlog"
    shutil.copy(log.where, bare)
    log.backup(tmp_path / "backup.finishlog")
    counts = []
    for path in (bare, tmp_path / "backup.finishlog"):
        with ticking.open(path).reading() as reader:  # type: ignore[attr-defined]
            counts.append(reader.count())
    assert counts == [0, 1]
    assert ticking.logs[-1].check().ok  # type: ignore[attr-defined]


def test_a_backup_never_overwrites(log: Log, tmp_path: Path) -> None:
    target = tmp_path / "backup"
    target.write_bytes(b"precious")
    with pytest.raises(LogError, match="already exists"):
        log.backup(target)
    with pytest.raises(LogError, match="already exists"):
        log.backup(Path(log.where))
    with pytest.raises(LogError, match="cannot be made"):
        log.backup(tmp_path / "No such folder" / "backup")
    assert target.read_bytes() == b"precious"
    assert [path.name for path in tmp_path.iterdir() if path.name.endswith(".part")] == []


def test_reading_stays_light(log: Log) -> None:
    """The first rows need neither the mapped tables nor Alembic, colour or pydantic."""
    with log.writing() as writer:
        writer.add_job(JOB)
    heavy = ["sqlalchemy.orm", "alembic", "colour", "numpy", "pydantic", "rapidfuzz"]
    code = (
        "import sys, finishlog.store as s; assert 'sqlalchemy' not in sys.modules\n"
        f"log = s.Log.open({str(log.where)!r}, clock=None, new_uid=None)\n"
        "with log.reading() as r: r.lines(limit=50), r.lines(words='patio'), r.count(), r.shop()\n"
        f"print([name for name in {heavy} if name in sys.modules])"
    )
    found = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert found.stdout.strip() == "[]"


def test_the_package_gives_what_it_promises() -> None:
    import finishlog.store

    assert finishlog.store.Log is RealLog
    assert {finishlog.store.Reader.__name__, finishlog.store.Writer.__name__} == {"Reader", "Writer"}
    with pytest.raises(AttributeError, match="has no Lag"):
        finishlog.store.Lag  # noqa: B018


WRITER = """
import sys
from datetime import UTC, datetime
from finishlog.records.writing import NewCustomer, NewEntry, NewJob, NewSite
from finishlog.store import Log
n = iter(range(10**9))
tag = sys.argv[2]
log = Log.open(sys.argv[1], clock=lambda: datetime.now(UTC), new_uid=lambda: f"{tag}-{next(n)}")
while True:
    with log.writing() as writer:
        handle = writer.add_job(NewJob(f"patio {tag}", NewCustomer("Bo"), NewSite("s"))).handle
        writer.add_entry(handle, NewEntry("pour", datetime.now(UTC)))
    print(handle, flush=True)
"""


@pytest.mark.long
def test_kill_9_loses_nothing_that_was_acknowledged(fresh: Callable[[], Log], ticking: object) -> None:
    log = fresh()
    where = log.where
    log.close()
    for turn in range(8):
        told: list[str] = []
        child = subprocess.Popen(
            [sys.executable, "-c", WRITER, str(where), str(turn)], stdout=subprocess.PIPE, text=True
        )
        assert child.stdout is not None
        told.append(child.stdout.readline().strip())
        time.sleep(0.15 + 0.037 * turn)
        child.kill()
        told += child.stdout.read().split()
        child.wait()
        again = ticking.open(where)  # type: ignore[attr-defined]
        with again.reading() as reader:
            assert all(len(reader.job(handle).entries) == 1 for handle in told)
        assert again.check().ok
        again.close()
