"""Files kept beside a log: whole, known by their content; what cannot be kept is refused in one line."""

import hashlib
import os
import socket
import subprocess
import sys
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest

from finishlog.errors import InputError, LogError
from finishlog.records.log import Attachment
from finishlog.records.writing import NewCustomer, NewEntry, NewFile, NewJob, NewSite
from finishlog.store import Log, Writer
from finishlog.store.disk import attachments as module
from finishlog.store.disk.attachments import FILE_MOST, Attachments

MORNING = datetime(2025, 5, 14, 13, 30, tzinfo=UTC)
TICKET = b"T-1029, 5 1/2 yd\n"
SHA256 = hashlib.sha256(TICKET).hexdigest()


@pytest.fixture
def log(tmp_path: Path) -> Log:
    uids = iter(range(10**6))
    made = Log.create(tmp_path / "bo.finishlog", clock=lambda: MORNING, new_uid=lambda: f"uid-{next(uids)}")
    with made.writing() as writer:
        writer.add_job(NewJob("patio", NewCustomer("Bo"), NewSite("s"), handle="patio"))
    return made


@pytest.fixture
def ticket(tmp_path: Path) -> Path:
    path = tmp_path / "ticket.txt"
    path.write_bytes(TICKET)
    return path


NAMED = f"The file {SHA256[:12]}… (ticket.txt, entry 1 of patio)"


def keep(writer: Writer, *files: NewFile) -> tuple[Attachment, ...]:
    return writer.add_entry("patio", NewEntry("note", MORNING, files=files)).files


def both(writer: Writer, late: NewEntry, *files: NewFile) -> None:
    """An entry with files, then one that fails."""
    keep(writer, *files)
    writer.add_entry("patio", late)


def kept_files(log: Log) -> list[str]:
    folder = Path(f"{log.where}.files")
    return sorted(str(path.relative_to(folder)) for path in folder.rglob("*") if path.is_file())


def test_a_file_is_kept_byte_for_byte(log: Log, ticket: Path, tmp_path: Path) -> None:
    odd = tmp_path / "=1+1 \U0001f600 e\u0301.bin"
    odd.write_bytes(bytes(range(256)) * 5000)
    with log.writing() as writer:
        first, second, third = keep(
            writer, NewFile(ticket), NewFile(odd), NewFile(ticket, "Ticket, front", "image/x-odd")
        )
    ticket.unlink()
    assert first == Attachment(SHA256, "ticket.txt", len(TICKET), "text/plain")
    assert (second.name, second.size) == (odd.name, 256 * 5000)
    assert (third.sha256, third.name) == (SHA256, "Ticket, front")
    assert log.file_path(first.sha256).read_bytes() == TICKET
    assert log.file_path(second.sha256).read_bytes() == odd.read_bytes()
    assert len(kept_files(log)) == 2  # the double was recognised
    with log.reading() as reader:
        assert reader.job("patio").entries[0].files == (first, second, third)
        assert reader.lines(words="ticket")[0].handle == "patio"
    report = log.check()
    assert report.problems == ()
    assert not any("files" in note for note in report.notes)


def test_a_kept_file_may_be_kept_again_by_a_correction(log: Log, ticket: Path) -> None:
    with log.writing() as writer:
        (file,) = keep(writer, NewFile(ticket))
    with log.writing() as writer:
        again = NewFile(log.file_path(file.sha256), file.name, file.media_type)
        entry = writer.add_entry("patio", NewEntry("note", MORNING, replaces=1, files=(again,)))
    assert entry.files == (file,)
    assert log.check().problems == ()


def link(path: Path) -> None:
    target = path.with_name("target")
    target.write_bytes(TICKET)
    path.symlink_to(target)


def pipe(path: Path) -> None:
    os.mkfifo(path)


def a_socket(path: Path) -> None:
    here = os.getcwd()
    os.chdir(path.parent)  # a socket's name may be 107 bytes long
    socket.socket(socket.AF_UNIX).bind(path.name)
    os.chdir(here)


def two_gigabytes(path: Path) -> None:
    with path.open("wb") as file:
        file.truncate(2 * 10**9)


def one_byte_too_many(path: Path) -> None:
    with path.open("wb") as file:
        file.truncate(FILE_MOST + 1)


@pytest.mark.parametrize(
    ("make", "said"),
    [
        (Path.touch, "It is empty: 0 bytes"),
        (link, "It is a link to another file"),
        (pipe, "a pipe or a device"),  # opening it would hang
        (a_socket, "a pipe or a device"),
        (Path.mkdir, "It is a folder"),
        (two_gigabytes, r"too large: 1\.86 GiB; 1 GiB is the limit"),
        (one_byte_too_many, "too large"),
        (lambda path: None, "No such file"),
    ],
)
def test_what_cannot_be_kept(log: Log, tmp_path: Path, make: Callable[[Path], None], said: str) -> None:
    path = tmp_path / "odd"
    make(path)
    with pytest.raises(InputError, match="Cannot keep") as error, log.writing() as writer:
        keep(writer, NewFile(path))
    assert error.value.exit_status == 2
    import re

    assert re.search(said, error.value.cause)
    assert kept_files(log) == []
    assert log.check().problems == ()


