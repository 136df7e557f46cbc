"""What this machine saw written is held against the log: nothing acknowledged goes missing in silence."""

from __future__ import annotations

import shutil
import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from finishlog.records.writing import NewCustomer, NewEntry, NewFile, NewJob, NewSite
from finishlog.store import Log

MORNING = datetime(2026, 6, 16, 12, tzinfo=UTC)
HANDLE = "ines-puddlecombe-patio"
KILLED = """
import os, sys
from datetime import UTC, datetime
from pathlib import Path
from finishlog.records.writing import NewEntry, NewFile
from finishlog.store import Log
now = datetime(2026, 6, 16, 12, tzinfo=UTC)
log = Log.open(Path(sys.argv[1]), clock=lambda: now, new_uid=lambda: "killed")
with log.writing() as writer:
    writer.add_entry("ines-puddlecombe-patio", NewEntry("photo", now, files=(NewFile(Path(sys.argv[2])),)))
os._exit(9)
"""


@pytest.fixture
def kept(log: Log) -> Log:
    """A log with a job and an entry."""
    with log.writing() as writer:
        writer.add_job(NewJob("patio", NewCustomer("Ines Puddlecombe"), NewSite("12 Teakettle Lane")))
        writer.add_entry(HANDLE, NewEntry("note", MORNING, note="swept twice"))
    return log


def noted(log: Log, *notes: str) -> None:
    for note in notes:
        with log.writing() as writer:
            writer.add_entry(HANDLE, NewEntry("note", MORNING, note=note))


def put_back(log: Log, copy: Path) -> None:
    log.close()
    shutil.copy(copy, log.where)


def test_a_wal_removed_after_a_kill_is_told_with_its_photo(kept: Log, tmp_path: Path) -> None:
    """The acknowledged photo was gone, and the log said to be sound."""
    picture = tmp_path / "gate.jpg"
    picture.write_bytes(b"as good as a picture")
    kept.close()
    done = subprocess.run([sys.executable, "-c", KILLED, str(kept.where), str(picture)], check=False)
    assert done.returncode == 9
    wal = Path(f"{kept.where}-wal")
    assert wal.stat().st_size
    wal.unlink()
    Path(f"{kept.where}-shm").unlink()
    problems = kept.check().problems
    assert problems[0].startswith("A saved entry is missing")
    assert f"Missing: Entry 2 of patio ({HANDLE}), photo on 2026-06-16, with gate.jpg." in problems


def test_an_older_copy_put_back_is_told_and_may_be_accepted(kept: Log, tmp_path: Path) -> None:
    copy = tmp_path / "copy.finishlog"
    kept.backup(copy)
    noted(kept, "puddles", "gate")
    assert kept.check().problems == ()
    put_back(kept, copy)
    problems = kept.check().problems
    assert (
        problems[0]
        == "2 saved entries are missing: an older copy was restored, or the last writes were lost."
    )
    assert [line[:19] for line in problems[1:3]] == ["Missing: Entry 2 of", "Missing: Entry 3 of"]
    assert problems[3].endswith("finishlog check --accept.")
    assert kept.check(accept=True).problems == ()
    assert kept.check().problems == ()
    noted(kept, "goes on from here")
    assert kept.check().problems == ()


def test_what_is_written_over_lost_entries_does_not_hide_them(kept: Log, tmp_path: Path) -> None:
    """Another entry has the number of the lost one by then, and the log has been written as often."""
    copy = tmp_path / "copy.finishlog"
    kept.backup(copy)
    noted(kept, "puddles")
    put_back(kept, copy)
    noted(kept, "something else", "and more")
    problems = kept.check().problems
    assert problems[0].startswith("A saved entry is missing")
    assert sum(line.startswith("Missing: ") for line in problems) == 1


def test_a_change_that_is_no_entry_is_missed_too(kept: Log, tmp_path: Path) -> None:
    copy = tmp_path / "copy.finishlog"
    kept.backup(copy)
    with kept.writing() as writer:
        writer.update_note(HANDLE, "gate code is with the office")
    put_back(kept, copy)
    assert "saved changes are missing" in kept.check().problems[0]


def test_a_copy_elsewhere_may_be_older_and_says_so(kept: Log, ticking: Any, tmp_path: Path) -> None:
    copy = tmp_path / "copy.finishlog"
    kept.backup(copy)
    noted(kept, "puddles")
    report = ticking.open(copy).check()
    assert report.problems == ()
    assert any("is newer: it had 2 entries, this one has 1" in note for note in report.notes)


def test_what_another_machine_writes_is_no_loss(
    kept: Log, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    home = tmp_path / "other machine"
    with monkeypatch.context() as other:
        other.setenv("XDG_STATE_HOME", str(home))
        noted(kept, "puddles")
        assert list((home / "finishlog" / "marks").iterdir())
    assert kept.check().problems == ()
    noted(kept, "gate")
    assert kept.check().problems == ()


def test_a_state_folder_that_cannot_be_made_stops_no_entry(
    kept: Log, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    (tmp_path / "file").write_text("in the way")
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "file"))
    noted(kept, "puddles")
    assert kept.check().problems == ()


def test_a_unit_of_work_that_failed_or_was_tried_leaves_no_mark(kept: Log) -> None:
    def fail() -> None:
        with kept.writing() as writer:
            writer.add_entry(HANDLE, NewEntry("note", MORNING))
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        fail()
    with kept.trying() as writer:
        writer.add_entry(HANDLE, NewEntry("note", MORNING))
    assert kept.check().problems == ()


def test_who_changes_log_and_mark_both_is_not_noticed(
    kept: Log, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """The limit: hashes and mark are for accidents; whoever can write both can make them anew."""
    copy = tmp_path / "copy.finishlog"
    kept.backup(copy)
    noted(kept, "puddles")
    put_back(kept, copy)
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "emptied"))
    assert kept.check().problems == ()


def test_the_marks_are_for_their_owner_alone(kept: Log, tmp_path: Path) -> None:
    from finishlog.paths import state_folder

    noted(kept, "puddles")
    (mark,) = (state_folder() / "marks").iterdir()
    assert mark.stat().st_mode & 0o077 == 0
    assert NewFile  # names of customers stand in it


def test_a_full_mark_is_put_aside_and_still_read(
    kept: Log, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr("finishlog.store.disk.marks.MOST_BYTES", 500)
    copy = tmp_path / "copy.finishlog"
    kept.backup(copy)
    noted(kept, "puddles", "gate", "drain")
    put_back(kept, copy)
    assert kept.check().problems[0].startswith("3 saved entries are missing")
