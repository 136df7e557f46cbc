"""A log that is filled as it is made: there is a whole one, or none, whatever happens meanwhile."""

import os
import shutil
import signal
import sqlite3
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from datetime import UTC, datetime
from pathlib import Path
from uuid import uuid4

import pytest

from finishlog.errors import LogError
from finishlog.records.writing import NewArea, NewCustomer, NewEntry, NewJob, NewLoad, NewSite
from finishlog.store import Log, Writer
from finishlog.store.engine.header import APPLICATION_ID
from tests.conftest import Ran

JOB = NewJob("patio", NewCustomer("Bo"), NewSite("s"))


def filled(log: Log) -> None:
    with log.writing() as writer:
        writer.add_job(JOB)


def created(where: Path) -> Log:
    return Log.create(where, clock=lambda: datetime.now(UTC), new_uid=lambda: uuid4().hex, fill=filled)


def opened(where: Path) -> Log:
    return Log.open(where, clock=lambda: datetime.now(UTC), new_uid=lambda: uuid4().hex)


def test_it_opens_full(tmp_path: Path) -> None:
    log = created(tmp_path / "bo.finishlog")
    with log.reading() as reader:
        assert [line.name for line in reader.lines()] == ["patio"]
    log.close()
    assert [path.name for path in tmp_path.iterdir()] == ["bo.finishlog"]


def test_a_filling_that_fails_leaves_nothing(tmp_path: Path) -> None:
    def half(log: Log) -> None:
        filled(log)
        raise RuntimeError("a fault")

    with pytest.raises(RuntimeError):
        Log.create(tmp_path / "bo.finishlog", clock=lambda: datetime.now(UTC), new_uid=str, fill=half)
    assert list(tmp_path.iterdir()) == []


def test_killed_in_the_midst_of_an_import_into_a_new_log(
    tmp_path: Path, finishlog: Callable[..., Ran], monkeypatch: pytest.MonkeyPatch
) -> None:
    sheet, log = tmp_path / "pours.csv", tmp_path / "shop.finishlog"
    sheet.write_text("customer,street,poured_on\nBo,1 Lane,2025-05-14\nFlo,2 Lane,2025-05-15\n")
    words = ["--log", str(log), "import", str(sheet), "--new"]
    child = os.fork()
    if child == 0:
        real, calls = Writer.begin_job, iter(range(1))

        def begin_job(writer: Writer, new: NewJob) -> str:
            if next(calls, None) is None:
                os.kill(os.getpid(), signal.SIGKILL)
            return real(writer, new)

        try:
            monkeypatch.setattr(Writer, "begin_job", begin_job)
            finishlog(*words)
        finally:
            os._exit(1)
    assert os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == -signal.SIGKILL
    assert not log.exists()
    assert finishlog(*words).status == 0
    whole = opened(log)
    with whole.reading() as reader:
        assert reader.count() == 2
    whole.close()


def test_ours_by_its_mark_and_without_our_tables(tmp_path: Path) -> None:
    where = tmp_path / "odd.finishlog"
    with closing(sqlite3.connect(where)) as raw:
        raw.executescript(
            f"PRAGMA application_id={APPLICATION_ID}; CREATE TABLE alembic_version (version_num TEXT);"
            "INSERT INTO alembic_version SELECT max(value) FROM (SELECT '0001' AS value);"
        )
    _to_head(where)
    before = where.read_bytes()
    log = opened(where)
    for ask in (lambda reader: reader.lines(), lambda reader: reader.shop(), lambda reader: reader.job("x")):
        with pytest.raises(LogError, match="damaged"), log.reading() as reader:
            ask(reader)  # type: ignore[no-untyped-call]
    log.close()
    assert where.read_bytes() == before


def _to_head(where: Path) -> None:
    from finishlog.store.schema.revisions import head

    with closing(sqlite3.connect(where)) as raw:
        raw.execute("UPDATE alembic_version SET version_num = ?", (head(),))
        raw.commit()


def test_noise_leaves_no_side_files(tmp_path: Path) -> None:
    where = tmp_path / "noise.finishlog"
    created(where).close()
    where.write_bytes(where.read_bytes()[:100] + os.urandom(where.stat().st_size - 100))
    with pytest.raises(LogError, match="damaged"):
        opened(where)
    assert [path.name for path in tmp_path.iterdir()] == ["noise.finishlog"]