@pytest.mark.parametrize("name", ["/dev/null", "/dev/zero", "a\0b", "x" * 5000])
def test_devices_and_names_that_are_none(log: Log, name: str) -> None:
    with pytest.raises(InputError, match=r"file"), log.writing() as writer:
        keep(writer, NewFile(Path(name), "ticket"))


def test_a_refused_file_leaves_nothing_of_its_entry(log: Log, ticket: Path, tmp_path: Path) -> None:
    with pytest.raises(InputError), log.writing() as writer:
        keep(writer, NewFile(ticket), NewFile(tmp_path / "gone"))
    assert kept_files(log) == []
    with log.reading() as reader:
        assert reader.job("patio").history == ()


def test_a_rolled_back_unit_of_work_takes_its_files_along_but_no_older_one(
    log: Log, ticket: Path, tmp_path: Path
) -> None:
    other = tmp_path / "other"
    other.write_bytes(b"drawing")
    with log.writing() as writer:
        keep(writer, NewFile(ticket))
    before = kept_files(log)
    late = NewEntry("note", MORNING, replaces=99)
    with pytest.raises(InputError, match="no entry 99"), log.writing() as writer:
        both(writer, late, NewFile(ticket), NewFile(other))
    assert kept_files(log) == before
    assert log.check().problems == ()


