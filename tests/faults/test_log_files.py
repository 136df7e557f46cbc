"""Files that are no log, or no log of ours, or a damaged one: one clear line, and not a byte changed."""

import os
import shutil
import sqlite3
import subprocess
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager, nullcontext
from datetime import UTC, datetime
from pathlib import Path

import pytest

from finishlog.errors import LogError
from finishlog.records.writing import NewCustomer, NewJob, NewSite
from finishlog.store import Log
from finishlog.store.disk.files import built_beside
from tests.conftest import Ran

JOB = NewJob("patio", NewCustomer("Bo"), NewSite("s"))


def opened(where: Path | str) -> Log:
    uids = iter(range(10**6))
    return Log.open(where, clock=lambda: datetime.now(UTC), new_uid=lambda: f"new-{next(uids)}")


def created(where: Path | str) -> Log:
    uids = iter(range(10**6))
    return Log.create(where, clock=lambda: datetime.now(UTC), new_uid=lambda: f"uid-{next(uids)}")


@pytest.fixture
def log_file(tmp_path: Path) -> Path:
    """A closed log with one job."""
    where = tmp_path / "bo.finishlog"
    log = created(where)
    with log.writing() as writer:
        writer.add_job(JOB)
    log.close()
    return where


def files_in(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()}


def foreign(where: Path) -> None:
    with closing(sqlite3.connect(where)) as raw:
        raw.executescript("CREATE TABLE song (title TEXT); INSERT INTO song VALUES ('la');")


def foreign_in_wal(where: Path) -> None:
    with closing(sqlite3.connect(where)) as raw:
        raw.executescript("PRAGMA journal_mode=WAL; CREATE TABLE song (title TEXT);")


def foreign_with_alembic(where: Path) -> None:
    with closing(sqlite3.connect(where)) as raw:
        raw.executescript(
            "CREATE TABLE alembic_version (version_num TEXT); INSERT INTO alembic_version VALUES ('0001');"
        )


def text(where: Path) -> None:
    where.write_text("poured_on,customer\n2025-05-14,Bo\n")


def sqlite_by_name_only(where: Path) -> None:
    where.write_bytes(b"SQLite format 3\0")


@pytest.mark.parametrize(
    "make", [foreign, foreign_in_wal, foreign_with_alembic, text, sqlite_by_name_only, Path.touch]
)
def test_a_foreign_file_is_refused_and_stays_byte_for_byte(
    tmp_path: Path, make: Callable[[Path], None]
) -> None:
    """Trap 8: setting WAL on it would change it; even reading a WAL file makes two side files."""
    where = tmp_path / "other.db"
    make(where)
    before = files_in(tmp_path)
    with pytest.raises(LogError, match="not a finishlog log") as error:
        opened(where)
    assert str(where) in error.value.line()
    assert files_in(tmp_path) == before


def test_a_missing_log_is_never_made(tmp_path: Path) -> None:
    for where in (tmp_path / "no.finishlog", tmp_path / "no" / "such.finishlog", tmp_path / "a" / ".." / "b"):
        with pytest.raises(LogError, match="No log at"):
            opened(where)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("name", ["", "nul\0", "postgresql+psycopg://example.com/log", "x" * 5000])
def test_a_name_that_is_no_file_name(name: str) -> None:
    for use in (opened, created):
        with pytest.raises(LogError):
            use(name)


def test_a_folder_and_a_named_pipe_are_no_logs(tmp_path: Path) -> None:
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    with pytest.raises(LogError, match="not a finishlog log"):
        opened(tmp_path)
    with pytest.raises(LogError, match="not a finishlog log"):
        opened(pipe)  # would hang if it were opened


def test_a_newer_log_is_left_alone(log_file: Path) -> None:
    with closing(sqlite3.connect(log_file)) as raw:
        raw.execute("UPDATE alembic_version SET version_num = '0999'")
        raw.commit()
    before = files_in(log_file.parent)
    with pytest.raises(LogError, match="newer than this program") as error:
        opened(log_file)
    assert "0999" in error.value.cause
    assert files_in(log_file.parent) == before


