"""`check --mend`: what was left behind goes, what an entry names stays, the list is made anew."""

from __future__ import annotations

import os
import sqlite3
import time
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from finishlog.records.writing import NewCustomer, NewEntry, NewFile, NewJob, NewSite
from finishlog.store import Log
from finishlog.store.disk import attachments, leavings

MORNING = datetime(2026, 6, 16, 12, tzinfo=UTC)

NEW = "cd" * 32


@pytest.fixture
def where(ticking: Any, tmp_path: Path) -> Path:
    """A closed log with one kept file, old stray files beside it, and a new one."""
    log: Log = ticking.create(tmp_path / "shop.finishlog")
    ticket = tmp_path / "ticket.txt"
    ticket.write_bytes(b"T-1029, 5 1/2 yd\n")
    with log.writing() as writer:
        handle = writer.add_job(NewJob("patio", NewCustomer("Ines Puddlecombe"), NewSite("s"))).handle
        writer.add_entry(handle, NewEntry("note", MORNING, files=(NewFile(ticket),)))
    log.close()
    for name in (
        "shop.finishlog.files/ab/" + "ab" * 32,
        "shop.finishlog.files/.new-x.part",
        ".shop.finishlog.x1x1x1x1.part",
        ".shop.finishlog.x1x1x1x1.part-wal",
        ".shop.finishlog.x2x2x2x2.part.files/ab/cd",
        ".shop.before-upgrade-0006.finishlog.x3x3x3x3.part",
        ".other.finishlog.x4x4x4x4.part",
    ):
        path = tmp_path / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text("left")
    day_ago = time.time() - 86_401
    for path in tmp_path.rglob("*"):
        os.utime(path, (day_ago, day_ago))
    (tmp_path / ".shop.finishlog.nownownw.part").write_text("being written")
    (tmp_path / "shop.finishlog.files/ab" / NEW).write_text("about to be named")
    return log.where


def names(folder: Path) -> set[str]:
    return {path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file()}


def test_leavings_are_listed_first_and_go_when_told(where: Path, finishlog: Callable[..., Any]) -> None:
    before = names(where.parent)
    half_made = {name for name in before if name.startswith(".shop") and "now" not in name}
    strays = {name for name in before if "ab" * 32 in name or "new-" in name}
    listed = finishlog("--log", str(where), "check", "--mend")
    assert listed.status == 0
    assert listed.out.count("Left behind: ") == len(strays) == 2
    assert "Left alone, less than an hour old: " in listed.out
    assert "Nothing is changed yet." in listed.out
    assert len(half_made) == 4  # swept as the log was opened, a day after
    assert names(where.parent) == before - half_made
    done = finishlog("--log", str(where), "check", "--mend", "--yes")
    assert done.status == 0
    assert "2 removed, 0 jobs rebuilt." in done.out
    assert names(where.parent) == before - half_made - strays
    assert "Nothing to mend." in finishlog("--log", str(where), "check", "--mend", "--yes").out


def test_what_a_program_makes_for_hours_is_left_alone(where: Path, finishlog: Callable[..., Any]) -> None:
    with leavings.workshop(where) as place:
        (place / leavings.LOG).write_text("half of it")
        os.utime(place, (1, 1))
        assert finishlog("--log", str(where), "check", "--mend", "--yes").status == 0
        assert (place / leavings.LOG).read_text() == "half of it"


def test_a_wrong_list_is_made_anew(where: Path, finishlog: Callable[..., Any]) -> None:
    with closing(sqlite3.connect(where)) as raw:
        raw.execute("UPDATE job_line SET customer = 'Somebody'")
        raw.execute("INSERT INTO job_text (rowid, who) VALUES (99, 'nobody')")
        raw.commit()
    assert finishlog("--log", str(where), "check").status == 3
    assert (
        "Out of date: the list and the search of 2 jobs"
        in finishlog("--log", str(where), "check", "--mend").out
    )
    assert finishlog("--log", str(where), "check").status == 3
    assert finishlog("--log", str(where), "check", "--mend", "--yes").status == 0
    sound = finishlog("--log", str(where), "check")
    assert (sound.status, sound.out.splitlines()[0]) == (0, "The log is sound.")


def test_a_damaged_log_is_not_mended(where: Path, finishlog: Callable[..., Any]) -> None:
    """Its file's row says another hash: what the entry names would look like a stray."""
    with closing(sqlite3.connect(where)) as raw:
        for table in ("file", "entry_file"):
            raw.execute(f"DROP TRIGGER {table}_no_update")
            raw.execute(f"UPDATE {table} SET sha256 = '{'0' * 64}'")
        raw.commit()
    before = names(attachments.folder_of(where))
    done = finishlog("--log", str(where), "check", "--mend", "--yes")
    assert done.status == 3
    assert "Nothing was mended: the log has other problems" in done.out
    assert names(attachments.folder_of(where)) == before