def test_a_file_that_changes_while_it_is_read(
    log: Log, ticket: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = module._block

    def longer(file: object, source: Path) -> bytes:
        found = real(file, source)  # type: ignore[arg-type]
        if found:
            with source.open("ab") as more:
                more.write(b"and more")
        return found

    def shorter(file: object, source: Path) -> bytes:
        os.truncate(source, 3)
        return real(file, source)  # type: ignore[arg-type]

    for change in (longer, shorter):
        ticket.write_bytes(TICKET)
        monkeypatch.setattr(module, "_block", change)
        with pytest.raises(InputError) as error, log.writing() as writer:
            keep(writer, NewFile(ticket))
        assert "changed while being read" in error.value.cause
        assert kept_files(log) == []


def test_a_file_is_on_disk_before_the_log_names_it(
    log: Log, ticket: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The bytes and the names of the folders that lead to them are flushed inside the transaction."""
    flushed: list[str] = []
    real = os.fsync

    def noted(handle: int) -> None:
        flushed.append(os.path.realpath(f"/proc/self/fd/{handle}"))
        real(handle)

    monkeypatch.setattr(os, "fsync", noted)
    folder = os.path.realpath(f"{log.where}.files")
    with log.writing() as writer:
        keep(writer, NewFile(ticket))
        assert os.path.dirname(flushed[1]) == folder  # the copy, under its passing name
        assert [flushed[0], *flushed[2:]] == [os.path.dirname(folder), folder, f"{folder}/{SHA256[:2]}"]
        assert kept_files(log) == [f"{SHA256[:2]}/{SHA256}"]


KILLED = """
import sys
from datetime import UTC, datetime
from pathlib import Path
from finishlog.records.writing import NewEntry, NewFile
from finishlog.store import Log
import os
now = datetime(2025, 5, 14, tzinfo=UTC)
log = Log.open(sys.argv[1], clock=lambda: now, new_uid=lambda: "killed")
with log.writing() as writer:
    writer.add_entry("patio", NewEntry("note", now, files=(NewFile(Path(sys.argv[2])),)))
    os._exit(9)
"""


def test_killed_between_the_file_and_its_entry(log: Log, ticket: Path) -> None:
    """The file is left and no entry names it: a note, no problem; and it is recognised the next time."""
    done = subprocess.run([sys.executable, "-c", KILLED, str(log.where), str(ticket)], check=False)
    assert done.returncode == 9
    assert kept_files(log) == [f"{SHA256[:2]}/{SHA256}"]
    report = log.check()
    assert report.problems == ()
    assert any("No entry names" in note for note in report.notes)
    with log.writing() as writer:
        keep(writer, NewFile(ticket))
    assert not any("No entry names" in note for note in log.check().notes)


def test_check_names_what_is_missing_or_damaged(log: Log, ticket: Path) -> None:
    with log.writing() as writer:
        keep(writer, NewFile(ticket))
    path = log.file_path(SHA256)
    path.write_bytes(TICKET[:-1] + b"!")  # the same size
    assert log.check().problems == (f"{NAMED} is damaged: it is not what was saved.",)
    path.unlink()
    assert log.check().problems == (f"{NAMED} is not there.",)
    with pytest.raises(LogError, match="is missing"):
        log.file_path(SHA256)
    os.mkfifo(path)
    assert log.check().problems == (f"{NAMED} is not a regular file.",)
    path.unlink()
    with log.writing() as writer:  # kept anew, it heals
        keep(writer, NewFile(ticket))
    assert log.check().problems == ()


def test_a_name_that_leads_elsewhere_is_no_file_of_the_log(log: Log, ticket: Path) -> None:
    with log.writing() as writer:
        keep(writer, NewFile(ticket))
    for name in (str(ticket), "../../ticket.txt", f"{SHA256[:2]}/../{SHA256[:2]}/{SHA256}"):
        with pytest.raises(LogError, match="is missing"):
            log.file_path(name)


def test_a_folder_that_cannot_be_made(log: Log, ticket: Path) -> None:
    Path(f"{log.where}.files").write_text("in the way")
    with pytest.raises(LogError, match="Cannot keep files in the folder of the log"), log.writing() as writer:
        keep(writer, NewFile(ticket))
    with log.reading() as reader:
        assert reader.job("patio").history == ()


def test_a_log_reached_through_a_link_has_the_same_files(log: Log, ticket: Path, tmp_path: Path) -> None:
    with log.writing() as writer:
        keep(writer, NewFile(ticket))
    other = tmp_path / "elsewhere" / "link.finishlog"
    other.parent.mkdir()
    other.symlink_to(log.where)
    linked = Log.open(other, clock=lambda: MORNING, new_uid=lambda: "x")
    assert linked.file_path(SHA256).samefile(log.file_path(SHA256))
    assert linked.check().problems == ()
    linked.close()


def test_a_backup_has_the_files_too(log: Log, ticket: Path, tmp_path: Path) -> None:
    with log.writing() as writer:
        keep(writer, NewFile(ticket))
    target = tmp_path / "copy.finishlog"
    log.backup(target)
    copy = Log.open(target, clock=lambda: MORNING, new_uid=lambda: "x")
    assert copy.file_path(SHA256).read_bytes() == TICKET
    assert not copy.file_path(SHA256).samefile(log.file_path(SHA256))
    assert copy.check().problems == ()
    copy.close()


def test_a_backup_overwrites_no_folder(log: Log, ticket: Path, tmp_path: Path) -> None:
    with log.writing() as writer:
        keep(writer, NewFile(ticket))
    folder = tmp_path / "copy.finishlog.files"
    folder.mkdir()
    with pytest.raises(LogError, match="already"):
        log.backup(tmp_path / "copy.finishlog")
    assert not (tmp_path / "copy.finishlog").exists()


@pytest.mark.parametrize("harm", ["missing", "damaged"])
def test_a_backup_saves_the_rest_and_says_what_it_could_not(
    log: Log, ticket: Path, tmp_path: Path, harm: str
) -> None:
    other = tmp_path / "other"
    other.write_bytes(b"drawing")
    with log.writing() as writer:
        _, drawing = keep(writer, NewFile(ticket), NewFile(other))
    if harm == "missing":
        log.file_path(SHA256).unlink()
    else:
        log.file_path(SHA256).write_bytes(b"noise")
    target = tmp_path / "copy.finishlog"
    with pytest.raises(LogError, match=r"is copied to .*, but one of its files could not be") as error:
        log.backup(target)
    assert SHA256[:12] in error.value.cause
    copy = Log.open(target, clock=lambda: MORNING, new_uid=lambda: "x")
    assert copy.file_path(drawing.sha256).read_bytes() == b"drawing"
    assert copy.check().problems == (f"{NAMED} is not there.",)
    copy.close()


def test_a_log_made_full_has_its_files_under_its_own_name(ticket: Path, tmp_path: Path) -> None:
    def fill(made: Log) -> None:
        with made.writing() as writer:
            writer.add_job(NewJob("patio", NewCustomer("Bo"), NewSite("s"), handle="patio"))
            keep(writer, NewFile(ticket))

    def fail(made: Log) -> None:
        fill(made)
        raise InputError("line 7")

    def create(name: str, how: Callable[[Log], None]) -> Log:
        uids = iter(range(100))
        return Log.create(tmp_path / name, clock=lambda: MORNING, new_uid=lambda: f"u{next(uids)}", fill=how)

    full = create("full.finishlog", fill)
    assert kept_files(full) == [f"{SHA256[:2]}/{SHA256}"]
    assert full.check().problems == ()
    full.close()
    before = sorted(path.name for path in tmp_path.iterdir())
    with pytest.raises(InputError, match="line 7"):
        create("other.finishlog", fail)
    assert sorted(path.name for path in tmp_path.iterdir()) == before


def test_nothing_passing_is_left_behind(log: Log, ticket: Path, tmp_path: Path) -> None:
    with log.writing() as writer:
        keep(writer, NewFile(ticket), NewFile(ticket))
    log.backup(tmp_path / "copy.finishlog")
    names = [path.name for path in tmp_path.rglob("*")]
    assert [name for name in names if ".part" in name or name.startswith(".")] == []
    assert Attachments(Path(f"{log.where}.files")).strays({SHA256}) == []