@pytest.mark.parametrize("statement", ["DELETE FROM alembic_version", "DROP TABLE alembic_version"])
def test_a_log_without_a_revision_is_damaged(log_file: Path, statement: str) -> None:
    with closing(sqlite3.connect(log_file)) as raw:
        raw.execute(statement)
        raw.commit()
    with pytest.raises(LogError, match="damaged"):
        opened(log_file)


@pytest.mark.parametrize("keep", [0.02, 0.5, 0.99])
def test_a_truncated_log_is_damaged(log_file: Path, keep: float) -> None:
    whole = log_file.read_bytes()
    log_file.write_bytes(whole[: int(len(whole) * keep)])
    before = files_in(log_file.parent)
    with pytest.raises(LogError, match="damaged") as error:
        opened(log_file)
    assert "cut short" in error.value.cause
    assert files_in(log_file.parent) == before


def test_a_log_overwritten_with_noise_never_answers_with_a_fault_of_ours(log_file: Path) -> None:
    """Whatever page is damaged, opening, reading and checking either work or say that the log is damaged."""
    with closing(sqlite3.connect(log_file)) as free:
        free.execute("VACUUM")  # damage of a free page is none
    whole = log_file.read_bytes()
    answers = []
    for start in (100, *range(4096, len(whole), 4096)):
        noise = bytes((start * 7 + place * 13) % 251 for place in range(4096 - start % 4096))
        log_file.write_bytes(whole[:start] + noise + whole[start + len(noise) :])
        try:
            answers.append("sound" if _looks_sound(log_file) else "found by check")
        except LogError as error:
            answers.append("damaged" if "damaged" in error.title else error.title)
    assert set(answers) == {"found by check", "damaged"}


def _looks_sound(where: Path) -> bool:
    log = opened(where)
    try:
        with log.reading() as reader:
            reader.lines()
            reader.lines(words="patio")
            reader.job(reader.resolve("bo-patio"))
        return log.check().ok
    finally:
        log.close()


@contextmanager
def immutable(path: Path) -> Iterator[None]:
    """Read-only even for root. Skips where the file system or the tool cannot."""
    tool = shutil.which("chattr")
    done = tool and subprocess.run([tool, "+i", path], capture_output=True, check=False).returncode == 0
    if not done:
        pytest.skip("chattr +i does not work here, and root may write to a file of mode 0400")
    try:
        yield
    finally:
        subprocess.run([str(tool), "-i", path], check=True)


@pytest.mark.parametrize("folder_too", [False, True])
def test_a_read_only_log_still_answers_reads(log_file: Path, tmp_path: Path, folder_too: bool) -> None:
    target = tmp_path / "elsewhere"
    target.mkdir()
    home = log_file.parent / "home"
    home.mkdir()
    where = home / log_file.name
    shutil.move(log_file, where)
    with immutable(where):
        if folder_too:
            with immutable(home):
                _reads_only(where, target / "backup")
        else:
            _reads_only(where, target / "backup")


def _reads_only(where: Path, target: Path) -> None:
    log = opened(where)
    with log.reading() as reader:
        assert [line.handle for line in reader.lines()] == ["bo-patio"]
        assert reader.lines(words="bo") == reader.lines(words="patio")
    assert log.check().ok
    with pytest.raises(LogError, match="Cannot write") as error, log.writing() as writer:
        writer.add_job(JOB)
    assert str(where) in error.value.line()
    log.backup(target)
    log.close()
    copy = opened(target)
    with copy.writing() as writer:
        writer.add_job(JOB)
        assert writer.count() == 2
    copy.close()


@pytest.mark.parametrize("folder_too", [False, True])
def test_a_sheet_is_checked_against_a_read_only_log(
    log_file: Path, tmp_path: Path, finishlog: Callable[..., Ran], folder_too: bool
) -> None:
    """A preview writes nothing, so it answers where nothing can be written."""
    home = tmp_path / "home"
    home.mkdir()
    where = Path(shutil.move(log_file, home / "bo.finishlog"))
    sheet = tmp_path / "entries.csv"
    sheet.write_text("job,kind,at,note\nbo-patio,note,2026-06-04 7:30a,hello\n")
    before = where.read_bytes()
    with immutable(where), immutable(home) if folder_too else nullcontext():
        told = finishlog("--log", str(where), "import", str(sheet), "--check", "--json").json()
        assert finishlog("--log", str(where), "import", str(sheet)).status == 3
    assert (told["entries_added"], told["written"], len(told["preview"])) == (1, False, 1)
    assert where.read_bytes() == before