def test_a_setting_that_is_noise(tmp_path: Path) -> None:
    log = created(tmp_path / "bo.finishlog")
    with log.writing() as writer:
        writer.set_setting("price_per_yd3", "no price")
    with pytest.raises(LogError, match="setting"), log.reading() as reader:
        reader.shop()
    log.close()


def test_an_old_log_that_is_read_only_is_not_copied_again_and_again(tmp_path: Path) -> None:
    where = tmp_path / "old.finishlog"
    released = Path(__file__).parent.parent / "migrations" / "released" / "0001.sql"
    with closing(sqlite3.connect(where)) as raw:
        raw.executescript(released.read_text(encoding="utf-8"))
        raw.execute("PRAGMA journal_mode=WAL")
    with immutable(where):
        for _ in range(2):
            with pytest.raises(LogError, match="older than this program"):
                opened(where)
        assert not list(tmp_path.glob("*before-upgrade*"))
    opened(where).close()
    assert len(list(tmp_path.glob("*before-upgrade*"))) == 1


@contextmanager
def immutable(path: Path) -> Iterator[None]:
    """Read-only even for root. Skips where the file system or the tool cannot."""
    tool = shutil.which("chattr")
    if not tool or subprocess.run([tool, "+i", path], capture_output=True, check=False).returncode != 0:
        pytest.skip("chattr +i does not work here, and root may write to a file of mode 0400")
    try:
        yield
    finally:
        subprocess.run([tool, "-i", path], check=True)


def test_an_area_that_is_lost_is_damage_to_the_log(tmp_path: Path) -> None:
    """What yards learns from is read apart from the jobs."""
    log = created(tmp_path / "bo.finishlog")
    with log.writing() as writer:
        area = NewArea("field", area_ft2=100.0, depth_in=4.0)
        handle = writer.begin_job(NewJob("porch", NewCustomer("Flo"), NewSite("t"), areas=(area,)))
        day = datetime(2025, 5, 14, tzinfo=UTC)
        writer.add_entry(handle, NewEntry("load", day, load=NewLoad(2.0, areas=(("field", None),))))
    log.close()
    with closing(sqlite3.connect(tmp_path / "bo.finishlog")) as raw:
        raw.execute("DELETE FROM area")
        raw.commit()
    log = opened(tmp_path / "bo.finishlog")
    with pytest.raises(LogError, match="damaged"), log.reading() as reader:
        reader.past_slabs()
    log.close()


NAMING = """
import os, signal, sys
from finishlog.__main__ import main

left = iter(range(int(sys.argv[1])))

def die(event, args):
    if event in ("os.link", "os.rename") and sys.argv[2] in os.path.dirname(str(args[1])) + "/":
        if str(args[1]).endswith((".finishlog", ".finishlog.files")) and next(left, None) is None:
            os.kill(os.getpid(), signal.SIGKILL)

sys.addaudithook(die)
sys.exit(main(sys.argv[3:]))
"""


@pytest.mark.long
@pytest.mark.parametrize("command", ["backup", "demo", "import"])
def test_killed_as_the_log_or_its_files_get_their_name(made_demo: Path, tmp_path: Path, command: str) -> None:
    """Whichever comes first: there is a whole log or none, and the same command again makes it."""
    where = tmp_path / "home"
    where.mkdir()
    new = str(where / "new.finishlog")
    words = {
        "backup": ["--log", str(made_demo), "backup", new],
        "demo": ["demo", "--into", new],
        "import": ["--log", new, "import", str(tmp_path / "out"), "--new"],
    }[command]
    if command == "import":
        out = [sys.executable, "-m", "finishlog", "--log", str(made_demo), "export", str(tmp_path / "out")]
        subprocess.run(out, check=True, timeout=120)
    for number in range(2):
        run = [sys.executable, "-c", NAMING, str(number), f"{where}/", *words]
        assert subprocess.run(run, check=False, timeout=120).returncode == -9
        assert not Path(new).exists() or _checks(new)
    subprocess.run([sys.executable, "-m", "finishlog", *words], check=True, timeout=120)
    assert _checks(new)
    assert sorted(path.name for path in where.iterdir()) == ["new.finishlog", "new.finishlog.files"]


def _checks(where: str) -> bool:
    run = [sys.executable, "-m", "finishlog", "--log", where, "check"]
    return subprocess.run(run, check=False, timeout=120, capture_output=True).returncode == 0