def test_a_new_log_never_overwrites(tmp_path: Path, log_file: Path) -> None:
    link = tmp_path / "link"
    link.symlink_to(tmp_path / "nowhere")
    before = files_in(tmp_path)
    for where in (log_file, tmp_path, link):
        with pytest.raises(LogError, match="already exists"):
            created(where)
    with pytest.raises(LogError, match="cannot be made"):
        created(tmp_path / "No such folder" / "new")
    assert files_in(tmp_path) == before


def test_a_log_that_fails_to_be_made_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(part: Path) -> None:
        foreign_in_wal(part)
        raise RuntimeError("the power went")

    monkeypatch.setattr("finishlog.store.engine.upgrade.make", fail)
    with pytest.raises(RuntimeError):
        created(tmp_path / "new")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("links", [True, False])
def test_a_file_made_meanwhile_is_not_overwritten(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, links: bool
) -> None:
    """Also on a file system without hard links."""
    if not links:
        monkeypatch.setattr(os, "link", _no_links)
    target = tmp_path / "new"
    with built_beside(target, "log") as part:
        part.write_bytes(b"ours")
    assert target.read_bytes() == b"ours"
    other = tmp_path / "other"
    with pytest.raises(LogError, match="already exists"):
        _make_meanwhile(other)
    assert other.read_bytes() == b"theirs"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["new", "other"]


def _make_meanwhile(target: Path) -> None:
    with built_beside(target, "log") as part:
        part.write_bytes(b"ours")
        target.write_bytes(b"theirs")


def _no_links(*_: object) -> None:
    raise PermissionError("no hard links here")


@pytest.mark.parametrize(
    "name", ["a b.finishlog", "what?.db", "100%.db", "a#b", "ünï cödé.db", "x'y\"z.db", "-v"]
)
def test_odd_names_are_names(tmp_path: Path, name: str) -> None:
    log = created(tmp_path / name)
    with log.writing() as writer:
        writer.add_job(JOB)
    log.backup(tmp_path / f"{name}.copy")
    log.close()
    assert sorted(path.name for path in tmp_path.iterdir()) == sorted([name, f"{name}.copy"])
    again = opened(tmp_path / name)
    with again.reading() as reader:
        assert reader.count() == 1
    again.close()


def test_opening_and_closing_leaves_no_side_files(log_file: Path) -> None:
    before = files_in(log_file.parent)
    log = opened(log_file)
    log.close()
    assert files_in(log_file.parent) == before
    log = opened(log_file)
    log.backup(log_file.parent / "copy")
    (log_file.parent / "copy").unlink()
    assert files_in(log_file.parent) == before
    with log.reading() as reader:
        assert reader.count() == 1
    log.close()
    assert files_in(log_file.parent) == before


def test_a_log_in_the_own_folder_makes_the_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    from finishlog import paths

    where = paths.default_log()
    assert not where.parent.exists()
    created(where).close()
    assert where.is_file()


def test_a_full_disk_is_said(log_file: Path) -> None:
    log = opened(log_file)
    with log._connection(write=False) as plain:
        plain.exec_driver_sql("COMMIT")
        pages = plain.exec_driver_sql("PRAGMA page_count").scalar_one()
        plain.exec_driver_sql(f"PRAGMA max_page_count={pages}")
        plain.exec_driver_sql("BEGIN")
    with pytest.raises(LogError, match="disk is full"):
        _add_many(log)
    with log.reading() as reader:
        assert reader.count() == 1
    log.close()


def _add_many(log: Log) -> None:
    with log.writing() as writer:
        for _ in range(200):
            writer.add_job(JOB)
